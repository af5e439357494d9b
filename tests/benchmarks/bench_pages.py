"""How fast and how heavy the pages of the shift are: `python -m tests.benchmarks.bench_pages`.

A made-up shift of 40 mixes, each with its strip, and a demo night with the real core. Seconds are
those of this process on the processor, medians of one run, so that other work on the machine
hardly counts; sizes are as they go over the network. With a browser (extra `e2e`), how long after a
reading is entered the five numbers have changed: first by the strip, then by the answer. Nothing
here is a test.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import process_time

from fastapi.testclient import TestClient

from api.main import create_app
from api.pages.files import bench_files, bench_folder
from api.settings import Settings
from planner.planned import Plan
from tests.api.fake_core import FakeCore, day_document
from tests.benchmarks.papers import shift_of
from tests.scenarios.conftest import planned

NIGHT = datetime(2026, 7, 15, 20, tzinfo=UTC)
TIMES = 7
SQUEEZED = {"Accept-Encoding": "gzip"}


class Standing(FakeCore):
    """Plans a given night whatever it is asked."""

    def __init__(self, plan: Plan) -> None:
        super().__init__()
        self.plan = plan

    def make_plan(self, *_: object, **__: object) -> Plan:
        return self.plan


def seconds(work: Callable[[], object]) -> float:
    """Median processor seconds of some work, its first time left out."""
    work()
    found = []
    for _ in range(TIMES):
        began = process_time()
        work()
        found.append(process_time() - began)
    return median(found)


def with_strips(plan: Plan) -> Plan:
    """The same night with a strip on every mix, as a real one has."""
    strip = next(m.ticket.strip for m in planned("ready_mixes").mixes if m.ticket.strip is not None)
    mixes = tuple(
        replace(m, ticket=replace(m.ticket, strip=replace(strip, column="room")))
        for m in plan.mixes
    )
    return replace(plan, mixes=mixes)


def told(plan: Plan) -> None:
    """Print what the pages of a night take and weigh."""
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(data_dir=Path(folder), demo=True, timers=False, log_level="error")
        app = create_app(settings, core=Standing(plan), clock=lambda: NIGHT)
        with TestClient(app) as client:
            client.put("/api/v1/bakeries/weir/days/2026-07-16", json=day_document())
            wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
            id = client.post("/api/v1/plans", json=wanted).json()["id"]
            readings = [
                {
                    "id": f"{mix.id} {kind}", "kind": kind, "mix_id": mix.id,
                    "at_utc": mix.mix_end_utc.isoformat(),
                    **({"value_c": 25.5} if "temperature" in kind else {}),
                }
                for mix in plan.mixes
                for kind in ("flour temperature", "mixer started", "off the mixer",
                             "dough temperature at the end")
            ]  # fmt: skip
            for name, path in (
                ("the page at the mixer", "/bench/weir"),
                ("its day", "/bench/weir/day"),
                ("the wall", "/wall/weir"),
                ("the morning after", f"/morning/{id}"),
            ):
                _tell(client, name, path)
            for at in range(0, len(readings), 100):
                batch = {"readings": readings[at : at + 100]}
                assert client.post(f"/api/v1/plans/{id}/readings/batch", json=batch).is_success
            print(f"  with {len(readings)} readings:")
            for name, path in (
                ("its day", "/bench/weir/day"),
                ("the wall", "/wall/weir"),
                ("the record of the night", "/record/weir?from=2026-07-15&to=2026-07-17"),
            ):
                _tell(client, name, path)


def _tell(client: TestClient, name: str, path: str) -> None:
    taken = seconds(lambda: client.get(path, headers=SQUEEZED))
    with client.stream("GET", path, headers=SQUEEZED) as answer:
        weight = sum(len(one) for one in answer.iter_raw())
        assert answer.status_code == 200, path
    print(f"  {name}: {1000 * taken:.0f} ms, {weight / 1000:.0f} kB")


def page_weight() -> None:
    """Print what a browser loads before it has a day."""
    with TestClient(create_app(Settings(data_dir=Path(tempfile.mkdtemp()), demo=True))) as client:
        weight = 0
        for name in bench_files():
            with client.stream("GET", f"{bench_folder()}/{name}", headers=SQUEEZED) as answer:
                weight += sum(len(one) for one in answer.iter_raw())
    print(f"all scripts and styles of these pages: {weight / 1000:.1f} kB")


CHANGED = """([kind, value]) => new Promise((done) => {
  const box = () => document.querySelector(`.box[data-kind='${kind}']`);
  const numbers = () => [...document.querySelectorAll('[data-number]')];
  const five = () => numbers().map((one) => one.textContent).join();
  const before = five();
  box().querySelector('input').value = value;
  const began = performance.now();
  let first = null;
  const watch = new MutationObserver(() => {
    const written = box().querySelector('.written').textContent;
    if (first === null && five() !== before) first = performance.now() - began;
    if (first === null || written === '' || written.includes('waits')) return;
    watch.disconnect();
    done([first, performance.now() - began]);
  });
  const all = { childList: true, subtree: true, characterData: true };
  watch.observe(document.querySelector('main'), all);
  setTimeout(() => done(null), 10000);
  box().querySelector('form').requestSubmit();
})"""


def in_a_browser() -> None:
    """Print how soon the numbers change in a browser, where there is one."""
    import shutil  # noqa: PLC0415  (only here)

    from playwright.sync_api import sync_playwright  # noqa: PLC0415  (an extra)

    from tests.e2e.bench.house import BAKERY, document_of, open_house  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder, open_house(Path(folder)) as house:
        house.put_day(document_of("winter_rye"))
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
            )
            page = browser.new_page()
            page.goto(f"{house.address}/bench/{BAKERY}#mix-1")
            page.wait_for_selector(".mix")
            found = []
            for i in range(TIMES):
                value = str(18 + (i % 2) * 2)
                page.wait_for_timeout(900)
                found.append(page.evaluate(CHANGED, ["flour temperature", value]))
            browser.close()
    pairs = [pair for pair in found if pair is not None]
    first, answered = (median(column) for column in zip(*pairs, strict=True))
    print(f"five numbers after a reading: changed {first:.0f} ms, answered {answered:.0f} ms")


if __name__ == "__main__":
    page_weight()
    night = with_strips(shift_of(40))
    print(f"{len(night.mixes)} mixes:")
    told(night)
    try:
        in_a_browser()
    except ImportError:
        print("five numbers after a reading: needs the extra e2e")

"""Readings under load: `python -m tests.benchmarks.load ADDRESS SECONDS`.

The real process with the real planner has 40 streams of events open, while 20 writers send one
reading a second each, on the second and whether the one before was answered or not (open loop). A
writer's readings go to one mix of one plan each; there are so many plans as bakeries. `ADDRESS` is
`sqlite` or that of an empty PostgreSQL database.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import json
import os
import sys
import tempfile
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from statistics import quantiles
from time import monotonic, sleep

from tests.api.fake_core import day_document
from tests.benchmarks.service_process import Child, asked, launcher

STREAMS, WRITERS, BAKERIES = 40, 20, 4
DATE = "2026-07-16"


def main() -> None:
    """Load the service for so many seconds, and print how it fared."""
    kind, seconds = sys.argv[1], int(sys.argv[2])
    with tempfile.TemporaryDirectory() as folder:
        address = f"sqlite:///{folder}/ovenward.sqlite3" if kind == "sqlite" else kind
        limits = {"plan_wait_s": 120, "deterministic_s": 0.5, "workers": 1}
        clock: Callable[[], datetime] = lambda: datetime.now(UTC)  # noqa: E731
        with launcher(address, Path(folder), clock, log_level="warning", **limits) as service:
            _run(service.start(), seconds)


def _run(child: Child, seconds: int) -> None:
    headers, plans = _set_up(child)
    streams = [_Stream(child.port, f"bakery{i % BAKERIES}", headers) for i in range(STREAMS)]
    for one in streams:
        one.start()
    sleep(2)
    busy = _cpu_s(child)
    with ThreadPoolExecutor(WRITERS * 3) as threads:
        began, jobs = monotonic() + 0.5, []
        for second in range(seconds):
            for i in range(WRITERS):
                due = began + second + i / WRITERS
                sleep(max(0.0, due - monotonic()))
                plan_id, mix_id = plans[i % BAKERIES]
                id = f"writer{i}-{second}"
                jobs.append(threads.submit(_send, child.port, headers, plan_id, mix_id, id, due))
        told = [one.result() for one in jobs]
    sleep(3)
    used = _cpu_s(child) - busy
    took_ms = [1000 * took for status, took in told if status == 201]
    wrong = [status for status, _ in told if status != 201]
    cuts = quantiles(took_ms, n=100)
    print(f"{len(told)} readings in {seconds} s, {len(wrong)} not stored {wrong[:5]}")
    print(f"POST of a reading: p50 {cuts[49]:.0f} ms, p95 {cuts[94]:.0f} ms, p99 {cuts[98]:.0f} ms")
    print(f"processor of the service: {1000 * used / len(told):.1f} ms per reading")
    for one in streams:
        one.check()
    faults = [one.fault for one in streams if one.fault]
    print(f"{STREAMS} streams, {sum(one.count for one in streams)} events, {len(faults)} faulty")
    print("\n".join(faults[:5]))
    print(f"stopped with code {child.stop()}, streams open")
    sys.exit(1 if wrong or faults else 0)


def _set_up(child: Child) -> tuple[dict[str, str], list[tuple[str, str]]]:
    """Return the header of a bench's key for each request, and a plan and mix of each bakery."""
    plans, keys = [], []
    for number in range(BAKERIES):
        name = f"bakery{number}"
        day = day_document(pins=[])
        day["bakery"] |= {"id": name, "name": name}
        assert child.ask("PUT", f"/bakeries/{name}/days/{DATE}", day)[0] == 201
        wanted = {"bakery_id": name, "production_date": DATE}
        status, made = child.ask("POST", "/plans", wanted)
        assert status == 201, made
        plans.append((made["id"], made["night"]["mixes"][0]["id"]))
        key = child.ask("POST", f"/bakeries/{name}/keys", {"name": "bench", "role": "bench"})[1]
        keys.append(key["key"])
    return dict(zip((f"bakery{i}" for i in range(BAKERIES)), keys, strict=True)), plans


def _cpu_s(child: Child) -> float:
    stat = Path(f"/proc/{child.process.pid}/stat").read_text(encoding="ascii").rsplit(")")[-1]
    user, system = stat.split()[11:13]
    return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")


_local = threading.local()


def _send(
    port: int, keys: dict[str, str], plan_id: str, mix_id: str, id: str, due: float
) -> tuple[int, float]:
    """Send a reading; return its status and the seconds since it was due."""
    bearer = {"Authorization": f"Bearer {keys[plan_id.split('.', maxsplit=1)[0]]}"}
    reading = {
        "id": id,
        "kind": "flour temperature",
        "mix_id": mix_id,
        "at_utc": "2026-07-15T20:00:00Z",
        "value_c": 24.5,
    }
    if not hasattr(_local, "connection"):
        _local.connection = HTTPConnection("127.0.0.1", port, timeout=60)
    try:
        status, _ = asked(_local.connection, "POST", f"/plans/{plan_id}/readings", reading, bearer)
    except (OSError, HTTPException):
        _local.connection.close()
        status = 0
    return status, monotonic() - due


class _Stream(threading.Thread):
    """One client that follows the events of a bakery."""

    def __init__(self, port: int, bakery_id: str, keys: dict[str, str]) -> None:
        super().__init__(daemon=True)
        self._connection = HTTPConnection("127.0.0.1", port, timeout=60)
        self._bakery_id, self._key = bakery_id, keys[bakery_id]
        self._numbers: list[int] = []
        self.fault = ""

    @property
    def count(self) -> int:
        """How many events came."""
        return len(self._numbers)

    def run(self) -> None:
        """Note the number of each event that comes."""
        bearer = {"Authorization": f"Bearer {self._key}"}
        path = f"/api/v1/bakeries/{self._bakery_id}/events/stream?after=0"
        try:
            self._connection.request("GET", path, headers=bearer)
            for raw in self._connection.getresponse():
                if raw.startswith(b"data: "):
                    self._numbers.append(int(json.loads(raw[6:])["id"]))
        except (OSError, HTTPException):
            return

    def check(self) -> None:
        """Find out whether an event was lost or came in another order."""
        if self._numbers != list(range(1, len(self._numbers) + 1)) or not self._numbers:
            self.fault = f"{self._bakery_id}: {self._numbers[:10]}… of {len(self._numbers)}"


if __name__ == "__main__":
    main()

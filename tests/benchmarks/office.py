"""What the service works for one page of the office: `python -m tests.benchmarks.office`.

A plan of 40 mixes, half with ice, of a day with 40 orders; medians of processor time of the whole
process, client and server in one, so that other work on the machine does not count. Nothing here
is a test.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import copy
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import process_time

from fastapi.testclient import TestClient

from api.main import create_app
from api.settings import Settings
from tests.api.fake_core import DAY, FakeCore
from tests.benchmarks.papers import MIXES, shift_of

TIMES = 9
WEIR, DATE = "/bakery/weir", "2026-07-16"


class FortyMixes(FakeCore):
    """Plans 40 mixes, whatever it is asked."""

    def make_plan(self, *_, limits, **_others):  # type: ignore[no-untyped-def]
        """Return the plan of 40 mixes."""
        return replace(shift_of(MIXES), limits=limits)


def main() -> int:
    """Print milliseconds and kilobytes of each page."""
    day = copy.deepcopy(DAY)
    day["mix_list"] = [
        {"product": "loaf", "pieces": 96, "leave_by": f"{6 + i // 12:02d}:{5 * (i % 12):02d}"}
        for i in range(MIXES)
    ]
    day["pins"] = []
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(data_dir=Path(folder), demo=True, timers=False, log_level="error")
        with TestClient(create_app(settings, core=FortyMixes())) as client:
            put = client.put(f"/api/v1/bakeries/weir/days/{DATE}", json=day)
            assert put.status_code < 300, put.text
            wanted = {"bakery_id": "weir", "production_date": DATE}
            plan = client.post("/api/v1/plans", json=wanted).json()["id"]
            mix = client.get(f"/api/v1/plans/{plan}").json()["night"]["mixes"][0]["id"]
            pages = (
                f"{WEIR}/{DATE}/day", f"{WEIR}/{DATE}/mix-list", f"{WEIR}/{DATE}/conditions",
                f"{WEIR}/doughs/white", f"{WEIR}/products", f"{WEIR}/setup/mixers",
                f"/plan/{plan}", f"/plan/{plan}/drawing", f"/plan/{plan}/mix/{mix}",
            )  # fmt: skip
            for path in pages:
                size, used = len(client.get(path).content), []
                for _ in range(TIMES):
                    began = process_time()
                    assert client.get(path).status_code == 200
                    used.append((process_time() - began) * 1000)
                print(f"{path:45} {median(used):6.0f} ms {size / 1000:6.0f} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""A chain's night: `python -m tests.benchmarks.plan_all BAKERIES PROCESSES DETERMINISTIC_S`.

Each bakery has the demo's July night with four of its mixes more, twenty in all. One process is
killed when a third of the bakeries is planned. Told are wall time, the processor time of all
processes and the median per bakery.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import multiprocessing
import os
import resource
import signal
import sys
import tempfile
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median
from time import perf_counter

from sqlmodel import Session

from api.files.toml_day import parsed
from api.jobs.plan_all import Outcome, plan_all
from api.scenario_files import scenario_text
from api.schemas.day import DayInput
from api.store import days, plans
from api.store.engine import for_writing, open_engine
from api.store.paging import Page
from api.store.upgrade import upgrade
from planner.pins import Limits
from tests.api.whole.test_night import plain

MORE = 4


def main() -> None:
    """Plan the chain, kill one process, and print what came of it."""
    bakeries, processes, work_s = int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])
    limits = Limits(solve_s=60, deterministic_s=work_s, workers=1)
    with tempfile.TemporaryDirectory() as folder:
        address = f"sqlite:///{Path(folder) / 'ovenward.sqlite3'}"
        production_date = _set_up(address, bakeries)
        told, began, is_killed = [], perf_counter(), False
        for one in plan_all(address, production_date, limits, processes):
            told.append(one)
            if not is_killed and len(told) >= bakeries // 3:
                os.kill(multiprocessing.active_children()[0].pid or 0, signal.SIGKILL)
                is_killed = True
        wall_s = perf_counter() - began
        engine = open_engine(address)
        with Session(engine) as session:
            rows = plans.listed(session, page=Page(10_000))
            mixes = len(plans.core_plan(plans.get(session, rows[0].id)).mixes)
        stored = Counter(row.bakery_id for row in rows)
        engine.dispose()
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    took_s = [one.took_s for one in told if one.outcome is Outcome.PLANNED]
    print(
        f"{len(stored)} of {bakeries} bakeries of {mixes} mixes, {max(stored.values())} plan each"
    )
    print(f"{dict(Counter(str(one.outcome) for one in told))}; one process killed: {is_killed}")
    print(f"wall {wall_s:.0f} s, processor {used.ru_utime + used.ru_stime:.0f} s", end="; ")
    print(f"per bakery median {median(took_s):.2f} s, worst {max(took_s):.2f} s")


def _set_up(address: str, bakeries: int) -> date:
    upgrade(address)
    engine = open_engine(address)
    document = plain(parsed(scenario_text("july_night")))
    lines = document["mix_list"]
    document["mix_list"] = lines + [
        {**line, "id": f"again_{i}", "pieces": max(1, int(line["pieces"]) // 3)}
        for i, line in enumerate([one for one in lines if "pieces" in one][:MORE])
    ]
    with Session(for_writing(engine)) as session, session.begin():
        for number in range(bakeries):
            document["bakery"]["id"] = f"bakery{number:03d}"
            day = DayInput.model_validate(document)
            name = document["bakery"]["id"]
            days.put(session, name, day.production_date, day, datetime.now(UTC))
    engine.dispose()
    return day.production_date


if __name__ == "__main__":
    main()

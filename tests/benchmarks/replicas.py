"""Three services, the leader killed twice: `python -m tests.benchmarks.replicas ADDRESS`.

Timers come due every 100 ms; whoever of the three fires them is killed after a third and after two
thirds. Each must be told once; how late is printed. `ADDRESS` is an empty PostgreSQL database.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from statistics import median
from time import monotonic, sleep

from sqlalchemy import text
from sqlalchemy.engine.url import make_url
from sqlmodel import Session, select

from api.schemas.occurrences import OccurrenceState
from api.store.engine import for_writing, open_engine
from api.store.tables import EventRow, OccurrenceRow
from tests.api.fake_core import day_document
from tests.benchmarks.service_process import Child, launcher

REPLICAS, TIMERS, EVERY_MS = 3, 100, 100
DATE = "2026-07-16"
LEADER = text(
    "SELECT a.application_name FROM pg_locks l JOIN pg_stat_activity a ON a.pid = l.pid"
    " JOIN pg_database d ON d.oid = l.database AND d.datname = current_database()"
    " WHERE l.locktype = 'advisory' AND l.granted"
)


@dataclass(slots=True)
class Told:
    """How often each timer was told, and how late [s]."""

    times: Counter[str]
    late_s: list[float]
    killed: list[str]


def run(address: str, folder: Path, timers: int = TIMERS) -> Told:
    """Let so many timers come due while two leaders die."""
    engine = open_engine(address)
    limits = {"plan_wait_s": 60, "deterministic_s": 0.2, "workers": 1, "log_level": "warning"}
    with launcher(address, folder, lambda: datetime.now(UTC), **limits) as service:
        named = {
            name: service.start(
                make_url(address)
                .update_query_dict({"application_name": name})
                .render_as_string(hide_password=False)
            )
            for name in (f"replica{i}" for i in range(REPLICAS))
        }
        plan_id = _plan(named["replica0"])
        first = datetime.now(UTC) + timedelta(seconds=3)
        with Session(for_writing(engine)) as session, session.begin():
            for number in range(timers):
                session.add(_timer(plan_id, number, first))
        killed = []
        for share in (1 / 3, 2 / 3):
            until = first + timedelta(milliseconds=EVERY_MS * timers * share)
            sleep(max(0.0, (until - datetime.now(UTC)).total_seconds()))
            with engine.connect() as connection:
                leader = connection.execute(LEADER).scalars().first()
            if leader in named:
                named.pop(leader).kill()
                killed.append(str(leader))
        told = _when_all_fired(engine, timers, killed)
    engine.dispose()
    return told


def _plan(child: Child) -> str:
    day = day_document(pins=[])
    assert child.ask("PUT", f"/bakeries/weir/days/{DATE}", day)[0] == 201
    status, made = child.ask("POST", "/plans", {"bakery_id": "weir", "production_date": DATE})
    assert status == 201, made
    return str(made["id"])


def _timer(plan_id: str, number: int, first: datetime) -> OccurrenceRow:
    return OccurrenceRow(
        id=f"{plan_id}/fold/made up/{number + 1}",
        bakery_id="weir",
        plan_id=plan_id,
        production_date=date.fromisoformat(DATE),
        kind="fold",
        subject="made up",
        number=number + 1,
        state=OccurrenceState.WAITING,
        due_at=first + timedelta(milliseconds=EVERY_MS * number),
        fired_at=None,
    )


def _when_all_fired(engine: object, timers: int, killed: list[str]) -> Told:
    end = monotonic() + 90
    while True:
        with Session(engine) as session:  # type: ignore[arg-type]
            query = select(OccurrenceRow).where(OccurrenceRow.subject == "made up")
            rows = [one for one in session.exec(query).all() if one.fired_at is not None]
            if len(rows) == timers or monotonic() > end:
                events = session.exec(select(EventRow).where(EventRow.kind == "timer.due")).all()
                times = Counter(str(one.data["id"]) for one in events)
                late = [(one.fired_at - one.due_at).total_seconds() for one in rows if one.fired_at]
                return Told(times, late, killed)
        sleep(0.2)


def main() -> None:
    """Print how often timers were told, and how late."""
    with tempfile.TemporaryDirectory() as folder:
        told = run(sys.argv[1], Path(folder))
    late = sorted(told.late_s)
    print(f"killed while leading: {', '.join(told.killed)}")
    print(f"{len(told.times)} of {TIMERS} timers told, {max(told.times.values())} times at most")
    p95 = late[int(0.95 * len(late))]
    print(f"late: median {1000 * median(late):.0f} ms, p95 {1000 * p95:.0f} ms", end=", ")
    print(f"worst {late[-1]:.2f} s")


if __name__ == "__main__":
    main()

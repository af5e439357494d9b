"""Killing the service at random moments: `python -m tests.benchmarks.crash ADDRESS ROUNDS`.

The real process with the real planner is driven over HTTP and killed while it takes in readings,
makes plans and fires timers, a hundred times as fast as a night. Then the database is looked at
from outside. `ADDRESS` is `sqlite` for a file of its own, or that of an empty PostgreSQL database.
What must hold is said by `faults_of`; the command exits with 1 if something does not.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import random
import signal
import sys
import tempfile
import threading
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from statistics import median
from time import monotonic, sleep, time

from sqlalchemy import Engine
from sqlmodel import Session, select

from api.schemas.occurrences import OccurrenceKind, OccurrenceState
from api.schemas.plans import PlanState
from api.store import plans
from api.store.engine import open_engine
from api.store.paging import Page
from api.store.tables import EventRow, InForceRow, OccurrenceRow, PlanRow, ReadingRow
from api.store.timers import timers_of
from tests.api.fake_core import day_document
from tests.benchmarks.service_process import Child, FastClock, asked, launcher

DATE = "2026-07-16"
EVENING = datetime(2026, 7, 15, 19, 30, tzinfo=UTC)
SPEED = 100.0
BAKERIES = 5
WRITERS = 4
MOST_WRITTEN, LONGEST_S = 25, 20.0
"""A service is killed after at most so many readings, and after at most so long [s]."""
TOLD_IF_NEEDED = frozenset({OccurrenceKind.READING_WANTED, OccurrenceKind.RECONSIDER})
STALE_S = 1500
"""On the fast clock: 15 s of the machine's."""


@dataclass(slots=True)
class Acknowledged:
    """What the service has said that it stored."""

    readings: set[tuple[str, str]] = field(default_factory=set)
    plans: set[str] = field(default_factory=set)
    in_force: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class Report:
    """What came of the rounds."""

    rounds: int
    readings: int
    plans: int
    timers: int
    interrupted: int
    starts_s: list[float]
    late_min: list[float]
    faults: list[str]


def run(address: str, folder: Path, rounds: int, seed: int = 1) -> Report:
    """Kill the service so many times, let it finish what waits, and look at its database."""
    chance, known = random.Random(seed), Acknowledged()
    clock = FastClock(EVENING, time(), SPEED)
    limits = {"solve_s": 5, "deterministic_s": 0.2, "workers": 1, "stale_s": STALE_S}
    starts_s, faults = [], []
    with launcher(address, folder, clock, plan_wait_s=0, log_level="warning", **limits) as service:
        child = service.start()
        _set_up(child, known)
        for number in range(rounds):
            _drive_and_kill(child, known, chance, number)
            faults += [f"round {number}: {one}" for one in child.complaints()]
            began = monotonic()
            child = service.start()
            starts_s.append(monotonic() - began)
        engine = open_engine(address)
        _let_finish(engine, clock)
        faults += child.complaints()
        if child.stop() not in {0, -signal.SIGTERM}:
            faults.append("the last service did not stop as told")
    report = _looked_at(engine, known, clock, rounds, starts_s, faults)
    engine.dispose()
    return report


def _set_up(child: Child, known: Acknowledged) -> None:
    """Store some bakeries whose night is planned, and one whose nights plan themselves."""
    for number in range(BAKERIES):
        name = f"bakery{number}"
        day = day_document(pins=[])
        day["bakery"] |= {"id": name, "name": name}
        day["mix_list"][0]["leave_by"] = f"{4 + number // 2:02d}:30"
        assert child.ask("PUT", f"/bakeries/{name}/days/{DATE}", day)[0] in {200, 201}
        routine = {"in_force": "newest", "nightly_plan_at": f"22:{10 * number:02d}"}
        assert child.ask("PUT", f"/bakeries/{name}/routine", routine)[0] in {200, 201}
        _order(child, name, known)
    end = monotonic() + 120
    while monotonic() < end:
        ready = [one for one in child.ask("GET", "/plans")[1] if one["state"] == "ready"]
        if len({one["bakery_id"] for one in ready}) == BAKERIES:
            return
        sleep(0.2)
    raise AssertionError("the first plans were not made")


def _order(child: Child, bakery_id: str, known: Acknowledged) -> None:
    wanted = {"bakery_id": bakery_id, "production_date": DATE}
    status, told = child.ask("POST", "/plans", wanted)
    if status in {201, 202}:
        known.plans.add(told["id"])


def _drive_and_kill(child: Child, known: Acknowledged, chance: random.Random, number: int) -> None:
    over = threading.Event()
    ready = [one["id"] for one in child.ask("GET", "/plans")[1] if one["state"] == "ready"]
    newest = {one.rsplit(".", 1)[0]: one for one in reversed(ready)}
    seeds = [chance.randrange(2**31) for _ in range(WRITERS)]
    threads = [
        threading.Thread(
            target=_write, args=(child, sorted(newest.values()), known, over, f"{number}-{i}", seed)
        )
        for i, seed in enumerate(seeds)
    ]
    for thread in threads:
        thread.start()
    if chance.random() < 0.5:
        threading.Thread(target=_try_to_order, args=(child, known, chance)).start()
    _let_write(known, len(known.readings) + chance.randrange(MOST_WRITTEN))
    sleep(chance.uniform(0.0, 0.5))
    child.kill()
    over.set()
    for thread in threads:
        thread.join()


def _let_write(known: Acknowledged, wanted: int) -> None:
    """Wait for so many readings: on a busy machine a fixed time would kill before the first."""
    end = monotonic() + LONGEST_S
    while len(known.readings) < wanted and monotonic() < end:
        sleep(0.002)


def _try_to_order(child: Child, known: Acknowledged, chance: random.Random) -> None:
    try:
        _order(child, f"bakery{chance.randrange(BAKERIES)}", known)
    except (OSError, HTTPException, ValueError):
        return  # killed meanwhile: nothing was acknowledged


def _write(
    child: Child,
    plan_ids: list[str],
    known: Acknowledged,
    over: threading.Event,
    name: str,
    seed: int,
) -> None:
    """Send readings until the service is killed; remember those that it said it stored."""
    chance = random.Random(seed)
    connection = HTTPConnection("127.0.0.1", child.port, timeout=30)
    try:
        mixes = {
            plan_id: asked(connection, "GET", f"/plans/{plan_id}")[1]["night"]["mixes"]
            for plan_id in plan_ids
        }
        count = 0
        while not over.is_set():
            plan_id, count = chance.choice(plan_ids), count + 1
            reading = {
                "id": f"{name}-{count}",
                "kind": "flour temperature",
                "mix_id": chance.choice(mixes[plan_id])["id"],
                "at_utc": "2026-07-15T20:00:00Z",
                "value_c": round(chance.uniform(20, 28), 1),
            }
            status, _ = asked(connection, "POST", f"/plans/{plan_id}/readings", reading)
            assert status == 201, status
            known.readings.add((plan_id, reading["id"]))
    except (OSError, HTTPException, ValueError):
        return  # killed in the middle of an answer
    finally:
        connection.close()


def _let_finish(engine: Engine, clock: FastClock) -> None:
    """Wait until every plan that was wanted is made or given up, and nothing due waits."""
    end = monotonic() + 180
    while monotonic() < end:
        with Session(engine) as session:
            making = [one for one in plans.listed(session, page=Page(1000)) if _is_in_work(one)]
            waiting = select(OccurrenceRow.id).where(
                OccurrenceRow.state == OccurrenceState.WAITING,
                OccurrenceRow.due_at < clock() - timedelta(minutes=10),
            )
            if not making and session.exec(waiting).first() is None:
                return
        sleep(0.5)


def _is_in_work(row: PlanRow) -> bool:
    return row.state == PlanState.PLANNING and row.attempts < plans.MOST_ATTEMPTS


def _looked_at(
    engine: Engine,
    known: Acknowledged,
    clock: FastClock,
    rounds: int,
    starts_s: list[float],
    faults: list[str],
) -> Report:
    with Session(engine) as session:
        fired = [
            one
            for one in session.exec(select(OccurrenceRow)).all()
            if one.state == OccurrenceState.FIRED
        ]
        stored = len(session.exec(select(ReadingRow.id)).all())
        rows = plans.listed(session, page=Page(1000))
        return Report(
            rounds=rounds,
            readings=stored,
            plans=len(rows),
            timers=len(fired),
            interrupted=sum(one.attempts > 1 for one in rows),
            starts_s=starts_s,
            late_min=[
                (one.fired_at - one.due_at).total_seconds() / 60
                for one in fired
                if one.fired_at is not None
            ],
            faults=[*faults, *faults_of(session, known, clock())],
        )


def faults_of(session: Session, known: Acknowledged, now: datetime) -> list[str]:
    """Return what does not hold: lost, doubled, broken or left undone, in words."""
    return [
        *_broken(session),
        *_lost(session, known),
        *_events_out_of_order(session),
        *_timers_lost_or_doubled(session, now),
        *_left_undone(session),
    ]


def _broken(session: Session) -> list[str]:
    connection = session.connection()
    if connection.dialect.name != "sqlite":
        return []  # PostgreSQL was not killed, and keeps its own keys
    whole = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
    pointing = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    return [*(str(one) for one in whole if one != "ok"), *(str(one) for one in pointing)]


def _lost(session: Session, known: Acknowledged) -> list[str]:
    found = session.exec(select(ReadingRow.plan_id, ReadingRow.id)).all()
    ids = set(session.exec(select(PlanRow.id)).all())
    return [
        *(f"lost reading {one}" for one in known.readings - {(a, b) for a, b in found}),
        *(f"lost plan {one}" for one in known.plans - ids),
    ]


def _events_out_of_order(session: Session) -> list[str]:
    faults = []
    events = session.exec(select(EventRow)).all()
    for bakery_id in {one.bakery_id for one in events}:
        numbers = sorted(one.number for one in events if one.bakery_id == bakery_id)
        if numbers != list(range(1, len(numbers) + 1)):
            faults.append(f"{bakery_id}: event numbers have a gap")
    told = Counter(
        (one.subject, one.data["reading"]["id"]) for one in events if one.kind == "reading.taken"
    )
    rows = session.exec(select(ReadingRow.plan_id, ReadingRow.id)).all()
    if told != Counter((plan_id, id) for plan_id, id in rows):
        faults.append("readings and their events differ")
    return faults


def _timers_lost_or_doubled(session: Session, now: datetime) -> list[str]:
    rows = {one.id: one for one in session.exec(select(OccurrenceRow)).all()}
    events = session.exec(select(EventRow)).all()
    told = Counter(
        str(one.data["id"]) for one in events if one.kind in {"timer.due", "reading.wanted"}
    )
    nights = Counter(
        (one.bakery_id, one.at) for one in events if one.kind in {"plan.wanted", "night.incomplete"}
    )
    faults = [f"told {count} times: {id}" for id, count in told.items() if count > 1]
    faults += [f"told, but not fired: {id}" for id in told if rows[id].state != "fired"]
    for id, row in rows.items():
        if row.state == OccurrenceState.WAITING and row.due_at < now - timedelta(minutes=15):
            faults.append(f"still waits: {id}")
        if row.state != OccurrenceState.FIRED:
            continue
        if row.kind == OccurrenceKind.NIGHTLY_PLAN:
            if nights[row.bakery_id, row.fired_at] != 1:
                faults.append(f"fired without its plan: {id}")
        elif id not in told and row.kind not in TOLD_IF_NEEDED:
            faults.append(f"fired, but not told: {id}")
    for counts in session.exec(select(InForceRow)).all():
        plan = plans.core_plan(plans.get(session, counts.plan_id))
        wanted = {
            f"{counts.plan_id}/{one.kind}/{one.subject}/{one.number}" for one in timers_of(plan, 10)
        }
        faults += [f"has no row: {one}" for one in wanted - set(rows)]
    return faults


def _left_undone(session: Session) -> list[str]:
    rows = plans.listed(session, page=Page(1000))
    return [f"left undone: {one.id}" for one in rows if _is_in_work(one)] + [
        f"failed: {one.id}" for one in rows if one.state == PlanState.FAILED
    ]


def main() -> None:
    """Run as many rounds as were asked for, and print what came of them."""
    kind, rounds = sys.argv[1], int(sys.argv[2])
    with tempfile.TemporaryDirectory() as folder:
        address = f"sqlite:///{folder}/ovenward.sqlite3" if kind == "sqlite" else kind
        report = run(address, Path(folder), rounds)
    print(f"{report.rounds} kills; {report.readings} readings, {report.plans} plans", end=" ")
    print(f"({report.interrupted} begun again), {report.timers} timers told")
    print(f"next start, median {median(report.starts_s):.1f} s, worst {max(report.starts_s):.1f} s")
    late = sorted(report.late_min)
    print(f"late, on the fast clock: median {median(late):.1f} min, worst {late[-1]:.1f} min")
    print("\n".join(report.faults) or "nothing lost, nothing doubled, nothing broken")
    sys.exit(1 if report.faults else 0)


if __name__ == "__main__":
    main()

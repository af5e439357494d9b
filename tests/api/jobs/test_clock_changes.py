"""Both nights on which the clocks change, in three zones: every job and every timer once.

The hours are worked by hand from the zones' own rules: Vienna changes at 01:00 UTC, New York at
02:00 of its own clock, Lord Howe at 02:00 of its own and by half an hour only.
"""

from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlmodel import Session

from api.jobs.clockwork import Clockwork
from api.jobs.planning import PlanningJobs
from api.schemas.bakery import BakeryInput
from api.schemas.routine import RoutineInput
from api.settings import Settings
from api.store import bakeries, events, routines
from api.store.engine import for_writing
from api.store.tables import OccurrenceRow, PlanRow
from tests.api.fake_core import FakeCore, day_document

STEP = timedelta(minutes=15)
CHANGES = [
    # zone, clock time of the plan, the date of the change, and when the plans of the day before,
    # of that day and of the day after are due [UTC]
    ("Europe/Vienna", "02:30", "2026-10-25", ["24T00:30", "25T00:30", "26T01:30"]),
    ("Europe/Vienna", "02:30", "2026-03-29", ["28T01:30", "29T01:30", "30T00:30"]),
    ("Europe/Vienna", "17:30", "2026-10-25", ["23T15:30", "24T15:30", "25T16:30"]),
    ("America/New_York", "01:30", "2026-11-01", ["31T05:30", "01T05:30", "02T06:30"]),
    ("America/New_York", "02:30", "2026-03-08", ["07T07:30", "08T07:30", "09T06:30"]),
    ("Australia/Lord_Howe", "01:45", "2026-04-05", ["03T14:45", "04T14:45", "05T15:15"]),
    ("Australia/Lord_Howe", "02:15", "2026-10-04", ["02T15:45", "03T15:45", "04T15:15"]),
]
each_change = pytest.mark.parametrize(("zone", "at", "changes_on", "due"), CHANGES)


class Hand:
    """A service whose clock is set by hand, in a bakery of some zone."""

    def __init__(self, engine, zone, routine):
        self.engine, self.now = engine, None
        planning = PlanningJobs(engine, Settings(), lambda: self.now, FakeCore())
        self.clockwork = Clockwork(engine, Settings(), lambda: self.now, planning)
        self.planning = planning
        bakery = day_document()["bakery"] | {"zone": zone}
        start = datetime(2026, 1, 1, tzinfo=UTC)
        with Session(for_writing(engine)) as session, session.begin():
            bakeries.put(session, "weir", BakeryInput.model_validate(bakery), start)
            routines.put(session, "weir", RoutineInput.model_validate(routine), start)

    def walk(self, start, end):
        """Let the clock go from one moment to another, looking at what is due at each step."""
        self.now = start
        while self.now <= end:
            self.clockwork.tick()
            self.now += STEP

    def told(self):
        with Session(self.engine) as session:
            return events.after(session, "weir", 0, 1000)

    def close(self):
        self.planning.close()
        self.clockwork.close()


def midnight(day):
    return datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC)


@each_change
def test_the_nightly_plan_comes_once_for_each_date(engine, zone, at, changes_on, due):
    hand = Hand(engine, zone, {"nightly_plan_at": at})
    change = midnight(changes_on)
    hand.walk(change - timedelta(days=3), change + timedelta(days=3))
    hand.close()
    told = hand.told()
    counted = Counter(one.data["production_date"] for one in told)
    assert set(counted.values()) == {1}
    by_date = {one.data["production_date"]: one.time for one in told}
    for days, wanted in zip((-1, 0, 1), due, strict=True):
        at_utc = by_date[(change + timedelta(days=days)).date().isoformat()]
        assert at_utc.strftime("%dT%H:%M") == wanted


@each_change
def test_a_restart_in_the_changed_hours_repeats_nothing(engine, zone, at, changes_on, due):
    """Down from three hours before the change until three after; what came due is told then."""
    hand = Hand(engine, zone, {"nightly_plan_at": at})
    change = midnight(changes_on)
    middle = max(
        datetime.strptime(f"{change:%Y-%m}-{one}", "%Y-%m-%dT%H:%M").replace(tzinfo=UTC)
        for one in due[1:2]
    )
    hand.walk(middle - timedelta(days=1), middle - timedelta(hours=3))
    hand.walk(middle + timedelta(hours=3), middle + timedelta(days=1))
    hand.walk(middle - timedelta(hours=1), middle + timedelta(hours=2))  # a clock put back
    hand.close()
    counted = Counter(one.data["production_date"] for one in hand.told())
    assert counted[changes_on] == 1
    assert set(counted.values()) == {1}


@each_change
def test_every_timer_of_the_changed_hours_comes_once_at_its_moment(
    engine, zone, at, changes_on, due
):
    """One every quarter of an hour for a day and a half: in order, and none before its moment."""
    assert at
    assert due
    hand = Hand(engine, zone, {})
    first = midnight(changes_on) - timedelta(hours=18)
    wanted = [first + i * STEP for i in range(144)]
    with Session(for_writing(engine)) as session, session.begin():
        session.add(a_plan())
        session.flush()
        session.add_all(a_timer(i, moment) for i, moment in enumerate(wanted))
    hand.walk(first - STEP, wanted[-1] + STEP)
    hand.close()
    told = [one for one in hand.told() if one.type == "ovenward.timer.due"]
    assert [one.data["number"] for one in told] == list(range(1, 145))
    assert [one.time for one in told] == wanted


def a_plan():
    moment = datetime(2026, 1, 1, tzinfo=UTC)
    empty = dict.fromkeys(("best", "bound", "result", "problem", "finished_at"))
    return PlanRow(
        id="weir.2026-01-02.1", bakery_id="weir", production_date=date(2026, 1, 2), version=1,
        state="ready", stop_requested=False, stage="done", search_s=0.0, made_from={},
        created_at=moment, beat_at=moment, attempts=1, **empty,
    )  # fmt: skip


def a_timer(number, due_at):
    return OccurrenceRow(
        id=f"weir.2026-01-02.1/fold/white/{number + 1}", bakery_id="weir",
        plan_id="weir.2026-01-02.1", production_date=date(2026, 1, 2), kind="fold",
        subject="white", number=number + 1, state="waiting", due_at=due_at, fired_at=None,
    )  # fmt: skip

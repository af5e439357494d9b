"""Timers: each told once, late rather than never, whoever dies in between."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlmodel import Session

from api.jobs.clockwork import Clockwork
from api.jobs.planning import PlanningJobs
from api.schemas.day import DayInput
from api.schemas.occurrences import OccurrenceState
from api.schemas.routine import RoutineInput
from api.settings import Settings
from api.store import days, events, in_force, occurrences, plans, readings, routines
from api.store.engine import for_writing
from api.store.paging import Page
from planner.planned import Answer
from planner.readings import Reading, ReadingKind
from tests.api.fake_core import FakeCore, day_document

DATE = date(2026, 7, 16)
EVENING = datetime(2026, 7, 15, 14, 0, tzinfo=UTC)
MIX_STARTS = datetime(2026, 7, 15, 21, 40, tzinfo=UTC)
"""Start of the white dough in the sample plan; its dough is wanted at 22:01."""


class Night:
    """A database with the day, a clock that is set by hand, and clockworks over both."""

    def __init__(self, engine):
        self.engine, self.now, self.opened = engine, EVENING, []
        with Session(for_writing(engine)) as session, session.begin():
            days.put(session, "weir", DATE, DayInput.model_validate(day_document()), self.now)

    def clockwork(self):
        settings = Settings()
        planning = PlanningJobs(self.engine, settings, lambda: self.now, FakeCore())
        made = Clockwork(self.engine, settings, lambda: self.now, planning)
        self.opened.append((made, planning))
        return made

    def plan(self):
        planning = self.clockwork()._planning
        plan_id, job = planning.order("weir", DATE)
        job.result(timeout=20)
        return plan_id

    def write(self, function, *args):
        with Session(for_writing(self.engine)) as session, session.begin():
            return function(session, *args)

    def read(self, function, *args):
        with Session(self.engine) as session:
            return function(session, *args)

    def told(self, *types):
        found = self.read(events.after, "weir", 0, 1000)
        return [one for one in found if one.type.removeprefix("ovenward.") in types]

    def timers(self, state=None):
        return self.read(occurrences.listed, "weir", None, state, Page(1000))


@pytest.fixture
def night(engine):
    made = Night(engine)
    yield made
    for clockwork, planning in made.opened:
        clockwork.close()
        planning.close()


@pytest.fixture
def approved(night):
    plan_id = night.plan()
    night.write(in_force.approve, plan_id, night.now)
    return plan_id


def test_a_plan_in_force_has_its_timers_waiting(night, approved):
    """The sample: 2 starts and 2 checks of preparations, 3 each of mix, reading wanted, divide,
    load, take out, and 2 folds: 2 + 2 + 5 × 3 + 2 = 21."""
    assert {one.plan_id for one in night.timers()} == {approved}
    assert [one.state for one in night.timers()] == ["waiting"] * 21


@pytest.mark.usefixtures("approved")
def test_nothing_is_told_before_its_time(night):
    night.now = MIX_STARTS - timedelta(seconds=1)
    night.clockwork().tick()
    assert "mix" not in [one.data["kind"] for one in night.told("timer.due")]


def test_what_is_due_is_told_once_with_its_lateness(night, approved):
    night.now = MIX_STARTS + timedelta(seconds=3)
    clockwork = night.clockwork()
    for _ in range(2):
        clockwork.tick()
    (told,) = [one for one in night.told("timer.due") if one.data["kind"] == "mix"]
    assert (told.subject, told.data["subject"], told.data["late_s"]) == (approved, "white", 3)


@pytest.mark.usefixtures("approved")
def test_after_a_restart_what_was_missed_is_told_late(night):
    """Down from 14:00 to 22:00: build, pour, check and the first mix were missed."""
    night.now = datetime(2026, 7, 15, 22, 0, tzinfo=UTC)
    night.clockwork().tick()
    told = [(one.data["kind"], one.data["late_s"]) for one in night.told("timer.due")]
    assert told == [("build", 27000), ("pour", 17100), ("check", 1200), ("mix", 1200)]


@pytest.mark.usefixtures("approved")
def test_two_that_fire_at_once_tell_each_timer_once(night):
    """As when a leader is held to be dead and is not."""
    night.now = datetime(2026, 7, 16, 6, 0, tzinfo=UTC)
    first, second = night.clockwork(), night.clockwork()
    waiting = [one.id for one in night.timers("waiting")]
    with ThreadPoolExecutor(2) as hands:
        fired = list(hands.map(lambda c: sum(map(c.fire, waiting)), [first, second]))
    assert sum(fired) == 21
    told = [one.data["id"] for one in night.told("timer.due", "reading.wanted")]
    assert sorted(told) == sorted(waiting)


@pytest.mark.usefixtures("approved")
def test_only_the_leader_fires(night):
    night.now = datetime(2026, 7, 16, 6, 0, tzinfo=UTC)
    first, second = night.clockwork(), night.clockwork()
    assert first.leads
    second.tick()
    assert night.told("timer.due") == []
    first.close()
    second.tick()
    assert len(night.told("timer.due")) == 18


def test_a_dough_that_was_read_is_not_asked_for(night, approved):
    at = datetime(2026, 7, 15, 21, 51, tzinfo=UTC)
    reading = Reading("r1", ReadingKind.DOUGH_END_C, "white", at, 25.0)

    def read(session):
        row = plans.get(session, approved)
        answer = Answer(plans.core_plan(row).mix("white"), changed=False, remarks=())
        readings.add(session, row, reading, answer, at, offset_k=0.0, is_answered=True)

    night.write(read)
    night.now = datetime(2026, 7, 16, 6, 0, tzinfo=UTC)
    night.clockwork().tick()
    assert [one.data["subject"] for one in night.told("reading.wanted")] == ["country", "rye"]


def test_another_plan_in_force_takes_the_timers_over(night, approved):
    second = night.plan()
    night.write(in_force.approve, second, night.now)
    assert {(one.plan_id, one.state) for one in night.timers()} == {
        (approved, "withdrawn"),
        (second, "waiting"),
    }
    night.write(in_force.approve, approved, night.now)
    waiting = {one.plan_id for one in night.timers(OccurrenceState.WAITING)}
    assert waiting == {approved}


def test_a_plan_that_is_withdrawn_tells_nothing(night, approved):
    night.write(in_force.withdraw, approved, night.now)
    night.now = datetime(2026, 7, 16, 6, 0, tzinfo=UTC)
    night.clockwork().tick()
    assert night.told("timer.due") == []


def test_hours_that_were_over_when_the_plan_came_in_force_are_passed(night):
    """At 22:00 build, pour, check and mix are over, and the reading of 22:01 is to come."""
    plan_id = night.plan()
    night.now = datetime(2026, 7, 15, 22, 0, tzinfo=UTC)
    night.write(in_force.approve, plan_id, night.now)
    assert [one.kind for one in night.timers("passed")] == ["build", "pour", "check", "mix"]


def test_with_the_newest_in_force_every_new_plan_counts(night):
    night.write(routines.put, "weir", RoutineInput.model_validate({"in_force": "newest"}), EVENING)
    plan_ids = [night.plan() for _ in range(2)]
    assert night.read(in_force.of_plans, plan_ids) == {plan_ids[1]}
    assert night.read(in_force.of_day, "weir", DATE) == plan_ids[1]


def at_night(night, **routine):
    night.write(routines.put, "weir", RoutineInput.model_validate(routine), night.now)


def test_a_night_is_planned_by_itself_at_its_local_time_and_once(night):
    """17:30 in Vienna in July is 15:30 UTC; on the evening of the 15th it plans the 16th."""
    at_night(night, nightly_plan_at="17:30")
    clockwork = night.clockwork()
    for minute in (29, 30, 31):
        night.now = datetime(2026, 7, 15, 15, minute, tzinfo=UTC)
        clockwork.tick()
    clockwork._planning.close()
    rows = night.read(plans.listed, "weir")
    assert [(row.id, row.state) for row in rows] == [("weir.2026-07-16.1", "ready")]


def test_a_night_whose_day_is_not_complete_is_told_so(night):
    """There is no mix list of the 15th, which is planned at 02:00 of that date (00:00 UTC)."""
    night.now = datetime(2026, 7, 14, 20, 0, tzinfo=UTC)
    at_night(night, nightly_plan_at="02:00")
    night.now = datetime(2026, 7, 15, 0, 0, tzinfo=UTC)
    night.clockwork().tick()
    (told,) = night.told("night.incomplete")
    assert told.data["production_date"] == "2026-07-15"
    assert told.data["problem"]["type"] == "/problems/day-incomplete"


def test_a_night_that_is_no_longer_wanted_is_not_planned(night):
    at_night(night, nightly_plan_at="17:30")
    at_night(night)
    night.now = datetime(2026, 7, 15, 16, 0, tzinfo=UTC)
    night.clockwork().tick()
    assert night.read(plans.listed, "weir") == []


def test_another_hour_moves_what_waits(night):
    at_night(night, nightly_plan_at="17:30")
    at_night(night, nightly_plan_at="18:00")
    due = {one.due_at for one in night.timers("waiting")}
    assert datetime(2026, 7, 15, 16, 0, tzinfo=UTC) in due
    assert datetime(2026, 7, 15, 15, 30, tzinfo=UTC) not in due


def test_a_plan_whose_maker_died_is_made_again_and_not_for_ever(night):
    """A row as a killed process leaves it: being made, and silent since."""

    def ordered(session):
        made_from = days.assembled(session, "weir", DATE)
        return plans.add(session, "weir", DATE, made_from, night.now).id

    plan_id = night.write(ordered)
    started = []
    for minutes in (1, 4, 8, 12):
        night.now = EVENING + timedelta(minutes=minutes)
        clockwork = night.clockwork()
        clockwork._planning.start = started.append
        clockwork.tick()
        clockwork.close()
    assert started == [plan_id] * 2


def test_a_plan_that_waits_for_its_turn_is_no_dead_one(night):
    clockwork = night.clockwork()
    clockwork._planning._core.go.clear()
    jobs = [clockwork._planning.order("weir", DATE) for _ in range(2)]
    for minutes in range(1, 10):
        night.now = EVENING + timedelta(minutes=minutes)
        clockwork.tick()
    clockwork._planning._core.go.set()
    for _, job in jobs:
        job.result(timeout=20)
    assert night.read(plans.get, jobs[1][0]).attempts == 1


def test_what_is_older_than_is_to_be_kept_is_forgotten_by_itself(night, approved):
    """Plans are kept for 800 days: this one was made the day before its production day."""
    clockwork = night.clockwork()
    clockwork.pull(EVENING + timedelta(days=800))
    assert [row.id for row in night.read(plans.listed)] == [approved]
    clockwork.pull(EVENING + timedelta(days=802))
    assert night.read(plans.listed) == []

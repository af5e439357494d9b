"""A new forecast or a reading beyond its band: another plan is proposed, done, or nothing told."""

import json
from datetime import UTC, datetime, timedelta

import httpx
import pytest
from sqlmodel import Session

from api.jobs.clockwork import Clockwork
from api.jobs.planning import PlanningJobs
from api.schemas.day import DayInput
from api.schemas.forecast import ForecastInput, ForecastSourceInput
from api.schemas.routine import RoutineInput
from api.settings import Settings
from api.store import days, events, forecasts, in_force, plans, routines
from api.store.engine import for_writing
from api.store.intake import Intake
from planner.events import NewConditions
from planner.readings import Reading, ReadingKind
from tests.api.fake_core import FakeCore, day_document
from tests.api.jobs.test_clockwork import DATE, MIX_STARTS

AFTERNOON = datetime(2026, 7, 15, 14, 0, tzinfo=UTC)
PLAN = f"weir.{DATE}.1"


def hours(celsius):
    return [
        {"at_utc": (AFTERNOON + timedelta(hours=i)).isoformat(), "temperature_c": celsius}
        for i in range(24)
    ]


class Night:
    """The day without conditions of its own: the room's forecast stands in for them."""

    def __init__(self, engine):
        self.engine, self.now, self.core = engine, AFTERNOON, FakeCore()
        self.answers = []
        self.write(days.put, "weir", DATE, DayInput.model_validate(day_document()), self.now)
        from api.store import conditions  # noqa: PLC0415  beside the day that it takes them from

        self.write(conditions.delete, "weir", DATE)
        self.push(24.0)
        self.planning = PlanningJobs(engine, Settings(), lambda: self.now, self.core)
        transport = httpx.MockTransport(self.source)
        settings = Settings(pull_inside=True)
        self.clockwork = Clockwork(
            engine, settings, lambda: self.now, self.planning, transport=transport
        )
        plan_id, job = self.planning.order("weir", DATE)
        job.result(timeout=20)
        self.write(in_force.approve, plan_id, self.now)

    def source(self, request):
        self.answers.append(str(request.url))
        return httpx.Response(200, text=json.dumps({"list": hours(31.0)}))

    def write(self, function, *args, **more):
        with Session(for_writing(self.engine)) as session, session.begin():
            return function(session, *args, **more)

    def push(self, celsius):
        sent = ForecastInput.model_validate({"hours": hours(celsius)})
        self.write(forecasts.push, "weir", "bakehouse", sent, self.now)

    def wants(self, **routine):
        self.write(routines.put, "weir", RoutineInput.model_validate(routine), self.now)

    def read(self, value_c, kind=ReadingKind.DOUGH_END_C, id="r1"):
        def take(session):
            intake = Intake(session, PLAN, self.core.answer, self.core.learn, self.now)
            intake.take(Reading(id, kind, "white", self.now, value_c))

        self.write(take)

    def pass_by(self, minutes):
        """Let the time go on, and whatever was begun by it end."""
        self.now += timedelta(minutes=minutes)
        self.clockwork.tick()
        self.planning.submit(lambda _: None, "")
        self.planning._threads.submit(lambda: None).result(timeout=20)
        if self.clockwork._pulling is not None:
            self.clockwork._pulling.result(timeout=20)

    def told(self, kind):
        with Session(self.engine) as session:
            found = events.after(session, "weir", 0, 1000)
        return [one for one in found if one.type == f"ovenward.{kind}"]

    def counts(self):
        with Session(self.engine) as session:
            return in_force.of_day(session, "weir", DATE)


@pytest.fixture
def night(engine):
    made = Night(engine)
    yield made
    made.clockwork.close()
    made.planning.close()


def test_a_new_forecast_is_looked_at_once_and_what_comes_of_it_proposed(night):
    night.now += timedelta(minutes=10)
    night.push(31.0)
    for _ in range(5):
        night.pass_by(minutes=1)
    (looked,) = night.core.replanned
    (happened,) = looked[2]
    assert isinstance(happened, NewConditions)
    (told,) = night.told("plan.proposed")
    assert (told.subject, told.data["instead_of"]) == (f"weir.{DATE}.2", PLAN)
    assert (told.data["because_of"], night.counts()) == ("forecast", PLAN)
    assert set(told.data["moved_mixes"]) <= {mix.id for mix in looked[0].mixes}


def test_what_moves_nothing_is_not_told(night):
    night.core.later = timedelta(minutes=4)
    night.now += timedelta(minutes=10)
    night.push(31.0)
    for _ in range(3):
        night.pass_by(minutes=1)
    assert len(night.core.replanned) == 1
    assert night.told("plan.proposed") == []
    with Session(night.engine) as session:
        assert [row.id for row in plans.listed(session)] == [PLAN]


@pytest.mark.parametrize(
    ("routine", "counts"),
    [
        ({"replans": "do"}, f"weir.{DATE}.2"),
        ({"in_force": "newest"}, f"weir.{DATE}.2"),
        ({"replans": "propose"}, PLAN),
    ],
)
def test_the_bakery_says_whether_it_counts_at_once(night, routine, counts):
    night.wants(**routine)
    night.now += timedelta(minutes=10)
    night.push(31.0)
    for _ in range(2):
        night.pass_by(minutes=1)
    assert len(night.told("plan.proposed")) == 1
    assert night.counts() == counts


def test_a_bakery_that_wants_no_other_plan_gets_none(night):
    night.wants(replans="no")
    night.now += timedelta(minutes=10)
    night.push(31.0)
    night.read(35.0)
    for _ in range(3):
        night.pass_by(minutes=1)
    assert night.core.replanned == []


@pytest.mark.parametrize(("off_k", "is_looked_at"), [(0.5, False), (6.0, True)])
def test_a_dough_beyond_its_band_makes_the_rest_looked_at(night, off_k, is_looked_at):
    night.now = MIX_STARTS + timedelta(minutes=21)
    with Session(night.engine) as session:
        mix = plans.core_plan(plans.get(session, PLAN)).mix("white")
    assert 0.25 < mix.ticket.expected_sd_k < 3.0  # so that 0.5 K lies within two and 6 K beyond
    night.read(mix.ticket.expected_c + off_k)
    for _ in range(3):
        night.pass_by(minutes=1)
    assert len(night.core.replanned) == int(is_looked_at)
    for looked in night.core.replanned:
        assert [one.id for one in looked[2] if isinstance(one, Reading)] == ["r1"]


def test_readings_that_come_together_are_looked_at_once(night):
    night.now = MIX_STARTS + timedelta(minutes=21)
    for i in range(3):
        night.read(40.0 + i, id=f"r{i}")
    for _ in range(4):
        night.pass_by(minutes=1)
    assert len(night.core.replanned) == 1


def test_a_look_that_was_cut_off_is_taken_again(night, monkeypatch):
    """The process dies in the search: nothing was claimed, and the next start looks again."""

    def die(*_args, **_more):
        raise KeyboardInterrupt

    replan = night.core.replan
    night.now += timedelta(minutes=10)
    night.push(31.0)
    monkeypatch.setattr(night.core, "replan", die)
    night.clockwork._replanning._planning = night.planning
    night.pass_by(minutes=1)
    assert night.told("plan.proposed") == []
    monkeypatch.setattr(night.core, "replan", replan)
    night.pass_by(minutes=1)
    assert len(night.told("plan.proposed")) == 1


def test_what_was_told_by_one_plan_is_not_told_again_by_the_next(night):
    night.wants(replans="do")
    night.pass_by(minutes=0)
    night.now = MIX_STARTS
    night.pass_by(minutes=0)
    night.push(31.0)
    for _ in range(3):
        night.pass_by(minutes=1)
    assert night.counts() == f"weir.{DATE}.2"
    mixes = [one for one in night.told("timer.due") if one.data["kind"] == "mix"]
    assert [one.data["subject"] for one in mixes].count("white") == 1


def test_a_forecast_that_is_due_is_pulled_and_looked_at(night):
    source = ForecastSourceInput.model_validate(
        {
            "url": "http://sensors.example/hours",
            "entries": "list",
            "times": "at_utc",
            "temperatures": "temperature_c",
            "every_min": 60,
        }
    )
    night.write(forecasts.put_source, "weir", "bakehouse", source, night.now)
    for _ in range(4):
        night.pass_by(minutes=1)
    assert night.answers == ["http://sensors.example/hours"]
    assert len(night.told("plan.proposed")) == 1
    night.pass_by(minutes=60)
    assert len(night.answers) == 2


def test_a_forecast_that_nobody_renews_is_told_once(night):
    night.wants(forecast_stale_after_h=6)
    for _ in range(13):
        night.pass_by(minutes=30)
    (told,) = night.told("forecast.stale")
    assert (told.subject, told.time) == ("bakehouse", AFTERNOON + timedelta(hours=6))
    night.push(24.0)
    for _ in range(13):
        night.pass_by(minutes=30)
    assert len(night.told("forecast.stale")) == 2


def test_a_forecast_renewed_in_time_is_not_told(night):
    night.wants(forecast_stale_after_h=6)
    for _ in range(6):
        night.pass_by(minutes=150)
        night.push(24.0)
    assert night.told("forecast.stale") == []

"""The planning job by itself: what it tells, and what it stores when all goes wrong."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import inf

import pytest
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from api.jobs.planning import PlanningJobs
from api.schemas.day import DayInput
from api.settings import Settings
from api.store import days, plans
from api.store.codec import corrections_to_document
from api.store.engine import for_writing
from api.store.tables import CorrectionsRow
from planner.corrections import Corrections, MixingWorkCorrection
from planner.mixers import Speed
from planner.pins import Progress
from tests.api.fake_core import FakeCore, day_document

NOW = datetime(2026, 7, 15, 12, tzinfo=UTC)
DATE = date(2026, 7, 16)


@pytest.fixture
def jobs(engine):
    """Jobs over a database that holds the day; the clock stands still."""
    with Session(for_writing(engine)) as session, session.begin():
        days.put(session, "weir", DATE, DayInput.model_validate(day_document()), NOW)
    made = PlanningJobs(engine, Settings(), lambda: NOW, FakeCore())
    yield made
    made.close()


def stored(jobs, plan_id):
    with Session(jobs._engine) as session:
        return plans.get(session, plan_id)


def test_a_plan_that_is_wanted_is_made(jobs):
    plan_id, job = jobs.order("weir", DATE)
    job.result(timeout=10)
    row = stored(jobs, plan_id)
    assert (row.state, row.stage, row.finished_at) == ("ready", "done", NOW)


def test_the_finished_plan_has_the_version_of_its_row(jobs):
    """The core numbers its plans itself: the sample says 3."""
    for version in (1, 2):
        plan_id, job = jobs.order("weir", DATE)
        job.result(timeout=10)
        assert plans.core_plan(stored(jobs, plan_id)).version == version


def test_a_job_told_to_stop_is_told_so_by_its_progress(jobs):
    plan_id, job = jobs.order("weir", DATE)
    job.result(timeout=10)
    assert jobs._beat(plan_id, Progress("searching")) is True
    with Session(jobs._engine) as session, session.begin():
        plans.get(session, plan_id).stop_requested = True
    assert jobs._beat(plan_id, Progress("searching")) is False


def test_closing_ends_every_search(jobs):
    plan_id, job = jobs.order("weir", DATE)
    job.result(timeout=10)
    jobs.close()
    assert jobs._beat(plan_id, Progress("searching")) is False


def test_what_breaks_off_is_stored_as_a_problem(jobs):
    jobs._core.error = MemoryError()
    plan_id, job = jobs.order("weir", DATE)
    job.result(timeout=10)
    row = stored(jobs, plan_id)
    assert (row.state, row.result) == ("failed", None)
    assert row.problem["type"] == "/problems/planning-failed"


def test_a_plan_that_cannot_be_stored_is_told_so(jobs):
    """No document can hold an infinity; the plan must not stay *planning* for good."""
    make = jobs._core.make_plan
    jobs._core.make_plan = lambda *day, **options: replace(make(*day, **options), bound=inf)
    plan_id, job = jobs.order("weir", DATE)
    job.result(timeout=10)
    assert stored(jobs, plan_id).state == "failed"


def test_plans_wanted_at_once_get_versions_of_their_own(jobs):
    with ThreadPoolExecutor(4) as threads:
        ordered = list(threads.map(lambda _: jobs.order("weir", DATE), range(8)))
    for _, job in ordered:
        job.result(timeout=20)
    versions = [stored(jobs, plan_id).version for plan_id, _ in ordered]
    assert sorted(versions) == list(range(1, 9))


def test_a_database_that_is_away_for_a_moment_does_not_cost_the_plan(jobs, monkeypatch):
    """Progress cannot be stored, all the while; the plan itself can."""

    def away(*_):
        raise OperationalError("UPDATE", {}, Exception("locked"))

    monkeypatch.setattr(plans, "beat", away)
    plan_id, job = jobs.order("weir", DATE)
    job.result(timeout=10)
    assert stored(jobs, plan_id).state == "ready"


def test_a_plan_is_made_with_what_the_bakery_has_learned(jobs):
    """Nothing at first; then what stands in its corrections when the job runs."""
    learned = Corrections(
        (MixingWorkCorrection("spiral_1", (), (), (), (), 3, (), ((Speed.SECOND, 0.4),)),)
    )
    for _ in range(2):
        _, job = jobs.order("weir", DATE)
        job.result(timeout=10)
        with Session(jobs._engine) as session, session.begin():
            document = corrections_to_document(learned)
            session.merge(CorrectionsRow(bakery_id="weir", document=document, changed_at=NOW))
    assert jobs._core.known == [Corrections(), learned]


def test_a_plan_is_made_near_that_of_the_last_day_that_had_one(jobs):
    """Of a week at most; the newest version of the day nearest before."""
    for version in (1, 2):
        jobs.order("weir", DATE)[1].result(timeout=10)
        assert jobs._core.earlier == [None] * version
    later = DATE + timedelta(days=2)
    document = day_document(production_date=later.isoformat())
    with Session(jobs._engine) as session, session.begin():
        days.put(session, "weir", later, DayInput.model_validate(document), NOW)
    jobs.order("weir", later)[1].result(timeout=10)
    assert jobs._core.earlier[-1].version == 2
    much_later = DATE + timedelta(days=12)
    document = day_document(production_date=much_later.isoformat())
    with Session(jobs._engine) as session, session.begin():
        days.put(session, "weir", much_later, DayInput.model_validate(document), NOW)
    jobs.order("weir", much_later)[1].result(timeout=10)
    assert jobs._core.earlier[-1] is None

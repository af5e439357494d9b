"""One date for every bakery: each input once, also when a process is killed or two start."""

import multiprocessing
import os
import signal
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from threading import Event, Thread
from time import monotonic, sleep

import pytest
from sqlmodel import Session

from api.jobs import plan_all as module
from api.jobs.plan_all import Outcome, input_hash, plan_all
from api.schemas.day import DayInput
from api.store import days, formulas, plans
from api.store.engine import for_writing
from api.store.paging import Page
from planner.corrections import Corrections
from planner.pins import Limits
from tests.api.fake_core import day_document

DATE = date(2026, 7, 16)
NOW = datetime(2026, 7, 15, 12, tzinfo=UTC)
QUICK = Limits(list_only=True, workers=1)
BAKERIES = [f"bakery{i}" for i in range(5)]


@pytest.fixture
def chain(engine):
    with Session(for_writing(engine)) as session, session.begin():
        for name in BAKERIES:
            day = day_document(pins=[])
            day["bakery"] |= {"id": name, "name": name}
            days.put(session, name, DATE, DayInput.model_validate(day), NOW)
    return engine


def planned(engine):
    with Session(engine) as session:
        return [(row.bakery_id, row.state) for row in plans.listed(session, page=Page(1000))]


def test_each_bakery_is_planned_once_however_often_it_is_asked(chain, address):
    first = list(plan_all(address, DATE, QUICK, 2))
    assert sorted(one.bakery_id for one in first) == BAKERIES
    assert {one.outcome for one in first} == {Outcome.PLANNED}
    again = list(plan_all(address, DATE, QUICK, 2))
    assert {one.outcome for one in again} == {Outcome.KNOWN}
    assert {one.plan_id for one in again} == {one.plan_id for one in first}
    assert sorted(planned(chain)) == [(name, "ready") for name in BAKERIES]


def test_two_at_once_plan_each_once(chain, address):
    with ThreadPoolExecutor(2) as threads:
        runs = [threads.submit(lambda: list(plan_all(address, DATE, QUICK, 1))) for _ in range(2)]
        told = [one for run in runs for one in run.result()]
    assert sorted(planned(chain)) == [(name, "ready") for name in BAKERIES]
    made = [one for one in told if one.outcome is Outcome.PLANNED]
    assert sorted(one.bakery_id for one in made) == BAKERIES


def test_a_killed_process_costs_its_work_only(chain, address):
    over = Event()
    killed = []

    def kill_one():
        end = monotonic() + 60
        while not over.is_set() and monotonic() < end and not killed:
            for child in multiprocessing.active_children():
                if planned(chain):
                    os.kill(child.pid, signal.SIGKILL)
                    killed.append(child.pid)
                    return
            sleep(0.01)

    killer = Thread(target=kill_one)
    killer.start()
    told = list(plan_all(address, DATE, QUICK, 1))
    over.set()
    killer.join()
    assert killed
    assert sorted(one.bakery_id for one in told) == BAKERIES
    assert sorted(planned(chain)) == [(name, "ready") for name in BAKERIES]
    assert {one.outcome for one in told} <= {Outcome.PLANNED, Outcome.KNOWN}


def test_a_bakery_that_kills_its_process_costs_no_other_its_plan(chain, address, monkeypatch):
    monkeypatch.setattr(module, "plan_one", deadly)
    told = {one.bakery_id: one.outcome for one in plan_all(address, DATE, QUICK, 2)}
    assert told.pop("bakery3") is Outcome.GIVEN_UP
    assert set(told.values()) <= {Outcome.PLANNED, Outcome.KNOWN}
    assert len(told) == 4
    assert len(planned(chain)) == 4


def deadly(address, bakery_id, production_date, limits):
    from api.jobs.plan_all import plan_one  # noqa: PLC0415  in the child it is the real one

    if bakery_id == "bakery3":
        os.kill(os.getpid(), signal.SIGKILL)
    return plan_one(address, bakery_id, production_date, limits)


def test_a_bakery_without_its_day_is_named_and_others_are_planned(chain, address):
    told = list(plan_all(address, date(2026, 7, 17), QUICK, 1))
    assert {one.outcome for one in told} == {Outcome.INCOMPLETE}
    assert all("not complete" in one.fault for one in told)
    assert planned(chain) == []


def test_another_input_is_planned_anew(chain, address):
    list(plan_all(address, DATE, QUICK, 1))
    with Session(for_writing(chain)) as session, session.begin():
        white = formulas.get(session, "bakery0", "white")
        other = white.model_copy(update={"dough_c": 26.0})
        formulas.put(session, "bakery0", "white", other, NOW)
    told = {one.bakery_id: one.outcome for one in plan_all(address, DATE, QUICK, 1)}
    assert told.pop("bakery0") is Outcome.PLANNED
    assert set(told.values()) == {Outcome.KNOWN}


def test_the_digest_is_of_what_is_said_and_not_of_its_order():
    one = {"a": 1, "b": {"c": [1, 2], "d": None}}
    same = {"b": {"d": None, "c": [1, 2]}, "a": 1}
    assert input_hash(one, Corrections()) == input_hash(same, Corrections())
    assert input_hash(one, Corrections()) != input_hash(one | {"a": 2}, Corrections())

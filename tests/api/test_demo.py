"""The demo day ends up in a database as any other day does."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from sqlmodel import Session

from api.demo import store_demo
from api.files import toml_day
from api.scenario_files import scenario_text
from api.store import plans
from api.store.engine import open_engine
from planner.planned import Plan
from tests.api.pages.sample import sample_plan

NOW = datetime(2026, 5, 11, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def text() -> str:
    return scenario_text("least_entry")


@pytest.fixture(scope="module")
def plan(text) -> Plan:
    """A plan of that day in which nothing is planned yet: the core is not asked here."""
    day, conditions, _ = toml_day.load(text)
    return replace(
        sample_plan(),
        day=day,
        conditions=conditions,
        mixes=(),
        preparations=(),
        tasks=(),
        budgets=(),
        remarks=(),
    )


def stored(address: str, plan_id: str) -> Plan:
    engine = open_engine(address)
    try:
        with Session(engine) as session:
            return plans.core_plan(plans.get(session, plan_id))
    finally:
        engine.dispose()


def test_the_plan_can_be_read_back_from_a_new_database(tmp_path, text, plan):
    address = f"sqlite:///{tmp_path / 'demo.sqlite3'}"
    plan_id = store_demo(address, text, plan, NOW)
    assert stored(address, plan_id) == replace(plan, version=1)


def test_a_second_demo_is_the_next_version(tmp_path, text, plan):
    address = f"sqlite:///{tmp_path / 'demo.sqlite3'}"
    first = store_demo(address, text, plan, NOW)
    second = store_demo(address, text, plan, NOW)
    assert first != second
    assert (stored(address, first).version, stored(address, second).version) == (1, 2)

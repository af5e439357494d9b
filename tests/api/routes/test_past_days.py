"""A plan beside the last 14 days: what is otherwise tonight, and how it is told."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlmodel import Session

from api.schemas.day import DayInput
from api.store import days, in_force, plans
from api.store.engine import for_writing
from api.store.past_days import compared
from tests.api.fake_core import day_document
from tests.api.pages.sample import sample_plan

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)
PLAN = sample_plan()


def with_ice(kg, *, start_later_min=0):
    """The plan with so much ice in its first mix and none elsewhere, begun so much later."""
    mixes = [replace(mix, ticket=replace(mix.ticket, ice_kg=0.0)) for mix in PLAN.mixes]
    first = mixes[0]
    start = first.start_utc + timedelta(minutes=start_later_min)
    mixes[0] = replace(first, start_utc=start, ticket=replace(first.ticket, ice_kg=kg))
    return replace(PLAN, mixes=tuple(mixes))


def figure(found, name):
    return next(one for one in found.figures if one.name == name)


def test_a_figure_beyond_all_of_the_last_days_is_unusual():
    """Ice of 2, 4, 9 and 5 kg: between them 4.5; 9.5 is more than on any day, 9 is not."""
    past = [with_ice(kg) for kg in (2.0, 4.0, 9.0, 5.0)]
    ice = figure(compared(with_ice(9.5), past), "ice")
    assert (ice.value, ice.usual, ice.lowest, ice.highest) == (9.5, 4.5, 2.0, 9.0)
    assert ice.is_unusual
    assert not figure(compared(with_ice(9.0), past), "ice").is_unusual
    assert figure(compared(with_ice(1.9), past), "ice").is_unusual


def test_two_days_make_nothing_unusual():
    found = compared(with_ice(30.0), [with_ice(1.0), with_ice(2.0)])
    assert found.days == 2
    assert not any(one.is_unusual for one in found.figures)


def test_without_past_days_there_is_nothing_to_say():
    found = compared(PLAN, [])
    assert (found.days, found.figures) == (0, [])


def test_clock_times_are_those_of_the_house_on_its_own_date():
    """The first mixer goes on at 23:40 of the evening before: 20 minutes before the date begins."""
    first = min(mix.start_utc for mix in PLAN.mixes)
    assert first == datetime(2026, 7, 15, 21, 40, tzinfo=UTC)
    assert PLAN.day.bakery.zone == "Europe/Vienna"
    assert figure(compared(PLAN, [PLAN]), "first mixer on").value == -20


@pytest.fixture
def fortnight(engine):
    """Plans that counted on 4 of the 14 days before 16 July, one before them, one not counting."""
    with Session(for_writing(engine)) as session, session.begin():
        first = date(2026, 7, 16)
        days.put(session, "weir", first, DayInput.model_validate(day_document()), NOW)
        for back, kg in ((1, 2.0), (5, 4.0), (9, 9.0), (14, 5.0), (15, 90.0)):
            row = plans.add(session, "weir", first - timedelta(days=back), {}, NOW)
            plans.finish(session, row.id, with_ice(kg), NOW)
            in_force.approve(session, row.id, NOW)
        row = plans.add(session, "weir", first - timedelta(days=3), {}, NOW)
        plans.finish(session, row.id, with_ice(50.0), NOW)


@pytest.mark.usefixtures("fortnight")
def test_each_new_plan_is_put_beside_the_days_before_it(client):
    """The sample has 8.35 kg of ice in one mix and more in others: more than any of the four."""
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    made = client.post("/api/v1/plans", json=wanted).json()
    found = client.get(f"/api/v1/plans/{made['id']}/past-days").json()
    assert found["days"] == 4
    ice = next(one for one in found["figures"] if one["name"] == "ice")
    assert (ice["usual"], ice["highest"]) == (4.5, 9.0)
    told = [
        one["data"]
        for one in client.get("/api/v1/bakeries/weir/events?limit=1000").json()
        if one["type"] == "ovenward.plan.ready" and one["subject"] == made["id"]
    ]
    assert told[0]["past_days"] == 4
    unusual = [one for one in found["figures"] if one["is_unusual"]]
    assert told[0]["unusual"] == unusual
    assert ice["is_unusual"] == (ice["value"] > 9.0)

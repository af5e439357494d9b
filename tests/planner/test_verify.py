"""The second judge finds every planted violation, and nothing in a sound plan."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.planned_preparation import PreparationKind
from planner.remarks import Remark, RemarkKind
from planner.verify import verify


def with_mix(plan, **changes):
    """Return the plan with its first mix changed."""
    first, *rest = plan.mixes
    return replace(plan, mixes=(replace(first, **changes), *rest))


def with_ticket(plan, **changes):
    return with_mix(plan, ticket=replace(plan.mixes[0].ticket, **changes))


def rules(plan) -> set[str]:
    return {finding.rule for finding in verify(plan)}


def test_a_sound_plan(plan):
    assert verify(plan) == ()


def test_water_that_does_not_add_up(plan):
    ticket = plan.mixes[0].ticket
    assert "water_adds_up" in rules(with_ticket(plan, formula_water_kg=ticket.water_kg + 0.5))


def test_water_that_does_not_exist(plan):
    line = replace(plan.mixes[0].ticket.water[0], temperature_c=-6.0)
    assert "water_can_be_drawn" in rules(with_ticket(plan, water=(line,)))


def test_a_promise_the_balance_does_not_keep(plan):
    off = plan.mixes[0].ticket.expected_c + 0.5
    assert "dough_comes_off_as_promised" in rules(with_ticket(plan, expected_c=off))


def test_a_divide_outside_its_window(plan):
    late = plan.mixes[0].divide_by_utc + timedelta(minutes=30)
    assert "divide_inside_window" in rules(with_mix(plan, divide_utc=late))


def test_a_load_outside_its_window(plan):
    load = plan.mixes[0].loads[0]
    late = replace(load, load_utc=load.load_by_utc + timedelta(minutes=30))
    assert "loads_inside_window" in rules(with_mix(plan, loads=(late,)))


def test_bread_that_leaves_late(plan):
    early = plan.mixes[0].loads[0].ready_utc - timedelta(minutes=10)
    assert "leaves_in_time" in rules(with_mix(plan, leave_by_utc=early))


def test_a_departure_that_is_named_is_no_finding(plan):
    mix = plan.mixes[0]
    early = mix.loads[0].ready_utc - timedelta(minutes=10)
    named = Remark(RemarkKind.UNMET, "late", "", (), mix.loads[0].id)
    changed = with_mix(plan, leave_by_utc=early)
    assert "leaves_in_time" not in rules(replace(changed, remarks=(*plan.remarks, named)))


def test_a_dough_outside_the_bakers_band(plan):
    formulas = tuple(replace(f, dough_c=f.dough_c - 4) for f in plan.day.formulas)
    assert "dough_inside_band" in rules(replace(plan, day=replace(plan.day, formulas=formulas)))


def test_a_levain_used_before_it_is_ripe(plan):
    levain = next(p for p in plan.preparations if p.kind is PreparationKind.PREFERMENT)
    later = replace(levain, ready_from_utc=levain.ready_by_utc)
    others = tuple(p for p in plan.preparations if p.id != levain.id)
    assert "used_while_ready" in rules(replace(plan, preparations=(*others, later)))


def test_more_ice_than_there_is(plan):
    poor = replace(
        plan,
        conditions=replace(plan.conditions, ice_stored_kg=0.0),
        day=replace(
            plan.day,
            bakery=replace(plan.day.bakery, ice=replace(plan.day.bakery.ice, make_kg_per_h=0.0)),
        ),
    )
    assert any(mix.ticket.ice_kg > 0.1 for mix in plan.mixes)
    assert "ice_within_store" in rules(poor)


def test_a_mix_that_is_forgotten(plan):
    assert "everything_planned" in rules(replace(plan, mixes=plan.mixes[1:]))


@pytest.mark.parametrize("place", ["unplaced"])
def test_a_mix_that_is_named_as_unplaced_is_not_forgotten(plan, place):
    left = replace(plan, mixes=plan.mixes[1:], **{place: (plan.mixes[0].id,)})
    assert "everything_planned" not in rules(left)

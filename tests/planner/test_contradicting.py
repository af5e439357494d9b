"""A night that cannot be as asked is still planned, and says first what cannot be, and why."""

from dataclasses import replace

import pytest

from planner import Limits, make_plan
from planner.bakery import Chamber, ChamberKind
from planner.conditions import Inherited, Standing
from planner.day import Order, Shift
from planner.estimate import Estimate
from planner.pins import Pin
from planner.remarks import RemarkKind
from tests.planner.builders import at, bakery, day, night_of
from tests.planner.conftest import small_day

QUICK = Limits(list_only=True)


def said(plan):
    """Codes of what cannot be and of the ways out, in their order."""
    return [r.code for r in plan.remarks if r.code.startswith(("cannot_", "way_"))]


def remark(plan, code):
    return next(r for r in plan.remarks if r.code == code)


def figures(one):
    return {f.name: f.value for f in one.figures}


def test_a_night_that_can_be_says_nothing():
    assert said(make_plan(day(), night_of(24.0), limits=QUICK)) == []


def test_an_order_that_leaves_before_it_can_be_ready():
    """Ada starts at 2 h; scaling, mixing, 80 min of bulk, an hour of proof, 85 to the door."""
    one = day(lines=(Order("o1", "loaf", 40, at(5)),))
    plan = make_plan(one, night_of(24.0), limits=QUICK)
    assert said(plan)[0] == "cannot_too_short"
    assert plan.remarks[0].code == "cannot_too_short"
    assert plan.remarks[0].subject == "o1"
    assert {"way_leave_later", "way_leave_out"} <= set(said(plan))
    assert [m.id for m in plan.mixes] == ["o1"]  # the nearest plan is there all the same
    assert "late" in [r.code for r in plan.remarks]


def test_hands_needed_in_an_hour_with_nobody():
    plan = make_plan(day(), night_of(24.0), pins=[Pin("o1", start_utc=at(1))], limits=QUICK)
    assert said(plan)[0] == "cannot_nobody"
    assert remark(plan, "cannot_nobody").kind is RemarkKind.UNMET


def test_more_oven_than_there_is_before_the_hour():
    """Eight loads of three decks, 45 min each with recovery: 360 min of one deck by three, and the
    bread leaves at 7 h; the oven is reached at 4.9 h at the soonest and must be out at 6.25 h.
    """
    lines = tuple(Order(f"o{i}", "loaf", 60, at(7.2)) for i in range(8))
    people = bakery().people
    one = day(lines=lines, shifts=(Shift(people[0].id, at(1), at(15)),))
    plan = make_plan(one, night_of(24.0), limits=QUICK)
    assert "cannot_ovens" in said(plan)
    told = remark(plan, "cannot_ovens")
    assert figures(told)["resource"] == "deck oven"
    assert figures(told)["needed"] > figures(told)["there"]
    assert figures(told)["by"] <= at(7.2)
    outs = [r for r in plan.remarks if r.code.startswith("way_")]
    assert outs


def test_a_retarder_fuller_than_it_holds():
    chamber = Chamber("cold", "cold room", ChamberKind.RETARDER, Estimate(4.0), racks=3)
    standing = tuple(
        Inherited(f"i{n}", "loaf", 40, Standing.PROOF, "cold", at(0), 10.0, at(14))
        for n in range(2)
    )
    one = day(bakery=bakery(chambers=(chamber,)))
    plan = make_plan(one, replace(night_of(24.0), inherited=standing), limits=QUICK)
    told = remark(plan, "cannot_overfull")
    assert (figures(told)["resource"], figures(told)["needed"], figures(told)["there"]) == (
        "cold room",
        "4",
        "3",
    )


def test_mixes_pinned_to_one_mixer_at_once():
    pins = [Pin("white", start_utc=at(8)), Pin("more", start_utc=at(8))]
    plan = make_plan(small_day(), replace(night_of(24.0), ice_stored_kg=9), pins=pins, limits=QUICK)
    assert "cannot_pins" in said(plan)


@pytest.mark.parametrize("code", ["cannot_too_short"])
def test_what_cannot_be_is_told_before_anything_is_searched(code):
    """Whoever waits hears of it when the sums are done, and may stop there."""
    one = day(lines=(Order("o1", "loaf", 40, at(5)),))
    stages = []

    def told(progress):
        stages.append(progress.stage)
        return not progress.stage.startswith("not all")

    plan = make_plan(one, night_of(24.0), limits=QUICK, on_progress=told)
    assert any(stage.startswith("not all that is asked can be") for stage in stages)
    assert code in said(plan)

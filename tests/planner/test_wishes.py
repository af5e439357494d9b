"""What the baker cares for most: it moves what is weighed, and never what comes first."""

from dataclasses import fields, replace

import pytest

from planner import Limits, make_plan
from planner.bakery import Care
from planner.day import MixRequest, Order
from planner.option_rows import near_end_min
from planner.planned import Plan
from planner.scheduling.problem import Weights
from planner.wishes import WEIGHTS, weights_for
from tests.planner.builders import at, bakery, day, night_of
from tests.planner.conftest import small_day

QUICK = Limits(solve_s=60.0, deterministic_s=0.5, workers=1)
FIRST = ("late_per_slot", "window_per_slot", "unplaced", "pin", "rest")


def night(care: Care) -> Plan:
    one = small_day()
    conditions = replace(night_of(29.0), ice_stored_kg=10.0)
    house = replace(one.bakery, cares_for=care)
    return make_plan(replace(one, bakery=house), conditions, limits=QUICK)


def ice_kg(plan: Plan) -> float:
    return sum(mix.ticket.ice_kg for mix in plan.mixes)


def lies_min(plan: Plan) -> float:
    loads = [(mix, load) for mix in plan.mixes for load in mix.loads]
    return sum((m.leave_by_utc - ld.ready_utc).total_seconds() / 60 for m, ld in loads)


@pytest.mark.parametrize("care", Care)
def test_no_wish_touches_what_comes_first(care):
    weights = weights_for(care)
    assert all(getattr(weights, one) == getattr(Weights(), one) for one in FIRST)


@pytest.mark.parametrize("care", Care)
def test_nothing_weighed_below_a_window_costs_as_much_as_one_slot_outside_it(care):
    """Else a dough would be left to go over for an hour of freshness or a kilo of ice."""
    weights = weights_for(care)
    small = [f.name for f in fields(Weights) if f.name not in (*FIRST, "fresh_trade")]
    assert max(getattr(weights, one) for one in small) < weights.window_per_slot / 4
    assert weights.fresh_trade < weights.window_per_slot


def test_every_wish_turns_up_what_it_names():
    usual = weights_for(Care.IN_THE_USUAL_ORDER)
    named = {
        Care.RIPE_DOUGHS: "ideal_per_slot",
        Care.FRESH_BREAD: "fresh_per_hour",
        Care.LITTLE_ICE: "ice_per_kg",
        Care.LATE_START: "early_per_mix",
        Care.FEW_CHANGES: "change_per_half_hour",
    }
    assert named.keys() | {Care.IN_THE_USUAL_ORDER} == WEIGHTS.keys() == set(Care)
    for care, weight in named.items():
        assert getattr(weights_for(care), weight) > getattr(usual, weight), care


def test_a_house_that_cares_for_little_ice_takes_no_more_of_it():
    assert ice_kg(night(Care.LITTLE_ICE)) <= ice_kg(night(Care.FRESH_BREAD))


def test_a_house_that_cares_for_fresh_bread_has_it_lie_no_longer():
    assert lies_min(night(Care.FRESH_BREAD)) <= lies_min(night(Care.RIPE_DOUGHS))


def test_an_early_start_is_counted_where_the_house_minds():
    """Bread for the seventh hour must be mixed early; nobody minds unless the day says so."""
    one = day(lines=(Order("o1", "loaf", 40, at(9)),))
    free = make_plan(one, night_of(24.0), limits=QUICK)
    minded = make_plan(replace(one, early_before_utc=at(8)), night_of(24.0), limits=QUICK)
    assert free.points.early == 0
    assert minded.mixes[0].start_utc < at(8)
    assert minded.points.early == Weights().early_per_mix


def test_a_late_start_is_kept_by_a_house_that_cares_for_it():
    """A mix without a leaving time starts when somebody comes; here not before the eighth hour."""
    house = bakery(cares_for=Care.LATE_START)
    one = day(bakery=house, lines=(MixRequest("m1", "white", 30.0),))
    assert make_plan(one, night_of(24.0), limits=QUICK).mixes[0].start_utc < at(3)
    minded = replace(one, early_before_utc=at(8))
    assert make_plan(minded, night_of(24.0), limits=QUICK).mixes[0].start_utc >= at(8)


def test_a_margin_is_a_tenth_of_the_ripe_time_at_most_half_of_the_window():
    """Ripe at 90 in 81 to 103.5: 9 min; in 88 to 92: 2 min; in no window: none."""
    assert near_end_min(90, 81, 103.5) == pytest.approx(9)
    assert near_end_min(90, 88, 92) == pytest.approx(2)
    assert near_end_min(90, 92, 88) == 0

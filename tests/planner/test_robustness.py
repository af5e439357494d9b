"""Doughs on nights that turn out otherwise: shares that can be worked out by hand."""

from dataclasses import replace
from datetime import timedelta
from functools import cache
from math import sqrt

import pytest

from planner import Limits, make_plan
from planner.bakery import Chamber, ChamberKind
from planner.estimate import Estimate
from planner.night import Night
from planner.other_nights import Robustness
from planner.physics.ripening_path import minutes_to
from planner.planned import Plan
from planner.rises import dough_rise
from planner.robustness import Scatter, pooled, robustness_of
from tests.planner.builders import bakery, day, lean_dough, loaf, night_of

NIGHTS = 4000
QUICKER_OR_SLOWER = Scatter(room_k=0.0, rate=0.10, work=0.0)
ROOMS = Scatter(room_k=1.5, rate=0.0, work=0.0)
FORESEEN = Scatter(room_k=0.0, rate=0.0, work=0.0)


@cache
def planned(from_progress: float = 0.9, by_progress: float = 1.15) -> Plan:
    """One dough of one bowl, with a window of bulk and proof."""
    window = {"from_progress": from_progress, "by_progress": by_progress}
    bulk = replace(lean_dough().bulk, **window)
    proof = replace(loaf().routes[0], **window)
    one = day(formulas=(lean_dough(bulk=bulk),), products=(loaf(routes=(proof,)),))
    return make_plan(one, night_of(24.0), limits=Limits(list_only=True))


def divided_at(plan: Plan, moment) -> Plan:
    """The plan with its divide at another moment, and no loads to judge."""
    mixes = tuple(replace(mix, divide_utc=moment, loads=()) for mix in plan.mixes)
    return replace(plan, mixes=mixes)


def loaded_in_the_middle(plan: Plan) -> Plan:
    """The plan with every load in the middle of its window; a list pass loads late."""
    mixes = tuple(
        replace(
            mix,
            loads=tuple(
                replace(ld, load_utc=ld.load_from_utc + (ld.load_by_utc - ld.load_from_utc) / 2)
                for ld in mix.loads
            ),
        )
        for mix in plan.mixes
    )
    return replace(plan, mixes=mixes)


def sampled_within(share: float, nights: int = NIGHTS) -> float:
    """Four standard deviations of a share counted on so many nights."""
    return 4 * sqrt(share * (1 - share) / nights)


def test_a_wide_window_is_never_missed():
    """Half to twice of the ripe time: a tenth more or less, and 1.5 °C, cannot leave it."""
    found = robustness_of(loaded_in_the_middle(planned(0.5, 2.0)), nights=NIGHTS)
    assert (found.bulks, found.proofs) == (NIGHTS, NIGHTS)
    assert found.outside_share == 0.0


def test_a_divide_on_the_edge_of_its_window_is_missed_half_of_the_time():
    """At ripe-by, a dough that is quicker than foreseen is over, a slower one is not."""
    plan = planned()
    mix = plan.mixes[0]
    by = progress_moment(plan, 1.15)
    found = robustness_of(divided_at(plan, by), QUICKER_OR_SLOWER, nights=NIGHTS)
    assert mix.divide_from_utc < by
    assert found.outside_share == pytest.approx(0.5, abs=sampled_within(0.5))


def test_a_window_half_as_wide_as_the_scatter_is_missed_half_of_the_time():
    """Divided when ripe, with a window of 0.95 to 1.05 and speeds even from 0.9 to 1.1.

    Progress goes with speed (heat of its own and the room move the dough by little), so that the
    speeds below 0.95 and above 1.05 are outside: a half.
    """
    plan = planned(0.95, 1.05)
    found = robustness_of(
        divided_at(plan, progress_moment(plan, 1.0)), QUICKER_OR_SLOWER, nights=4000
    )
    assert found.outside_share == pytest.approx(0.5, abs=0.02 + sampled_within(0.5))


def progress_moment(plan: Plan, progress: float):
    """When the dough of the plan's first mix reaches some progress on the night foreseen."""
    mix, night = plan.mixes[0], Night(plan.day, plan.conditions, plan.corrections)
    formula = plan.day.formulas[0]
    rise = dough_rise(night, formula.bulk, mix.dough_kg, formula.dough_c)
    mix_end = plan.day.minute(mix.mix_end_utc)
    path = rise.path(mix_end, mix.ticket.expected_c, step_min=1.0)
    return mix.mix_end_utc + timedelta(minutes=float(minutes_to(path, progress)))


def test_a_night_as_foreseen_keeps_every_window_that_the_plan_keeps():
    assert robustness_of(planned(), FORESEEN).outside_share == 0.0


def test_rooms_warmer_and_cooler_move_a_dough_that_stands_in_them():
    """On the edge, every warmer night is outside and every cooler one inside."""
    plan = planned()
    found = robustness_of(divided_at(plan, progress_moment(plan, 1.15)), ROOMS, nights=NIGHTS)
    assert found.outside_share == pytest.approx(0.5, abs=sampled_within(0.5))


def test_chambers_keep_what_they_are_set_to():
    """The bulk stands in a chamber: the rooms' weather is nothing to it."""
    house = bakery(
        chambers=(Chamber("cold", "cold chamber", ChamberKind.PROOFER, Estimate(24.0), 10),)
    )
    bulk = replace(lean_dough().bulk, place_id="cold")
    plan = make_plan(
        day(bakery=house, formulas=(lean_dough(bulk=bulk),)),
        night_of(24.0),
        limits=Limits(list_only=True),
    )
    edge = divided_at(plan, plan.mixes[0].divide_by_utc - timedelta(minutes=1))
    assert robustness_of(edge, ROOMS, nights=400).bulks_outside == 0
    assert robustness_of(edge, QUICKER_OR_SLOWER, nights=400).bulks_outside > 150


def test_longer_work_shifts_a_proof_on_the_edge():
    """Loaded at load-by: a bench that is quicker than planned leaves the pieces over-ripe."""
    plan = planned()
    mix = plan.mixes[0]
    loads = (replace(mix.loads[0], load_utc=mix.loads[0].load_by_utc + timedelta(minutes=1)),)
    edge = replace(plan, mixes=(replace(mix, loads=loads),))
    found = robustness_of(edge, Scatter(0.0, 0.0, 0.1), nights=NIGHTS)
    assert found.bulks_outside == 0
    assert 0.3 < found.proofs_outside / found.proofs <= 1.0


def test_what_lies_behind_is_not_judged():
    plan = planned()
    later = replace(plan, as_of_utc=plan.mixes[0].divide_utc)
    found = robustness_of(later, nights=10)
    assert (found.bulks, found.proofs) == (0, 10)


def test_the_same_plan_has_the_same_share():
    assert robustness_of(planned()) == robustness_of(planned())


def test_shares_of_several_plans_are_counted_together():
    """1 of 10 and 3 of 30 are 4 of 40."""
    both = pooled([Robustness(10, 5, 1, 5, 0), Robustness(10, 15, 1, 15, 2)])
    assert (both.judged, both.outside_share) == (40, 0.1)


def test_nothing_judged_is_no_share():
    assert Robustness(10, 0, 0, 0, 0).outside_share == 0.0


def test_a_plan_carries_its_share():
    """The default of two hundred nights, on one divide and the loads of one mix."""
    plan = planned()
    assert plan.robustness is not None
    assert plan.robustness == robustness_of(plan)
    assert plan.robustness.bulks == 200 * len(plan.mixes)

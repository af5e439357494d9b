"""What a mixer takes: bakers' questions with the figures of practice, one test or more each.

Weights are worked by hand in the comments; 1 lb is 0.4536 kg.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner import InputError, Limits, answer, make_plan, verify
from planner.batches import alternatives_of, batches_of, settled_alternatives
from planner.corrections import Corrections
from planner.day import MixRequest, Order
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, Speed, SpeedLimit, mixer
from planner.outcomes import learned_from, outcome_of
from planner.pins import Pin
from planner.plan import check_pins
from planner.planned import Plan
from planner.preparations import preparations_of
from planner.readings import Reading, ReadingKind
from planner.remarks import RemarkKind
from planner.replan import replan
from planner.water_sources import IceKind, IceSupply, SupplyKind, WaterSupply
from tests.planner.builders import at, bakery, day, lean_dough, night_of

LB = 0.453592
LISTED = Limits(list_only=True)


def dough_of(water: float, **changes):
    """A dough of so much water, whose other lines add no water."""
    lines = (Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, water), Line(Material.SALT, 2))
    return lean_dough(lines=lines, **changes)


def codes(plan: Plan) -> set[str]:
    return {r.code for m in plan.mixes for r in m.remarks}


# M06: 40 lb rated at 40 % absorption; at 30 % it takes 30/40 of it.

FORTY_LB = mixer(
    "planetary", "planetary", MixerKind.PLANETARY, "room", 40 * LB, min_dough_kg=1.0,
    rated_hydration=0.40, cold_less=0.0,
    speed_limits=(SpeedLimit(Speed.SECOND, 0.50), SpeedLimit(Speed.FIRST, 0.41, 5.0)),
)  # fmt: skip
FIRST_ONLY = (MixStep(Speed.FIRST, 5),)


@pytest.mark.parametrize(
    ("hydration", "most_lb"), [(0.60, 40.0), (0.40, 40.0), (0.35, 35.0), (0.30, 30.0)]
)
def test_m06_a_mixer_takes_less_of_a_stiffer_dough(hydration, most_lb):
    """In proportion below the hydration it is rated at; 30 % of 40: 30 lb, 13.6 kg."""
    assert FORTY_LB.most_dough_kg(hydration) == pytest.approx(most_lb * LB)


def test_m06_what_the_stiff_dough_is_too_much_for_is_split():
    """18 kg at 40 % is one mix; at 30 % the mixer takes 13.6 kg, so two of 9."""
    house = bakery(mixers=(FORTY_LB,))
    lines = (MixRequest("m1", "white", 18.0),)
    for water, weights in ((40, [18.0]), (30, [9.0, 9.0])):
        dough = dough_of(water, steps=FIRST_ONLY)
        mixes = batches_of(day(bakery=house, formulas=(dough,), lines=lines))
        assert [b.dough_kg for b in mixes] == pytest.approx(weights)


def test_m06_second_speed_in_a_stiff_dough_is_refused_with_the_reason():
    """A dough of 45 % with second speed, which the mixer must not run below 50 %."""
    with pytest.raises(InputError) as refused:
        day(bakery=bakery(mixers=(FORTY_LB,)), formulas=(dough_of(45),))
    (fault,) = refused.value.faults
    assert fault.field == "formulas.white.steps[1]"
    assert "second speed" in fault.value
    assert "must not run second speed in doughs below 50 %" in fault.problem
    assert "45 % of water" in fault.problem
    assert "first speed only" in fault.remedy


def test_m06_first_speed_is_short_in_the_stiffest_dough():
    """Five minutes at most at 40 %; six are refused, five are not."""
    house = bakery(mixers=(FORTY_LB,))
    day(bakery=house, formulas=(dough_of(40, steps=FIRST_ONLY),))
    six = (MixStep(Speed.FIRST, 4), MixStep(Speed.REST, 10), MixStep(Speed.FIRST, 2))
    with pytest.raises(InputError, match="for 5 min at most"):
        day(bakery=house, formulas=(dough_of(40, steps=six),))


def test_m06_a_stiff_dough_goes_to_the_mixer_that_may_run_its_steps():
    spiral = mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0)
    one = day(bakery=bakery(mixers=(FORTY_LB, spiral)), formulas=(dough_of(45),))
    assert {m.id for b in batches_of(one) for m in b.mixers} == {"spiral"}


def test_m06_a_limit_that_is_only_assumed_is_told_and_not_enforced():
    usual = mixer("planetary", "planetary", MixerKind.PLANETARY, "room", 60.0, min_dough_kg=1.0)
    one = day(bakery=bakery(mixers=(usual,)), formulas=(dough_of(45),))
    assert "stiff_dough" in codes(make_plan(one, night_of(24.0), limits=LISTED))


# M07: cold mixes 10 % less, strong flour another 10 %; 26 kg rated for a dough of 60 %.

RATED_26 = mixer(
    "spiral", "spiral", MixerKind.SPIRAL, "room", 26.0, min_dough_kg=2.0,
    rated_hydration=0.60, cold_less=0.10, strong_less=0.10,
)  # fmt: skip
WARM_TAP = WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(60.0))
TAP = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(18.0))
FLAKE = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9), make_kg_per_h=0.0, bin_kg=40.0)


def one_mix_or_two(**changes):
    """26 kg of a dough of 60 %, with a hot tap and ice."""
    house = bakery(mixers=(RATED_26,), supplies=(TAP, WARM_TAP), ice=FLAKE)
    values = {
        "bakery": house,
        "formulas": (dough_of(60),),
        "lines": (MixRequest("m1", "white", 26.0),),
    }
    return day(**(values | changes))


def iced(temperature_c: float):
    return replace(night_of(temperature_c), ice_stored_kg=40.0)


@pytest.mark.parametrize(
    ("strong", "cold", "most_kg"),
    [(False, False, 26.0), (False, True, 23.4), (True, False, 23.4), (True, True, 20.8)],
)
def test_m07_cold_mixes_and_strong_flour_cut_what_a_mixer_takes(strong, cold, most_kg):
    """10 % of 26 kg is 2.6 kg."""
    assert RATED_26.most_dough_kg(0.60, strong=strong, cold=cold) == pytest.approx(most_kg)


@pytest.mark.parametrize(
    ("flour_c", "water_c", "ice_kg", "cold"),
    [(18, 25, 0, False), (18, 19, 0, True), (4, 25, 0, True), (18, None, 1, True)],
)
def test_m07_chilled_flour_water_under_20_or_ice_make_a_mix_cold(flour_c, water_c, ice_kg, cold):
    assert RATED_26.is_cold(flour_c, water_c, ice_kg) is cold


def test_m07_warm_water_makes_one_mix():
    """A cool bakehouse asks for water far above 20 °C: 26 kg go in at once."""
    plan = make_plan(one_mix_or_two(), iced(16.0))
    assert [round(m.dough_kg, 1) for m in plan.mixes] == [26.0]
    assert plan.mixes[0].ticket.water_c > 20
    assert verify(plan) == ()


def test_m07_ice_makes_two_mixes_and_the_second_has_its_place_on_the_mixer():
    """On a hot night the same order takes ice, so at most 23.4 kg a mix: two of 13 kg."""
    plan = make_plan(one_mix_or_two(), iced(33.0))
    first, second = sorted(plan.mixes, key=lambda m: m.start_utc)
    assert [round(m.dough_kg, 1) for m in plan.mixes] == [13.0, 13.0]
    assert first.ticket.ice_kg > 0
    assert second.start_utc >= first.mix_end_utc
    assert plan.unplaced == ()
    assert "split_when_cold" in codes(plan)
    assert verify(plan) == ()


def test_m07_the_way_is_chosen_in_the_search_and_the_list_alone_finds_it_too():
    for night_c, mixes in ((16.0, 1), (33.0, 2)):
        plan = make_plan(one_mix_or_two(), iced(night_c), limits=LISTED)
        assert len(plan.mixes) == mixes


def test_m07_no_ice_is_handed_to_a_mix_that_would_be_too_much_with_it():
    """Pinned to the one mix on a hot night: it comes off warm, says so, and takes no ice."""
    plan = make_plan(one_mix_or_two(), iced(33.0), pins=[Pin("m1")])
    assert all(m.ticket.ice_kg == 0 for m in plan.mixes)
    assert [m.id for m in plan.mixes] + list(plan.unplaced) == ["m1"]


def test_m07_a_reading_is_not_answered_with_ice_that_makes_it_too_much():
    """Flour at 34 °C asks for ice; 26 kg with ice are more than 23.4, so no ice goes in."""
    plan = make_plan(one_mix_or_two(), iced(16.0), limits=LISTED)
    (mix,) = plan.mixes
    reading = Reading(
        id="r1", mix_id="m1", kind=ReadingKind.FLOUR_C, value_c=34.0,
        at_utc=mix.start_utc - timedelta(minutes=10),
    )  # fmt: skip
    told = answer(plan, reading)
    assert told.mix.ticket.ice_kg == 0
    assert told.mix.ticket.expected_c > mix.ticket.expected_c + 1


def test_m07_a_larger_mixer_holds_it_cold_in_one():
    large = mixer("large", "large", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0, cold_less=0.1)
    house = bakery(mixers=(RATED_26, large), supplies=(TAP, WARM_TAP), ice=FLAKE)
    plan = make_plan(one_mix_or_two(bakery=house), iced(33.0))
    assert [m.mixer_id for m in plan.mixes] == ["large"]


def test_m07_a_preparation_of_a_dough_made_in_two_ways_counts_once():
    """Both ways hold the same flour: the levain is set for one of them."""
    from planner.formula import Preferment  # noqa: PLC0415  needed here only
    from planner.night import Night  # noqa: PLC0415
    from planner.ripening import Curve, HoursAt, Ripening  # noqa: PLC0415

    levain = Preferment(
        "levain", "levain", (Line(Material.WHEAT_FLOUR, 20), Line(Material.WATER, 20)),
        Ripening(HoursAt(6, 26), Curve.LEVAIN, "room"), 26.0,
    )  # fmt: skip
    dough = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 80), Line(Material.WATER, 40)), parts=(levain,)
    )
    one = one_mix_or_two(formulas=(dough,))
    (offered,) = preparations_of(Night(one, iced(24.0), Corrections()), batches_of(one), 5)
    # 160 parts of dough, 40 of levain: 26 kg hold 6.5 kg.
    assert offered.total_kg == pytest.approx(6.5)
    assert len(offered.users) == 3


def test_m07_a_replan_keeps_to_the_way_that_was_begun():
    plan = make_plan(one_mix_or_two(), iced(33.0), limits=LISTED)
    first = min(plan.mixes, key=lambda m: m.start_utc)
    later = replan(plan, first.start_utc, [], limits=LISTED)
    assert {m.id for m in later.mixes} == {m.id for m in plan.mixes}


def test_m07_ways_are_told_apart_by_the_ids_of_their_mixes():
    batches = batches_of(one_mix_or_two())
    assert alternatives_of(batches) == ((("m1",), ("m1-1of2", "m1-2of2")),)
    assert [b.id for b in settled_alternatives(batches, {"m1"})] == ["m1"]
    assert [b.id for b in settled_alternatives(batches, {"m1-2of2"})] == ["m1-1of2", "m1-2of2"]


# M09: an "80 quart" batch in a 60 quart machine.

SIXTY = mixer("sixty", "sixty", MixerKind.PLANETARY, "room", 30.0, min_dough_kg=3.0, cold_less=0.0)


def eighty_in_sixty(**changes):
    """40 kg asked for in one mix of a machine of 30."""
    line = MixRequest("m1", "white", 40.0, mixes=1, **changes)
    return day(bakery=bakery(mixers=(SIXTY,)), lines=(line,))


def test_m09_more_than_the_rated_weight_is_a_hard_stop():
    with pytest.raises(InputError) as refused:
        make_plan(eighty_in_sixty(), night_of(24.0), limits=LISTED)
    (fault,) = refused.value.faults
    assert fault.field == "mix_list.m1.mixes"
    assert "40 kg of white dough is more than sixty takes, 30 kg" in fault.problem
    assert "enter 2 mixes or more" in fault.remedy
    assert "overload_signed_by" in fault.remedy


def test_m09_a_name_overrides_it_and_stands_on_the_ticket_and_in_the_plan():
    plan = make_plan(eighty_in_sixty(overload_signed_by="Ana"), night_of(24.0), limits=LISTED)
    (mix,) = plan.mixes
    assert mix.overload_signed_by == "Ana"
    (said,) = [r for r in mix.remarks if r.code == "overload_signed"]
    assert said.kind is RemarkKind.CAUTION
    assert {f.value for f in said.figures} >= {"sixty", "Ana", 40.0, 30.0}
    assert verify(plan) == ()


def test_m09_a_pin_to_a_mixer_that_is_too_small_is_stopped_too():
    large = mixer("large", "large", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0)
    one = day(bakery=bakery(mixers=(SIXTY, large)), lines=(MixRequest("m1", "white", 40.0),))
    with pytest.raises(InputError, match="more than sixty takes"):
        check_pins(one, [Pin("m1", mixer_id="sixty")])
    line = MixRequest("m1", "white", 40.0, overload_signed_by="Ana")
    plan = make_plan(
        replace(one, lines=(line,)),
        night_of(24.0),
        pins=[Pin("m1", mixer_id="sixty")],
        limits=LISTED,
    )
    assert plan.mixes[0].overload_signed_by == "Ana"


def read_off(plan: Plan, off_k: float) -> Plan:
    """The first mix, read so many degrees off what its ticket says."""
    mix = plan.mixes[0]
    reading = Reading(
        id="r1",
        mix_id=mix.id,
        kind=ReadingKind.DOUGH_END_C,
        at_utc=mix.mix_end_utc,
        value_c=mix.ticket.expected_c + off_k,
    )
    return replace(plan, readings=(reading,))


def test_m09_what_is_read_of_an_overloaded_mix_teaches_nothing():
    """Three degrees off: an overloaded mix changes nothing, one within the limit does."""
    over = make_plan(eighty_in_sixty(overload_signed_by="Ana"), night_of(24.0), limits=LISTED)
    outcome = outcome_of(read_off(over, 3.0), "m1")
    assert outcome is not None
    assert outcome.overloaded
    assert learned_from(read_off(over, 3.0), ["m1"], Corrections()) == Corrections()
    within = day(bakery=bakery(mixers=(SIXTY,)), lines=(MixRequest("m1", "white", 25.0),))
    plan = make_plan(within, night_of(24.0), limits=LISTED)
    assert learned_from(read_off(plan, 3.0), ["m1"], Corrections()) != Corrections()


def test_m09_a_stiff_dough_above_its_own_limit_is_an_overload_too():
    """20 kg at 30 % in a machine of 30 kg rated at 60 %: 15 kg is all it takes."""
    stiff = replace(SIXTY, rated_hydration=Estimate(0.60), speed_limits=())
    line = MixRequest("m1", "white", 20.0, mixes=1, overload_signed_by="Ana")
    one = day(bakery=bakery(mixers=(stiff,)), formulas=(dough_of(30),), lines=(line,))
    plan = make_plan(one, night_of(24.0), limits=LISTED)
    assert plan.mixes[0].overload_signed_by == "Ana"
    outcome = outcome_of(read_off(plan, 3.0), "m1")
    assert outcome is not None
    assert outcome.overloaded


# M10: a 4 kg order on a mixer with a minimum of 12 kg.

BIG = mixer("big", "big spiral", MixerKind.SPIRAL, "room", 80.0, min_dough_kg=12.0)
SMALL = mixer("small", "small", MixerKind.PLANETARY, "room", 8.0, min_dough_kg=1.0, cold_less=0.0)
BOWL = mixer("bowl", "bowl and hands", MixerKind.HAND, "room", 6.0)


def four_kg(*mixers):
    one = day(bakery=bakery(mixers=mixers), lines=(MixRequest("m1", "white", 4.0),))
    return make_plan(one, night_of(24.0), limits=LISTED)


def test_m10_too_little_dough_moves_to_a_smaller_mixer():
    plan = four_kg(BIG, SMALL)
    assert [m.mixer_id for m in plan.mixes] == ["small"]
    assert "too_little_dough" not in codes(plan)


def test_m10_too_little_dough_for_every_machine_is_mixed_by_hand_and_said_so():
    plan = four_kg(BIG, BOWL)
    assert [m.mixer_id for m in plan.mixes] == ["bowl"]
    assert "hand_mix" in codes(plan)
    # Somebody stands at it for the ten minutes of its steps.
    assert "attend" in {t.kind for t in plan.tasks}


def test_m10_without_a_bowl_it_is_never_placed_silently():
    assert "too_little_dough" in codes(four_kg(BIG))


def test_m10_too_little_dough_joins_other_orders_of_the_same_dough():
    """5 loaves are 4.04 kg, 20 are 16.16 kg: together 20.2 kg in the big mixer."""
    house = bakery(mixers=(BIG,), merge_within_min=120)
    lines = (Order("o1", "loaf", 20, at(14)), Order("o2", "loaf", 5, at(15)))
    plan = make_plan(day(bakery=house, lines=lines), night_of(24.0), limits=LISTED)
    (mix,) = plan.mixes
    assert mix.dough_kg == pytest.approx(25 * 0.808)
    assert set(mix.line_ids) == {"o1", "o2"}
    assert "too_little_dough" not in codes(plan)

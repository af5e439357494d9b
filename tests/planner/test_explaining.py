"""Reasons in a baker's words: a choice is told as one, a dough out of reach is not."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner import Limits, Reading, ReadingKind, answer, make_plan
from planner.batches import batches_of
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.explaining import chiller_reason
from planner.night import Night
from planner.pins import Pin
from planner.remarks import RemarkKind
from planner.rises import dough_rise
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from planner.water_ticket import WaterLine
from tests.planner.builders import bakery, day, lean_dough, night_of

QUICK = Limits(list_only=True)
HOT_AND_COLD = (*bakery().supplies, WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(60.0)))


def figure(remark, name):
    return next(f.value for f in remark.figures if f.name == name)


def planned(room_c, formula, *, pinned_c=None, **house):
    pins = () if pinned_c is None else (Pin("o1", dough_c=pinned_c),)
    the_day = day(bakery=bakery(**house), formulas=(formula,))
    return make_plan(the_day, night_of(room_c), pins=pins, limits=QUICK)


def coded(mix, *codes):
    return [r for r in mix.remarks if r.code in codes]


# ---- chilled water -----------------------------------------------------------------------------


def chilled_mix(*, chilled_kg, allowed_kg, use_chilled=True, ice_kg=0.0, warmer_k=0.0):
    """A mix of 12 kg of water, so much of it chilled, where the plan lets it take so much."""
    chiller = WaterSupply(
        "cold", "chiller", SupplyKind.CHILLER, Estimate(4.0), tank_kg=100.0, recovery_kg_per_h=0.0
    )
    plan = planned(24.0, lean_dough(), supplies=(*bakery().supplies, chiller))
    mix = plan.mixes[0]
    lines = [
        WaterLine("tap", SupplyKind.TAP, 12.0 - chilled_kg - ice_kg, 15.0),
        WaterLine("cold", SupplyKind.CHILLER, chilled_kg, 4.0),
    ]
    ticket = replace(
        mix.ticket, water=tuple(w for w in lines if w.water_kg > 0), ice_kg=ice_kg,
        formula_water_kg=12.0, expected_c=mix.steered.dough_c + warmer_k,
    )  # fmt: skip
    steered = replace(mix.steered, use_chilled=use_chilled, chilled_kg=allowed_kg)
    night = Night(plan.day, plan.conditions, Corrections())
    return night, replace(mix, ticket=ticket, steered=steered)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"chilled_kg": 5.0, "allowed_kg": 5.0}, "chiller_short"),
        ({"chilled_kg": 0.0, "allowed_kg": 0.0}, "chiller_short"),
        ({"chilled_kg": 5.0, "allowed_kg": 9.0}, None),  # a blend, and more could be had
        ({"chilled_kg": 12.0, "allowed_kg": 12.0}, None),  # all of it is chilled
        ({"chilled_kg": 0.0, "allowed_kg": 9.0, "use_chilled": False, "ice_kg": 2.0},
         "chiller_kept"),
        ({"chilled_kg": 0.0, "allowed_kg": 9.0, "use_chilled": False}, None),
        ({"chilled_kg": 0.0, "allowed_kg": 9.0, "use_chilled": False, "warmer_k": 2.0},
         "chiller_kept"),
    ],
)  # fmt: skip
def test_a_chiller_that_is_short_or_kept_for_others_is_named(changes, code):
    told = chiller_reason(*chilled_mix(**changes))
    assert [r.code for r in told] == ([] if code is None else [code])


@pytest.mark.parametrize(("ice_kg", "words"), [(0.0, "is warmer"), (2.0, "ice makes up")])
def test_a_short_chiller_says_what_is_left_and_what_comes_of_it(ice_kg, words):
    (told,) = chiller_reason(*chilled_mix(chilled_kg=5.0, allowed_kg=5.0, ice_kg=ice_kg))
    assert words in told.text
    assert figure(told, "left") == 5.0


def test_a_house_without_chiller_has_nothing_to_say_about_one():
    _, mix = chilled_mix(chilled_kg=0.0, allowed_kg=0.0)
    plain = planned(24.0, lean_dough())
    assert chiller_reason(Night(plain.day, plain.conditions, Corrections()), mix) == []


# ---- off the baker's number --------------------------------------------------------------------


def test_a_dough_out_of_reach_is_no_choice_and_its_minutes_are_followed_to_the_end():
    """22 °C wanted in a room of 36 °C with tap water alone: some 9 K too warm.

    Both doughs are followed by their own path here; the slope at its end says two thirds of that.
    """
    plan = planned(36.0, lean_dough(dough_c=22.0))
    mix = plan.mixes[0]
    assert coded(mix, "dough_warmer", "dough_cooler") == []
    (told,) = coded(mix, "comes_off_warmer")
    assert "asks for" not in told.text
    off_k = mix.ticket.expected_c - 22.0
    assert figure(told, "off") == pytest.approx(off_k)
    night = Night(plan.day, plan.conditions, Corrections())
    batch = batches_of(plan.day)[0]
    rise = dough_rise(night, batch.formula.bulk, batch.dough_kg, 22.0)
    ripe = [
        float(rise.window(rise.path(night.day.minute(mix.mix_end_utc), c, step_min=1.0))[1])
        for c in (22.0, mix.ticket.expected_c)
    ]
    assert figure(told, "worth") == pytest.approx(ripe[0] - ripe[1], abs=0.2)
    assert figure(told, "worth") > 1.5 * off_k * mix.minutes_per_degree


def test_a_dough_that_was_chosen_warmer_is_told_as_a_choice():
    """A pin half a degree above the number, inside the band and in reach."""
    mix = planned(20.0, lean_dough(dough_c=25.0), pinned_c=25.5, supplies=HOT_AND_COLD).mixes[0]
    assert mix.ticket.expected_c == pytest.approx(25.5, abs=0.1)
    (told,) = coded(mix, "dough_warmer", "dough_cooler", "comes_off_warmer")
    assert told.code == "dough_warmer"
    assert "{divide}" in told.text


def test_a_dough_at_its_number_needs_no_reason():
    mix = planned(20.0, lean_dough(dough_c=25.0), supplies=HOT_AND_COLD).mixes[0]
    assert mix.ticket.expected_c == pytest.approx(25.0, abs=0.1)
    assert not coded(mix, "dough_warmer", "dough_cooler", "comes_off_warmer", "comes_off_cooler")


def test_a_dough_pinned_outside_the_band_and_reached_misses_nothing():
    """20 °C in a dough of 25 ± 1: it is what the baker wants, and no lever leads back."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.05), 10.0, 400.0)
    the_day = day(bakery=bakery(ice=ice), formulas=(lean_dough(),))
    conditions = replace(night_of(22.0), ice_stored_kg=100.0)
    plan = make_plan(the_day, conditions, pins=(Pin("o1", dough_c=20.0),), limits=QUICK)
    mix = plan.mixes[0]
    assert mix.ticket.expected_c == pytest.approx(20.0, abs=0.1)
    early = Reading("r", ReadingKind.BOWL_C, mix.id, mix.start_utc - timedelta(minutes=5), 22.0)
    for told in (mix, answer(plan, early).mix):
        assert [r for r in told.remarks if r.kind is RemarkKind.LEVER] == []
        assert coded(told, "dough_missed") == []
    assert "pinned_outside_band" in [r.code for r in plan.remarks]


def test_a_pinned_dough_out_of_reach_is_missed_beside_the_pin():
    mix = planned(34.0, lean_dough(), pinned_c=20.0).mixes[0]
    (missed,) = coded(mix, "dough_missed")
    assert (figure(missed, "low"), figure(missed, "high")) == (19.0, 21.0)

"""A dough read while it is being mixed: what the second water still does."""

from dataclasses import replace
from datetime import timedelta
from functools import cache

import pytest

from planner import Limits, Reading, ReadingKind, answer, make_plan, with_reading
from planner.answer import follow
from planner.day import Order
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import at, bakery, day, lean_dough, night_of

LIMITS = Limits(list_only=True)


def with_second_water(percent: float = 12.0):
    """Autolyse, then salt, then the rest of the water at second speed."""
    return lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, 65),
            Line(Material.WATER, percent, step=3),
            Line(Material.SALT, 2, step=2),
            Line(Material.FRESH_YEAST, 1.5, step=2),
        ),
        steps=(
            MixStep(Speed.FIRST, 3),
            MixStep(Speed.REST, 20),
            MixStep(Speed.FIRST, 3),
            MixStep(Speed.SECOND, 6),
        ),
    )


@cache
def planned(*, second: bool = True):
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 2.0, 20.0)
    formula = with_second_water() if second else lean_dough()
    the_day = day(
        bakery=bakery(ice=ice), formulas=(formula,), lines=(Order("white", "loaf", 40, at(13)),)
    )
    return make_plan(the_day, replace(night_of(29.0), ice_stored_kg=10.0), limits=LIMITS)


def read_after(plan, step: int, value_c: float):
    mix = plan.mixes[0]
    taken = mix.start_utc + timedelta(minutes=20)
    return answer(
        plan,
        Reading("m", ReadingKind.DOUGH_MID_C, mix.id, taken, value_c, after_step=step),
    )


def test_the_ticket_keeps_the_second_water_back():
    ticket = planned().mixes[0].ticket
    assert [held.step for held in ticket.held_back] == [3]
    assert ticket.held_back[0].water_kg == pytest.approx(ticket.formula_water_kg * 12 / 77)
    assert "second_water" in [r.code for r in planned().mixes[0].remarks]


def test_a_warm_dough_gets_colder_second_water_and_ends_nearer():
    plan = planned()
    got = read_after(plan, 2, 27.0)
    wanted = plan.mixes[0].steered.dough_c
    middle = got.mid_mix
    assert middle.untouched_c > wanted + 0.5
    assert abs(middle.expected_c - wanted) < abs(middle.untouched_c - wanted)
    assert [r.code for r in got.remarks] == ["mid_mix_water"]
    kilos = sum(line.water_kg for line in middle.water) + middle.ice_kg
    assert kilos == pytest.approx(plan.mixes[0].ticket.held_back[0].water_kg)


def test_the_end_follows_by_hand():
    """Read 27 °C before the last step, dough of 1.685 parts, 0.12 of second water at T_w.

    Heat capacity so far 100 · 1.83 + 65 · 4.18 + 2 · 0.87 + 1.5 · 3.45 = 461.6; second water 50.2.
    Work of six minutes 1.6 · 6 · 180.5 · (1 − 1.5 · 0.12) = 1421 at 25 °C. With bowl and air near
    the dough: 27 − 50.2 (27 − 15)/511.8 + 1421 · exp(−0.023 · 2)/511.8 = 28.5, within 0.4.
    """
    plan = planned()
    middle = read_after(plan, 2, 27.0).mid_mix
    water_c = plan.mixes[0].ticket.water_c
    by_hand = 27 - 50.2 * (27 - water_c) / 511.8 + 1421 * 0.955 / 511.8
    assert middle.untouched_c == pytest.approx(by_hand, abs=0.4)


def test_a_dough_on_its_way_goes_on_as_planned():
    plan = planned()
    on_course = 22.0
    for _ in range(20):  # the reading that ends on the wish
        on_course += (
            plan.mixes[0].steered.dough_c - read_after(plan, 2, on_course).mid_mix.untouched_c
        )
    assert [r.code for r in read_after(plan, 2, on_course).remarks] == ["mid_mix_as_planned"]


def test_without_water_to_come_it_says_how_far_off_the_end_will_be():
    plan = planned(second=False)
    got = read_after(plan, 0, 28.0)
    assert got.mid_mix.water == ()
    assert [r.code for r in got.remarks] == ["mid_mix_off"]
    assert got.mid_mix.untouched_c > 28.0


def test_after_the_last_step_nothing_is_left_to_do():
    assert read_after(planned(), 3, 26.0).mid_mix is None


# ---- the second water is what there is -----------------------------------------------------------


def chilled_in(water) -> float:
    return sum(line.water_kg for line in water if line.kind is SupplyKind.CHILLER)


def in_two_waters(first: float, second: float, *, supplies, room_c: float, ice=None):
    """A dough of two waters, the second with the second speed, in a house of its own."""
    formula = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, first),
            Line(Material.WATER, second, step=1),
            Line(Material.SALT, 2),
        )
    )
    house = bakery(supplies=supplies, ice=ice)
    the_day = day(bakery=house, formulas=(formula,), lines=(Order("o1", "loaf", 40, at(14)),))
    return make_plan(the_day, replace(night_of(room_c), ice_stored_kg=10.0), limits=LIMITS)


TAP = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(20.0))


@pytest.mark.parametrize("tank_kg", [9.0, 11.4, 12.0])
def test_the_second_water_takes_only_what_the_first_left_in_the_tank(tank_kg):
    cold = WaterSupply(
        "cold", "chiller", SupplyKind.CHILLER, Estimate(3.0), tank_kg=tank_kg, recovery_kg_per_h=0.0
    )
    plan = in_two_waters(25, 40, supplies=(TAP, cold), room_c=34.0)
    ticket = plan.mixes[0].ticket
    first_kg = ticket.formula_water_kg - sum(held.water_kg for held in ticket.held_back)
    poured_kg = chilled_in(ticket.water) * first_kg / ticket.formula_water_kg
    middle = read_after(plan, 0, 34.0).mid_mix
    assert middle.untouched_c > plan.mixes[0].steered.dough_c + 1
    assert poured_kg + chilled_in(middle.water) == pytest.approx(tank_kg, abs=1e-6)


def test_the_second_water_takes_no_ice_that_the_first_has_used_up():
    """Half a kilo in the bin, none made: the ticket takes it all."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 0.0, 20.0)
    formula = with_second_water(20.0)
    the_day = day(
        bakery=bakery(ice=ice), formulas=(formula,), lines=(Order("white", "loaf", 40, at(13)),)
    )
    plan = make_plan(the_day, replace(night_of(33.0), ice_stored_kg=0.5), limits=LIMITS)
    assert plan.mixes[0].ticket.ice_kg == pytest.approx(0.5, abs=0.01)
    assert read_after(plan, 0, 34.0).mid_mix.ice_kg == pytest.approx(0.0, abs=0.01)


def test_the_second_water_is_offered_at_the_tap_as_it_was_read():
    plan = in_two_waters(50, 15, supplies=bakery().supplies, room_c=22.0)
    mix = plan.mixes[0]
    tap = Reading("w", ReadingKind.WATER_C, mix.id, mix.start_utc - timedelta(minutes=5), 22.0)
    middle = read_after(with_reading(plan, tap), 0, 26.0).mid_mix
    assert [line.temperature_c for line in middle.water] == [22.0]


def test_ice_still_in_its_bin_is_counted_in_the_end_as_planned():
    """All the steered water, and its ice, goes in with the second step."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 2.0, 20.0)
    formula = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, 30, temperature_c=15.0),
            Line(Material.WATER, 35, step=2),
            Line(Material.SALT, 2),
        ),
        steps=(MixStep(Speed.FIRST, 3), MixStep(Speed.REST, 20), MixStep(Speed.SECOND, 8)),
    )
    the_day = day(
        bakery=bakery(ice=ice), formulas=(formula,), lines=(Order("white", "loaf", 40, at(13)),)
    )
    plan = make_plan(the_day, replace(night_of(31.0), ice_stored_kg=10.0), limits=LIMITS)
    ticket = plan.mixes[0].ticket
    assert ticket.ice_kg > 0.3
    followed = follow(plan, plan.mixes[0].id)
    as_foreseen_c = float(followed.mixed.run.after_c[1])
    middle = read_after(plan, 1, as_foreseen_c).mid_mix
    assert middle.untouched_c == pytest.approx(ticket.expected_c, abs=0.3)
    assert middle.ice_kg == pytest.approx(ticket.ice_kg, rel=0.25)


def test_cubes_in_a_second_water_are_melted_in_it_first():
    """Six minutes are left: cubes are stirred in the water, which is not poured below 1 °C."""
    cubes = IceSupply(IceKind.CUBE, Estimate(-7.0), Estimate(1.0, 0.05), 5.0, 20.0)
    plan = in_two_waters(45, 20, supplies=(TAP,), room_c=27.0, ice=cubes)
    got = read_after(plan, 0, 31.0)
    assert got.mid_mix.ice_kg > 0
    assert got.mid_mix.pour_c >= 1.0 - 1e-9
    assert "reads {pour}" in got.remarks[0].text

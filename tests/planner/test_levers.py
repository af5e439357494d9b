"""When water and ice cannot do it: each lever, pulled, brings the dough back."""

from dataclasses import replace

import pytest

from planner.bakery import IceKind, IceSupply, SupplyKind, WaterSupply
from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.formula import (
    Line,
    MixStep,
    Preferment,
)
from planner.levers import missed_remarks
from planner.materials import Material
from planner.mixers import MixerKind, Speed, mixer
from planner.night import Night
from planner.options import Allowance, Choice
from planner.remarks import RemarkKind
from planner.ripening import (
    Curve,
    HoursAt,
    Ripening,
)
from planner.tickets import MixTemperatures, make_ticket
from tests.planner.builders import bakery, day, lean_dough, steady_room

FREE = Choice(25.0, use_chilled=False)


def a_night(room_c=32.0, *, house=None, formula=None) -> Night:
    formula = formula or lean_dough()
    house = house or bakery()
    return Night(
        day(bakery=house, formulas=(formula,)),
        Conditions(rooms={"room": steady_room(room_c)}, ice_stored_kg=50.0),
        Corrections(),
    )


def mixed(night: Night, *, machine=None, part_c=None, measured=None, allowed=None, formula=None):
    batch = batches_of(night.day)[0]
    if formula is not None:
        batch = replace(batch, formula=formula)
    machine = machine or night.day.bakery.mixers[0]
    return make_ticket(
        night,
        batch,
        machine,
        300.0,
        FREE,
        part_c or {},
        measured=measured or MixTemperatures(),
        allowed=allowed or Allowance(),
    )


def told(night: Night, *, machine=None, part_c=None, allowed=None):
    """Remarks of a mix by code, with their figures by name."""
    one = mixed(night, machine=machine, part_c=part_c, allowed=allowed)
    remarks = missed_remarks(one)
    return [(r.code, {f.name: f.value for f in r.figures}) for r in remarks]


def figures(remarks, code: str, **where):
    return next(f for c, f in remarks if c == code and all(f.get(k) == v for k, v in where.items()))


def test_a_dough_inside_its_band_needs_no_lever():
    assert told(a_night(22.0)) == []


def test_what_is_missed_stands_first_and_the_rest_are_levers():
    night = a_night()
    remarks = missed_remarks(mixed(night))
    assert remarks[0].kind is RemarkKind.UNMET
    assert remarks[0].code == "dough_missed"
    assert {r.kind for r in remarks[1:]} == {RemarkKind.LEVER}


def test_flour_as_cold_as_told_brings_the_dough_to_its_band():
    night = a_night()
    target = figures(told(night), "ingredient_temperature", ingredient="wheat flour")["target"]
    cooler = mixed(night, measured=MixTemperatures(flour_c=target))
    assert cooler.ticket.expected_c == pytest.approx(26.0, abs=0.05)


def test_so_much_more_ice_brings_it_to_its_band():
    """A house with ice, all of it promised to other mixes but a kilo."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 5.0, 50.0)
    night = a_night(34.0, house=bakery(ice=ice))
    short = told(night, allowed=Allowance(ice_kg=1.0))
    more_kg = figures(short, "more_ice")["ice"]
    enough = mixed(night, allowed=Allowance(ice_kg=1.0 + more_kg))
    assert enough.ticket.expected_c == pytest.approx(26.0, abs=0.05)


def test_a_house_without_ice_is_told_how_much_to_buy():
    assert figures(told(a_night()), "more_ice")["ice"] > 0.3


def test_no_more_ice_is_told_than_melts():
    """A stiff dough with warm tap on a hot day: a share of ice that it would not take is none."""
    stiff = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 50), Line(Material.SALT, 2))
    )
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(28.0))
    codes = [code for code, _ in told(a_night(42.0, formula=stiff, house=bakery(supplies=(tap,))))]
    assert "dough_missed" in codes
    assert "more_ice" not in codes


def test_cubes_need_a_rest_of_five_minutes_or_more():
    cubes = IceSupply(IceKind.CUBE, Estimate(-7.0), Estimate(1.0, 0.05), 5.0, 50.0)
    night = a_night(42.0, house=bakery(ice=cubes))
    rest = figures(told(night), "rest_for_ice")
    assert rest["rest"] >= 5
    assert rest["ice"] > 0


def test_a_chilled_bowl_as_told_brings_a_near_miss_back():
    night = a_night(27.0)
    remarks = told(night)
    target = figures(remarks, "bowl")["target"]
    chilled = mixed(night, measured=MixTemperatures(bowl_c=target))
    assert chilled.ticket.expected_c == pytest.approx(26.0, abs=0.05)


def test_a_shorter_second_speed_as_told_brings_it_back():
    night = a_night(29.0)
    told_ = figures(told(night), "working_time", speed=Speed.SECOND)
    shorter = lean_dough(steps=(MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 6 - told_["less"])))
    again = mixed(night, formula=shorter)
    assert again.ticket.expected_c == pytest.approx(26.0, abs=0.1)


def levain_dough():
    levain = Preferment(
        "levain",
        "levain",
        (Line(Material.WHEAT_FLOUR, 20), Line(Material.WATER, 20)),
        Ripening(HoursAt(5, 26), Curve.LEVAIN, "room"),
        26.0,
    )
    return lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 80),
            Line(Material.WATER, 45),
            Line(Material.SALT, 2),
        ),
        parts=(levain,),
    )


def test_a_levain_as_cool_as_told_brings_it_back():
    night = a_night(30.0, formula=levain_dough())
    remarks = told(night, part_c={"levain": 30.0})
    target = figures(remarks, "ingredient_temperature", ingredient="levain")["target"]
    assert mixed(night, part_c={"levain": target}).ticket.expected_c == pytest.approx(26, abs=0.05)


def test_a_cooled_mixer_that_is_off_is_the_first_lever():
    cooled = mixer(
        "cold", "cooled spiral", MixerKind.SPIRAL, "room", 60.0, cooling_k=3.0, cooling_on=False
    )
    night = a_night(house=bakery(mixers=(cooled,)))
    remarks = told(night)
    assert remarks[1][0] == "cooling_on"
    on = mixed(night, machine=replace(cooled, cooling_on=True))
    assert remarks[1][1]["dough"] == pytest.approx(on.ticket.expected_c, abs=0.05)


def test_another_mixer_that_does_it_is_named():
    plain = mixer("plain", "plain spiral", MixerKind.SPIRAL, "room", 60.0)
    gentle = mixer("fork", "fork mixer", MixerKind.FORK, "room", 60.0)
    night = a_night(30.0, house=bakery(mixers=(plain, gentle)))
    dough_c = figures(told(night, machine=plain), "other_mixer", mixer="fork mixer")["dough"]
    assert dough_c <= 26.05


def test_a_dough_without_water_has_other_levers():
    """Brioche on egg and butter in a kitchen of 32 °C: flour, eggs and butter are told."""
    brioche = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.EGG, 60, temperature_c=20.0),
            Line(Material.BUTTER, 50, step=1),
            Line(Material.SUGAR, 12),
            Line(Material.SALT, 2),
        ),
        dough_c=23.0,
    )
    night = a_night(32.0, formula=brioche)
    ticket = mixed(night).ticket
    assert ticket.water_c is None
    assert ticket.strip is None
    names = [f.get("ingredient") for c, f in told(night) if c == "ingredient_temperature"]
    assert {"wheat flour", "egg"} <= set(names)


def test_a_winter_dough_is_told_how_warm_its_water_must_be():
    night = a_night(12.0)
    remarks = told(night)
    water_c = figures(remarks, "hotter_water")["water"]
    hot = WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(water_c))
    warm = a_night(12.0, house=bakery(supplies=(*bakery().supplies, hot)))
    assert mixed(warm).ticket.expected_c == pytest.approx(24.0, abs=0.05)


def test_a_cooler_hour_of_the_same_night_is_named():
    """A room that falls from 34 to 20 °C within the span."""
    falling = steady_room(34.0)
    temperatures = tuple(34.0 - 0.6 * h if h < 24 else 20.0 for h in range(40))
    night = Night(
        day(),
        Conditions(rooms={"room": replace(falling, temperature_c=temperatures)}),
        Corrections(),
    )
    slot = figures(told(night), "other_slot")
    assert slot["dough"] <= 26.05
    assert slot["start"] > night.day.moment(300.0)

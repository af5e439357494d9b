"""When water and ice cannot do it: each lever, pulled, brings the dough back."""

from dataclasses import replace

import numpy as np
import pytest

from planner.bakery import FlourStore, FlourStoreKind
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.formula import MixStep, Preferment
from planner.levers import missed_remarks
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, Speed, mixer
from planner.night import Night
from planner.options import Allowance, Choice
from planner.physics.water_solution import equivalent_water_c
from planner.remarks import RemarkKind
from planner.ripening import (
    Curve,
    HoursAt,
    Ripening,
)
from planner.tickets import MixTemperatures
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import bakery, day, lean_dough, steady_room
from tests.planner.missed import (
    AT_THE_EDGE,
    CHILLED,
    HOUSE_WATER,
    a_night,
    figures,
    mixed,
    told,
)


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
    """In chilled water hardly any cube melts beforehand; in the bowl they do, given a rest."""
    cubes = IceSupply(IceKind.CUBE, Estimate(-7.0), Estimate(1.0, 0.05), 5.0, 50.0)
    night = a_night(42.0, house=bakery(ice=cubes, supplies=HOUSE_WATER))
    rest = figures(told(night, choice=CHILLED), "rest_for_ice")
    assert rest["rest"] >= 5
    first, second = lean_dough().steps
    rested = lean_dough(steps=(first, MixStep(Speed.REST, rest["rest"]), second))
    again = mixed(night, formula=rested, choice=AT_THE_EDGE).ticket
    assert again.pour_c is None
    assert again.ice_kg == pytest.approx(rest["ice"], abs=1e-3)
    assert again.expected_c == pytest.approx(26.0, abs=0.05)


@pytest.mark.parametrize("water", [10, 20, 30])
@pytest.mark.parametrize("part_c", [26.0, 30.0, 35.0])
def test_no_more_ice_is_told_than_six_tenths_of_the_first_water(water, part_c):
    """Little steered water beside a wet levain: a ticket at its cap has no more ice to take."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.05), 20.0, 60.0)
    levain = Preferment(
        "lev",
        "levain",
        (Line(Material.WHEAT_FLOUR, 30), Line(Material.WATER, 45)),
        Ripening(HoursAt(5, 26), Curve.LEVAIN, "room", by_progress=1.3),
        26.0,
        seed_percent=20,
    )
    formula = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 70), Line(Material.WATER, water), Line(Material.SALT, 2)),
        parts=(levain,),
    )
    night = a_night(30.0, formula=formula, house=bakery(ice=ice))
    as_is = {"part_c": {"lev": part_c}, "choice": Choice(24.0, use_chilled=False)}
    one = mixed(night, **as_is).ticket
    for more in [f["ice"] for code, f in told(night, **as_is) if code == "more_ice"]:
        assert one.ice_kg + more <= 0.6 * one.formula_water_kg + 1e-6


def test_ice_that_melts_first_is_told_when_the_store_is_what_is_short():
    """Cubes for a short mix: half a kilo is promised, a little more would be melted too."""
    cubes = IceSupply(IceKind.CUBE, Estimate(-7.0), Estimate(1.0, 0.05), 5.0, 50.0)
    night = a_night(27.5, house=bakery(ice=cubes, supplies=HOUSE_WATER[:1]))
    short = Allowance(ice_kg=0.5)
    more_kg = figures(told(night, allowed=short), "more_ice")["ice"]
    enough = mixed(night, allowed=Allowance(ice_kg=0.5 + more_kg)).ticket
    assert enough.expected_c == pytest.approx(26.0, abs=0.05)
    assert enough.pour_c >= 1.0 - 1e-9


def test_a_chilled_bowl_as_told_brings_a_near_miss_back():
    night = a_night(27.0)
    remarks = told(night)
    target = figures(remarks, "bowl")["target"]
    chilled = mixed(night, measured=MixTemperatures(bowl_c=target))
    assert chilled.ticket.expected_c == pytest.approx(26.0, abs=0.05)


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


# ---- a mixer is priced with the readings, the bowl and the water that there are ---------------


def cooled_off(**changes):
    cooling = {"cooling_k": 3.0, "cooling_on": False} | changes
    return mixer("cold", "cooled spiral", MixerKind.SPIRAL, "room", 60.0, **cooling)


@pytest.mark.parametrize("chilled_kg", [0.0, 2.0, 6.0])
@pytest.mark.parametrize("bowl_c", [None, 45.0])
def test_cooling_is_priced_with_the_chilled_water_and_the_bowl_there_are(chilled_kg, bowl_c):
    machine = cooled_off()
    night = a_night(32.0, house=bakery(mixers=(machine,), supplies=HOUSE_WATER))
    as_is = {"allowed": Allowance(0.0, chilled_kg), "bowl_c": bowl_c}
    told_c = figures(told(night, choice=CHILLED, **as_is), "cooling_on")["dough"]
    on = replace(machine, cooling_on=True)
    truly = mixed(night, machine=on, choice=AT_THE_EDGE, **as_is).ticket.expected_c
    assert told_c == pytest.approx(truly, abs=0.01)


def test_cooling_that_starts_after_the_mix_is_no_lever():
    machine = cooled_off(cooling_delay_min=30.0)
    night = a_night(32.0, house=bakery(mixers=(machine,), supplies=HOUSE_WATER))
    remarks = told(night, choice=CHILLED, allowed=Allowance(0.0, 2.0), bowl_c=40.0)
    assert remarks[0][0] == "dough_missed"
    assert "cooling_on" not in [code for code, _ in remarks]


@pytest.mark.parametrize(
    ("flour_c", "chilled_kg", "named"),
    [(None, 2.0, False), (None, 6.0, True), (40.0, 6.0, False), (42.0, 14.0, True)],
)
def test_another_mixer_is_named_only_if_its_ticket_comes_into_the_band(flour_c, chilled_kg, named):
    """The flour as it was read goes along; the bowl that was read stays on its own mixer."""
    plain = mixer("plain", "plain spiral", MixerKind.SPIRAL, "room", 60.0)
    gentle = mixer("fork", "fork mixer", MixerKind.FORK, "room", 60.0)
    night = a_night(32.0, house=bakery(mixers=(plain, gentle), supplies=HOUSE_WATER))
    read = MixTemperatures(flour_c=flour_c, bowl_c=30.0)
    as_is = {"allowed": Allowance(0.0, chilled_kg), "choice": CHILLED}
    got = told(night, machine=plain, measured=read, **as_is)
    there = as_is | {"choice": AT_THE_EDGE, "measured": MixTemperatures(flour_c=flour_c)}
    truly = mixed(night, machine=gentle, **there).ticket.expected_c
    assert (truly <= 26.05) is named
    dough_c = [f["dough"] for code, f in got if code == "other_mixer"]
    assert dough_c == pytest.approx([truly] if named else [], abs=0.01)


def test_another_mixer_that_comes_off_too_cold_is_not_named():
    """Two degrees too warm here, five too cool there, and nothing to warm the water with."""
    plain = mixer("plain", "plain spiral", MixerKind.SPIRAL, "room", 60.0)
    icy = mixer("icy", "icy spiral", MixerKind.SPIRAL, "room", 60.0, cooling_k=8.0)
    night = a_night(30.0, house=bakery(mixers=(plain, icy)))
    codes = [code for code, _ in told(night, machine=plain)]
    assert mixed(night, machine=icy).ticket.expected_c < 23.5
    assert "dough_missed" in codes
    assert "other_mixer" not in codes


@pytest.mark.parametrize(
    ("flour_c", "chilled_kg", "named"), [(42.0, 0.0, True), (44.0, 2.0, True), (44.0, 0.0, False)]
)
def test_a_smaller_batch_is_priced_with_its_share_of_what_there_is(flour_c, chilled_kg, named):
    machine = mixer("cold", "cooled", MixerKind.SPIRAL, "room", 33.0, cooling_k=6.0)
    night = a_night(24.0, house=bakery(mixers=(machine,), supplies=HOUSE_WATER))
    read = MixTemperatures(flour_c=flour_c)
    got = told(night, measured=read, choice=CHILLED, allowed=Allowance(0.0, chilled_kg))
    share = {"share": 0.7, "allowed": Allowance(0.0, 0.7 * chilled_kg)}
    truly = mixed(night, choice=AT_THE_EDGE, measured=read, **share)
    assert (truly.ticket.expected_c <= 26.05) is named
    told_kg_and_c = [(f["dough_kg"], f["dough"]) for code, f in got if code == "smaller_batch"]
    wanted = [(truly.case.batch.dough_kg, truly.ticket.expected_c)] if named else []
    assert np.array(told_kg_and_c) == pytest.approx(np.array(wanted), abs=0.01)


def test_a_batch_too_small_for_its_mixer_is_no_lever():
    machine = mixer(
        "cold", "cooled", MixerKind.SPIRAL, "room", 33.0, cooling_k=6.0, min_dough_kg=30.0
    )
    night = a_night(24.0, house=bakery(mixers=(machine,), supplies=HOUSE_WATER))
    read = MixTemperatures(flour_c=42.0)
    codes = [c for c, _ in told(night, measured=read, allowed=Allowance(0.0, 0.0))]
    assert "dough_missed" in codes
    assert "smaller_batch" not in codes


def test_a_bowl_as_warm_as_told_brings_back_a_dough_with_butter():
    """Fat that melts on the way bends the line from bowl to dough."""
    buttery = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, 50),
            Line(Material.BUTTER, 30),
            Line(Material.SALT, 2),
        ),
        dough_c=26.0,
    )
    night = a_night(22.0, formula=buttery)
    remarks = told(night, choice=Choice(26.0, use_chilled=False))
    target = figures(remarks, "bowl")["target"]
    warm = mixed(night, measured=MixTemperatures(bowl_c=target))
    assert warm.ticket.expected_c == pytest.approx(25.0, abs=0.05)


def test_water_hotter_than_it_boils_in_this_house_is_no_lever():
    """A dough of little water in the cold: it would take more than 92 °C at 2,463 m."""
    stiff = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 20), Line(Material.EGG, 25)),
        dough_c=30.0,
    )
    codes = {}
    for altitude_m in (0.0, 2463.0):
        night = a_night(3.0, formula=stiff, house=bakery(altitude_m=altitude_m))
        one = mixed(night, choice=Choice(30.0, use_chilled=False))
        needed_c = float(equivalent_water_c(one.balance, 29.0))
        codes[altitude_m] = [r.code for r in missed_remarks(one)]
        assert ("hotter_water" in codes[altitude_m]) is (needed_c <= night.boiling_c)
    assert "hotter_water" in codes[0.0]
    assert "hotter_water" not in codes[2463.0]


# ---- ingredients: one lever for what goes in under one name, and never a warm egg ----------------


def test_two_flours_of_unequal_weight_are_one_and_now_at_their_common_temperature():
    """95 parts at 34 °C and 5 at 4: together (95 · 34 + 5 · 4)/100 = 32.5 °C."""
    stores = tuple(
        FlourStore(name, name, FlourStoreKind.SACK, "room", Estimate(0.14))
        for name in ("sacks", "cold")
    )
    formula = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 95, store_id="sacks"),
            Line(Material.WHEAT_FLOUR, 5, store_id="cold"),
            Line(Material.WATER, 62),
            Line(Material.SALT, 2),
        )
    )
    night = Night(
        day(bakery=bakery(flour_stores=stores), formulas=(formula,)),
        Conditions(
            {"room": steady_room(30.0)},
            flour_c={"sacks": Estimate(34.0), "cold": Estimate(4.0)},
        ),
        Corrections(),
    )
    (flour,) = [f for c, f in told(night) if c == "ingredient_temperature"]
    assert flour["now"] == pytest.approx(32.5, abs=0.01)
    cooler = mixed(night, measured=MixTemperatures(flour_c=flour["target"]))
    assert cooler.ticket.expected_c == pytest.approx(26.0, abs=0.05)


def with_milk(first_c: float, second_c: float):
    return lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.MILK, 35, temperature_c=first_c),
            Line(Material.MILK, 25, step=1, temperature_c=second_c),
            Line(Material.SALT, 2),
        )
    )


def test_milk_that_goes_in_twice_is_told_once():
    """35 parts at 10 °C and 25 at 20: now (350 + 500)/60 = 14.2 °C."""
    night = a_night(32.0, formula=with_milk(10.0, 20.0))
    (milk,) = [f for _, f in told(night) if f.get("ingredient") == "milk"]
    assert milk["now"] == pytest.approx(850 / 60, abs=0.01)
    both = a_night(32.0, formula=with_milk(milk["target"], milk["target"]))
    assert mixed(both).ticket.expected_c == pytest.approx(26.0, abs=0.05)


@pytest.mark.parametrize("egg", [Material.EGG, Material.EGG_YOLK])
def test_a_cold_room_never_asks_for_warm_raw_egg(egg):
    formula = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(egg, 50, temperature_c=4.0),
            Line(Material.MILK, 15),
            Line(Material.SALT, 2),
        ),
        dough_c=27.0,
    )
    remarks = told(a_night(12.0, formula=formula), choice=Choice(27.0, use_chilled=False))
    names = [f["ingredient"] for code, f in remarks if code == "ingredient_temperature"]
    assert "wheat flour" in names
    assert egg not in names

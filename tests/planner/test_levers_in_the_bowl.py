"""Levers in minutes and ingredients: what is told is what the ticket of that mix has."""

from dataclasses import replace

import pytest

from planner.bakery import (
    FlourStore,
    FlourStoreKind,
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.formula import (
    Line,
    MixStep,
)
from planner.materials import Material
from planner.mixers import MixerKind, Speed, mixer
from planner.night import Night
from planner.options import Choice
from planner.tickets import MixTemperatures
from tests.planner.builders import bakery, day, lean_dough, steady_room
from tests.planner.test_levers import HOUSE_WATER, a_night, figures, mixed, told

# ---- minutes: what counts is the ticket of the shorter or longer mix ----------------------------


def retimed(night: Night, formula, minutes_by: float, **changes) -> float:
    """Return the dough when the last step is so much longer [°C]."""
    last = formula.steps[-1]
    steps = (*formula.steps[:-1], replace(last, minutes=last.minutes + minutes_by))
    return mixed(night, formula=replace(formula, steps=steps), **changes).ticket.expected_c


@pytest.mark.parametrize("room_c", [22.0, 24.0, 26.0, 28.0])
def test_minutes_told_for_cold_eggs_in_a_warm_room_are_those_that_do_it(room_c):
    """The room warms the dough too: fewer minutes of it count, and never the wrong way."""
    eggy = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.EGG, 50, temperature_c=4.0),
            Line(Material.MILK, 10),
            Line(Material.BUTTER, 30, step=1),
            Line(Material.SUGAR, 12),
        ),
        steps=(MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 8)),
        dough_c=24.0,
        band_k=0.0,
    )
    night = a_night(room_c, formula=eggy)
    now_c = mixed(night).ticket.expected_c
    for told_ in [f for code, f in told(night) if code == "working_time"]:
        sign = -1 if now_c > 24.0 else 1
        assert retimed(night, eggy, sign * told_["less"]) == pytest.approx(24.0, abs=0.05)


@pytest.mark.parametrize("flour_c", [44.0, 46.0])
def test_minutes_that_would_cost_the_ice_its_time_to_melt_are_not_told(flour_c):
    """Nuggets in ten minutes go into the bowl; a little shorter, they must be melted first.

    Then a wet dough takes less of them, and comes off warmer for the shorter mix.
    """
    nuggets = IceSupply(IceKind.NUGGET, Estimate(-1.0), Estimate(0.9, 0.05), 20.0, 60.0)
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(24.0))
    wet = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 80), Line(Material.SALT, 2)),
        dough_c=13.0,
    )
    night = a_night(30.0, formula=wet, house=bakery(ice=nuggets, supplies=(tap,)))
    as_is = {
        "choice": Choice(13.0, use_chilled=False),
        "measured": MixTemperatures(flour_c=flour_c),
    }
    one = mixed(night, **as_is)
    assert one.ticket.expected_c > 14.1
    assert retimed(night, wet, -2.0, **as_is) > one.ticket.expected_c + 0.5
    assert "working_time" not in [code for code, _ in told(night, **as_is)]


@pytest.mark.parametrize("room_c", [5.0, 10.0, 15.0, 18.0])
@pytest.mark.parametrize("tap_c", [30.0, 60.0])
def test_minutes_in_which_a_small_dough_loses_its_heat_are_never_told_the_wrong_way(room_c, tap_c):
    """A loaf's dough from warm water in a cool room: the longer it is worked, the cooler it is."""
    small = mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 5.0, min_dough_kg=0.5)
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(tap_c))
    formula = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 80), Line(Material.SALT, 2)),
        steps=(MixStep(Speed.FIRST, 2), MixStep(Speed.SECOND, 12)),
        dough_c=26.0,
        band_k=0.0,
    )
    night = a_night(room_c, formula=formula, house=bakery(mixers=(small,), supplies=(tap,)))
    as_is = {"choice": Choice(26.0, use_chilled=False), "share": 0.175}
    now_c = mixed(night, **as_is).ticket.expected_c
    for told_ in [f for code, f in told(night, **as_is) if code == "working_time"]:
        sign = -1 if now_c > 26.0 else 1
        again_c = retimed(night, formula, sign * told_["less"], **as_is)
        assert again_c == pytest.approx(26.0, abs=0.05)


def test_a_shorter_mix_on_a_cooled_mixer_is_cooled_for_a_shorter_time():
    """Its coolant takes part only while the mixer runs."""
    machine = mixer("cold", "cooled", MixerKind.SPIRAL, "room", 60.0, coolant_c=-4.0)
    night = a_night(34.0, house=bakery(mixers=(machine,), supplies=HOUSE_WATER[:1]))
    read = MixTemperatures(flour_c=40.0)
    named = [f for code, f in told(night, measured=read) if code == "working_time"]
    for told_ in named:
        again_c = retimed(night, lean_dough(), -told_["less"], measured=read)
        assert again_c == pytest.approx(26.0, abs=0.05)


def test_a_cold_dough_is_worked_longer_by_what_is_told():
    night = a_night(21.0)
    cool = MixTemperatures(flour_c=19.0)
    told_ = figures(told(night, measured=cool), "working_time")
    again_c = retimed(night, lean_dough(), told_["less"], measured=cool)
    assert again_c == pytest.approx(24.0, abs=0.05)


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

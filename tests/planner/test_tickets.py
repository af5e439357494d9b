"""The water ticket: what goes in when, whatever the first step holds."""

from dataclasses import replace
from datetime import timedelta
from functools import cache
from math import log

import pytest

from planner import Limits, make_plan
from planner.batches import batches_of
from planner.corrections import Corrections
from planner.day import Order
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.learning.readings import learn
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.night import Night
from planner.options import Choice
from planner.readings import MixOutcome
from planner.remarks import RemarkKind
from planner.tickets import NOTHING_MEASURED, MixTemperatures, make_ticket
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import at, bakery, day, lean_dough, night_of
from tests.planner.conftest import levain_dough

LIMITS = Limits(list_only=True)
FLOUR, SALT = Line(Material.WHEAT_FLOUR, 100), Line(Material.SALT, 2)


def milk_first():
    """Milk makes the dough, all of the water comes at second speed."""
    return lean_dough(
        lines=(FLOUR, Line(Material.MILK, 40), Line(Material.WATER, 25, step=1), SALT)
    )


def stated_first():
    """A soaker's water of a stated temperature, a rest, then the water that is steered, twice."""
    return lean_dough(
        lines=(
            FLOUR,
            Line(Material.WATER, 45, temperature_c=20.0),
            Line(Material.WATER, 15, step=2),
            Line(Material.WATER, 5, step=3),
            SALT,
        ),
        steps=(
            MixStep(Speed.FIRST, 3),
            MixStep(Speed.REST, 30),
            MixStep(Speed.FIRST, 3),
            MixStep(Speed.SECOND, 6),
        ),
    )


@cache
def mixed(formula, room_c=33.0, kind=IceKind.FLAKE):
    ice = IceSupply(kind, Estimate(-2.0), Estimate(0.9, 0.05), 2.0, 20.0)
    hot = WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(90.0))
    house = bakery(ice=ice, supplies=(*bakery().supplies, hot))
    the_day = day(bakery=house, formulas=(formula,), lines=(Order("o1", "loaf", 40, at(15)),))
    conditions = replace(night_of(room_c), ice_stored_kg=20.0)
    return make_plan(the_day, conditions, limits=LIMITS).mixes[0]


def caution(mix, code):
    return next(r for r in mix.remarks if r.kind is RemarkKind.CAUTION and r.code == code)


@pytest.mark.parametrize(("formula", "steps"), [(milk_first(), [1]), (stated_first(), [2, 3])])
def test_water_that_comes_later_is_all_held_back_and_its_ice_with_it(formula, steps):
    """Milk of 4 °C at 33 °C room and water of a stated 20 °C: in both, ice goes with the water."""
    ticket = mixed(formula).ticket
    assert ticket.ice_kg > 0.1
    assert ticket.water_step == steps[0]
    assert [held.step for held in ticket.held_back] == steps
    assert [held.ice_kg for held in ticket.held_back] == [ticket.ice_kg, 0.0][: len(steps)]
    kept_kg = sum(held.water_kg + held.ice_kg for held in ticket.held_back)
    assert kept_kg == pytest.approx(ticket.formula_water_kg, abs=1e-9)


def test_water_that_goes_in_at_the_start_is_not_held_back():
    ticket = mixed(lean_dough()).ticket
    assert (ticket.water_step, ticket.held_back) == (0, ())


def test_ice_goes_in_at_the_step_of_its_water():
    told = caution(mixed(milk_first()), "ice_in_bowl")
    assert [f.value for f in told.figures] == ["2"]
    assert "mixer stopped" in told.text
    kept = next(r for r in mixed(milk_first()).remarks if r.code == "second_water")
    assert {"kept", "ice"} <= {f.name for f in kept.figures}
    assert "before the mixer starts" in caution(mixed(lean_dough()), "ice_in_bowl").text


def test_hot_water_of_a_later_step_is_not_poured_first():
    """Cold room, little water, at second speed: above 45 °C, into a dough with yeast in it."""
    cold = lean_dough(
        dough_c=28.0,
        lines=(FLOUR, Line(Material.MILK, 45), Line(Material.WATER, 12, step=1), SALT),
    )
    mix = mixed(cold, 8.0)
    assert mix.ticket.water_c > 45
    told = caution(mix, "hot_water")
    assert "water first" not in told.text
    assert [f.value for f in told.figures if f.name == "step"] == ["2"]


# ---- when to draw it ---------------------------------------------------------------------------


def minutes_ahead(ticket, moment):
    return (moment - ticket.draw_not_before_utc) / timedelta(minutes=1)


def test_chilled_water_is_drawn_so_late_that_it_moves_half_a_degree():
    """Tap of 6 °C in a room of 24, m kg: 250 (m/10)^(1/3) ln(18/17.5) minutes before the mixer."""
    cold = bakery(supplies=(WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(6.0)),))
    the_day = day(bakery=cold, formulas=(lean_dough(dough_c=20.0),))
    mix = make_plan(the_day, night_of(24.0), limits=LIMITS).mixes[0]
    assert mix.ticket.water_c == pytest.approx(6.0)
    by_hand = 250 * (mix.ticket.formula_water_kg / 10) ** (1 / 3) * log(18 / 17.5)
    assert minutes_ahead(mix.ticket, mix.start_utc) == pytest.approx(by_hand, abs=0.05)


def test_water_near_the_room_may_be_drawn_at_any_time():
    """Tap of 15 °C in a room of 15.4: it cannot move by half a degree."""
    the_day = day(formulas=(lean_dough(dough_c=20.0),))
    mix = make_plan(the_day, night_of(15.4), limits=LIMITS).mixes[0]
    assert mix.ticket.water_c == pytest.approx(15.0)
    assert mix.ticket.draw_not_before_utc is None


def test_water_of_a_later_step_is_drawn_for_its_own_moment():
    """First speed lasts four minutes: the bucket may be filled by so much later."""
    mix = mixed(milk_first())
    poured = mix.start_utc + timedelta(minutes=4)
    gap_k = 33.0 - mix.ticket.water_c
    by_hand = 250 * (mix.ticket.formula_water_kg / 10) ** (1 / 3) * log(gap_k / (gap_k - 0.5))
    assert minutes_ahead(mix.ticket, poured) == pytest.approx(by_hand, abs=0.05)


# ---- how sure it is ----------------------------------------------------------------------------


def unsure_by(measured=NOTHING_MEASURED, known=Corrections()):  # noqa: B008  frozen
    """What each input of a levain dough may do to it, one standard deviation [K]."""
    formula = replace(levain_dough(), id="white")
    night = Night(day(formulas=(formula,)), night_of(24.0), known)
    batch, machine = batches_of(night.day)[0], night.day.bakery.mixers[0]
    choice = Choice(25.0, use_chilled=False)
    made = make_ticket(night, batch, machine, 300.0, choice, {"levain": 25.0}, measured=measured)
    return made.effects.by_source


def test_a_levain_that_was_read_is_known_twice_as_well():
    """A degree from the forecast, half a degree from a thermometer."""
    read = unsure_by(MixTemperatures(part_c={"levain": 25.0}))
    assert read["parts"] == pytest.approx(unsure_by()["parts"] / 2, rel=0.01)
    assert read["flour"] == pytest.approx(unsure_by()["flour"])


def test_flour_and_bowl_that_were_read_are_known_better():
    """Flour 1.5 K from the forecast, the bowl 2 K; half a degree each from a thermometer."""
    plain, read = unsure_by(), unsure_by(MixTemperatures(flour_c=24.0, bowl_c=24.0))
    assert read["flour"] == pytest.approx(plain["flour"] / 3, rel=0.01)
    assert read["bowl"] == pytest.approx(plain["bowl"] / 4, rel=0.01)


def test_the_wetting_is_part_of_the_work_once_that_is_learned():
    """What was read of a mixer holds the wetting too: it is not counted twice."""
    mix = MixOutcome(
        "a", "spiral", "wheat", 25.0, 25.0, 0.5,
        ((Speed.SECOND, 6.0),), ((Speed.SECOND, 1.0),), ((Speed.SECOND, 0.375),),
    )  # fmt: skip
    assert unsure_by()["wetting"] > 0.1
    assert unsure_by(known=learn([mix], Corrections()))["wetting"] == 0.0

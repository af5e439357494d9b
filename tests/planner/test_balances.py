"""What the mixer's wall, the bowl and the house's water and ice bring into a balance."""

from dataclasses import replace

import numpy as np
import pytest

from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.mixers import MixerKind, Speed, mixer
from planner.night import Night
from planner.options import Allowance, Choice
from planner.physics.ice import equivalent_temperature_c
from planner.tickets import MixTemperatures, make_ticket
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import bakery, day, lean_dough, steady_room

TAP = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(24.0))
FRIDGE = WaterSupply(
    "cold", "fridge", SupplyKind.CHILLER, Estimate(4.0), tank_kg=40.0, recovery_kg_per_h=2.0
)
CUBES = IceSupply(IceKind.CUBE, Estimate(-8.0), Estimate(1.0, 0.02), 2.0, 40.0)
TWELVE_MIN = (MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 8))


def ticket(room_c, *, dough_c=22.0, allowed=None, measured=None, **house):
    the_house = bakery(**({"ice": CUBES, "supplies": (TAP, FRIDGE)} | house))
    formula = lean_dough(dough_c=dough_c, steps=TWELVE_MIN)
    night = Night(
        day(bakery=the_house, formulas=(formula,)),
        Conditions(rooms={"room": steady_room(room_c)}, ice_stored_kg=40.0),
        Corrections(),
    )
    return make_ticket(
        night,
        batches_of(night.day)[0],
        the_house.mixers[0],
        300.0,
        Choice(dough_c, use_chilled=True),
        {},
        allowed=allowed or Allowance(),
        measured=measured or MixTemperatures(),
    ).ticket


def melted_c(water, ice_kg: float) -> float:
    """Water of some supplies once the ice has melted in it: the mixing rule [°C]."""
    liquid_kg = sum(line.water_kg for line in water)
    liquid_c = sum(line.water_kg * line.temperature_c for line in water) / liquid_kg
    return equivalent_temperature_c(liquid_kg + ice_kg, liquid_c, ice_kg, ice_c=-8.0)


@pytest.mark.parametrize("room_c", [26.0, 32.0, 36.0])
@pytest.mark.parametrize("chilled_kg", [None, 5.0, 0.0])
def test_ice_melted_beforehand_never_asks_for_water_below_one_degree(room_c, chilled_kg):
    """Cubes in chilled water of 4 °C: far fewer of them than in the tap's 24 °C."""
    one = ticket(room_c, allowed=Allowance(chilled_kg=chilled_kg))
    assert one.ice_kg > 0
    assert one.pour_c == pytest.approx(melted_c(one.water, one.ice_kg), abs=1e-6)
    assert one.pour_c >= 1.0 - 1e-9
    for row in one.strip.cells:
        for cell in row:
            assert melted_c(cell.water, cell.ice_kg) >= 1.0 - 1e-9


def test_the_ice_that_brings_chilled_water_to_one_degree_follows_by_hand():
    """12.5 kg in all at 4 °C: 3/(4 + 80 + 8 · 2.05/4.18) of it is ice at −8 °C."""
    one = ticket(36.0)
    by_hand = one.formula_water_kg * 3.0 / (4.0 + 334 / 4.18 + 8 * 2.05 / 4.18)
    assert one.pour_c == pytest.approx(1.0, abs=1e-6)
    assert one.ice_kg == pytest.approx(by_hand, rel=0.01)


def test_a_tap_reading_keeps_the_poured_water_above_freezing():
    one = ticket(36.0, measured=MixTemperatures(tap_c=6.0), allowed=Allowance(chilled_kg=0.0))
    assert one.pour_c == pytest.approx(1.0, abs=1e-6)


def test_water_colder_than_one_degree_takes_no_ice_to_melt():
    near_freezing = replace(FRIDGE, temperature_c=Estimate(0.5))
    one = ticket(36.0, supplies=(TAP, near_freezing))
    assert one.ice_kg == 0.0
    assert one.pour_c is None


# ---- how much ice may go into the bowl ----------------------------------------------------------


def test_no_more_than_six_tenths_of_the_first_water_is_ice():
    """Little steered water beside a wet levain: the wetting of the flour would allow more."""
    from planner.formula import Preferment  # noqa: PLC0415
    from planner.lines import Line  # noqa: PLC0415
    from planner.materials import Material  # noqa: PLC0415
    from planner.options import steering_of  # noqa: PLC0415
    from planner.ripening import Curve, HoursAt, Ripening  # noqa: PLC0415
    from planner.tickets import mix_balance  # noqa: PLC0415

    wet = Preferment(
        "wet", "wet levain",
        (Line(Material.WHEAT_FLOUR, 30), Line(Material.WATER, 45)),
        Ripening(HoursAt(5, 26), Curve.LEVAIN, "room"), 26.0,
    )  # fmt: skip
    formula = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 70), Line(Material.WATER, 20), Line(Material.SALT, 2)),
        parts=(wet,),
    )
    flakes = replace(CUBES, kind=IceKind.FLAKE)
    house = bakery(ice=flakes)
    night = Night(
        day(bakery=house, formulas=(formula,)),
        Conditions(rooms={"room": steady_room(36.0)}, ice_stored_kg=40.0),
        Corrections(),
    )
    batch = batches_of(night.day)[0]
    balance = mix_balance(night, batch, house.mixers[0], 300.0, {"wet": 30.0})
    ways = steering_of(night, batch, balance)
    assert 0.65 * (1 - 0.45 / 0.65) * batch.flour_kg > 0.6 * balance.water_kg  # by the wetting
    assert ways.ice_cap_kg == pytest.approx(0.6 * balance.water_kg)


# ---- the cooled wall ----------------------------------------------------------------------------


def cooled_k(fill: float, room_c: float = 25.0, steps=TWELVE_MIN, **cooling) -> float:
    """What the wall does to a batch of 30 kg that fills its mixer to a share [K]."""
    machine = mixer("cold", "cooled", MixerKind.SPIRAL, "room", 30.0 / fill, **cooling)
    formula = lean_dough(steps=steps)
    house = bakery(mixers=(machine,))
    night = Night(
        day(bakery=house, formulas=(formula,)),
        Conditions(rooms={"room": steady_room(room_c)}),
        Corrections(),
    )
    batch = replace(batches_of(night.day)[0], dough_kg=30.0, flour_kg=30.0 / 1.685)
    choice = Choice(25.0, use_chilled=False)
    terms = make_ticket(night, batch, machine, 300.0, choice, {}).ticket.terms
    return next((t.effect_k for t in terms if t.name == "cooled mixer"), 0.0)


@pytest.mark.parametrize("fill", [0.5, 0.25])
def test_the_makers_degrees_grow_with_the_third_root_of_what_the_bowl_lacks(fill):
    """A wall goes with the two-thirds power of the load, its dough with the load.

    The bowl, which is cooled with the dough, takes its share: within a tenth.
    """
    grows = cooled_k(fill, cooling_k=3.0) / cooled_k(1.0, cooling_k=3.0)
    by_wall = (1 / fill) ** (1 / 3)
    assert grows == pytest.approx(by_wall, rel=0.12)
    assert grows > 1.1


def test_a_coolant_does_less_for_each_kilo_of_a_larger_batch():
    """Same coolant, eight times the dough: half the degrees (the wall is four times), ± a fifth."""

    def of(dough_kg):
        machine = mixer("cold", "cooled", MixerKind.SPIRAL, "room", dough_kg, coolant_c=-4.0)
        house = bakery(mixers=(machine,))
        night = Night(
            day(bakery=house, formulas=(lean_dough(),)),
            Conditions(rooms={"room": steady_room(25.0)}),
            Corrections(),
        )
        batch = replace(batches_of(night.day)[0], dough_kg=dough_kg, flour_kg=dough_kg / 1.685)
        choice = Choice(25.0, use_chilled=False)
        terms = make_ticket(night, batch, machine, 300.0, choice, {}).ticket.terms
        return next(t.effect_k for t in terms if t.name == "cooled mixer")

    assert of(160.0) / of(20.0) == pytest.approx(0.5, rel=0.2)


def test_cooling_that_starts_late_takes_its_share_of_the_minutes():
    """Coolant from the sixth minute of twelve on: about half of what it takes from the start."""
    whole = cooled_k(1.0, coolant_c=-4.0)
    late = cooled_k(1.0, coolant_c=-4.0, cooling_delay_min=6.0)
    assert late / whole == pytest.approx(0.5, abs=0.08)
    assert cooled_k(1.0, coolant_c=-4.0, cooling_delay_min=30.0) == 0.0


def test_the_hot_tap_is_no_hotter_than_water_boils_in_the_house():
    """At 2,463 m near 92 °C: blend and lines agree, so a dough far off is not promised."""
    boiler = WaterSupply("hot", "boiler", SupplyKind.HOT, Estimate(99.0))
    house = {"supplies": (replace(TAP, temperature_c=Estimate(4.0)), boiler), "ice": None}
    one = ticket(2.0, dough_c=33.0, altitude_m=2463.0, **house)
    lines = {line.kind: line for line in one.water}
    assert lines[SupplyKind.HOT].temperature_c < 92.5
    blend_c = np.average(
        [line.temperature_c for line in one.water], weights=[line.water_kg for line in one.water]
    )
    assert one.water_c == pytest.approx(blend_c, abs=1e-6)

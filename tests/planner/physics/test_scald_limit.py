"""The warmest a scald may be at the mix, against a table worked by hand."""

import pytest

from planner.errors import OutOfRangeError
from planner.physics.heat_balance import (
    Air,
    Ice,
    Ingredient,
    bowl,
    one_step,
)
from planner.physics.mix_course import dough_temperature_c
from planner.physics.specific_heat import paste_specific_heat
from planner.physics.water_solution import ice_mass_kg, part_limit_c
from tests.planner.physics.scald_bodies import table

STILL, NO_BOWL = Air(0.0, 20.0), bowl(0.0, 20.0)
BEFORE_FRICTION_C = 27 - 6
ROOMS = (18.0, 24.0, 30.0)


def dough(scald_flour_kg, water_per_flour, room_c, scald_c=30.0):
    """100 kg of flour, 70 % of water in all, 2 % salt; wetting and work are in the friction."""
    scald_kg = scald_flour_kg * (1 + water_per_flour)
    water_kg = 70 - scald_flour_kg * water_per_flour
    parts = (
        Ingredient("flour", 100 - scald_flour_kg, 1.83, room_c),
        Ingredient("salt", 2.0, 0.87, room_c),
        Ingredient("scald", scald_kg, paste_specific_heat(water_per_flour), scald_c),
    )
    return one_step(parts, water_kg, NO_BOWL, STILL)


# Hand working of T_max = (T_x C − C_dry T_room − C_water T_water)/C_scald, dough 27 °C, friction
# 6 K; rooms 18, 24, 30 with water of 4 °C, then with tap water of 14, 20, 26 °C. Printed in whole
# degrees; within 1.2, as its scald flour has 1.9 kJ/kgK where ours has 1.83. "None" is "no".
@pytest.mark.parametrize("row", table("scald_limits.csv"), ids=lambda r: "-".join(r.values()))
def test_a_scald_may_be_this_warm(row):
    room_c = float(row["room_c"])
    mix = dough(float(row["scald_flour_percent"]), float(row["water_per_flour"]), room_c)
    for column, water_c in (("with_4_c", 4.0), ("with_tap", {18: 14, 24: 20, 30: 26}[room_c])):
        limit = float(part_limit_c(mix, "scald", BEFORE_FRICTION_C, water_c))
        printed = row[column]
        assert limit < 0 if printed == "no" else limit == pytest.approx(float(printed), abs=1.2)


# The same table: ice beside water of 4 °C when the scald is still 70 °C; within 0.5 kg, as the
# table's ice is worth 334 + 4.19 · 4.
@pytest.mark.parametrize(
    ("flour_kg", "water_per_flour", "ice_kg"),
    [(10, 2.0, (2.6, 5.5, 8.4)), (20, 1.0, (5.4, 7.9, 10.5)), (20, 2.0, (20.7, 23.2, 25.8))],
)
def test_ice_makes_up_for_a_hot_scald(flour_kg, water_per_flour, ice_kg):
    for room_c, printed in zip(ROOMS, ice_kg, strict=True):
        mix = dough(flour_kg, water_per_flour, room_c, scald_c=70.0)
        needed = float(ice_mass_kg(mix, BEFORE_FRICTION_C, 4.0, Ice(0.0, 1.0)))
        assert needed == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize(("room_c", "printed"), [(18, 22.0), (24, 20.0), (30, 17.9)])
def test_with_all_water_in_the_scald_only_its_own_temperature_is_left(room_c, printed):
    """35 % of the flour scalded 1:2: 22.0, 20.0, 17.9 °C in rooms of 18, 24, 30 °C."""
    mix = dough(35, 2.0, room_c)
    assert mix.water_kg == pytest.approx(0)
    limit = float(part_limit_c(mix, "scald", BEFORE_FRICTION_C, 4.0))
    assert limit == pytest.approx(printed, abs=0.15)


def test_a_scald_at_its_limit_gives_the_dough():
    limit = float(part_limit_c(dough(20, 1.0, 24.0), "scald", BEFORE_FRICTION_C, 4.0))
    mix = dough(20, 1.0, 24.0, scald_c=limit)
    assert float(dough_temperature_c(mix, 4.0)) == pytest.approx(BEFORE_FRICTION_C, abs=1e-6)


def test_a_part_that_is_not_there_has_no_limit():
    with pytest.raises(OutOfRangeError, match="soaker"):
        part_limit_c(dough(20, 1.0, 24.0), "soaker", 21.0, 4.0)

"""The heat balance against measured doughs, hand workings, and itself read backwards."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.physics.balance_terms import balance_terms
from planner.physics.heat_balance import (
    Air,
    Ice,
    Ingredient,
    MixBalance,
    bowl,
    one_step,
)
from planner.physics.mix_course import course, dough_temperature_c
from planner.physics.mixing_heat import wetting_heat_kj_per_kg
from planner.physics.water_solution import (
    dough_per_water_k,
    equivalent_water_c,
    ice_mass_kg,
    part_limit_c,
)
from planner.quantities import celsius_from_fahrenheit, fahrenheit_from_celsius, kg_from_oz

STILL = Air(0.0, 20.0)
NO_BOWL = bowl(0.0, 20.0)
FLOUR_KJ = 1.83


def plain(*ingredients: Ingredient, water_kg: float, work_kj: float = 0.0) -> MixBalance:
    """A mix without bowl and air."""
    return one_step(ingredients, water_kg, NO_BOWL, STILL, work_kj)


def flour(kg: float, temperature_c: float, wetting: float = 0.0) -> Ingredient:
    return Ingredient("flour", kg, FLOUR_KJ, temperature_c, wetting_heat_kj=kg * wetting)


def spiral_mix(flour_c=22.0, room_c=22.0, hydration=0.65, levain_c=None) -> MixBalance:
    """A hundred kilos of flour: wetting 10 kJ/kg, bowl 0.07 of all, work 16 kJ/kg in the mix."""
    parts = [flour(100.0, flour_c, wetting=10.0)]
    if levain_c is not None:
        parts[0] = flour(90.0, flour_c, wetting=10.0)
        parts.append(Ingredient("levain", 20.0, 3.01, levain_c))
    water_kg = 100 * hydration - (10 if levain_c is not None else 0)
    dough_kg = 100 * (1 + hydration)
    capacity = sum(p.heat_capacity_kj_per_k for p in parts) + water_kg * 4.18
    bowl_kj = capacity * 0.07 / 0.93
    # The published figure is the work done; ours is at 25 °C, half the rise above the mean.
    at_25_kj = 16.0 * dough_kg * np.exp(-0.023 * 16.0 * dough_kg / capacity / 2)
    return one_step(parts, water_kg, bowl(bowl_kj / 0.35, room_c), STILL, at_25_kj)


# ---- measured ------------------------------------------------------------------------------


@pytest.mark.parametrize("moisture", [0.12, 0.13, 0.14])
def test_a_dough_that_was_hardly_worked(moisture):
    """15 oz flour, 10 oz water at 92 °F, seconds in a processor, 20 min rest: 89 °F (31.7 °C).

    Flour temperature was not stated; 22 °C is a kitchen. Within 1.5 °C as the experiment allows.
    """
    mix = plain(
        flour(kg_from_oz(15), 22.0, wetting_heat_kj_per_kg(moisture)), water_kg=kg_from_oz(10)
    )
    dough_c = float(dough_temperature_c(mix, celsius_from_fahrenheit(92)))
    assert dough_c == pytest.approx(31.7, abs=1.5)


def test_without_wetting_heat_that_dough_is_two_to_four_degrees_low():
    mix = plain(flour(kg_from_oz(15), 22.0), water_kg=kg_from_oz(10))
    assert 1.5 <= 31.7 - float(dough_temperature_c(mix, celsius_from_fahrenheit(92))) <= 4


def test_blending_water_is_a_weighted_mean():
    """100 ml at 11 °C and 50 ml just boiled read 38.8, 120 and 60 ml 39.0: losses of 1 to 2 °C."""
    for cold, hot, read in ((100, 50, 38.8), (120, 60, 39.0)):
        water = Ingredient("cold", cold / 1000, 4.18, 11.0)
        mixed = float(dough_temperature_c(plain(water, water_kg=hot / 1000), 100.0))
        assert 0.5 <= mixed - read <= 2.0


# ---- practitioners -------------------------------------------------------------------------


def test_the_rule_ignores_weights():
    """5 g flour with 100 g water, target 78 °F, flour 72 °F: water 78.1 to 78.2 °F, not 90."""
    mix = plain(flour(0.005, celsius_from_fahrenheit(72)), water_kg=0.1)
    water_f = fahrenheit_from_celsius(float(equivalent_water_c(mix, celsius_from_fahrenheit(78))))
    assert 78.1 <= water_f <= 78.2


def test_an_ordinary_dough_by_hand():
    """65 % dough, target 78 °F, flour and room 72 °F: 81.5 to 82.5 °F before losses."""
    mix = plain(flour(1.0, celsius_from_fahrenheit(72)), water_kg=0.65)
    water_f = fahrenheit_from_celsius(float(equivalent_water_c(mix, celsius_from_fahrenheit(78))))
    assert 81.5 <= water_f <= 82.5


def brioche(butter_c: float) -> MixBalance:
    """Flour 100 at 22 °C, egg 50 and milk 10 at 4 °C, butter 50, sugar 12 in the room."""
    return plain(
        flour(1.0, 22.0),
        Ingredient("egg", 0.5, 3.6, 4.0),
        Ingredient("milk", 0.1, 3.85, 4.0, milk_fat_kg=0.0036),
        Ingredient("butter", 0.5, 2.3, butter_c, milk_fat_kg=0.41),
        Ingredient("sugar", 0.12, 1.25, 22.0),
        water_kg=0.0,
    )


def test_butter_temperature_is_worth_three_to_four_and_a_half_degrees():
    """Cold butter 10 to 11.5 °C, soft butter 14 to 15 °C before mixing work and wetting heat."""
    cold, soft = (float(dough_temperature_c(brioche(c), 20.0)) for c in (5.0, 20.0))
    assert 10 <= cold <= 11.5
    assert 14 <= soft <= 15
    assert 3 <= soft - cold <= 4.5


def test_no_water_to_cool_with_is_no_crash():
    """Flour at 5 instead of 22 °C lowers a brioche by 5 to 6 °C; there is no water to solve for."""
    warm = plain(*brioche(18.0).ingredients, water_kg=0.0)
    cold = plain(flour(1.0, 5.0), *brioche(18.0).ingredients[1:], water_kg=0.0)
    lower = float(dough_temperature_c(warm, 20.0)) - float(dough_temperature_c(cold, 20.0))
    assert 5 <= lower <= 6.5
    with pytest.raises(OutOfRangeError, match="no water"):
        equivalent_water_c(warm, 22.0)


def test_a_warm_sponge_asks_for_ice():
    """Sponge 60 + 36 at 79 °F, flour 40 at 100 °F, water 26 left, target 78 °F, rise 5 °C.

    Equivalent water −2 to −6 °C, or 18 to 22 % of it as ice from a 15 °C tap.
    """
    target = celsius_from_fahrenheit(78)
    sponge = Ingredient("sponge", 96.0, (60 * 1.83 + 36 * 4.18) / 96, celsius_from_fahrenheit(79))
    dry = flour(40.0, celsius_from_fahrenheit(100))
    capacity = sponge.heat_capacity_kj_per_k + dry.heat_capacity_kj_per_k + 26 * 4.18
    rise = Ingredient("work", 1e-9, 1.0, 20.0, solution_heat_kj=5 * capacity)
    mix = plain(sponge, dry, rise, water_kg=26.0)
    water_c = float(equivalent_water_c(mix, target))
    assert -6.5 <= water_c <= -2
    ice_kg = float(ice_mass_kg(mix, target, 15.0, Ice(0.0, 1.0)))
    assert 0.17 <= ice_kg / 26 <= 0.22


def test_a_hot_scald_lifts_the_sponge():
    """Sour at 26 °C with a scald at 30, 45, 60 °C: 27 to 28.5, 33 to 35, 39 to 42 °C."""
    sour = Ingredient("sour", 80.0, (30 * 1.83 + 50 * 4.18) / 80, 26.0)
    for scald_c, low, high in ((30, 27, 28.5), (45, 33, 35), (60, 39, 42)):
        scald = Ingredient("scald", 61.0, (20 * 1.9 + 6 * 2.3 + 35 * 4.18) / 61, float(scald_c))
        assert low <= float(dough_temperature_c(plain(sour, scald, water_kg=0.0), 20.0)) <= high


def short_of_water(stage_c: float, stage_water_kg: float) -> MixBalance:
    """Prestages of 40 flour and their water, flour 60 at 20 °C, 15 water left, rise 2 °C."""
    stage_kg = 40 + stage_water_kg
    stage = Ingredient("stage", stage_kg, (40 * 1.83 + stage_water_kg * 4.18) / stage_kg, stage_c)
    capacity = stage.heat_capacity_kj_per_k + 60 * FLOUR_KJ + 15 * 4.18
    rise = Ingredient("work", 1e-9, 1.0, 20.0, solution_heat_kj=2 * capacity)
    return plain(stage, flour(60.0, 20.0), rise, water_kg=15.0)


@pytest.mark.parametrize("stage_water_kg", [45.0, 50.0, 60.0])
def test_little_free_water_is_named_by_an_impossible_temperature(stage_water_kg):
    """Cold prestages ask for more than boiling; at about 20 °C they ask for 60 to 75 °C.

    Their water was not stated; 45 to 60 on 40 of flour is usual.
    """
    assert float(equivalent_water_c(short_of_water(5.0, stage_water_kg), 28.0)) > 100
    assert 60 <= float(equivalent_water_c(short_of_water(20.0, stage_water_kg), 28.0)) <= 75
    limit_c = float(part_limit_c(short_of_water(5.0, stage_water_kg), "stage", 28.0, 65.0))
    assert limit_c == pytest.approx(20, abs=2)


def test_a_degree_of_water_is_worth_a_third_to_two_thirds_of_a_degree():
    for hydration in (0.60, 0.65, 0.70):
        assert 0.33 <= float(dough_per_water_k(spiral_mix(hydration=hydration), 25.0)) <= 0.65
    assert dough_per_water_k(spiral_mix(hydration=0.8), 25.0) > dough_per_water_k(
        spiral_mix(hydration=0.55), 25.0
    )


# The error table of the equal-weight sum, worked with this truth by an independent sum of all
# terms: water of the balance, within 0.4 °C.
@pytest.mark.parametrize(
    ("changes", "water_c"),
    [
        ({}, 13.9),
        ({"hydration": 0.55}, 12.5),
        ({"hydration": 0.80}, 15.3),
        ({"flour_c": 14.0, "room_c": 18.0}, 19.8),
        ({"flour_c": 10.0, "room_c": 20.0}, 22.2),
        ({"flour_c": 22.0, "room_c": 30.0}, 12.9),
        ({"flour_c": 30.0, "room_c": 30.0}, 7.5),
        ({"flour_c": 38.0, "room_c": 28.0}, 2.4),
        ({"hydration": 0.80, "flour_c": 28.0, "room_c": 30.0}, 11.1),
    ],
)
def test_seasons_and_hydrations(changes, water_c):
    assert float(equivalent_water_c(spiral_mix(**changes), 25.0)) == pytest.approx(water_c, abs=0.4)


def test_wetting_heat_on_the_dough_instead_of_the_flour_is_the_textbooks_sum():
    """Cengel and Boles 5-157: 2 kg flour, 1 kg water, 15 kJ per kg of dough: water 15 to 4.2."""
    mix = plain(Ingredient("flour", 2.0, 1.76, 15.0, wetting_heat_kj=45.0), water_kg=1.0)
    assert float(equivalent_water_c(mix, 15.0)) == pytest.approx(4.2, abs=0.05)
    # Read per kilo of flour, as wetting heat is measured, the cooled water is 7.8 °C.
    mix = plain(Ingredient("flour", 2.0, 1.76, 15.0, wetting_heat_kj=30.0), water_kg=1.0)
    assert float(equivalent_water_c(mix, 15.0)) == pytest.approx(7.8, abs=0.05)


# ---- there and back ------------------------------------------------------------------------

temperatures = st.floats(-5, 40)
mixes = st.builds(
    lambda kg, fc, wc, bc, rc, work, butter, bk: one_step(
        (
            Ingredient("flour", kg, 1.83, fc, wetting_heat_kj=9.3 * kg),
            Ingredient("salt", 0.02 * kg, 0.87, rc, solution_heat_kj=-1.3 * kg),
            Ingredient("butter", butter * kg, 2.3, bc, milk_fat_kg=0.8 * butter * kg),
        ),
        wc * kg,
        bowl(bk, rc),
        Air(5.0, rc),
        work * kg,
        minutes=12.0,
    ),
    st.floats(0.5, 100),
    temperatures,
    st.floats(0.3, 1.2),
    st.floats(-18, 25),
    temperatures,
    st.floats(0, 60),
    st.floats(0, 0.5),
    st.floats(0, 50),
)


@given(mixes, st.floats(10, 33))
def test_solved_water_gives_the_dough_back(mix, dough_c):
    water_c = equivalent_water_c(mix, dough_c)
    assert float(dough_temperature_c(mix, water_c)) == pytest.approx(dough_c, abs=1e-6)


@given(mixes, st.floats(15, 33), st.floats(0, 25))
def test_solved_ice_gives_the_dough_back(mix, dough_c, liquid_c):
    ice = Ice(-7.0, 0.95)
    ice_kg = float(ice_mass_kg(mix, dough_c, liquid_c, ice))
    if 0 < ice_kg <= mix.water_kg:
        back = dough_temperature_c(mix, liquid_c, ice_kg, ice)
        assert float(back) == pytest.approx(dough_c, abs=1e-6)


@given(mixes, st.floats(1, 60), st.floats(0, 0.4))
def test_what_is_taken_up_is_what_is_set_free(mix, water_c, share):
    ice, ice_kg = Ice(-2.0, 0.9), share * mix.water_kg
    run = course(mix, water_c, ice_kg, ice)
    terms = balance_terms(mix, run, [("tap", mix.water_kg - ice_kg, water_c)], ice_kg, ice)
    scale = sum(abs(t.heat_kj) for t in terms)
    assert abs(sum(t.heat_kj for t in terms)) <= 1e-9 * scale


@given(mixes, st.floats(1, 50), st.floats(0.5, 10))
def test_warmer_water_gives_a_warmer_dough(mix, water_c, warmer_k):
    assert dough_temperature_c(mix, water_c + warmer_k) > dough_temperature_c(mix, water_c)


@given(mixes, st.floats(10, 33), st.floats(0.1, 5))
def test_a_warmer_dough_asks_for_warmer_water(mix, dough_c, warmer_k):
    """So there is one answer and Newton finds it."""
    assert equivalent_water_c(mix, dough_c + warmer_k) > equivalent_water_c(mix, dough_c)


@settings(max_examples=30)
@given(mixes)
def test_many_starts_at_once_are_the_same_as_one_by_one(mix):
    wanted = np.array([20.0, 24.0, 28.0])
    together = equivalent_water_c(mix, wanted)
    assert [float(equivalent_water_c(mix, t)) for t in wanted] == pytest.approx(list(together))


def test_everything_at_one_temperature_stays_there():
    mix = one_step((flour(1.0, 20.0),), 0.65, bowl(5.0, 20.0), Air(5, 20.0))
    assert float(dough_temperature_c(mix, 20.0)) == pytest.approx(20.0, abs=1e-9)


def test_ice_of_no_kind_or_more_than_the_water_is_refused():
    mix = plain(flour(1.0, 20.0), water_kg=0.65)
    with pytest.raises(OutOfRangeError, match="ice without"):
        dough_temperature_c(mix, 10.0, 0.1)
    with pytest.raises(OutOfRangeError, match="more ice than water"):
        dough_temperature_c(mix, 10.0, 0.7, Ice(0.0, 1.0))


@pytest.mark.parametrize("ice", [(1.0, 1.0), (0.0, 0.0), (0.0, 1.1)])
def test_impossible_ice_is_refused(ice):
    with pytest.raises(OutOfRangeError):
        Ice(*ice)

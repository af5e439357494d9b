"""Pouring a scald: published pours, worked sums, the trade's big scald, altitude."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.physics.scald import (
    adiabatic_pour_c,
    boiling_point_c,
    cold_hot_split_kg,
    gelatinised_share,
    gelatinises,
    pour_temperature_c,
    scald_kj_per_kg_k,
)

GALLON_KG = 3.785 * 0.978  # water of 75 °C


# Boiling point against elevation: printed examples of a fit to 27 points.
@pytest.mark.parametrize(("altitude_m", "boiling_c"), [(-152, 100.5), (4115, 86.1)])
def test_boiling_point_at_printed_heights(altitude_m, boiling_c):
    assert boiling_point_c(altitude_m) == pytest.approx(boiling_c, abs=0.05)


# High-altitude baking: 5,000 ft about 95 °C (94.8 to 95.2), 8,081 ft 91.9 °C.
def test_boiling_point_of_high_bakeries():
    assert 94.8 <= boiling_point_c(1524) <= 95.2
    assert boiling_point_c(2463) == pytest.approx(91.9, abs=0.05)


@given(altitude_m=st.floats(-430, 5500))
def test_the_standard_atmosphere_agrees(altitude_m):
    """Pressure of the standard atmosphere and Antoine's equation for water, within 0.35 K."""
    mmhg = 760 * (1 - 2.25577e-5 * altitude_m) ** 5.25588
    antoine_c = 1730.63 / (8.07131 - np.log10(mmhg)) - 233.426
    assert boiling_point_c(altitude_m) == pytest.approx(antoine_c, abs=0.35)


def test_a_bakery_above_all_mountains_is_refused():
    with pytest.raises(OutOfRangeError, match="boiling_point_c"):
        boiling_point_c(9000)


# Manual of a brewing package: (1.0*80*5 + 0.4*20*5)/(1.0*5 + 0.4*5) = 62.9 °C.
def test_the_mashing_equation():
    mash = adiabatic_pour_c(
        water_kg=5, water_c=80, flour_kg=5, flour_c=20,
        flour_kj_per_kg_k=0.4 * 4.186, gelatinisation_kj_per_kg=0.0,
    )  # fmt: skip
    assert mash == pytest.approx(62.9, abs=0.05)


# Home-brewing forum, covered plastic cooler: 16 lb malt at room temperature into 5 gal of 167 °F
# gave 154 °F (within 1 °C). Room 18 to 24 °C; loss of a lidded vessel 0.
def test_a_mash_in_a_covered_cooler():
    mash = [
        adiabatic_pour_c(water_kg=5 * GALLON_KG, water_c=75.0, flour_kg=16 * 0.4536, flour_c=room_c)
        for room_c in (18, 24)
    ]
    assert mash[1] == pytest.approx((154 - 32) / 1.8, abs=1.0)
    assert mash[0] < mash[1]


# Published temperatures right after a pour: rye 1:3 about 85 and 1:2 about 70 °C (mill's baking
# school), oats 1:2.5 with 95 °C 70 and with 70 °C 55 °C (encyclopaedia), yudane 1:0.8 about 65 °C.
# The loss of 0.06 to 0.23 was reduced from these five, so this guards the balance, not the loss.
# Flour and room are not given: 18 to 24 °C.
POURS = [(3, 100, 85), (2, 100, 70), (2.5, 95, 70), (2.5, 70, 55), (0.8, 100, 65)]


@pytest.mark.parametrize(("water_kg", "water_c", "published_c"), POURS)
def test_published_pours_lie_within_the_loss(water_kg, water_c, published_c):
    low, high = (
        pour_temperature_c(
            water_kg=water_kg, water_c=water_c, flour_kg=1, flour_c=room_c, room_c=room_c,
            loss_fraction=loss,
        )
        for loss, room_c in ((0.23, 18), (0.06, 24))
    )  # fmt: skip
    assert low <= published_c <= high


# The same pours without loss, worked by hand with 4.186 and 1.9 kJ/kgK and 6.7 kJ/kg: 1:2 is
# (2*4.186*100 + 1.9*20 - 6.7)/(2*4.186 + 1.9) = 84.6; 1:3 89.0; 1:0.8 69.8.
@pytest.mark.parametrize(("water_kg", "worked_c"), [(3, 89.0), (2, 84.6), (0.8, 69.8)])
def test_pours_without_loss_by_hand(water_kg, worked_c):
    still = adiabatic_pour_c(water_kg=water_kg, water_c=100, flour_kg=1, flour_c=20)
    assert still == pytest.approx(worked_c, abs=0.05)


# Auerman's big scald: 25 kg rye flour, 5 kg malt, 0.5 kg spice at 20 °C, 7 to 8 L cold water of
# 15 °C, 55 to 60 L poured at 98 °C: 75 to 79 °C without loss. At the coldest corner, 8 L and 55 L,
# the heat of gelatinisation leaves ours at 74.7 °C.
BIG = {"flour_kg": 30.5, "flour_c": 20.0}


@pytest.mark.parametrize(("hot_kg", "cold_kg"), [(57.5, 7.5), (60, 7), (60, 8), (55, 7)])
def test_the_big_scald_lands_above_its_malt(hot_kg, cold_kg):
    still = adiabatic_pour_c(
        water_kg=hot_kg, water_c=98, cold_water_kg=cold_kg, cold_water_c=15, **BIG
    )
    assert 75 <= still <= 79
    lossy = pour_temperature_c(
        water_kg=hot_kg, water_c=98, cold_water_kg=cold_kg, cold_water_c=15, room_c=20, **BIG
    )
    assert still - lossy == pytest.approx(0.15 * (still - 20))


def test_the_split_that_lands_on_the_malt_at_65_degrees():
    cold_kg, hot_kg = cold_hot_split_kg(
        water_kg=65, hot_c=98, cold_c=15, target_c=65, room_c=20, **BIG
    )
    landed = pour_temperature_c(
        water_kg=hot_kg, water_c=98, cold_water_kg=cold_kg, cold_water_c=15, room_c=20, **BIG
    )
    assert cold_kg + hot_kg == pytest.approx(65)
    assert landed == pytest.approx(65)
    assert cold_kg > 8, "more cold water than the recipe has"


@given(
    water_kg=st.floats(1.3, 4),
    target_c=st.floats(45, 72),
    room_c=st.floats(10, 35),
    cold_c=st.floats(2, 25),
    loss=st.floats(0, 0.2),
)
def test_a_split_there_and_back(water_kg, target_c, room_c, cold_c, loss):
    asked = {"flour_kg": 1.0, "flour_c": room_c, "room_c": room_c, "loss_fraction": loss}
    try:
        cold_kg, hot_kg = cold_hot_split_kg(
            water_kg=water_kg, hot_c=100, cold_c=cold_c, target_c=target_c, **asked
        )
    except OutOfRangeError:
        warmest = pour_temperature_c(water_kg=water_kg, water_c=100, **asked)
        assert warmest < target_c
    else:
        landed = pour_temperature_c(
            water_kg=hot_kg, water_c=100, cold_water_kg=cold_kg, cold_water_c=cold_c, **asked
        )
        assert landed == pytest.approx(target_c)


def test_at_5000_feet_the_big_scald_starts_cooler():
    """Poured at the boil of the house: 3 to 4.5 K cooler than at the sea."""
    sea, high = (
        adiabatic_pour_c(
            water_kg=57.5, water_c=boiling_point_c(m), cold_water_kg=7.5, cold_water_c=15, **BIG
        )
        for m in (0, 1524)
    )
    assert 3.0 <= sea - high <= 4.5


def test_the_published_sensitivities_of_a_pour():
    # At 1:2: water 5 K colder 5*8.372/10.272 = 4.1 K; flour 10 K warmer 10*1.9/10.272 = 1.85 K;
    # 1 kg of steel per kg of flour, 0.5 kJ/K at 20 °C, (84.6 - 20)*0.5/10.772 = 3.0 K.
    def at(water_c=100.0, flour_c=20.0, steel_kj_per_k=0.0):
        return adiabatic_pour_c(
            water_kg=2, water_c=water_c, flour_kg=1, flour_c=flour_c,
            vessel_heat_capacity_kj_per_k=steel_kj_per_k, vessel_c=20.0,
        )  # fmt: skip

    assert at() - at(water_c=95) == pytest.approx(4.1, abs=0.05)
    assert at(flour_c=30) - at() == pytest.approx(1.85, abs=0.05)
    assert at() - at(steel_kj_per_k=0.5) == pytest.approx(3.0, abs=0.05)


def test_gelatinisation_needs_warmth_and_water():
    # Spelt wheat starch: onset 55.7-58.5, end 67.4-68.2 °C. Least water 1.2 to 1.3 of the flour.
    assert gelatinised_share(55.0) == 0
    assert gelatinised_share(68.5) == 1
    assert gelatinises(1.35, 1.0)
    assert not gelatinises(1.1, 1.0)


@given(water_c=st.floats(60, 100))
def test_hotter_water_never_makes_a_cooler_scald(water_c):
    """Starch takes its heat over a range, not at a step."""
    one, two = (
        adiabatic_pour_c(water_kg=2, water_c=c, flour_kg=1, flour_c=20)
        for c in (water_c, water_c + 0.5)
    )
    assert 0 < two - one < 0.5


# Additive rule: 3.04 (1:1), 3.42 (1:2), 3.61 (1:3), 3.80 (1:5) kJ/kgK.
@pytest.mark.parametrize(("water", "printed"), [(1, 3.04), (2, 3.42), (3, 3.61), (5, 3.80)])
def test_specific_heat_of_a_scald(water, printed):
    assert scald_kj_per_kg_k(water, 1) == pytest.approx(printed, abs=0.0055)


@pytest.mark.parametrize("wrong", [{"water_kg": 0}, {"flour_kg": 0}, {"cold_water_kg": -1}])
def test_impossible_pours_are_refused(wrong):
    asked = {"water_kg": 2.0, "water_c": 100, "flour_kg": 1.0, "flour_c": 20, "room_c": 20} | wrong
    with pytest.raises(OutOfRangeError, match="adiabatic_pour_c"):
        pour_temperature_c(**asked)


def test_a_target_above_the_boil_is_refused():
    with pytest.raises(OutOfRangeError, match="cold_hot_split_kg"):
        cold_hot_split_kg(
            water_kg=2, hot_c=98, cold_c=15, flour_kg=1, flour_c=20, target_c=90, room_c=20
        )

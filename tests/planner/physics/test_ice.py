"""Ice against printed tables and worked sums of the trade."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.physics.heat_balance import Ice, ice_heat_kj_per_kg
from planner.physics.ice import (
    equivalent_temperature_c,
    ice_added_on_top_kg,
    ice_replacing_water_kg,
    ice_share_cap,
    ice_share_f,
    ice_worth_k,
    melt_minutes,
    melts_in_time,
)
from planner.quantities import celsius_from_fahrenheit
from planner.water_sources import IceKind

# A bakery supplier's printed ice table: tap °F, calculated water °F, pounds of ice per pound of
# water. The replacing formula agrees within 0.004.
PRINTED_TABLE = [
    (60, 40, 0.115),
    (70, 40, 0.163),
    (80, 20, 0.309),
    (32, 0, 0.222),
    (50, 0, 0.305),
    (40, 30, 0.065),
    (70, -10, 0.440),
    (80, -30, 0.573),
]


@pytest.mark.parametrize(("tap_f", "wanted_f", "share"), PRINTED_TABLE)
def test_the_printed_table_in_fahrenheit(tap_f, wanted_f, share):
    assert ice_share_f(tap_f, wanted_f) == pytest.approx(share, abs=0.004)


@pytest.mark.parametrize(("tap_f", "wanted_f", "share"), PRINTED_TABLE)
def test_the_printed_table_in_celsius(tap_f, wanted_f, share):
    ice_kg = ice_replacing_water_kg(
        1.0, celsius_from_fahrenheit(tap_f), celsius_from_fahrenheit(wanted_f)
    )
    assert ice_kg == pytest.approx(share, abs=0.004)


# A second published table, lb of ice per lb of total water, met within 2.5 %.
@pytest.mark.parametrize(
    ("tap_f", "wanted_f", "share"),
    [
        (70, 55, 0.081),
        (80, 30, 0.258),
        (60, 0, 0.345),
        (40, -30, 0.455),
        (32, -30, 0.430),
        (80, -30, 0.573),
    ],
)
def test_water_below_freezing_becomes_ice(tap_f, wanted_f, share):
    assert ice_share_f(tap_f, wanted_f) == pytest.approx(share, rel=0.025)


def test_ice_replaces_water_and_is_not_added_to_it():
    """A baking technologist's sum, 40 kg from 20 to 10 °C: 4.00 kg, not the 4.4 he printed.

    His figure is right for ice on top of all the water; in the place of water it gives 9.0 °C.
    """
    assert ice_replacing_water_kg(40, 20, 10) == pytest.approx(4.00, abs=0.005)
    assert ice_added_on_top_kg(40, 20, 10) == pytest.approx(4.4, abs=0.05)
    assert equivalent_temperature_c(40, 20, 4.4) == pytest.approx(9.0, abs=0.05)


def test_a_bakerys_question_with_cold_ice():
    """30 kg from 25 to 20 °C with ice at −18 °C: 1378 g on top, 1318 g when it replaces.

    The forum's own 1383 g rests on a slip in its sum (454.06 for 455.68).
    """
    assert ice_added_on_top_kg(30, 25, 20, -18) == pytest.approx(1.378, abs=0.0005)
    assert ice_replacing_water_kg(30, 25, 20, -18) == pytest.approx(1.318, abs=0.0005)


def test_half_the_water_as_ice_is_worth_its_melting_heat():
    """700 lb at 32 °F, half as ice, 144 BTU/lb: 50 400 BTU, 53.1 MJ within 1 %."""
    dough_c = 24.0
    as_ice = float(ice_heat_kj_per_kg(Ice(0.0, 1.0), dough_c))
    as_water = 4.18 * dough_c
    assert 317.5 / 2 * (as_ice - as_water) / 1000 == pytest.approx(53.1, rel=0.01)
    assert equivalent_temperature_c(317.5, 0.0, 158.75) == pytest.approx(-40)
    assert ice_replacing_water_kg(317.5, 0, -40.0) == pytest.approx(158.8, abs=0.1)


@pytest.mark.parametrize("tap_c", [0.5, 1.0, 2.0])
def test_ice_at_minus_seven_needs_four_to_five_percent_less(tap_c):
    """Drum-made flake at 17 to 20 °F.

    The water it replaces was not stated. It holds for water off a chiller, 1 to 2 °C; with a tap
    of 20 °C the same sum gives 3.3 %, since such water is itself worth more.
    """
    warm, cold = ice_replacing_water_kg(10, tap_c, -9), ice_replacing_water_kg(10, tap_c, -9, -7)
    assert 0.04 <= 1 - cold / warm <= 0.05


def test_freezer_ice_is_worth_eighty_nine_degrees():
    """80 + 0.49 · 18 = 88.8; and 334 · 0.11 = 37 kJ/kg more than ice at 0 °C."""
    assert ice_worth_k(-18) == pytest.approx(88.8, abs=0.05)
    more = ice_heat_kj_per_kg(Ice(-18.0, 1.0), 20.0) - ice_heat_kj_per_kg(Ice(0.0, 1.0), 20.0)
    assert float(more) == pytest.approx(37, abs=0.5)


# By hand from a tap of 15 °C: 15 − y (15 + 80).
@pytest.mark.parametrize(("share", "equivalent_c"), [(0.1, 5.5), (0.2, -4.0), (0.3, -13.5)])
def test_ice_makes_an_equivalent_water(share, equivalent_c):
    assert equivalent_temperature_c(10, 15, 10 * share) == pytest.approx(equivalent_c)


def test_wet_ice_needs_more():
    dry = ice_replacing_water_kg(10, 20, 5)
    assert ice_replacing_water_kg(10, 20, 5, true_ice_fraction=0.9) > dry


def test_a_worksheet_with_water_at_minus_seven_is_answered_with_ice():
    """Trade-school sheet: water −7 °C; from a 20 °C tap 27 of 100 parts are ice."""
    assert ice_replacing_water_kg(100, 20, -7) == pytest.approx(27, abs=0.5)


def test_no_ice_when_none_is_needed():
    assert ice_replacing_water_kg(10, 15, 15) == 0


@pytest.mark.parametrize(("tap_c", "wanted_c"), [(15, 16), (15, -90)])
def test_what_ice_cannot_do_is_refused(tap_c, wanted_c):
    with pytest.raises(OutOfRangeError):
        ice_replacing_water_kg(10, tap_c, wanted_c)


def test_the_cap_keeps_flour_wet():
    """31 % of the water at 65 %, 40 % at 75 %; cubes 15 %; a stiff dough of 45 % none."""
    assert ice_share_cap(0.65, IceKind.FLAKE) == pytest.approx(0.31, abs=0.005)
    assert ice_share_cap(0.75, IceKind.FLAKE) == pytest.approx(0.40, abs=0.005)
    assert ice_share_cap(0.75, IceKind.CUBE) == pytest.approx(0.15)
    assert ice_share_cap(0.45, IceKind.FLAKE) == 0


def test_cubes_do_not_melt_in_eight_minutes_and_flake_does():
    assert melts_in_time(IceKind.FLAKE, 8)
    assert not melts_in_time(IceKind.CUBE, 8)


# By hand: half the thickness through a film of 600 and 200 W/m²K in dough of 15 °C, such as
# 917 · 334 000 · 0.001/(200 · 15)/60 = 1.7 min. Printed: flake of 2 mm 0.6 to 1.7 min, nugget of
# 6 mm about 2 to 5, cube of 25 mm 7 to 21.
@pytest.mark.parametrize(
    ("kind", "fast", "slow"),
    [(IceKind.FLAKE, 0.6, 1.7), (IceKind.NUGGET, 2, 5), (IceKind.CUBE, 7, 21)],
)
def test_melting_takes_as_long_as_the_film_lets_it(kind, fast, slow):
    digit = 0.05 if kind is IceKind.FLAKE else 0.5
    assert melt_minutes(kind) == pytest.approx((fast, slow), abs=digit)


def test_ice_melts_faster_in_a_warm_dough():
    assert melt_minutes(IceKind.NUGGET, 30.0)[1] == pytest.approx(
        melt_minutes(IceKind.NUGGET, 15.0)[1] / 2
    )
    assert melts_in_time(IceKind.NUGGET, 8, dough_c=25)
    assert not melts_in_time(IceKind.NUGGET, 8, dough_c=5)


@given(st.floats(0.1, 500), st.floats(0, 30), st.floats(0, 1), st.floats(-20, 0), st.floats(0.6, 1))
def test_ice_there_and_back(water_kg, tap_c, share, ice_c, true_share):
    wanted_c = equivalent_temperature_c(water_kg, tap_c, share * water_kg, ice_c, true_share)
    worth_k = ice_worth_k(ice_c, true_share)
    wanted_c = min(tap_c, max(-worth_k, wanted_c))  # a last digit may overshoot the ends
    back = ice_replacing_water_kg(water_kg, tap_c, wanted_c, ice_c, true_share)
    assert back == pytest.approx(share * water_kg, abs=1e-9 * water_kg)


@given(st.floats(1, 100), st.floats(5, 30), st.floats(0, 5))
def test_ice_on_top_melts_into_the_wanted_water(water_kg, tap_c, wanted_c):
    """Heat lost by the water is heat taken by the ice: W (tap − T) = I (80 + T)."""
    ice_kg = ice_added_on_top_kg(water_kg, tap_c, wanted_c)
    assert water_kg * (tap_c - wanted_c) == pytest.approx(ice_kg * (80 + wanted_c))


def test_impossible_ice_is_refused():
    for refused in (
        lambda: ice_worth_k(1.0),
        lambda: ice_worth_k(0.0, 0.0),
        lambda: ice_added_on_top_kg(10, 15, -1),
        lambda: equivalent_temperature_c(10, 15, 11),
        lambda: ice_share_cap(-0.1, IceKind.FLAKE),
        lambda: melt_minutes(IceKind.FLAKE, 0.0),
    ):
        with pytest.raises(OutOfRangeError):
            refused()

"""Ice against printed tables and worked sums of the trade."""

import pytest

from planner.bakery import IceKind
from planner.errors import OutOfRangeError
from planner.physics.ice import (
    ice_added_on_top_kg,
    ice_replacing_water_kg,
    ice_share_cap,
    ice_share_f,
    melts_in_time,
)
from planner.quantities import celsius_from_fahrenheit

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
    [(70, 55, 0.081), (80, 30, 0.258), (60, 0, 0.345), (40, -30, 0.455), (32, -30, 0.430)],
)
def test_water_below_freezing_becomes_ice(tap_f, wanted_f, share):
    assert ice_share_f(tap_f, wanted_f) == pytest.approx(share, rel=0.025)


def test_ice_replaces_water_and_is_not_added_to_it():
    """A baking technologist's sum, 40 kg from 20 to 10 °C: 4.0 kg replaced, 4.44 kg on top."""
    assert ice_replacing_water_kg(40, 20, 10) == pytest.approx(4.0, abs=0.1)
    assert ice_added_on_top_kg(40, 20, 10) == pytest.approx(4.45, abs=0.05)


def test_a_bakerys_question_with_cold_ice():
    """30 kg from 25 to 20 °C with ice at −18 °C: 1378 g on top, 1318 g when it replaces."""
    assert ice_added_on_top_kg(30, 25, 20, -18) == pytest.approx(1.378, abs=0.008)
    assert ice_replacing_water_kg(30, 25, 20, -18) == pytest.approx(1.318, abs=0.008)


def test_half_the_water_as_ice_is_worth_its_melting_heat():
    """700 lb at 32 °F, half as ice, 144 BTU/lb: 50 400 BTU, 53.1 MJ within 1 %."""
    ice_kg = 317.5 / 2
    assert ice_kg * 334 / 1000 == pytest.approx(53.1, rel=0.01)
    equivalent_c = -80.0 * 0.5
    assert ice_replacing_water_kg(317.5, 0, equivalent_c) == pytest.approx(158.8, abs=0.1)


def test_ice_at_minus_seven_needs_four_to_five_percent_less():
    """Drum-made flake at 17 to 20 °F."""
    warm, cold = ice_replacing_water_kg(10, 20, 5), ice_replacing_water_kg(10, 20, 5, -7)
    assert 0.03 < 1 - cold / warm < 0.05


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

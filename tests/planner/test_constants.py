"""Every constant is inside its range, has a unit and a source, and hangs together with the rest."""

from dataclasses import FrozenInstanceError
from math import exp

import pytest

from planner import constants
from planner.constants import Constant
from planner.errors import OutOfRangeError

NAMED = {name: c for name, c in vars(constants).items() if isinstance(c, Constant)}


@pytest.mark.parametrize("name", NAMED)
def test_a_constant_says_where_it_comes_from(name):
    constant = NAMED[name]
    assert constant.low <= constant.value <= constant.high
    assert len(constant.source) > 10


@pytest.mark.parametrize(
    "name", [n for n, c in NAMED.items() if c.unit in {"kJ/kg K", "min", "°C"}]
)
def test_the_unit_stands_in_the_name(name):
    endings = {"kJ/kg K": "_KJ_PER_KG_K", "min": "_MIN", "°C": "_C"}
    assert name.endswith(endings[NAMED[name].unit])


@pytest.mark.parametrize(
    ("value", "unit", "source"), [(2.0, "K", "a table"), (0.5, "", "a table"), (0.5, "K", "")]
)
def test_a_constant_outside_its_range_or_without_a_source_is_refused(value, unit, source):
    with pytest.raises(OutOfRangeError):
        Constant(value, unit, 0.0, 1.0, source)


def test_a_constant_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        constants.WATER_KJ_PER_KG_K.value = 4.0


def test_melting_over_the_heat_of_water_is_the_trades_eighty_degrees():
    """334/4.18 = 79.9 °C; in °F the trade's 144, from 144 BTU/lb."""
    worth_k = constants.ICE_MELTING_KJ_PER_KG.value / constants.WATER_KJ_PER_KG_K.value
    assert worth_k == pytest.approx(constants.ICE_WORTH_K.value, rel=0.002)
    assert worth_k * 1.8 == pytest.approx(144, rel=0.002)


def test_a_pound_of_ice_takes_144_btu():
    """1 BTU/lb is 2.326 kJ/kg exactly (International Table)."""
    assert constants.ICE_MELTING_KJ_PER_KG.value == pytest.approx(144 * 2.326, rel=0.003)


def test_cold_ice_in_degrees_of_water():
    """2.05/4.18 = 0.490."""
    cold = constants.ICE_KJ_PER_KG_K.value / constants.WATER_KJ_PER_KG_K.value
    assert cold == pytest.approx(constants.COLD_ICE_WORTH_K_PER_K.value, abs=0.005)


def test_mixing_work_falls_as_an_activation_energy_of_four_kilocalories_says():
    """Hlynka 1962, Cereal Chem. 39:286: about 4 kcal/mol; E/(R T²) at 25 °C is 2.3 % per K."""
    per_k = 4 * 4184 / (8.314 * 298.15**2)
    assert constants.WORK_FALL_PER_K.value == pytest.approx(per_k, abs=0.0005)


def test_stiffness_at_equal_consistency_is_the_ceiling():
    """Hlynka 1962: 0.52 % of absorption per °C, so a point of water is worth at most 4.4 %."""
    slope = constants.WORK_FALL_PER_HYDRATION_POINT
    ceiling = constants.WORK_FALL_PER_K.value / 0.52
    assert slope.value < ceiling
    assert slope.high == pytest.approx(ceiling, abs=0.001)


def test_the_wetting_curve_goes_through_both_published_points():
    """105 kJ/kg when dry; 6.5 BTU/lb at 11 to 12 % moisture."""
    w = 0.115
    q = (1 - w) * constants.DRY_WETTING_KJ_PER_KG.value
    q *= exp(-constants.WETTING_DECAY.value * w / (1 - w))
    assert q == pytest.approx(6.5 * 2.326, abs=0.1)

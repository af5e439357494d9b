"""Conversions: temperatures as temperatures, differences as differences."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.quantities import (
    celsius_from_fahrenheit,
    fahrenheit_difference_from_kelvin,
    fahrenheit_from_celsius,
    kelvin_from_fahrenheit_difference,
    kg_from_lb,
    kg_from_oz,
    lb_from_kg,
)

ordinary = st.floats(-500, 500)


def test_a_friction_of_five_fahrenheit_is_a_difference_and_78_fahrenheit_a_temperature():
    """A friction or tolerance of 5 °F is 2.8 K, never −15; a dough of 78 °F is 25.6 °C."""
    assert kelvin_from_fahrenheit_difference(5) == pytest.approx(2.8, abs=0.05)
    assert celsius_from_fahrenheit(78) == pytest.approx(25.6, abs=0.05)


# Fixed points of the two scales (NIST SP 811, appendix B.8): freezing, boiling, where they meet.
@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (-40, -40)])
def test_the_fixed_points_of_the_scales(celsius, fahrenheit):
    assert fahrenheit_from_celsius(celsius) == pytest.approx(fahrenheit, abs=1e-12)
    assert celsius_from_fahrenheit(fahrenheit) == pytest.approx(celsius, abs=1e-12)


def test_the_pound_and_the_ounce_are_exact():
    """NIST SP 811: 1 lb = 0.453 592 37 kg; sixteen ounces to the pound."""
    assert kg_from_lb(1) == 0.45359237
    assert kg_from_oz(16) == pytest.approx(0.45359237, rel=1e-15)
    # 700 lb of a trade magazine's dough water.
    assert kg_from_lb(700) == pytest.approx(317.5, abs=0.05)


@given(ordinary)
def test_there_and_back(x):
    assert celsius_from_fahrenheit(fahrenheit_from_celsius(x)) == pytest.approx(x, abs=1e-9)
    assert kelvin_from_fahrenheit_difference(fahrenheit_difference_from_kelvin(x)) == pytest.approx(
        x, abs=1e-9
    )
    assert lb_from_kg(kg_from_lb(x)) == pytest.approx(x, abs=1e-9)


@given(ordinary, ordinary)
def test_a_difference_of_two_temperatures_is_converted_as_a_difference(warm_f, cool_f):
    by_temperatures = celsius_from_fahrenheit(warm_f) - celsius_from_fahrenheit(cool_f)
    assert kelvin_from_fahrenheit_difference(warm_f - cool_f) == pytest.approx(
        by_temperatures, abs=1e-9
    )

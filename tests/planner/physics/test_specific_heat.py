import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.materials import Material, properties
from planner.physics.specific_heat import (
    composition_specific_heat,
    flour_specific_heat,
    ice_specific_heat,
    paste_specific_heat,
    solid_fat_fraction,
)


# Geankoplis, Transport Processes, table A.4: flour of 12 to 13.5 % water 1.80 to 1.88 kJ/kgK.
@pytest.mark.parametrize("moisture", [0.13, 0.135])
def test_flour_lies_in_the_published_range(moisture):
    assert 1.80 <= flour_specific_heat(moisture) <= 1.88


def test_flour_of_a_thermodynamics_textbook():
    """Cengel and Boles, problem 5-157: 1.76 kJ/kgK; a flour of 11 to 12 % moisture."""
    assert flour_specific_heat(0.115) == pytest.approx(1.76, abs=0.01)


# Geankoplis A.4 and isoperibol calorimetry: whole milk 3.85 to 3.94, butter 2.30, water 4.176.
@pytest.mark.parametrize(
    ("material", "low", "high"),
    [
        (Material.MILK, 3.85, 3.95),
        (Material.BUTTER, 2.25, 2.35),
        (Material.CREAM, 3.06, 3.35),
        (Material.WATER, 4.168, 4.184),
    ],
)
def test_wet_materials_lie_in_their_published_range(material, low, high):
    assert low <= properties(material).specific_heat_kj_per_kg_k <= high


def test_dough_by_composition_lies_in_the_measured_range():
    """Five doughs between 20 and 90 °C: 2.15 to 3.19 kJ/kgK."""
    dough = {"water": 0.46, "carbohydrate": 0.44, "protein": 0.07, "fat": 0.01, "ash": 0.02}
    assert 2.15 <= composition_specific_heat(dough, 25.0) <= 3.19


def test_ice_near_and_below_zero():
    assert ice_specific_heat(0) == pytest.approx(2.06, abs=0.02)
    assert ice_specific_heat(-18) < ice_specific_heat(0)


def test_milk_fat_is_half_solid_in_the_cold_store_and_melted_at_body_heat():
    assert float(solid_fat_fraction(5.0)) == pytest.approx(0.5)
    assert float(solid_fat_fraction(37.0)) == 0.0


@given(st.floats(-30, 60), st.floats(0.1, 20))
def test_fat_never_sets_on_warming(temperature_c, warmer_k):
    assert solid_fat_fraction(temperature_c + warmer_k) <= solid_fat_fraction(temperature_c)


def test_what_is_no_flour_is_refused():
    with pytest.raises(OutOfRangeError):
        flour_specific_heat(0.5)
    with pytest.raises(OutOfRangeError):
        composition_specific_heat({"gold": 1.0}, 20.0)


def test_ice_above_freezing_and_half_a_composition_are_refused():
    with pytest.raises(OutOfRangeError):
        ice_specific_heat(1.0)
    with pytest.raises(OutOfRangeError):
        composition_specific_heat({"water": 0.5}, 20.0)
    with pytest.raises(OutOfRangeError):
        paste_specific_heat(-0.1)


# Additive rule by hand, (1.83 + 4.18 r)/(1 + r): printed to a hundredth. r is water per flour.
@pytest.mark.parametrize(
    ("r", "printed"), [(0.5, 2.62), (0.65, 2.76), (1.0, 3.01), (2.0, 3.40), (3.0, 3.59)]
)
def test_flour_and_water(r, printed):
    assert paste_specific_heat(r) == pytest.approx(printed, abs=0.006)


# The same rule without water is the flour itself; moistures of a fitted table.
@pytest.mark.parametrize(
    ("moisture", "printed"), [(0.10, 1.72), (0.12, 1.78), (0.13, 1.80), (0.14, 1.83), (0.15, 1.86)]
)
def test_flour_by_moisture(moisture, printed):
    assert flour_specific_heat(moisture) == pytest.approx(printed, abs=0.005)
    assert paste_specific_heat(0.0, moisture) == flour_specific_heat(moisture)


# Milk fat by dilatometry; see the source above the table in the module.
@pytest.mark.parametrize(
    ("temperature_c", "solid"),
    [(5, 0.50), (10, 0.45), (18, 0.25), (20, 0.20), (25, 0.12), (30, 0.05), (36, 0.0)],
)
def test_solid_milk_fat(temperature_c, solid):
    assert float(solid_fat_fraction(temperature_c)) == pytest.approx(solid)


def test_many_temperatures_at_once():
    assert solid_fat_fraction([5.0, 20.0, 40.0]).tolist() == pytest.approx([0.5, 0.2, 0.0])


def test_doughs_of_every_stiffness_lie_in_the_measured_range():
    """Isoperibol calorimetry of five doughs: 2.15 to 3.19 kJ/kgK."""
    for water_per_flour in (0.3, 0.55, 0.75, 1.0):
        assert 2.15 <= paste_specific_heat(water_per_flour) <= 3.19

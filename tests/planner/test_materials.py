"""Materials against the tables they come from, and against each other."""

import pytest

from planner.materials import PROPERTIES, Material, properties
from planner.physics.specific_heat import (
    composition_specific_heat,
    flour_specific_heat,
    paste_specific_heat,
)


def heat(material: Material) -> float:
    return properties(material).specific_heat_kj_per_kg_k


def test_every_material_has_its_properties():
    assert set(PROPERTIES) == set(Material)


@pytest.mark.parametrize("material", list(Material))
def test_no_material_is_impossible(material):
    known = properties(material)
    assert 0.8 < known.specific_heat_kj_per_kg_k <= 4.2
    assert 0 <= known.water_fraction + known.milk_fat_fraction <= 1
    assert known.solution_heat_kj_per_kg <= 0
    assert known.store in {"flour", "dry", "cold"}


# Geankoplis, Transport Processes, table A.4: butter 2.30, whole milk 3.85 kJ/kgK, as printed.
@pytest.mark.parametrize(
    ("material", "printed"),
    [(Material.BUTTER, 2.30), (Material.MILK, 3.85), (Material.WATER, 4.18)],
)
def test_a_printed_specific_heat(material, printed):
    assert heat(material) == pytest.approx(printed, abs=0.005)


# Choi and Okos 1986 from usual compositions at 20 °C, for wet foods, seeds and fruit; within 6 %.
@pytest.mark.parametrize(
    ("material", "fractions"),
    [
        (Material.EGG, {"water": 0.76, "protein": 0.126, "fat": 0.095, "ash": 0.019}),
        (Material.MILK, {"water": 0.875, "fat": 0.036, "protein": 0.034, "carbohydrate": 0.055}),
        (Material.CREAM, {"water": 0.58, "fat": 0.35, "protein": 0.03, "carbohydrate": 0.04}),
        (Material.FRESH_YEAST, {"water": 0.70, "protein": 0.15, "carbohydrate": 0.13, "ash": 0.02}),
        (
            Material.SEEDS,
            {"water": 0.06, "protein": 0.20, "fat": 0.45, "fibre": 0.15, "carbohydrate": 0.14},
        ),
        (Material.RAISINS, {"water": 0.15, "carbohydrate": 0.80, "protein": 0.03, "ash": 0.02}),
        (Material.OIL, {"fat": 1.0}),
    ],
)
def test_composition_gives_nearly_the_same(material, fractions):
    known = fractions | {"ash": fractions.get("ash", 0.0) + 1 - sum(fractions.values())}
    assert composition_specific_heat(known, 20.0) == pytest.approx(heat(material), rel=0.06)


def test_composition_overstates_crystals():
    """Sugar by composition is 1.58; crystals measure 1.25 kJ/kgK. So the table is used."""
    by_composition = composition_specific_heat({"carbohydrate": 1.0}, 20.0)
    assert by_composition == pytest.approx(1.58, abs=0.02)
    assert heat(Material.SUGAR) == pytest.approx(1.25)


def test_flour_rows_are_flour_of_fourteen_percent_moisture():
    for material in (Material.WHEAT_FLOUR, Material.RYE_FLOUR, Material.WHOLEMEAL_FLOUR):
        assert heat(material) == pytest.approx(flour_specific_heat(0.14), abs=0.005)
        assert properties(material).is_flour


def test_old_dough_is_a_ready_dough():
    """65 % of water and 2 % of salt come to 2.73 by the additive rule: (4.55 + 0.017)/1.67."""
    by_hand = (1.65 * paste_specific_heat(0.65) + 0.02 * heat(Material.SALT)) / 1.67
    assert by_hand == pytest.approx(2.73, abs=0.005)
    assert heat(Material.OLD_DOUGH) == pytest.approx(by_hand, abs=0.01)


# Heats of solution in water, standard tables: salt −66, sucrose −17, dextrose hydrate −105 kJ/kg.
@pytest.mark.parametrize(
    ("material", "printed"),
    [(Material.SALT, -66), (Material.SUGAR, -17), (Material.DEXTROSE, -105), (Material.BUTTER, 0)],
)
def test_dissolving_takes_heat(material, printed):
    assert properties(material).solution_heat_kj_per_kg == printed


def test_two_percent_of_salt_cools_a_dough_by_three_tenths():
    """2 % salt: 1.32 kJ over 4.56 kJ/K is 0.29 K."""
    salt = properties(Material.SALT)
    per_flour = 1.83 + 0.65 * 4.18 + 0.02 * salt.specific_heat_kj_per_kg_k
    assert 0.02 * salt.solution_heat_kj_per_kg / per_flour == pytest.approx(-0.29, abs=0.01)


def test_what_lives_and_what_harms_is_marked():
    assert {m for m in Material if properties(m).is_living} == {
        Material.FRESH_YEAST,
        Material.DRY_YEAST,
        Material.OLD_DOUGH,
    }
    assert properties(Material.BUTTER).allergens == {"milk"}
    assert properties(Material.EGG_YOLK).allergens == {"egg"}
    free = {Material.GLUTEN_FREE_FLOUR}
    flours = {m for m in Material if properties(m).is_flour}
    assert {m for m in flours if "gluten" in properties(m).allergens} == flours - free

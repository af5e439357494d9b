"""What goes into a bowl: materials with the properties that the heat balance needs.

Specific heats are near 20 °C. Sources are named row by row; *ours* marks a value computed from
composition or a judgement.

References
----------
.. [1] Geankoplis, Transport Processes and Unit Operations, appendix A.4.
.. [2] Cengel and Boles, Thermodynamics, 8th ed., problem 5-157 (flour).
.. [3] Choi and Okos 1986, in Food Engineering and Process Applications, vol. 1, p. 93.
.. [4] ASHRAE Handbook, Refrigeration, thermal properties of foods.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Material(StrEnum):
    """A kind of ingredient; each line of a formula has one."""

    WHEAT_FLOUR = "wheat flour"
    WHOLEMEAL_FLOUR = "wholemeal flour"
    RYE_FLOUR = "rye flour"
    GLUTEN_FREE_FLOUR = "gluten free flour"
    MALT = "malt"
    WATER = "water"
    SALT = "salt"
    FRESH_YEAST = "fresh yeast"
    DRY_YEAST = "dry yeast"
    SUGAR = "sugar"
    DEXTROSE = "dextrose"
    HONEY = "honey"
    SYRUP = "syrup"
    BUTTER = "butter"
    OIL = "oil"
    EGG = "egg"
    EGG_YOLK = "egg yolk"
    MILK = "milk"
    CREAM = "cream"
    SEEDS = "seeds"
    SESAME = "sesame"
    NUTS = "nuts"
    RAISINS = "raisins"
    OLD_DOUGH = "old dough"
    OTHER_DRY = "other dry"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class MaterialProperties:
    """Properties of one material.

    Attributes
    ----------
    specific_heat_kj_per_kg_k
        Specific heat near 20 °C without melting; for flour see `flour_specific_heat`.
    water_fraction
        Mass fraction of water, counted in the hydration of the dough.
    milk_fat_fraction
        Mass fraction of fat that melts between −20 and 36 °C as milk fat does.
    solution_heat_kj_per_kg
        Heat set free when it dissolves in the dough's water; negative takes heat.
    is_flour
        Counts in total flour and gives wetting heat when fresh.
    is_living
        Yeast and cultures: not against water or paste above about 40 °C.
    store
        Where it usually stands: ``flour``, ``dry`` (room) or ``cold``.
    allergens
        Allergens by their European label words.
    """

    specific_heat_kj_per_kg_k: float
    water_fraction: float = 0.0
    milk_fat_fraction: float = 0.0
    solution_heat_kj_per_kg: float = 0.0
    is_flour: bool = False
    is_living: bool = False
    store: str = "dry"
    allergens: frozenset[str] = frozenset()


_GLUTEN = frozenset({"gluten"})
_MILK = frozenset({"milk"})
_EGG = frozenset({"egg"})

RAW_EGG = frozenset({Material.EGG, Material.EGG_YOLK})
"""Kept cold until it goes in, whatever the dough wants."""

PROPERTIES: dict[Material, MaterialProperties] = {
    # Flour: 1.83 at 14 % moisture, fitted to 1.80-1.88 [1]; replaced by the moisture formula.
    Material.WHEAT_FLOUR: MaterialProperties(1.83, is_flour=True, store="flour", allergens=_GLUTEN),
    Material.WHOLEMEAL_FLOUR: MaterialProperties(
        1.83, is_flour=True, store="flour", allergens=_GLUTEN
    ),
    Material.RYE_FLOUR: MaterialProperties(1.83, is_flour=True, store="flour", allergens=_GLUTEN),
    # Rice, maize and buckwheat lie within a few hundredths of wheat at the same moisture [3].
    Material.GLUTEN_FREE_FLOUR: MaterialProperties(1.83, is_flour=True, store="flour"),
    Material.MALT: MaterialProperties(1.83, is_flour=True, store="dry", allergens=_GLUTEN),
    # Water 4.18 (NIST); measured 4.176 +/- 0.008 by isoperibol calorimetry.
    Material.WATER: MaterialProperties(4.18, water_fraction=1.0),
    # Salt 0.87, heat of solution -66 kJ/kg in dilute dough water (standard tables).
    Material.SALT: MaterialProperties(0.87, solution_heat_kj_per_kg=-66.0),
    Material.FRESH_YEAST: MaterialProperties(
        3.45, water_fraction=0.70, is_living=True, store="cold"
    ),
    Material.DRY_YEAST: MaterialProperties(1.8, is_living=True),
    # Crystals: the composition method [3] overstates them; 1.25 from standard tables.
    Material.SUGAR: MaterialProperties(1.25, solution_heat_kj_per_kg=-17.0),
    Material.DEXTROSE: MaterialProperties(1.25, solution_heat_kj_per_kg=-105.0),
    Material.HONEY: MaterialProperties(2.3, water_fraction=0.175),
    Material.SYRUP: MaterialProperties(2.3, water_fraction=0.20),
    # Butter 2.30 without melting [1]; 15-16 % water, 82 % fat.
    Material.BUTTER: MaterialProperties(
        2.3, water_fraction=0.16, milk_fat_fraction=0.82, store="cold", allergens=_MILK
    ),
    Material.OIL: MaterialProperties(2.0),
    # Whole egg 3.6, yolk 3.05 [4]; [1] lists 3.18 and 2.81.
    Material.EGG: MaterialProperties(3.6, water_fraction=0.76, store="cold", allergens=_EGG),
    Material.EGG_YOLK: MaterialProperties(3.05, water_fraction=0.50, store="cold", allergens=_EGG),
    Material.MILK: MaterialProperties(
        3.85, water_fraction=0.875, milk_fat_fraction=0.036, store="cold", allergens=_MILK
    ),
    Material.CREAM: MaterialProperties(
        3.3, water_fraction=0.58, milk_fat_fraction=0.35, store="cold", allergens=_MILK
    ),
    Material.SEEDS: MaterialProperties(2.1, water_fraction=0.06),
    Material.SESAME: MaterialProperties(2.1, water_fraction=0.05, allergens=frozenset({"sesame"})),
    Material.NUTS: MaterialProperties(2.1, water_fraction=0.05, allergens=frozenset({"nuts"})),
    Material.RAISINS: MaterialProperties(2.05, water_fraction=0.15),
    # Ready dough at 62 % water: 2.73 by the additive rule (ours).
    Material.OLD_DOUGH: MaterialProperties(
        2.73, water_fraction=0.38, is_living=True, store="cold", allergens=_GLUTEN
    ),
    Material.OTHER_DRY: MaterialProperties(1.8),
    # Its line states what it is made of; else taken as a moist food of half water [3] (ours).
    Material.OTHER: MaterialProperties(3.0, water_fraction=0.5),
}


def properties(material: Material) -> MaterialProperties:
    """Return the properties of a material.

    Examples
    --------
    >>> properties(Material.WATER).specific_heat_kj_per_kg_k
    4.18
    """
    return PROPERTIES[material]

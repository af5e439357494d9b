"""Constants of the physics, each with its unit, the range it is known to, and its source.

What differs by bakery (mixing work, bowl, flour moisture, ice quality) is input, not a constant.
*Ours* marks a judgement or a figure reduced from several others.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import OutOfRangeError


@dataclass(frozen=True, slots=True)
class Constant:
    """A constant.

    Attributes
    ----------
    value, unit
        The figure that is used, in this unit.
    low, high
        Between these the sources, or our judgement, place it.
    source
        Where it comes from; *ours* for a judgement.

    Raises
    ------
    OutOfRangeError
        If the value lies outside its own range, or has neither unit nor source.

    Examples
    --------
    >>> Constant(334.0, "kJ/kg", 333.0, 335.0, "heat of fusion of water").value
    334.0
    """

    value: float
    unit: str
    low: float
    high: float
    source: str

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise OutOfRangeError(f"Constant: {self.value} is not in {self.low} to {self.high}")
        if not self.unit or not self.source:
            raise OutOfRangeError("Constant: needs a unit and a source")


# Specific heats and melting.

WATER_KJ_PER_KG_K = Constant(
    4.18, "kJ/kg K", 4.168, 4.2, "tables at 0 to 60 °C; isoperibol calorimeter 4.176 ± 0.008"
)
DRY_FLOUR_KJ_PER_KG_K = Constant(
    1.45,
    "kJ/kg K",
    1.35,
    1.55,
    "ours, so that flour of 12 to 13.5 % moisture comes to 1.80 to 1.88 of Geankoplis, table A.4, "
    "and 1.76 of Cengel and Boles, problem 5-157",
)
STEEL_KJ_PER_KG_K = Constant(0.50, "kJ/kg K", 0.46, 0.51, "stainless steel, standard tables")
ICE_KJ_PER_KG_K = Constant(
    2.05, "kJ/kg K", 1.94, 2.11, "mean of ice between its own temperature and 0 °C"
)
ICE_MELTING_KJ_PER_KG = Constant(
    334.0, "kJ/kg", 333.0, 335.0, "heat of fusion of water, 144 BTU/lb in the trade"
)
MILK_FAT_MELTING_KJ_PER_KG = Constant(
    80.0, "kJ/kg", 70.0, 90.0, "milk fat from −20 to 37 °C by differential scanning calorimetry"
)

# The trade's own ice sums, in round figures.

ICE_WORTH_K = Constant(
    80.0, "K", 79.8, 80.1, "334/4.18: degrees of water that melting ice is worth; 144 °F in the US"
)
COLD_ICE_WORTH_K_PER_K = Constant(
    0.49, "K/K", 0.46, 0.51, "2.05/4.18: the same for each degree of ice below freezing"
)

# Ice in a bowl.

ICE_KG_PER_M3 = Constant(917.0, "kg/m³", 910.0, 920.0, "ice at 0 °C, standard tables")
ICE_FILM_W_PER_M2K = Constant(
    400.0, "W/m² K", 200.0, 600.0, "ours: film between a piece of ice and moving dough or water"
)
LEAST_LIQUID_PER_FLOUR = Constant(
    0.45, "kg/kg", 0.40, 0.50, "ours: liquid water at the start, so that all flour is wetted"
)
MOST_ICE_SHARE = Constant(0.40, "kg/kg", 0.30, 0.60, "ours: ice of all water of a dough")
MOST_CUBE_SHARE = Constant(0.15, "kg/kg", 0.10, 0.20, "ours: the same for cubes")
ICE_GONE_BEFORE_END_MIN = Constant(
    4.0, "min", 3.0, 5.0, "bakers' practice: no ice may be heard in the last minutes of mixing"
)

# Bowl, and heat of mixing.

BOWL_SHARE = Constant(
    0.7, "-", 0.5, 0.9, "ours: share of bowl and tool that follows the dough in ten minutes"
)
RESTING_LOSS_SHARE = Constant(
    0.55,
    "-",
    0.4,
    1.0,
    "ours: loss of a resting, covered dough beside one that is worked, 5 against 9 W/m²K",
)
WORK_FEEDBACK = Constant(
    1.11, "-", 1.08, 1.15, "ours: a dough that is kept colder takes a ninth more work"
)
BOWL_RELAXES_MIN = Constant(
    25.0, "min", 20.0, 30.0, "ours: an empty steel bowl and tool follow the air of the room"
)
BUCKET_OF_10_KG_MIN = Constant(
    250.0,
    "min",
    180.0,
    350.0,
    "ours: 10 l of water in a bucket, 9 W/m²K, which moves 0.4 °C in 5 min at 20 °C from the air",
)
WORK_FALL_PER_K = Constant(
    0.023,
    "1/K",
    0.018,
    0.028,
    "Hlynka 1962, Cereal Chem. 39:286: flow of dough has an activation energy of about 4 kcal/mol",
)
WORK_REFERENCE_C = Constant(25.0, "°C", 25.0, 25.0, "by definition: dough at which work is stated")
WORK_FALL_PER_HYDRATION_POINT = Constant(
    0.015,
    "1/point",
    0.0,
    0.044,
    "ours; at constant speed and consistency Hlynka 1962 gives 2.3/0.52 % as a ceiling",
)
USUAL_HYDRATION = Constant(
    0.65, "kg/kg", 0.60, 0.70, "ours: dough for which the first guesses of mixing work hold"
)
FILL_EXPONENT = Constant(
    0.0, "-", -0.3, 0.3, "ours: work per kilo goes as load to this power; no law is published"
)

JACKET_W_PER_K_KG = Constant(
    2.45,
    "W/K kg^(2/3)",
    1.6,
    3.4,
    "ours, so that a coolant 20 K below a full batch of 60 kg takes 2.2 to 3.3 °C in ten minutes, "
    "as trade magazines report of jacket and cold tool; goes with the wetted wall",
)
USUAL_DOUGH_KJ_PER_KG_K = Constant(
    2.73, "kJ/kg K", 2.15, 3.19, "65 % water, 2 % salt, by the additive rule; measured 2.15 to 3.19"
)
USUAL_PASTE_KJ_PER_KG_K = Constant(
    3.01, "kJ/kg K", 2.9, 3.1, "ripe culture of equal flour and water, by the additive rule"
)

# Wetting of flour: q = (1 − w) a exp(−b w/(1 − w)).

DRY_WETTING_KJ_PER_KG = Constant(
    105.0, "kJ/kg", 75.0, 135.0, "dry starch and flour, 25 cal per g of dry substance, standard"
)
WETTING_DECAY = Constant(
    14.0,
    "-",
    11.0,
    17.0,
    "ours, so that flour of 11 to 12 % moisture gives the trade's 6.5 BTU/lb = 15.1 kJ/kg",
)
WETTING_SPREAD = Constant(
    0.30, "-", 0.2, 0.4, "ours: relative standard deviation of the wetting heat"
)

# Handling of hot water.

NEEDS_LOADING_ORDER_C = Constant(
    45.0, "°C", 40.0, 50.0, "ours: yeast and cultures are harmed by water warmer than this"
)

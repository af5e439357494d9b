"""The heat balance of a mix: one equation, read forwards for the dough or backwards for the water.

Everything that goes into the bowl is brought from its own temperature to the dough's; bowl and
air take their share; wetting, dissolving and working give heat. All temperatures may be numbers
or arrays that broadcast, so that one call answers a whole night of starts.

References
----------
.. [1] Hlynka 1962, Cereal Chem. 39:286: torque of dough falls 2.3 % per °C.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.constants import (
    BOWL_SHARE,
    ICE_KJ_PER_KG_K,
    ICE_MELTING_KJ_PER_KG,
    MILK_FAT_MELTING_KJ_PER_KG,
    STEEL_KJ_PER_KG_K,
    WATER_KJ_PER_KG_K,
    WETTING_SPREAD,
    WORK_FALL_PER_K,
    WORK_REFERENCE_C,
)
from planner.errors import NotConvergedError, OutOfRangeError
from planner.physics.specific_heat import solid_fat_fraction
from planner.planned import BalanceTerm

Numbers = NDArray[np.float64]
Degrees = float | Numbers
"""A temperature, or an array of them that broadcasts with the others [°C]."""
_Row = tuple[str, float | None, float | None, float]

_WATER = WATER_KJ_PER_KG_K.value

KJ_PER_W_MIN = 0.06
AIR_LOSS_SD_SHARE = 0.3

ITERATIONS, TOLERANCE_K, STEP_K = 80, 1e-10, 1e-5
BRACKET_C = (-300.0, 1000.0)
"""The search starts between; no dough ends outside [°C]."""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """Something in the bowl besides the dough water.

    Attributes
    ----------
    mass_kg, specific_heat_kj_per_kg_k, temperature_c
        Mass [kg], specific heat [kJ/kg K], temperature when it goes in [°C].
    milk_fat_kg
        Milk fat in it, which melts between −20 and 36 °C [kg].
    solution_heat_kj, wetting_heat_kj
        Heat it gives on dissolving (negative takes) and on wetting [kJ].
    """

    name: str
    mass_kg: float
    specific_heat_kj_per_kg_k: float
    temperature_c: Degrees
    milk_fat_kg: float = 0.0
    solution_heat_kj: float = 0.0
    wetting_heat_kj: float = 0.0

    def __post_init__(self) -> None:
        if not (self.mass_kg >= 0 and self.specific_heat_kj_per_kg_k > 0):
            raise OutOfRangeError(f"Ingredient {self.name}: mass or specific heat is impossible")

    @property
    def heat_capacity_kj_per_k(self) -> float:
        """Mass times specific heat [kJ/K]."""
        return self.mass_kg * self.specific_heat_kj_per_kg_k


@dataclass(frozen=True, slots=True)
class Bowl:
    """Bowl and tool [kJ/K] with their temperature at the start [°C]."""

    heat_capacity_kj_per_k: float
    temperature_c: Degrees

    def __post_init__(self) -> None:
        if not self.heat_capacity_kj_per_k >= 0:
            raise OutOfRangeError("Bowl: its heat capacity is negative")


def bowl(bowl_kg: float, temperature_c: Degrees) -> Bowl:
    """Return a steel bowl and tool, counted with the share that follows the dough."""
    return Bowl(BOWL_SHARE.value * STEEL_KJ_PER_KG_K.value * bowl_kg, temperature_c)


@dataclass(frozen=True, slots=True)
class Air:
    """Air of the room: loss [W/K], minutes of mixing [min], temperature [°C]."""

    loss_w_per_k: float
    minutes: float
    room_c: Degrees

    def __post_init__(self) -> None:
        if not (self.loss_w_per_k >= 0 and self.minutes >= 0):
            raise OutOfRangeError("Air: loss_w_per_k or minutes are negative")

    @property
    def heat_kj_per_k(self) -> float:
        """Heat passed per degree of difference over the whole mix [kJ/K]."""
        return KJ_PER_W_MIN * self.loss_w_per_k * self.minutes


@dataclass(frozen=True, slots=True)
class Ice:
    """Ice: its temperature [°C], at most 0, and the share of its weight that is really ice."""

    temperature_c: float
    true_ice_fraction: float

    def __post_init__(self) -> None:
        if self.temperature_c > 0 or not 0 < self.true_ice_fraction <= 1:
            raise OutOfRangeError("Ice: above 0 °C, or its true share is not between 0 and 1")


@dataclass(frozen=True, slots=True)
class MixBalance:
    """A mix without its water temperature.

    Attributes
    ----------
    ingredients
        Everything but the water that is steered.
    water_kg
        The water that is steered, ice included [kg].
    work_kj
        Heat of mixing at 25 °C dough [kJ].
    cooling_kj
        Heat taken out by a cooled mixer [kJ].
    """

    ingredients: tuple[Ingredient, ...]
    water_kg: float
    bowl: Bowl
    air: Air
    work_kj: float
    cooling_kj: float = 0.0

    def __post_init__(self) -> None:
        if not (self.water_kg >= 0 and self.work_kj >= 0 and self.cooling_kj >= 0):
            raise OutOfRangeError("MixBalance: water_kg, work_kj or cooling_kj is negative")
        if self.heat_capacity_kj_per_k <= 0:
            raise OutOfRangeError("MixBalance: there is nothing in the bowl")

    @property
    def mass_kg(self) -> float:
        """Mass of the dough [kg]."""
        return self.water_kg + sum(i.mass_kg for i in self.ingredients)

    @property
    def heat_capacity_kj_per_k(self) -> float:
        """Heat capacity of all ingredients and the water [kJ/K]."""
        dry = sum(i.heat_capacity_kj_per_k for i in self.ingredients)
        return dry + self.water_kg * _WATER


def heat_wanted_kj(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the heat that the water would have to give, at a dough; negative takes heat [kJ].

    Parameters
    ----------
    balance
        The mix.
    dough_c
        Dough temperature at the end [°C].

    Notes
    -----
    Sum over ingredients of ``m c (T - T_i) + 80 m_fat max(0, S(T_i) - S(T))``, bowl and air, less
    wetting, solution and work ``W exp(-0.023 (T_mean - 25))`` [1]_. ``T_mean`` is taken half the
    mechanical rise at 25 °C below the end, a fixed distance, so that the same expression serves
    forwards and backwards. For doughs of 15 to 35 °C that is within 1 K of the mean of a steady
    rise, 2 % of the work. Warm fat that sets again gives its heat later and is left out.
    """
    t = np.asarray(dough_c, dtype=np.float64)
    heat = sum((ingredient_heat_kj(i, t) for i in balance.ingredients), start=np.zeros_like(t))
    heat = heat + bowl_heat_kj(balance, t) + air_heat_kj(balance, t) + balance.cooling_kj
    return np.asarray(heat - work_heat_kj(balance, t), dtype=np.float64)


def ingredient_heat_kj(ingredient: Ingredient, dough_c: Degrees) -> Numbers:
    """Return the heat one ingredient takes up, melting included, less what it sets free [kJ]."""
    start, end = np.asarray(ingredient.temperature_c), np.asarray(dough_c)
    heat = ingredient.heat_capacity_kj_per_k * (end - start)
    if ingredient.milk_fat_kg:
        melted = np.maximum(solid_fat_fraction(start) - solid_fat_fraction(end), 0.0)
        heat = heat + MILK_FAT_MELTING_KJ_PER_KG.value * ingredient.milk_fat_kg * melted
    freed = ingredient.solution_heat_kj + ingredient.wetting_heat_kj
    return np.asarray(heat - freed, dtype=np.float64)


def mean_dough_c(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the mean temperature of the dough while it is worked [°C]."""
    rise_k = balance.work_kj / balance.heat_capacity_kj_per_k
    return np.asarray(dough_c, dtype=np.float64) - rise_k / 2


def bowl_heat_kj(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the heat that bowl and tool take up [kJ]."""
    rise = np.asarray(dough_c) - np.asarray(balance.bowl.temperature_c)
    return np.asarray(balance.bowl.heat_capacity_kj_per_k * rise, dtype=np.float64)


def air_heat_kj(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the heat that goes to the air of the room [kJ]."""
    gap = mean_dough_c(balance, dough_c) - np.asarray(balance.air.room_c)
    return np.asarray(balance.air.heat_kj_per_k * gap, dtype=np.float64)


def work_heat_kj(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the heat of mixing; a cold dough is stiffer and takes more [kJ]."""
    above = mean_dough_c(balance, dough_c) - WORK_REFERENCE_C.value
    return np.asarray(balance.work_kj * np.exp(-WORK_FALL_PER_K.value * above), dtype=np.float64)


def ice_heat_kj_per_kg(ice: Ice, dough_c: Degrees) -> Numbers:
    """Return the heat a kilo of ice takes until it is water at the dough's temperature [kJ/kg].

    Examples
    --------
    >>> float(ice_heat_kj_per_kg(Ice(0.0, 1.0), 25.0))
    438.5
    """
    warming = ICE_KJ_PER_KG_K.value * (0 - ice.temperature_c)
    melting = ice.true_ice_fraction * ICE_MELTING_KJ_PER_KG.value
    return np.asarray(warming + melting + _WATER * np.asarray(dough_c), dtype=np.float64)


def equivalent_water_c(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the temperature all the water must have for a dough [°C].

    Parameters
    ----------
    balance
        The mix.
    dough_c
        Wanted dough temperature [°C].

    Returns
    -------
    ndarray
        An energy number: below 0 °C it means ice, above boiling that water cannot do it.

    Raises
    ------
    OutOfRangeError
        If the mix has no water.
    """
    if balance.water_kg <= 0:
        raise OutOfRangeError("equivalent_water_c: this mix has no water to steer with")
    t = np.asarray(dough_c, dtype=np.float64)
    return t + heat_wanted_kj(balance, t) / (balance.water_kg * _WATER)


def ice_mass_kg(balance: MixBalance, dough_c: Degrees, liquid_c: Degrees, ice: Ice) -> Numbers:
    """Return the ice that must replace water of a temperature for a dough; 0 when none is needed.

    Parameters
    ----------
    balance
        The mix.
    dough_c, liquid_c
        Wanted dough and temperature of the liquid water [°C].
    ice
        The ice of the house.

    Returns
    -------
    ndarray
        Ice [kg], not capped: the caller knows what melts and what is in store.
    """
    t, liquid = np.asarray(dough_c, dtype=np.float64), np.asarray(liquid_c, dtype=np.float64)
    taken_by_water = balance.water_kg * _WATER * (t - liquid)
    surplus = -(heat_wanted_kj(balance, t) + taken_by_water)
    per_kg = ice_heat_kj_per_kg(ice, t) - _WATER * (t - liquid)
    return np.asarray(np.maximum(surplus / per_kg, 0.0), dtype=np.float64)


def dough_temperature_c(
    balance: MixBalance,
    water_c: Degrees,
    ice_kg: Degrees = 0.0,
    ice: Ice | None = None,
) -> Numbers:
    """Return the dough temperature that some water and ice give [°C].

    Parameters
    ----------
    balance
        The mix; it may have no water.
    water_c
        Temperature of the liquid water [°C].
    ice_kg, ice
        Ice that replaces part of the water [kg].

    Raises
    ------
    OutOfRangeError
        If there is more ice than water, or ice of no kind.
    NotConvergedError
        If the temperature does not settle.

    Notes
    -----
    Newton's iteration on the balance, which rises with the dough's temperature at every point;
    a step that leaves the bracket found so far is replaced by halving it. Below 0 °C the answer
    is an energy number like the equivalent water: no dough freezes here.
    """
    if ice is None and np.any(np.asarray(ice_kg) > 0):
        raise OutOfRangeError("dough_temperature_c: ice without its temperature")
    if np.any(np.asarray(ice_kg) > balance.water_kg + 1e-9) or np.any(np.asarray(ice_kg) < 0):
        raise OutOfRangeError("dough_temperature_c: more ice than water, or less than none")
    t = np.full(_shape(balance, water_c, ice_kg), 20.0)
    low, high = (np.full(t.shape, end) for end in BRACKET_C)
    for _ in range(ITERATIONS):
        residual = _residual_kj(balance, t, water_c, ice_kg, ice)
        low, high = np.where(residual <= 0, t, low), np.where(residual >= 0, t, high)
        slope = (_residual_kj(balance, t + STEP_K, water_c, ice_kg, ice) - residual) / STEP_K
        newton = t - residual / slope
        moved = np.where((newton < low) | (newton > high), (low + high) / 2, newton)
        settled = bool(np.all(np.abs(moved - t) < TOLERANCE_K))
        t = moved
        if settled and np.all((t > BRACKET_C[0] + 1) & (t < BRACKET_C[1] - 1)):
            return t
    raise NotConvergedError("dough_temperature_c: the dough temperature does not settle")


def _shape(balance: MixBalance, *others: Degrees) -> tuple[int, ...]:
    given = [*(i.temperature_c for i in balance.ingredients), *others]
    return np.broadcast_shapes(
        *(np.shape(t) for t in (*given, balance.bowl.temperature_c, balance.air.room_c))
    )


def _residual_kj(
    balance: MixBalance, t: Numbers, water_c: Degrees, ice_kg: Degrees, ice: Ice | None
) -> Numbers:
    iced = np.asarray(ice_kg, dtype=np.float64)
    liquid_kg = balance.water_kg - iced
    heat = heat_wanted_kj(balance, t) + liquid_kg * _WATER * (t - np.asarray(water_c))
    if ice is not None:
        heat = heat + iced * ice_heat_kj_per_kg(ice, t)
    return np.asarray(heat, dtype=np.float64)


def dough_per_water_k(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the degrees of dough that one degree of water is worth, feedback included.

    Examples
    --------
    >>> flour = Ingredient("flour", 10.0, 1.83, 22.0)
    >>> mix = MixBalance((flour,), 6.5, bowl(8.0, 22.0), Air(7.0, 10.0, 22.0), 200.0)
    >>> 0.45 < float(dough_per_water_k(mix, 25.0)) < 0.60
    True
    """
    t = np.asarray(dough_c, dtype=np.float64)
    water_per_dough = equivalent_water_c(balance, t + 0.5) - equivalent_water_c(balance, t - 0.5)
    return np.asarray(1 / water_per_dough, dtype=np.float64)


def part_limit_c(
    balance: MixBalance, part_name: str, dough_c: float, equivalent_water: float
) -> Numbers:
    """Return the warmest that one ingredient may be for a dough with the coldest water [°C].

    Parameters
    ----------
    balance
        The mix with that ingredient at any temperature.
    part_name
        Name of the ingredient: a scald, a preferment.
    dough_c, equivalent_water
        Dough that must still be reached, and the coldest equivalent water [°C].

    Raises
    ------
    OutOfRangeError
        If there is no such ingredient.
    """
    part = next((i for i in balance.ingredients if i.name == part_name), None)
    if part is None or part.mass_kg <= 0:
        raise OutOfRangeError(f"part_limit_c: no ingredient {part_name!r}")
    water = balance.water_kg * _WATER * (dough_c - equivalent_water)
    spare_kj = heat_wanted_kj(balance, dough_c) + water
    return np.asarray(part.temperature_c + spare_kj / part.heat_capacity_kj_per_k)


def balance_terms(
    balance: MixBalance,
    dough_c: float,
    water: Sequence[tuple[str, float, float]],
    ice_kg: float,
    ice: Ice | None,
) -> tuple[BalanceTerm, ...]:
    """Return the heat each term gives the dough [kJ], also in degrees [K]; they add up to nothing.

    Parameters
    ----------
    balance
        The mix.
    dough_c
        Dough temperature that the water and ice give [°C].
    water
        Name, kilos and degrees of each supply.
    ice_kg, ice
        Ice [kg].
    """
    rows = [row for i in balance.ingredients for row in _ingredient_rows(i, dough_c)]
    rows += [(name, kg, c, kg * _WATER * (c - dough_c)) for name, kg, c in water]
    if ice is not None and ice_kg > 0:
        heat = -ice_kg * float(ice_heat_kj_per_kg(ice, dough_c))
        rows.append(("ice", ice_kg, ice.temperature_c, heat))
    bowl_c, room_c = float(balance.bowl.temperature_c), float(balance.air.room_c)
    rows += [
        ("bowl and tool", None, bowl_c, -float(bowl_heat_kj(balance, dough_c))),
        ("air of the room", None, room_c, -float(air_heat_kj(balance, dough_c))),
        ("mixing work", None, None, float(work_heat_kj(balance, dough_c))),
    ]
    if balance.cooling_kj:
        rows.append(("cooled mixer", None, None, -balance.cooling_kj))
    per_k = balance.heat_capacity_kj_per_k
    return tuple(BalanceTerm(n, m, c, heat, heat / per_k) for n, m, c, heat in rows)


def _ingredient_rows(i: Ingredient, dough_c: float) -> list[_Row]:
    """Return an ingredient's own heat, and what wetting and dissolving it give, apart."""
    own = -(float(ingredient_heat_kj(i, dough_c)) + i.solution_heat_kj + i.wetting_heat_kj)
    rows: list[_Row] = [(i.name, i.mass_kg, float(i.temperature_c), own)]
    if i.wetting_heat_kj:
        rows.append((f"wetting of {i.name}", None, None, i.wetting_heat_kj))
    if i.solution_heat_kj:
        rows.append((f"dissolving of {i.name}", None, None, i.solution_heat_kj))
    return rows


def dough_sd_k(
    balance: MixBalance,
    dough_c: float,
    *,
    work_sd_kj: float,
    flour_sd_k: float,
    ice_kg: float = 0.0,
    true_ice_fraction_sd: float = 0.0,
    wetting_sd_share: float = WETTING_SPREAD.value,
    water_sd_k: float = 0.5,
    bowl_sd_k: float = 2.0,
) -> float:
    """Return one standard deviation of the dough temperature that is to be expected [K].

    Parameters
    ----------
    balance
        The mix.
    dough_c
        Expected dough [°C].
    work_sd_kj
        Standard deviation of the mixing work [kJ].
    flour_sd_k, water_sd_k, bowl_sd_k
        Of flour, water and bowl temperature [K].
    ice_kg, true_ice_fraction_sd
        Ice [kg] and the spread of its true share.
    wetting_sd_share
        Relative spread of the wetting heat; 0 once the mixing work is learned, which then holds it.

    Notes
    -----
    Independent errors, each divided by the slope of the balance, which holds the trimming effect
    of the mixing work. The share of the bowl that follows the dough is known to 0.13, the loss
    to the air to 30 % (ours).
    """
    slope = float(heat_wanted_kj(balance, dough_c + 0.5) - heat_wanted_kj(balance, dough_c - 0.5))
    slope += balance.water_kg * _WATER
    flour = [i for i in balance.ingredients if i.wetting_heat_kj > 0]
    share_sd = (BOWL_SHARE.high - BOWL_SHARE.low) / 3 / BOWL_SHARE.value
    errors_kj = (
        work_sd_kj,
        flour_sd_k * sum(i.heat_capacity_kj_per_k for i in flour),
        wetting_sd_share * sum(i.wetting_heat_kj for i in flour),
        water_sd_k * balance.water_kg * _WATER,
        true_ice_fraction_sd * ice_kg * ICE_MELTING_KJ_PER_KG.value,
        bowl_sd_k * balance.bowl.heat_capacity_kj_per_k,
        share_sd * float(np.max(np.abs(bowl_heat_kj(balance, dough_c)))),
        AIR_LOSS_SD_SHARE * float(np.max(np.abs(air_heat_kj(balance, dough_c)))),
    )
    return float(np.sqrt(sum(e**2 for e in errors_kj)) / slope)

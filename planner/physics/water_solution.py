"""The course of a mix read backwards: the water, the ice, or the part that gives a wanted dough.

The course rises with every temperature that goes in, and almost on a straight line, so the secant
method on the whole course needs three or four rounds; its first slope comes with the course.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.constants import WATER_KJ_PER_KG_K
from planner.errors import NotConvergedError, OutOfRangeError
from planner.physics.heat_balance import Degrees, Ice, MixBalance, Numbers, ice_cold_kj_per_kg
from planner.physics.mix_course import Mixing, dough_temperature_c

_WATER = WATER_KJ_PER_KG_K.value

ROUNDS, REACHED_K = 30, 1e-8
LEAST_SECANT_K = 1e-7
PROBE_K = 1.0


def equivalent_water_c(
    balance: MixBalance, dough_c: Degrees, *, later_water_c: Degrees | None = None
) -> Numbers:
    """Return the temperature the steered water must have for a dough [°C].

    Parameters
    ----------
    balance
        The mix.
    dough_c
        Wanted dough at the end of the last step [°C].
    later_water_c
        Water of the later portions when it is given; None steers all portions alike [°C].

    Returns
    -------
    ndarray
        An energy number: below 0 °C it means ice, above boiling that water cannot do it.

    Raises
    ------
    OutOfRangeError
        If the mix has no water to steer with.
    NotConvergedError
        If the dough is not reached.

    Examples
    --------
    >>> from planner.physics.heat_balance import Air, Ingredient, bowl, one_step
    >>> flour = Ingredient("flour", 10.0, 1.83, 20.0)
    >>> still = one_step([flour], 6.5, bowl(8.0, 20.0), Air(7.0, 20.0))
    >>> round(float(equivalent_water_c(still, 20.0)), 6)
    20.0
    """
    first_kg = balance.portions[0].water_kg if balance.portions else 0.0
    if (balance.water_kg if later_water_c is None else first_kg) <= 0:
        raise OutOfRangeError("equivalent_water_c: this mix has no water to steer with")
    wanted = np.asarray(dough_c, dtype=np.float64)
    mixing = Mixing(balance)
    water = mixing.guess_water_c(wanted)
    run = mixing.run(water, later_water_c=later_water_c, books=False)
    slope = run.per_water_k
    for _ in range(ROUNDS):
        off = wanted - run.dough_c
        if bool(np.all(np.abs(off) < REACHED_K)):
            return np.asarray(water + 0 * off)
        moved = off / slope
        water = water + moved
        before, run = run, mixing.run(water, later_water_c=later_water_c, books=False)
        far = np.abs(moved) > LEAST_SECANT_K
        slope = np.where(far, (run.dough_c - before.dough_c) / np.where(far, moved, 1.0), slope)
    raise NotConvergedError("equivalent_water_c: the dough is not reached")


def ice_for_equivalent_kg(
    portion_kg: float, equivalent_c: Degrees, liquid_c: Degrees, ice: Ice
) -> Numbers:
    """Return the ice that makes water of a temperature worth an equivalent one; 0 when warmer.

    Notes
    -----
    ``i = w (T_l - T_e)/(T_l + q/c)`` with ``q`` the heat of the ice until it is water at 0 °C.

    Examples
    --------
    >>> round(float(ice_for_equivalent_kg(40.0, 10.0, 20.0, Ice(0.0, 1.0))), 2)
    4.0
    """
    liquid = np.asarray(liquid_c, dtype=np.float64)
    worth_k = ice_cold_kj_per_kg(ice) / _WATER
    share = (liquid - np.asarray(equivalent_c, dtype=np.float64)) / (liquid + worth_k)
    return np.asarray(portion_kg * np.maximum(share, 0.0), dtype=np.float64)


def ice_mass_kg(balance: MixBalance, dough_c: Degrees, liquid_c: Degrees, ice: Ice) -> Numbers:
    """Return the ice that must replace water of a temperature for a dough; 0 when none is needed.

    Parameters
    ----------
    balance
        The mix.
    dough_c, liquid_c
        Wanted dough and temperature of the liquid water [°C].
    ice
        The ice of the house; it goes in with the first portion of the water.

    Returns
    -------
    ndarray
        Ice [kg], not capped: the caller knows what melts and what is in store.
    """
    later_c = liquid_c if len(balance.portions) > 1 else None
    equivalent_c = equivalent_water_c(balance, dough_c, later_water_c=later_c)
    return ice_for_equivalent_kg(balance.portions[0].water_kg, equivalent_c, liquid_c, ice)


def dough_per_water_k(balance: MixBalance, dough_c: Degrees) -> Numbers:
    """Return the degrees of dough that one degree of water is worth, feedback included.

    Examples
    --------
    >>> from planner.physics.heat_balance import Air, Ingredient, bowl, one_step
    >>> flour = Ingredient("flour", 10.0, 1.83, 22.0)
    >>> mix = one_step([flour], 6.5, bowl(8.0, 22.0), Air(7.0, 22.0), 200.0)
    >>> 0.45 < float(dough_per_water_k(mix, 25.0)) < 0.60
    True
    """
    wanted = np.asarray(dough_c, dtype=np.float64)
    ends = np.stack(np.broadcast_arrays(wanted + PROBE_K / 2, wanted - PROBE_K / 2))
    water = equivalent_water_c(balance, ends)
    return np.asarray(PROBE_K / (water[0] - water[1]), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Given:
    """What the water of a mix is, when something else is asked for.

    Attributes
    ----------
    water_c, ice_kg, ice
        Liquid water [°C], and the ice in its first portion [kg].
    """

    water_c: float
    ice_kg: float = 0.0
    ice: Ice | None = None


def ingredient_temperatures_c(
    balance: MixBalance,
    groups: Sequence[Sequence[str]],
    dough_c: float,
    given: Given,
    within_k: float = 1e-7,
) -> Numbers:
    """Return the temperature each group of ingredients must have for a dough, one at a time [°C].

    Parameters
    ----------
    balance
        The mix, all its temperatures plain numbers.
    groups
        Names of ingredients that change together; each group is solved on its own.
    dough_c
        Wanted dough [°C].
    given
        Water and ice, which stay.
    within_k
        How near the dough must come [K].

    Returns
    -------
    ndarray
        One temperature per group: a degree number, which may be impossible in a kitchen.

    Raises
    ------
    OutOfRangeError
        If a group names nothing in the bowl.
    NotConvergedError
        If a dough is not reached.

    Notes
    -----
    Secant steps on the course; all groups run in one sweep.
    """
    now = np.array([_mean_c(balance, names) for names in groups])
    low = now + 0.0
    low_dough = _with_groups(balance, groups, low, given)
    # A first guess from the share of the dough's heat that each group has.
    high = now + (dough_c - low_dough) / np.array([_heat_share(balance, g) for g in groups])
    high = np.where(np.abs(high - low) < LEAST_SECANT_K, low + 1.0, high)
    for _ in range(ROUNDS):
        high_dough = _with_groups(balance, groups, high, given)
        if bool(np.all(np.abs(high_dough - dough_c) < within_k)):
            return high
        slope = (high_dough - low_dough) / (high - low)
        moved = high + np.where(high == low, 0.0, (dough_c - high_dough) / slope)
        done = np.abs(high_dough - dough_c) < within_k
        low, low_dough = np.where(done, low, high), np.where(done, low_dough, high_dough)
        high = np.where(done, high, moved)
    raise NotConvergedError("ingredient_temperatures_c: a dough is not reached")


def _mean_c(balance: MixBalance, names: Sequence[str]) -> float:
    chosen = [i for i in balance.ingredients if i.name in names]
    if not chosen or sum(i.mass_kg for i in chosen) <= 0:
        raise OutOfRangeError(f"ingredient_temperatures_c: nothing in the bowl is {list(names)}")
    heat = sum(float(i.heat_capacity_kj_per_k) * float(i.temperature_c) for i in chosen)
    return heat / sum(float(i.heat_capacity_kj_per_k) for i in chosen)


def _heat_share(balance: MixBalance, names: Sequence[str]) -> float:
    own = sum(float(i.heat_capacity_kj_per_k) for i in balance.ingredients if i.name in names)
    return own / float(balance.heat_capacity_kj_per_k)


def _with_groups(
    balance: MixBalance, groups: Sequence[Sequence[str]], temperature_c: Numbers, given: Given
) -> Numbers:
    member = np.array([[i.name in names for names in groups] for i in balance.ingredients])
    changed = replace(
        balance,
        ingredients=tuple(
            replace(i, temperature_c=np.where(rows, temperature_c, i.temperature_c))
            for i, rows in zip(balance.ingredients, member, strict=True)
        ),
    )
    return dough_temperature_c(changed, given.water_c, given.ice_kg, given.ice)


def part_limit_c(
    balance: MixBalance, part_name: str, dough_c: float, equivalent_water: float
) -> float:
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
    given = Given(equivalent_water)
    return float(ingredient_temperatures_c(balance, [[part_name]], dough_c, given)[0])

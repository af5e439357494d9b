"""Drawing water: tap, chiller and hot tap blended, and ice when they do not reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.constants import NEEDS_LOADING_ORDER_C, WATER_KJ_PER_KG_K
from planner.errors import OutOfRangeError
from planner.physics.heat_balance import Degrees, Ice, MixBalance, ice_cold_kj_per_kg
from planner.physics.ice import ice_worth_k
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import equivalent_water_c, ice_for_equivalent_kg

Numbers = NDArray[np.float64]

_WATER = WATER_KJ_PER_KG_K.value


@dataclass(frozen=True, slots=True)
class SupplyTemperatures:
    """Water there is [°C]; None for a supply the house does not have."""

    tap_c: float
    chilled_c: float | None = None
    hot_c: float | None = None

    def __post_init__(self) -> None:
        for liquid_c in (self.tap_c, self.chilled_c, self.hot_c):
            if liquid_c is not None and not -5 <= liquid_c <= 100:
                raise OutOfRangeError(f"SupplyTemperatures: no water at {liquid_c} °C")


@dataclass(frozen=True, slots=True)
class Draw:
    """What to draw, and the dough it gives.

    Attributes
    ----------
    tap_kg, chilled_kg, hot_kg, ice_kg
        Kilos of each; they add up to the water of the mix [kg].
    liquid_c
        Temperature of the liquid water together [°C].
    expected_c
        Dough temperature [°C]: the wanted one, or the nearest that can be reached.
    """

    tap_kg: Numbers
    chilled_kg: Numbers
    hot_kg: Numbers
    ice_kg: Numbers
    liquid_c: Numbers
    expected_c: Numbers


def draw(
    balance: MixBalance,
    dough_c: Degrees,
    supplies: SupplyTemperatures,
    ice: Ice | None,
    *,
    use_chilled: bool,
    ice_cap_kg: float,
    chilled_cap_kg: float | None = None,
    melted_at_least_c: float | None = None,
    trifle_k: float = 0.0,
) -> Draw:
    """Return the water and ice that bring a mix as near to a dough temperature as can be.

    Parameters
    ----------
    balance
        The mix; with no water everything is zero and the dough comes as it comes.
    dough_c
        Wanted dough [°C]; broadcasts with the temperatures of the mix.
    supplies
        Tap, chiller and hot tap.
    ice
        The ice of the house, if any.
    use_chilled
        Whether the chiller may be used; without it ice makes up for it.
    ice_cap_kg
        The most ice [kg]; never more than the water it goes in with.
    chilled_cap_kg
        The most chilled water [kg]; None for as much as the mix takes.
    melted_at_least_c
        Where ice is melted in the first portion before it is poured: the coldest that this water
        may become [°C]; None where ice goes into the bowl.
    trifle_k
        Ice that would move the water by less than this is not worth weighing [K].

    Returns
    -------
    Draw
        Warmer than the tap: tap and hot water. Colder: tap and chilled water. Colder than the
        coldest liquid: that, with ice in the place of some of the first portion. Where a supply
        or a cap ends, ``expected_c`` is the dough that comes of it.

    Raises
    ------
    OutOfRangeError
        If a cap is negative.

    Examples
    --------
    >>> from planner.physics.heat_balance import Air, Ingredient, bowl, one_step
    >>> flour = Ingredient("flour", 10.0, 1.83, 30.0)
    >>> mix = one_step([flour], 6.5, bowl(8.0, 30.0), Air(7.0, 30.0), 270.0)
    >>> hot_day = SupplyTemperatures(tap_c=20.0)
    >>> d = draw(mix, 23.0, hot_day, Ice(-2.0, 0.9), use_chilled=False, ice_cap_kg=2.0)
    >>> float(d.ice_kg) > 1, round(float(d.expected_c), 6)
    (True, 23.0)
    """
    if not (ice_cap_kg >= 0 and (chilled_cap_kg is None or chilled_cap_kg >= 0)):
        raise OutOfRangeError(f"draw: a cap is negative, {ice_cap_kg}, {chilled_cap_kg}")
    if balance.water_kg <= 0:
        return _no_water(balance, dough_c, supplies.tap_c)
    needed_c = equivalent_water_c(balance, dough_c)
    coldest_c = _coldest_c(supplies, use_chilled=use_chilled)
    reachable_c = _with_cap(supplies.tap_c, coldest_c, chilled_cap_kg, balance.water_kg)
    hottest_c = max(supplies.tap_c, supplies.hot_c or supplies.tap_c)
    liquid_c = np.clip(needed_c, reachable_c, hottest_c)
    ice_kg = _ice_kg(balance, dough_c, needed_c, liquid_c, ice, ice_cap_kg)
    if ice is not None and melted_at_least_c is not None:
        first_kg = balance.portions[0].water_kg
        ice_kg = np.minimum(ice_kg, _melting_kg(first_kg, liquid_c, melted_at_least_c, ice))
    if ice is not None and trifle_k > 0:
        moved_k = ice_kg * (liquid_c + ice_cold_kj_per_kg(ice) / _WATER) / balance.water_kg
        ice_kg = np.where(moved_k < trifle_k, 0.0, ice_kg)
    liquid_kg = balance.water_kg - ice_kg
    hot_kg = liquid_kg * _share(liquid_c, supplies.tap_c, hottest_c)
    chilled_kg = liquid_kg * _share(liquid_c, supplies.tap_c, coldest_c)
    return Draw(
        tap_kg=liquid_kg - hot_kg - chilled_kg,
        chilled_kg=chilled_kg,
        hot_kg=hot_kg,
        ice_kg=ice_kg,
        liquid_c=liquid_c,
        expected_c=dough_temperature_c(balance, liquid_c, ice_kg, ice)
        if np.any(liquid_c != needed_c)
        else np.broadcast_to(np.asarray(dough_c, dtype=np.float64), liquid_c.shape),
    )


def _ice_kg(
    balance: MixBalance,
    dough_c: Degrees,
    needed_c: Numbers,
    liquid_c: Numbers,
    ice: Ice | None,
    ice_cap_kg: float,
) -> Numbers:
    """Return the ice that makes up for what liquid water cannot do, within its cap [kg]."""
    if ice is None or ice_cap_kg <= 0 or not np.any(needed_c < liquid_c):
        return np.zeros_like(liquid_c)
    first_kg = balance.portions[0].water_kg
    if len(balance.portions) > 1:
        needed_c = equivalent_water_c(balance, dough_c, later_water_c=liquid_c)
    wanted_kg = ice_for_equivalent_kg(first_kg, needed_c, liquid_c, ice)
    return np.asarray(np.minimum(wanted_kg, min(ice_cap_kg, first_kg)), dtype=np.float64)


def _melting_kg(first_kg: float, liquid_c: Numbers, melted_c: float, ice: Ice) -> Numbers:
    """Return the ice that brings a first portion to a temperature, as the sheet checks it [kg]."""
    worth_k = ice_worth_k(ice.temperature_c, ice.true_ice_fraction)
    return np.asarray(first_kg * np.maximum(liquid_c - melted_c, 0.0) / (liquid_c + worth_k))


def _with_cap(tap_c: float, coldest_c: float, cap_kg: float | None, water_kg: float) -> float:
    """Return the coldest blend with tap water when there is only so much chilled water [°C]."""
    share = 1.0 if cap_kg is None else min(1.0, cap_kg / water_kg)
    return tap_c + (coldest_c - tap_c) * share


def needs_loading_order(liquid_c: Degrees) -> NDArray[np.bool_]:
    """Return whether water is so warm that flour must lie between it and the living parts.

    Parameters
    ----------
    liquid_c
        Water as it is poured [°C].

    Notes
    -----
    Above 45 °C: water first, then flour as a barrier, then yeast and cultures.

    Examples
    --------
    >>> needs_loading_order(np.array([38.0, 60.0])).tolist()
    [False, True]
    """
    return np.asarray(np.asarray(liquid_c) > NEEDS_LOADING_ORDER_C.value, dtype=np.bool_)


def _coldest_c(supplies: SupplyTemperatures, *, use_chilled: bool) -> float:
    if not use_chilled or supplies.chilled_c is None:
        return supplies.tap_c
    return min(supplies.tap_c, supplies.chilled_c)


def _share(liquid_c: Numbers, tap_c: float, other_c: float) -> Numbers:
    """Return the share of another supply in a blend with tap water, 0 to 1."""
    if other_c == tap_c:
        return np.zeros_like(liquid_c)
    return np.asarray(np.clip((liquid_c - tap_c) / (other_c - tap_c), 0.0, 1.0), dtype=np.float64)


def _no_water(balance: MixBalance, dough_c: Degrees, tap_c: float) -> Draw:
    dough = dough_temperature_c(balance, tap_c)
    shape = np.broadcast_shapes(dough.shape, np.shape(dough_c))
    nothing = np.zeros(shape)
    return Draw(
        nothing, nothing, nothing, nothing, np.full(shape, tap_c), np.broadcast_to(dough, shape)
    )

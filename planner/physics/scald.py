"""Scalds: boiling point, heat balance of the pour, cold and hot water to land right.

References
----------
.. [1] Boiling point against elevation, fit to 27 stations (100.5 °C at −152 m, 86.1 at 4115 m,
   79.3 at 6325 m); high-altitude baking tables (95 °C at 5000 ft, 91.9 °C at 8081 ft).
.. [2] Differential scanning calorimetry of cereal starches: 9 to 15 J per g of starch.
.. [3] Spelt wheat starches, ISRN 2014: gelatinisation from 56-58 to 67-68 °C.
.. [4] Published pours of five scalds against their balance without loss (ours).
"""

from __future__ import annotations

import numpy as np

from planner.errors import OutOfRangeError
from planner.physics.ferment_constants import (
    GELATINISATION_FROM_C,
    GELATINISATION_KJ_PER_KG_FLOUR,
    GELATINISATION_TO_C,
    LEAST_WATER_PER_FLOUR,
    POUR_LOSS_FRACTION,
    SCALD_FLOUR_KJ_PER_KG_K,
    SCALD_WATER_KJ_PER_KG_K,
)

# Published points [1]; the one below the Dead Sea is the standard atmosphere (ours).
_ALTITUDE_M = (-430.0, -152.0, 0.0, 1524.0, 2463.0, 4115.0, 6325.0)
_BOILING_C = (101.4, 100.5, 100.0, 95.0, 91.9, 86.1, 79.3)


def boiling_point_c(altitude_m: float) -> float:
    """Return the boiling point of water at a height above the sea [°C].

    Parameters
    ----------
    altitude_m
        Height of the house, −430 to 5500 [m].

    Returns
    -------
    float
        Boiling point [°C].

    Raises
    ------
    OutOfRangeError
        If no bakery stands at such a height.

    Notes
    -----
    Linear between published points [1]_; the standard atmosphere agrees within 0.3 K, the weather
    moves it by ± 0.5 K.

    Examples
    --------
    >>> round(boiling_point_c(762.0), 1)
    97.5
    """
    if not -430 <= altitude_m <= 5500:
        raise OutOfRangeError(f"boiling_point_c: altitude_m out of range, got {altitude_m}")
    return float(np.interp(altitude_m, _ALTITUDE_M, _BOILING_C))


def gelatinises(water_kg: float, flour_kg: float) -> bool:
    """Return whether there is water enough for all the starch to gelatinise.

    Notes
    -----
    Starch wants 2 g of water per g for one full endotherm [2]_: with 65 to 70 % starch and 14 %
    moisture that is 1.2 to 1.3 kg of water per kg of flour. With less, as in a scald of equal
    parts, only a part of it gelatinises even at 70 °C.

    Examples
    --------
    >>> gelatinises(2.0, 1.0), gelatinises(0.8, 1.0)
    (True, False)
    """
    if not (water_kg >= 0 and flour_kg > 0):
        raise OutOfRangeError("gelatinises: needs flour, and no negative water")
    return water_kg >= LEAST_WATER_PER_FLOUR.value * flour_kg


def gelatinised_share(temperature_c: float) -> float:
    """Return the share of starch gelatinised at a temperature, given water enough.

    Notes
    -----
    Linear from onset to end of the endotherm, 57 to 68 °C [3]_; rye lies slightly lower.

    Examples
    --------
    >>> gelatinised_share(50.0), gelatinised_share(62.5), gelatinised_share(85.0)
    (0.0, 0.5, 1.0)
    """
    low, high = GELATINISATION_FROM_C.value, GELATINISATION_TO_C.value
    return min(max((temperature_c - low) / (high - low), 0.0), 1.0)


def scald_kj_per_kg_k(water_kg: float, flour_kg: float) -> float:
    """Return the specific heat of a scald by the additive rule [kJ/kg K].

    Examples
    --------
    >>> round(scald_kj_per_kg_k(2.0, 1.0), 2)
    3.42
    """
    if not (water_kg >= 0 and flour_kg >= 0 and water_kg + flour_kg > 0):
        raise OutOfRangeError("scald_kj_per_kg_k: masses must not be negative, nor both zero")
    heat = water_kg * SCALD_WATER_KJ_PER_KG_K.value + flour_kg * SCALD_FLOUR_KJ_PER_KG_K.value
    return heat / (water_kg + flour_kg)


def adiabatic_pour_c(
    *,
    water_kg: float,
    water_c: float,
    flour_kg: float,
    flour_c: float,
    vessel_heat_capacity_kj_per_k: float = 0.0,
    vessel_c: float | None = None,
    cold_water_kg: float = 0.0,
    cold_water_c: float = 15.0,
    flour_kj_per_kg_k: float = SCALD_FLOUR_KJ_PER_KG_K.value,
    gelatinisation_kj_per_kg: float = GELATINISATION_KJ_PER_KG_FLOUR.value,
) -> float:
    """Return the temperature of a scald that loses nothing [°C].

    Parameters
    ----------
    water_kg, water_c
        Hot water [kg, °C].
    flour_kg, flour_c
        Flour, malt and other dry matter [kg, °C].
    vessel_heat_capacity_kj_per_k, vessel_c
        What the vessel takes per degree [kJ/K], and its temperature [°C]; None for the flour's.
    cold_water_kg, cold_water_c
        Cold water put on the flour first [kg, °C].
    flour_kj_per_kg_k, gelatinisation_kj_per_kg
        Specific heat of the dry matter [kJ/kg K] and what its starch takes [kJ per kg of it].

    Returns
    -------
    float
        Temperature once all is stirred [°C].

    Raises
    ------
    OutOfRangeError
        If a mass is negative, or flour or hot water is missing.

    Notes
    -----
    ``T sum(m c) + m_flour g(T) L = sum(m c T_0)`` over hot water, cold water, flour and vessel,
    with L the heat of gelatinisation and g the share gelatinised at T, which is linear between 57
    and 68 °C, so the equation is solved in closed form. Heat of wetting is left out.

    Examples
    --------
    >>> round(adiabatic_pour_c(water_kg=2, water_c=100, flour_kg=1, flour_c=20), 1)
    84.6
    """
    if not (
        water_kg > 0 and flour_kg > 0 and min(cold_water_kg, vessel_heat_capacity_kj_per_k) >= 0
    ):
        raise OutOfRangeError("adiabatic_pour_c: water_kg and flour_kg must be above zero")
    vessel = vessel_heat_capacity_kj_per_k
    flour = flour_kg * flour_kj_per_kg_k
    hot = water_kg * SCALD_WATER_KJ_PER_KG_K.value
    cold = cold_water_kg * SCALD_WATER_KJ_PER_KG_K.value
    heat = hot * water_c + cold * cold_water_c + flour * flour_c
    heat += vessel * (flour_c if vessel_c is None else vessel_c)
    latent = flour_kg * gelatinisation_kj_per_kg
    return _after_gelatinising(heat, hot + cold + flour + vessel, latent)


def _after_gelatinising(heat_kj: float, capacity_kj_per_k: float, latent_kj: float) -> float:
    """Solve ``C T + g(T) L = H`` for T, with g linear between onset and end [°C]."""
    low, high = GELATINISATION_FROM_C.value, GELATINISATION_TO_C.value
    raw_c = heat_kj / capacity_kj_per_k
    if raw_c <= low:
        return raw_c
    full_c = (heat_kj - latent_kj) / capacity_kj_per_k
    if full_c >= high:
        return full_c
    slope = latent_kj / (high - low)
    return (heat_kj + slope * low) / (capacity_kj_per_k + slope)


def pour_temperature_c(
    *,
    water_kg: float,
    water_c: float,
    flour_kg: float,
    flour_c: float,
    room_c: float,
    vessel_heat_capacity_kj_per_k: float = 0.0,
    cold_water_kg: float = 0.0,
    cold_water_c: float = 15.0,
    loss_fraction: float = POUR_LOSS_FRACTION.value,
) -> float:
    """Return the temperature right after a pour, with what pouring loses [°C].

    Parameters
    ----------
    water_kg, water_c, flour_kg, flour_c, cold_water_kg, cold_water_c
        As `adiabatic_pour_c`.
    room_c
        Air, and the vessel before the pour [°C].
    vessel_heat_capacity_kj_per_k
        What the vessel takes per degree [kJ/K].
    loss_fraction
        Share of the rise over the room that is lost to steam and stirring: 0.15 ± 0.08 [4]_, about
        0.05 with a lid or in a large batch. One reading per vessel replaces it.

    Returns
    -------
    float
        Temperature of the paste [°C].

    Raises
    ------
    OutOfRangeError
        If a mass is impossible or ``loss_fraction`` is not 0 to below 1.

    Notes
    -----
    ``T = T_ad - phi (T_ad - T_room)``. Each per cent of mass that leaves as steam is worth about
    7 K, so weighing before and after tells the loss as well as the yield.

    Examples
    --------
    >>> round(pour_temperature_c(water_kg=2, water_c=100, flour_kg=1, flour_c=20, room_c=20))
    75
    """
    if not 0 <= loss_fraction < 1:
        raise OutOfRangeError(
            f"pour_temperature_c: loss_fraction must be 0 to 1, got {loss_fraction}"
        )
    still_c = adiabatic_pour_c(
        water_kg=water_kg,
        water_c=water_c,
        flour_kg=flour_kg,
        flour_c=flour_c,
        vessel_heat_capacity_kj_per_k=vessel_heat_capacity_kj_per_k,
        vessel_c=room_c,
        cold_water_kg=cold_water_kg,
        cold_water_c=cold_water_c,
    )
    return still_c - loss_fraction * (still_c - room_c)


def cold_hot_split_kg(
    *,
    water_kg: float,
    hot_c: float,
    cold_c: float,
    flour_kg: float,
    flour_c: float,
    target_c: float,
    room_c: float,
    vessel_heat_capacity_kj_per_k: float = 0.0,
    loss_fraction: float = POUR_LOSS_FRACTION.value,
) -> tuple[float, float]:
    """Return the cold and the hot share of a scald's water that land at a temperature [kg].

    Parameters
    ----------
    water_kg
        All its water [kg].
    hot_c, cold_c
        Hot water, and the cold water put on the flour first [°C].
    flour_kg, flour_c, room_c, vessel_heat_capacity_kj_per_k, loss_fraction
        As `pour_temperature_c`.
    target_c
        Wanted temperature right after the pour [°C].

    Returns
    -------
    tuple of float
        Cold and hot water [kg]; they sum to ``water_kg``.

    Raises
    ------
    OutOfRangeError
        If even all hot stays below the target, or all cold above it.

    Notes
    -----
    The balance of `pour_temperature_c` solved for the cold share.

    Examples
    --------
    >>> cold, hot = cold_hot_split_kg(water_kg=2, hot_c=100, cold_c=15, flour_kg=1, flour_c=20,
    ...                               target_c=65, room_c=20)
    >>> round(cold, 2), round(hot, 2)
    (0.34, 1.66)
    """
    if not (water_kg > 0 and flour_kg > 0 and hot_c > cold_c and 0 <= loss_fraction < 1):
        raise OutOfRangeError("cold_hot_split_kg: needs water, flour and two temperatures of water")
    still_c = room_c + (target_c - room_c) / (1 - loss_fraction)
    taken = flour_kg * SCALD_FLOUR_KJ_PER_KG_K.value * (still_c - flour_c)
    taken += vessel_heat_capacity_kj_per_k * (still_c - room_c)
    taken += flour_kg * GELATINISATION_KJ_PER_KG_FLOUR.value * gelatinised_share(still_c)
    per_kg = SCALD_WATER_KJ_PER_KG_K.value
    cold_kg = (water_kg * per_kg * (hot_c - still_c) - taken) / (per_kg * (hot_c - cold_c))
    if not -1e-9 <= cold_kg <= water_kg:
        raise OutOfRangeError(
            f"cold_hot_split_kg: {target_c:g} °C lies outside what this water can give"
        )
    cold_kg = max(cold_kg, 0.0)
    return cold_kg, water_kg - cold_kg

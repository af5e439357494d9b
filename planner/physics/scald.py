"""Scalds: boiling point, heat balance of the pour, quenching with cold water or ice.

References
----------
.. [1] Standard atmosphere and the saturation line of water: 100.0, 98.2, 96.5, 94.8, 93.1 °C at 0,
   500, 1000, 1500, 2000 m.
.. [2] Differential scanning calorimetry of cereal starches: 9 to 15 J per g of starch, 10 used.
.. [3] Adiabatic against published pours of five scalds: loss 0.06 to 0.23 of the rise (ours).
"""

from __future__ import annotations

import numpy as np

from planner.errors import OutOfRangeError

WATER_KJ_PER_KG_K = 4.186
SCALD_FLOUR_KJ_PER_KG_K = 1.9
"""Flour of 14 % moisture when heated to 70 °C, ± 0.2."""

GELATINISATION_KJ_PER_KG_FLOUR = 0.67 * 10.0
"""Two thirds of flour is starch [2]."""

POUR_LOSS_FRACTION = 0.15
"""Share of the rise over the room that is lost in pouring, ± 0.08 [3]."""

MELTING_KJ_PER_KG = 334.0
ICE_KJ_PER_KG_K = 2.1
LEAST_WATER_PER_FLOUR = 1.25
"""Below 1.2 to 1.3 kg of water per kg of flour only part of the starch gelatinises."""

_ALTITUDE_M = (-430.0, 0.0, 500.0, 1000.0, 1500.0, 2000.0, 2500.0, 3000.0, 5500.0)
_BOILING_C = (101.4, 100.0, 98.2, 96.5, 94.8, 93.1, 91.7, 90.0, 81.6)


def boiling_point_c(altitude_m: float) -> float:
    """Return the boiling point of water at a height above the sea [°C].

    Examples
    --------
    >>> round(boiling_point_c(1524.0), 1)
    94.7
    """
    if not _ALTITUDE_M[0] <= altitude_m <= _ALTITUDE_M[-1]:
        raise OutOfRangeError(f"boiling_point_c: altitude_m out of range, got {altitude_m}")
    return float(np.interp(altitude_m, _ALTITUDE_M, _BOILING_C))


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
) -> float:
    """Return the temperature of a scald that loses nothing [°C].

    Notes
    -----
    ``T = (sum m c T - m_flour 6.7 kJ/kg) / sum m c`` over hot water, cold water, flour and vessel;
    starch takes its heat of gelatinisation when the paste gets above 60 °C.
    """
    if water_kg <= 0 or flour_kg <= 0:
        raise OutOfRangeError("adiabatic_pour_c: water_kg and flour_kg must be above zero")
    hot, cold = water_kg * WATER_KJ_PER_KG_K, cold_water_kg * WATER_KJ_PER_KG_K
    flour = flour_kg * SCALD_FLOUR_KJ_PER_KG_K
    vessel_at = flour_c if vessel_c is None else vessel_c
    heat = hot * water_c + cold * cold_water_c + flour * flour_c
    heat += vessel_heat_capacity_kj_per_k * vessel_at
    capacity = hot + cold + flour + vessel_heat_capacity_kj_per_k
    plain = heat / capacity
    if plain <= 60:
        return plain
    return plain - flour_kg * GELATINISATION_KJ_PER_KG_FLOUR / capacity


def pour_temperature_c(
    *,
    water_kg: float,
    water_c: float,
    flour_kg: float,
    flour_c: float,
    room_c: float,
    vessel_heat_capacity_kj_per_k: float = 0.0,
    loss_fraction: float = POUR_LOSS_FRACTION,
) -> float:
    """Return the temperature right after a pour, with what pouring loses [°C].

    Examples
    --------
    >>> t = pour_temperature_c(water_kg=2, water_c=100, flour_kg=1, flour_c=20, room_c=20)
    >>> 73 < t < 77
    True
    """
    still = adiabatic_pour_c(
        water_kg=water_kg,
        water_c=water_c,
        flour_kg=flour_kg,
        flour_c=flour_c,
        vessel_heat_capacity_kj_per_k=vessel_heat_capacity_kj_per_k,
    )
    return still - loss_fraction * (still - room_c)

"""Quenching a scald with water held back from the dough, cold or as ice.

Waiting takes hours and never reaches below the room; cold water or ice in the tub takes minutes.
What goes in is part of the dough's own water.
"""

from __future__ import annotations

from planner.constants import ICE_KJ_PER_KG_K, ICE_MELTING_KJ_PER_KG
from planner.errors import OutOfRangeError
from planner.physics.ferment_constants import SCALD_WATER_KJ_PER_KG_K


def _heat_to_give_up_kj(
    name: str, scald_kg: float, scald_c: float, target_c: float, scald_kj_per_kg_k: float
) -> float:
    if not (scald_kg > 0 and scald_kj_per_kg_k > 0 and scald_c >= target_c):
        raise OutOfRangeError(f"{name}: needs a scald that is warmer than the wanted temperature")
    return scald_kg * scald_kj_per_kg_k * (scald_c - target_c)


def _cold_water_takes_kj_per_kg(target_c: float, cold_c: float) -> float:
    return SCALD_WATER_KJ_PER_KG_K.value * (target_c - cold_c)


def _ice_takes_kj_per_kg(target_c: float, ice_c: float) -> float:
    if ice_c > 0:
        raise OutOfRangeError(f"ice of {ice_c:g} °C does not exist")
    melting = ICE_MELTING_KJ_PER_KG.value - ICE_KJ_PER_KG_K.value * ice_c
    return melting + SCALD_WATER_KJ_PER_KG_K.value * target_c


def quench_water_kg(
    scald_kg: float, scald_c: float, target_c: float, cold_c: float, *, scald_kj_per_kg_k: float
) -> float:
    """Return the cold water that brings a scald down to a temperature [kg].

    Parameters
    ----------
    scald_kg, scald_c, scald_kj_per_kg_k
        Scald [kg, °C, kJ/kg K].
    target_c, cold_c
        Wanted temperature and cold water [°C].

    Returns
    -------
    float
        Water [kg], to be taken out of the dough's own.

    Raises
    ------
    OutOfRangeError
        If the scald is not warmer, or the water not colder, than wanted.

    Notes
    -----
    ``m = m_s c_s (T_s - T) / (c_w (T - T_cold))``; no loss to the air, so it is never too little.

    Examples
    --------
    >>> round(quench_water_kg(1.0, 75.0, 30.0, 4.0, scald_kj_per_kg_k=3.42), 2)
    1.41
    """
    heat = _heat_to_give_up_kj("quench_water_kg", scald_kg, scald_c, target_c, scald_kj_per_kg_k)
    takes = _cold_water_takes_kj_per_kg(target_c, cold_c)
    if takes <= 0:
        raise OutOfRangeError("quench_water_kg: the water must be colder than wanted")
    return heat / takes


def quench_ice_kg(
    scald_kg: float,
    scald_c: float,
    target_c: float,
    *,
    held_back_kg: float,
    cold_c: float,
    ice_c: float = -5.0,
    scald_kj_per_kg_k: float,
) -> float:
    """Return how much of the held-back water must be ice to quench a scald [kg].

    Parameters
    ----------
    scald_kg, scald_c, scald_kj_per_kg_k
        Scald [kg, °C, kJ/kg K].
    target_c
        Wanted temperature [°C].
    held_back_kg, cold_c
        Water of the dough that goes into the scald, ice included [kg], and its temperature [°C].
    ice_c
        Temperature of the ice [°C].

    Returns
    -------
    float
        Ice [kg]; 0 when the cold water alone is enough. The rest of ``held_back_kg`` is water.

    Raises
    ------
    OutOfRangeError
        If even all of it as ice is not enough: hold back more water, or let the scald cool first.

    Notes
    -----
    ``m_ice = (Q - M e_cold) / (e_ice - e_cold)`` with ``Q = m_s c_s (T_s - T)``,
    ``e_cold = c_w (T - T_cold)`` and ``e_ice = 334 + c_w T + c_i |T_ice|``. In a mixer that must
    melt it in time, keep ice below half to six tenths of the water (ours).

    Examples
    --------
    >>> ice = quench_ice_kg(1.0, 75.0, 30.0, held_back_kg=1.0, cold_c=20.0, scald_kj_per_kg_k=3.42)
    >>> round(ice, 2)
    0.26
    """
    heat = _heat_to_give_up_kj("quench_ice_kg", scald_kg, scald_c, target_c, scald_kj_per_kg_k)
    by_cold = _cold_water_takes_kj_per_kg(target_c, cold_c)
    by_ice = _ice_takes_kj_per_kg(target_c, ice_c)
    if not by_ice > by_cold:
        raise OutOfRangeError("quench_ice_kg: the water is colder than the ice is worth")
    ice_kg = (heat - held_back_kg * by_cold) / (by_ice - by_cold)
    if ice_kg > held_back_kg + 1e-9:
        raise OutOfRangeError(
            f"quench_ice_kg: {held_back_kg:g} kg is too little, even all of it as ice"
        )
    return min(max(ice_kg, 0.0), held_back_kg)


def quenched_c(
    scald_kg: float,
    scald_c: float,
    *,
    water_kg: float,
    water_c: float,
    ice_kg: float = 0.0,
    ice_c: float = -5.0,
    scald_kj_per_kg_k: float,
) -> float:
    """Return the temperature of a scald after cold water and ice have melted into it [°C].

    Parameters
    ----------
    scald_kg, scald_c, scald_kj_per_kg_k
        Scald [kg, °C, kJ/kg K].
    water_kg, water_c, ice_kg, ice_c
        What goes in [kg, °C].

    Returns
    -------
    float
        Temperature [°C].

    Raises
    ------
    OutOfRangeError
        If there is more ice than the scald can melt.

    Notes
    -----
    ``T = (m_s c_s T_s + m_w c_w T_w - m_i (334 + c_i |T_i|)) / (m_s c_s + (m_w + m_i) c_w)``.

    Examples
    --------
    >>> round(quenched_c(1.0, 75.0, water_kg=1.0, water_c=20.0, scald_kj_per_kg_k=3.42), 1)
    44.7
    """
    scald = scald_kg * scald_kj_per_kg_k
    per_kg = SCALD_WATER_KJ_PER_KG_K.value
    heat = scald * scald_c + water_kg * per_kg * water_c
    heat -= ice_kg * _ice_takes_kj_per_kg(0.0, ice_c)
    if not (scald > 0 and min(water_kg, ice_kg) >= 0 and heat >= 0):
        raise OutOfRangeError("quenched_c: more ice than the scald can melt, or a negative mass")
    return heat / (scald + (water_kg + ice_kg) * per_kg)

"""Ice and cold water as energy: how much ice replaces how much water.

References
----------
.. [1] Latent heat of fusion 334 kJ/kg = 144 BTU/lb, as used in trade magazines; over the specific
   heat of water it is worth 80 degrees Celsius.
.. [2] A bakery supplier's printed ice table agrees with the replacing formula within 0.004.
"""

from __future__ import annotations

from planner.bakery import IceKind
from planner.errors import OutOfRangeError

MELTING_WORTH_K = 80.0
"""334 / 4.18: degrees of water that melting ice is worth [1]."""

COLD_ICE_WORTH_K_PER_K = 0.49
"""2.05 / 4.18: degrees of water that each degree of ice below 0 °C is worth."""

LEAST_LIQUID_PER_FLOUR = 0.45
"""Liquid water at the start, per flour, so that all flour is wetted (our rule)."""

MOST_ICE_SHARE = 0.40
MOST_CUBE_SHARE = 0.15
GONE_BEFORE_END_MIN = 4.0
"""No ice may be left in the last minutes of mixing (trade practice)."""

# Slowest melting by kind in a dough of 15 °C, from a film of 200 to 600 W/m²K (ours) [min].
MELTING_MIN = {
    IceKind.FLAKE: 1.7,
    IceKind.CRUSHED: 3.0,
    IceKind.NUGGET: 5.0,
    IceKind.CUBE: 21.0,
}


def ice_replacing_water_kg(
    water_kg: float,
    tap_c: float,
    wanted_c: float,
    ice_c: float = 0.0,
    true_ice_fraction: float = 1.0,
) -> float:
    """Return the ice that replaces part of a fixed water so that together they have a temperature.

    Parameters
    ----------
    water_kg
        Water and ice together [kg].
    tap_c, wanted_c
        The water there is, and the wanted temperature, which may lie below 0 °C [°C].
    ice_c, true_ice_fraction
        Temperature of the ice [°C], and the share of it that is really ice.

    Returns
    -------
    float
        Ice [kg].

    Raises
    ------
    OutOfRangeError
        If the wanted temperature lies above the tap, or below what pure ice gives.

    Notes
    -----
    ``I = W (T_tap - T)/(T_tap + 80)``: the denominator holds the tap, since ice takes the place of
    tap water. With ice *added on top* it holds the wanted temperature, see `ice_added_on_top_kg`.

    Examples
    --------
    >>> round(ice_replacing_water_kg(40.0, 20.0, 10.0), 2)
    4.0
    """
    if wanted_c > tap_c:
        raise OutOfRangeError(f"ice_replacing_water_kg: {wanted_c} °C lies above the tap")
    worth = true_ice_fraction * MELTING_WORTH_K + COLD_ICE_WORTH_K_PER_K * -ice_c
    ice_kg = water_kg * (tap_c - wanted_c) / (tap_c + worth)
    if ice_kg > water_kg:
        raise OutOfRangeError(f"ice_replacing_water_kg: colder than pure ice, {wanted_c} °C")
    return ice_kg


def ice_added_on_top_kg(
    water_kg: float, tap_c: float, wanted_c: float, ice_c: float = 0.0
) -> float:
    """Return the ice that, added to all of the water, brings it to a temperature [kg].

    Examples
    --------
    >>> round(ice_added_on_top_kg(40.0, 20.0, 10.0), 2)
    4.44
    """
    if not 0 <= wanted_c <= tap_c:
        raise OutOfRangeError(f"ice_added_on_top_kg: {wanted_c} °C is not between 0 °C and the tap")
    worth = MELTING_WORTH_K + COLD_ICE_WORTH_K_PER_K * -ice_c
    return water_kg * (tap_c - wanted_c) / (wanted_c + worth)


def ice_share_f(tap_f: float, wanted_f: float) -> float:
    """Return the share of the water that must be ice, from degrees Fahrenheit.

    Examples
    --------
    >>> round(ice_share_f(70.0, 40.0), 4)
    0.1648
    """
    return (tap_f - wanted_f) / (tap_f - 32 + 144)


def ice_share_cap(hydration: float, kind: IceKind) -> float:
    """Return the largest share of a dough's water that may be ice.

    Notes
    -----
    ``1 - 0.45/hydration``, at most 0.40; cubes at most 0.15.

    Examples
    --------
    >>> round(ice_share_cap(0.65, IceKind.FLAKE), 2), ice_share_cap(0.40, IceKind.FLAKE)
    (0.31, 0.0)
    """
    most = MOST_CUBE_SHARE if kind is IceKind.CUBE else MOST_ICE_SHARE
    if hydration <= LEAST_LIQUID_PER_FLOUR:
        return 0.0
    return min(most, 1 - LEAST_LIQUID_PER_FLOUR / hydration)


def melts_in_time(kind: IceKind, mix_min: float) -> bool:
    """Return whether ice of a kind is gone four minutes before the end of a mix.

    Examples
    --------
    >>> melts_in_time(IceKind.FLAKE, 8.0), melts_in_time(IceKind.CUBE, 8.0)
    (True, False)
    """
    return MELTING_MIN[kind] + GONE_BEFORE_END_MIN <= mix_min

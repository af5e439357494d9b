"""Ice and cold water as energy: how much ice replaces how much water, and how fast it melts.

References
----------
.. [1] Latent heat of fusion 334 kJ/kg = 144 BTU/lb, as used in trade magazines; over the specific
   heat of water it is worth 80 degrees Celsius.
.. [2] A bakery supplier's printed ice table agrees with the replacing formula within 0.004.
.. [3] Levine 2003, Cereal Foods World, energy balances III: stored ice carries free water, which
   the sum must not count as ice.
"""

from __future__ import annotations

from planner.constants import (
    COLD_ICE_WORTH_K_PER_K,
    ICE_FILM_W_PER_M2K,
    ICE_GONE_BEFORE_END_MIN,
    ICE_KG_PER_M3,
    ICE_MELTING_KJ_PER_KG,
    ICE_WORTH_K,
    LEAST_LIQUID_PER_FLOUR,
    MOST_CUBE_SHARE,
    MOST_ICE_SHARE,
)
from planner.errors import OutOfRangeError
from planner.quantities import F_PER_K, celsius_from_fahrenheit
from planner.water_sources import IceKind

COLD_DOUGH_C = 15.0
"""Dough in the first minutes of a cold mix, when ice melts [°C] (our guess)."""

# Thickness of the usual piece of each kind, ours [mm].
THICKNESS_MM = {
    IceKind.FLAKE: 2.0,
    IceKind.CRUSHED: 3.5,
    IceKind.NUGGET: 6.0,
    IceKind.CUBE: 25.0,
}


def ice_worth_k(ice_c: float = 0.0, true_ice_fraction: float = 1.0) -> float:
    """Return the degrees of water that a kilo of ice is worth until it is water at 0 °C [K].

    Parameters
    ----------
    ice_c
        Temperature of the ice, at most 0 [°C].
    true_ice_fraction
        Share of its weight that is really ice [3]; the rest is water at 0 °C.

    Raises
    ------
    OutOfRangeError
        If ice is above 0 °C, or its true share is not between 0 and 1.

    Examples
    --------
    >>> round(ice_worth_k(-18.0))
    89
    """
    if ice_c > 0 or not 0 < true_ice_fraction <= 1:
        raise OutOfRangeError(f"ice_worth_k: no ice at {ice_c} °C, true share {true_ice_fraction}")
    return true_ice_fraction * ICE_WORTH_K.value - COLD_ICE_WORTH_K_PER_K.value * ice_c


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
    Below 0 °C the wanted temperature is an energy number.

    References
    ----------
    A bakery supplier's printed ice table, within 0.004 [2].

    Examples
    --------
    >>> round(ice_replacing_water_kg(40.0, 20.0, 10.0), 2)
    4.0
    """
    if water_kg < 0 or not -5 <= tap_c <= 100:
        raise OutOfRangeError(f"ice_replacing_water_kg: {water_kg} kg of water at {tap_c} °C")
    if wanted_c > tap_c:
        raise OutOfRangeError(f"ice_replacing_water_kg: {wanted_c} °C lies above the tap")
    worth_k = ice_worth_k(ice_c, true_ice_fraction)
    if wanted_c < -worth_k:
        raise OutOfRangeError(f"ice_replacing_water_kg: colder than pure ice, {wanted_c} °C")
    return water_kg * (tap_c - wanted_c) / (tap_c + worth_k)


def ice_added_on_top_kg(
    water_kg: float,
    tap_c: float,
    wanted_c: float,
    ice_c: float = 0.0,
    true_ice_fraction: float = 1.0,
) -> float:
    """Return the ice that, added to all of the water, brings it to a temperature [kg].

    Parameters
    ----------
    water_kg
        Water that stays [kg].
    tap_c, wanted_c
        The water there is, and the wanted temperature, not below 0 °C [°C].
    ice_c, true_ice_fraction
        Temperature of the ice [°C], and the share of it that is really ice.

    Raises
    ------
    OutOfRangeError
        If the wanted temperature is not between 0 °C and the tap.

    Notes
    -----
    ``I = W (T_tap - T)/(T + 80)``. It adds to the water of the formula, so no ticket uses it.

    Examples
    --------
    >>> round(ice_added_on_top_kg(40.0, 20.0, 10.0), 2)
    4.44
    """
    if water_kg < 0 or not 0 <= wanted_c <= tap_c:
        raise OutOfRangeError(f"ice_added_on_top_kg: {wanted_c} °C is not between 0 °C and the tap")
    return water_kg * (tap_c - wanted_c) / (wanted_c + ice_worth_k(ice_c, true_ice_fraction))


def equivalent_temperature_c(
    water_kg: float,
    tap_c: float,
    ice_kg: float,
    ice_c: float = 0.0,
    true_ice_fraction: float = 1.0,
) -> float:
    """Return the temperature of water that would cool as water with some ice in it does [°C].

    Parameters
    ----------
    water_kg
        Water and ice together [kg].
    tap_c
        The liquid water [°C].
    ice_kg
        Ice in it [kg].
    ice_c, true_ice_fraction
        Temperature of the ice [°C], and the share of it that is really ice.

    Raises
    ------
    OutOfRangeError
        If there is no water, or more ice than water.

    Notes
    -----
    ``T_tap - y (T_tap + 80)`` with ``y`` the share of ice: the inverse of
    `ice_replacing_water_kg`.

    Examples
    --------
    >>> equivalent_temperature_c(10.0, 15.0, 2.0)
    -4.0
    """
    if water_kg <= 0 or not 0 <= ice_kg <= water_kg:
        raise OutOfRangeError(f"equivalent_temperature_c: {ice_kg} kg of ice in {water_kg} kg")
    return tap_c - ice_kg / water_kg * (tap_c + ice_worth_k(ice_c, true_ice_fraction))


def ice_share_f(tap_f: float, wanted_f: float) -> float:
    """Return the share of the water that must be ice, from degrees Fahrenheit.

    Notes
    -----
    ``(tap - wanted)/(tap - 32 + 144)``, as the trade writes it.

    Examples
    --------
    >>> round(ice_share_f(70.0, 40.0), 4)
    0.1648
    """
    worth_f = F_PER_K * (celsius_from_fahrenheit(tap_f) + ICE_WORTH_K.value)
    return (tap_f - wanted_f) / worth_f


def ice_share_cap(hydration: float, kind: IceKind) -> float:
    """Return the largest share of a dough's water that may be ice.

    Parameters
    ----------
    hydration
        Water per flour.
    kind
        Shape of the ice.

    Raises
    ------
    OutOfRangeError
        If the hydration is negative.

    Notes
    -----
    ``1 - 0.45/hydration``, at most 0.40, so that liquid water wets all flour at the start; cubes
    at most 0.15. No measured limit is published.

    Examples
    --------
    >>> round(ice_share_cap(0.65, IceKind.FLAKE), 2), ice_share_cap(0.40, IceKind.FLAKE)
    (0.31, 0.0)
    """
    if hydration < 0:
        raise OutOfRangeError(f"ice_share_cap: hydration is negative, {hydration}")
    if hydration <= LEAST_LIQUID_PER_FLOUR.value:
        return 0.0
    most = MOST_CUBE_SHARE if kind is IceKind.CUBE else MOST_ICE_SHARE
    return min(most.value, 1 - LEAST_LIQUID_PER_FLOUR.value / hydration)


def melt_minutes(kind: IceKind, dough_c: float = COLD_DOUGH_C) -> tuple[float, float]:
    """Return the fastest and the slowest melting of ice in moving dough [min].

    Parameters
    ----------
    kind
        Shape of the ice.
    dough_c
        Dough around it, above 0 [°C].

    Raises
    ------
    OutOfRangeError
        If the dough is not above freezing.

    Notes
    -----
    Half the thickness melts from each side through a film: ``t = rho L (d/2)/(h T)``, with ``h``
    from 200 to 600 W/m²K. The warming of the ice to 0 °C is left out.

    Examples
    --------
    >>> tuple(round(t, 1) for t in melt_minutes(IceKind.FLAKE))
    (0.6, 1.7)
    """
    if dough_c <= 0:
        raise OutOfRangeError(f"melt_minutes: nothing melts at {dough_c} °C")
    half_m = THICKNESS_MM[kind] / 2000
    joules_per_m2 = ICE_KG_PER_M3.value * ICE_MELTING_KJ_PER_KG.value * 1000 * half_m
    fast, slow = (
        joules_per_m2 / (film * dough_c) / 60
        for film in (ICE_FILM_W_PER_M2K.high, ICE_FILM_W_PER_M2K.low)
    )
    return fast, slow


def melts_in_time(kind: IceKind, mix_min: float, dough_c: float = COLD_DOUGH_C) -> bool:
    """Return whether the slowest ice of a kind is gone four minutes before the end of a mix.

    Parameters
    ----------
    kind
        Shape of the ice.
    mix_min
        Minutes on the mixer, rests included [min].
    dough_c
        Dough around it while it melts [°C].

    Examples
    --------
    >>> melts_in_time(IceKind.FLAKE, 8.0), melts_in_time(IceKind.CUBE, 8.0)
    (True, False)
    """
    return melt_minutes(kind, dough_c)[1] + ICE_GONE_BEFORE_END_MIN.value <= mix_min

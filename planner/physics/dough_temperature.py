"""How fast a dough follows the air around it, and the heat it makes and holds.

Dough of a given mass is a box with a surface coefficient on each side; the conduction inside is
a Biot correction on the lumped time constant, good to about 10 % for the mean temperature. It
is the *mean* that drives the fermentation clock; the core of a big tub lags far behind it.

References
----------
.. [1] Choi and Okos 1986, in Food Engineering and Process Applications, vol. 1, p. 93.
.. [2] Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., 3.11 (slab with surface loss;
   the box is the product of three).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import exp, inf, log

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Cover
from planner.constants import STEEL_KJ_PER_KG_K
from planner.errors import OutOfRangeError
from planner.physics.ferment_constants import (
    BIOT_CORRECTION,
    DOUGH_KJ_PER_KG_K,
    FERMENTATION_MOST_W_PER_KG,
    FERMENTATION_W_H_PER_KG,
    RISEN_DOUGH_W_PER_M_K,
)

Numbers = NDArray[np.float64]


class Surroundings(StrEnum):
    """How heat leaves the dough."""

    ROOM = "still air of a room"
    FAN_CHAMBER = "chamber with a fan"
    BENCH = "lying on a bench, uncovered"


class DoughShape(StrEnum):
    """How dough stands: as a mass in its tub, or as shaped pieces."""

    TUB = "tub"
    PIECE = "piece"


@dataclass(frozen=True, slots=True)
class Surface:
    """Surface coefficients of top, bottom and sides [W/m²K]."""

    top: float
    bottom: float
    side: float


SURFACES = {
    # Free convection and radiation, top covered; a fan of 1 to 2 m/s (both ours).
    Surroundings.ROOM: Surface(4.0, 5.0, 6.0),
    Surroundings.FAN_CHAMBER: Surface(10.0, 12.0, 15.0),
    # Bare top, and a bottom in contact with wood or steel at room temperature (a guess of ours).
    Surroundings.BENCH: Surface(8.0, 20.0, 6.0),
}

OPEN_TOP_FACTOR = 2.0
"""A bare top gives off so many times what a covered one does, as long as it is moist (ours)."""


def surface_of(surroundings: Surroundings, cover: Cover, shape: DoughShape) -> Surface:
    """Return the surface coefficients of a dough under its cover.

    Parameters
    ----------
    surroundings
        Where it stands.
    cover
        What lies on it; pieces under a lid stand in closed boxes, in still air also under a fan.
    shape
        Tub or piece.

    Examples
    --------
    >>> surface_of(Surroundings.FAN_CHAMBER, Cover.LID, DoughShape.PIECE).top
    4.0
    """
    if cover is Cover.LID and shape is DoughShape.PIECE:
        return SURFACES[Surroundings.ROOM]
    surface = SURFACES[surroundings]
    if cover is Cover.OPEN:
        return replace(surface, top=OPEN_TOP_FACTOR * surface.top)
    return surface


# Usual box of a mass: kg, length, width, depth [m]. Sizes of common trade tubs and shaped
# pieces at 0.58 to 0.83 kg/L (ours); between rows by the logarithm of the mass.
_TUBS = np.array(
    [
        (1.0, 0.20, 0.16, 0.05),
        (5.0, 0.38, 0.28, 0.06),
        (10.0, 0.53, 0.38, 0.06),
        (20.0, 0.53, 0.38, 0.13),
        (30.0, 0.53, 0.38, 0.19),
        (60.0, 0.65, 0.65, 0.20),
        (120.0, 0.80, 0.80, 0.23),
        (300.0, 1.20, 1.00, 0.32),
    ]
)
_PIECES = np.array(
    [
        (0.05, 0.05, 0.05, 0.03),
        (0.25, 0.09, 0.09, 0.05),
        (0.62, 0.116, 0.116, 0.07),
        (1.0, 0.17, 0.17, 0.06),
        (2.0, 0.22, 0.22, 0.075),
    ]
)


def box_m(dough_kg: float, shape: DoughShape) -> tuple[float, float, float]:
    """Return length, width and depth of the usual box of a mass [m].

    Parameters
    ----------
    dough_kg
        Mass that stands together [kg]. Below the smallest and above the largest usual box its
        proportions are kept.
    shape
        Tub or piece.

    Returns
    -------
    tuple of float
        Length, width, depth [m].

    Raises
    ------
    OutOfRangeError
        If the mass is not above zero.

    Examples
    --------
    >>> box_m(20.0, DoughShape.TUB)
    (0.53, 0.38, 0.13)
    """
    if not dough_kg > 0:
        raise OutOfRangeError(f"box_m: dough_kg must be above zero, got {dough_kg}")
    table = _TUBS if shape is DoughShape.TUB else _PIECES
    inside_kg = min(max(dough_kg, float(table[0, 0])), float(table[-1, 0]))
    scale = (dough_kg / inside_kg) ** (1 / 3)
    length, width, depth = (
        round(exp(np.interp(log(inside_kg), np.log(table[:, 0]), np.log(table[:, i]))), 6) * scale
        for i in (1, 2, 3)
    )
    return length, width, depth


def biot_number(dough_kg: float, surroundings: Surroundings, *, shape: DoughShape) -> float:
    """Return the Biot number ``h (V/A) / k``: how much the inside lags behind the surface.

    Parameters
    ----------
    dough_kg
        Mass that stands together [kg].
    surroundings
        How heat leaves it.
    shape
        Tub or piece.

    Returns
    -------
    float
        Dimensionless. Above 1 the mean says little about the core.

    Examples
    --------
    >>> round(biot_number(20.0, Surroundings.ROOM, shape=DoughShape.TUB), 1)
    0.6
    """
    return box_biot(box_m(dough_kg, shape), SURFACES[surroundings])


def box_biot(sides_m: tuple[float, float, float], surface: Surface) -> float:
    """Return the Biot number of a box of dough in its place.

    Parameters
    ----------
    sides_m
        Length, width, depth [m].
    surface
        Surface coefficients of its place.

    Examples
    --------
    >>> round(box_biot((0.53, 0.38, 0.13), SURFACES[Surroundings.FAN_CHAMBER]), 1)
    1.6
    """
    length_m, width_m, depth_m = sides_m
    area_m2 = 2 * (length_m * width_m + length_m * depth_m + width_m * depth_m)
    through_m = length_m * width_m * depth_m / area_m2
    return loss_w_per_k(sides_m, surface) / area_m2 * through_m / RISEN_DOUGH_W_PER_M_K.value


def loss_w_per_k(
    sides_m: tuple[float, float, float], surface: Surface, *, behind_m2_k_per_w: float = 0.0
) -> float:
    """Return what a box of dough gives to its place per degree [W/K].

    Parameters
    ----------
    sides_m
        Length, width, depth [m].
    surface
        Surface coefficients.
    behind_m2_k_per_w
        Resistance of dough that the heat passes before the surface [m²K/W].

    Examples
    --------
    >>> round(loss_w_per_k((0.5, 0.4, 0.1), Surface(4.0, 5.0, 6.0)), 2)
    2.88
    """
    length_m, width_m, depth_m = sides_m
    ends_m2, round_m2 = length_m * width_m, 2 * (length_m + width_m) * depth_m
    top, bottom, side = (
        h / (1 + h * behind_m2_k_per_w) for h in (surface.top, surface.bottom, surface.side)
    )
    return ends_m2 * (top + bottom) + round_m2 * side


def time_constant_min(
    dough_kg: float, surroundings: Surroundings, *, shape: DoughShape = DoughShape.TUB
) -> float:
    """Return the time in which the mean of a dough comes 63 % nearer to the air [min].

    Parameters
    ----------
    dough_kg
        Mass that stands together [kg].
    surroundings
        How heat leaves it.
    shape
        Tub or piece.

    Returns
    -------
    float
        Time constant [min].

    Raises
    ------
    OutOfRangeError
        If the mass is not above zero.

    Notes
    -----
    ``tau = m c / sum(h A) (1 + 0.7 Bi)``: within 10 % of three-way conduction [2]_, 13 % too slow
    for 120 kg in moving air. A full retarder adds one to two hours of its own, and stacked boxes
    behave as `Surroundings.ROOM` even under a fan. Specific heat after [1]_.

    Examples
    --------
    >>> round(time_constant_min(20.0, Surroundings.ROOM) / 60, 1)
    7.0
    """
    return lumped_time_constant_min(dough_kg, box_m(dough_kg, shape), SURFACES[surroundings])


def lumped_time_constant_min(
    dough_kg: float, sides_m: tuple[float, float, float], surface: Surface
) -> float:
    """Return the time constant of the mean of a box of dough [min].

    Parameters
    ----------
    dough_kg
        What is in it [kg].
    sides_m
        Length, width, depth [m].
    surface
        Surface coefficients of its place.

    Notes
    -----
    As `time_constant_min`.

    Examples
    --------
    >>> round(lumped_time_constant_min(20.0, (0.53, 0.38, 0.13), SURFACES[Surroundings.ROOM]) / 60)
    7
    """
    lumped_s = dough_kg * DOUGH_KJ_PER_KG_K.value * 1000 / loss_w_per_k(sides_m, surface)
    return lumped_s * (1 + BIOT_CORRECTION.value * box_biot(sides_m, surface)) / 60


def heat_of_fermentation_w_per_kg(reference_hours: ArrayLike) -> Numbers:
    """Return the heat a dough makes at its reference temperature [W/kg].

    Parameters
    ----------
    reference_hours
        Ripe after so many hours, number or array [h].

    Returns
    -------
    ndarray
        Shape of ``reference_hours``.

    Raises
    ------
    OutOfRangeError
        If the hours are not above zero.

    Notes
    -----
    ``q = min(0.8 / X, 0.9)``. 1.15 kJ per g of CO2 (standard enthalpies, glucose to ethanol and
    gas). A dough that is ripe in an hour gasses at about 1.4 L/kg h, slower doughs in proportion
    (ours; no calorimetry of dough was found).

    Examples
    --------
    >>> float(heat_of_fermentation_w_per_kg(2.0))
    0.4
    """
    hours = np.asarray(reference_hours, dtype=np.float64)
    if not np.all(hours > 0):
        raise OutOfRangeError(
            f"heat_of_fermentation_w_per_kg: reference_hours must be above zero, got {hours}"
        )
    return np.asarray(
        np.minimum(FERMENTATION_W_H_PER_KG.value / hours, FERMENTATION_MOST_W_PER_KG.value),
        dtype=np.float64,
    )


def minutes_to_pass(
    start_c: float, target_c: float, air_c: float, time_constant_min: float
) -> float:
    """Return minutes until a dough in steady air passes a temperature [min].

    Parameters
    ----------
    start_c, target_c, air_c
        Dough at the start, wanted, and air [°C].
    time_constant_min
        Of the dough in its place [min].

    Returns
    -------
    float
        0 when it starts there, infinite when it never gets there [min].

    Notes
    -----
    ``t = tau ln((T_start - T_air) / (T_target - T_air))`` for the mean, without heat of its own.

    Examples
    --------
    >>> round(minutes_to_pass(6.0, 16.0, 22.0, 110.0))
    108
    """
    if not time_constant_min > 0:
        raise OutOfRangeError("minutes_to_pass: time_constant_min must be above zero")
    away_k, left_k = start_c - air_c, target_c - air_c
    if away_k * left_k < 0:
        return inf  # the target lies on the other side of the air
    if start_c == target_c:
        return 0.0
    if left_k == 0 or abs(left_k) >= abs(away_k):
        return inf
    return time_constant_min * log(away_k / left_k)


def heat_to_remove_kj(
    dough_kg: float, from_c: float, to_c: float, *, steel_kg: float = 0.0
) -> float:
    """Return the heat that a load gives off while it cools [kJ].

    Parameters
    ----------
    dough_kg, steel_kg
        Dough, and the racks and trays that go in with it [kg].
    from_c, to_c
        Temperatures of both [°C].

    Returns
    -------
    float
        Heat [kJ]; negative when the load is warmed.

    Raises
    ------
    OutOfRangeError
        If a mass is negative.

    Notes
    -----
    ``Q = (m c + m_steel c_steel)(T_from - T_to)``; heat of fermentation and open doors come on top.

    Examples
    --------
    >>> round(heat_to_remove_kj(100.0, 26.0, 4.0))
    6160
    """
    if min(dough_kg, steel_kg) < 0:
        raise OutOfRangeError("heat_to_remove_kj: masses must not be negative")
    capacity = dough_kg * DOUGH_KJ_PER_KG_K.value + steel_kg * STEEL_KJ_PER_KG_K.value
    return capacity * (from_c - to_c)


def shortest_cooling_h(heat_kj: float, cooler_kw: float) -> float:
    """Return the least time in which a cooler can take up a heat [h].

    Parameters
    ----------
    heat_kj
        Heat to remove [kJ].
    cooler_kw
        Heat the cooler takes at that temperature [kW].

    Returns
    -------
    float
        Time [h]; the dough's own time constant may ask for more.

    Examples
    --------
    >>> shortest_cooling_h(7200.0, 1.0)
    2.0
    """
    if not cooler_kw > 0:
        raise OutOfRangeError(f"shortest_cooling_h: cooler_kw must be above zero, got {cooler_kw}")
    return heat_kj / cooler_kw / 3600

"""Cooling of a hot paste in its vessel: conduction upwards, loss at top, bottom and sides.

A still paste is not a point: at a surface coefficient of 10 W/m²K and 0.5 W/mK a layer of 5 cm has
a Biot number of 1. The paste is a column of cells with conduction between them, stepped
implicitly; each cell also loses heat through the sides. A stirred paste is one cell.

References
----------
.. [1] Perry's and heating handbooks, loss from open tanks of hot water in still air of 60 °F: the
   dry column gives 9 to 12 W/m²K between 32 and 82 °C.
.. [2] Psychrometric relation between evaporation and convection, 15.4 W/m² per kPa and W/m²K.
.. [3] Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601, eq. 21 (vapour pressure).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Cover, VesselShape
from planner.errors import OutOfRangeError

Numbers = NDArray[np.float64]
OverTime = Callable[[Numbers], Numbers]

PASTE_CONDUCTIVITY_W_PER_M_K = 0.50
"""0.43 to 0.55 between 30 and 70 °C for starch pastes of this water."""

PASTE_DENSITY_KG_PER_M3 = 1080.0
"""Scald of one part flour and two of water (our estimate)."""

COVERED_TOP_W_PER_M2_K = 9.0
OPEN_TOP_DRY_W_PER_M2_K = 11.0
EVAPORATION_W_PER_M2_KPA = 77.0
"""15.4 times a convection of 5 W/m²K [2]."""

SKIN_FACTOR = 0.6
"""Share of free-water evaporation that a skinned paste keeps (our guess)."""

CELLS = 24


class CoolingPlace(StrEnum):
    """Where a vessel stands while it cools."""

    BENCH = "bench"
    RACK = "rack"
    COOLER = "cooler"
    BLAST = "blast chiller"


SIDE_W_PER_M2_K = {
    CoolingPlace.BENCH: 9.0,
    CoolingPlace.RACK: 9.0,
    CoolingPlace.COOLER: 8.0,
    CoolingPlace.BLAST: 27.0,
}
BOTTOM_W_PER_M2_K = {
    CoolingPlace.BENCH: 6.0,
    CoolingPlace.RACK: 9.0,
    CoolingPlace.COOLER: 8.0,
    CoolingPlace.BLAST: 27.0,
}
TOP_W_PER_M2_K = {
    CoolingPlace.BENCH: COVERED_TOP_W_PER_M2_K,
    CoolingPlace.RACK: COVERED_TOP_W_PER_M2_K,
    CoolingPlace.COOLER: 8.0,
    CoolingPlace.BLAST: 27.0,
}


@dataclass(frozen=True, slots=True)
class CoolingBody:
    """Paste in a vessel.

    Attributes
    ----------
    mass_kg
        Mass of paste [kg].
    shape, length_m, width_m
        Horizontal section; a round vessel has its diameter in both [m].
    specific_heat_kj_per_kg_k
        Specific heat of the paste [kJ/kg K].
    stirred
        Stirred about every quarter of an hour.
    """

    mass_kg: float
    shape: VesselShape
    length_m: float
    width_m: float
    cover: Cover
    place: CoolingPlace
    specific_heat_kj_per_kg_k: float
    stirred: bool = False
    conductivity_w_per_m_k: float = PASTE_CONDUCTIVITY_W_PER_M_K
    density_kg_per_m3: float = PASTE_DENSITY_KG_PER_M3

    def __post_init__(self) -> None:
        for name in ("mass_kg", "length_m", "width_m", "specific_heat_kj_per_kg_k"):
            if not getattr(self, name) > 0:
                raise OutOfRangeError(f"CoolingBody: {name} must be above zero")

    @property
    def area_m2(self) -> float:
        """Horizontal section [m²]."""
        if self.shape is VesselShape.ROUND:
            return pi / 4 * self.length_m**2
        return self.length_m * self.width_m

    @property
    def perimeter_m(self) -> float:
        """Length of the side wall around the section [m]."""
        if self.shape is VesselShape.ROUND:
            return pi * self.length_m
        return 2 * (self.length_m + self.width_m)

    @property
    def depth_m(self) -> float:
        """Depth of the paste [m]."""
        return self.mass_kg / self.density_kg_per_m3 / self.area_m2

    @property
    def side_w_per_m2_k(self) -> float:
        """Coefficient through the sides, with the paste's own resistance unless stirred."""
        outer = 1 / SIDE_W_PER_M2_K[self.place]
        if self.stirred:
            return 1 / outer
        half = min(self.length_m, self.width_m) / 2
        share = 4 if self.shape is VesselShape.ROUND else 3
        return 1 / (outer + half / (share * self.conductivity_w_per_m_k))


@dataclass(frozen=True, slots=True)
class CoolingPath:
    """A cool-down.

    Attributes
    ----------
    minutes
        Minutes after the pour, shape (N,).
    mean_c, warmest_c
        Mean and warmest temperature [°C], shape (N, ...).
    """

    minutes: Numbers
    mean_c: Numbers
    warmest_c: Numbers


def vapour_pressure_kpa(temperature_c: ArrayLike) -> Numbers:
    """Return the saturation pressure of water vapour [kPa].

    Examples
    --------
    >>> round(float(vapour_pressure_kpa(25.0)), 1)
    3.2
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(0.61094 * np.exp(17.625 * t / (t + 243.04)), dtype=np.float64)


def top_w_per_m2_k(
    body: CoolingBody, surface_c: Numbers, air_c: Numbers, humidity: Numbers
) -> Numbers:
    """Return the coefficient at the top [W/m²K]: dry when covered, with evaporation when open."""
    if body.cover is not Cover.OPEN:
        return np.full_like(surface_c, TOP_W_PER_M2_K[body.place])
    drive_kpa = vapour_pressure_kpa(surface_c) - humidity * vapour_pressure_kpa(air_c)
    gap_k = np.maximum(surface_c - air_c, 0.5)
    wet = SKIN_FACTOR * EVAPORATION_W_PER_M2_KPA * np.maximum(drive_kpa, 0.0) / gap_k
    dry = max(OPEN_TOP_DRY_W_PER_M2_K, TOP_W_PER_M2_K[body.place])
    return np.asarray(dry + np.minimum(wet, 200.0), dtype=np.float64)


def cooling_path(
    body: CoolingBody,
    *,
    start_c: ArrayLike,
    start_minute: ArrayLike,
    air_c: OverTime,
    humidity: OverTime,
    span_min: float,
    step_min: float = 5.0,
) -> CoolingPath:
    """Follow a cool-down.

    Parameters
    ----------
    body
        Paste and vessel.
    start_c
        Uniform temperature at the start [°C]; broadcasts with ``start_minute``.
    start_minute
        Start [min], any shape.
    air_c, humidity
        Air temperature [°C] and relative humidity (0 to 1) over minutes.
    span_min, step_min
        Length and step [min].

    Returns
    -------
    CoolingPath
        Shapes (N, ...) with the shape of the starts behind.

    Notes
    -----
    ``rho c dT/dt = k d²T/dz² - U P/A (T - T_air)`` with ``k dT/dz`` at top and bottom equal to the
    surface losses, implicit in time; the top coefficient is taken from the step before. The
    surface lies half a cell above the middle of its cell, which adds its resistance.
    """
    starts, first = np.broadcast_arrays(
        np.asarray(start_minute, dtype=np.float64), np.asarray(start_c, dtype=np.float64)
    )
    shape, starts = starts.shape, starts.reshape(-1)
    cells = 1 if body.stirred else CELLS
    column = np.tile(first.reshape(-1), (cells, 1)).astype(np.float64)
    count = ceil(span_min / step_min) + 1
    mean, warmest = np.empty((count, len(starts))), np.empty((count, len(starts)))
    mean[0], warmest[0] = column.mean(axis=0), column.max(axis=0)
    for i in range(1, count):
        now = starts + (i - 0.5) * step_min
        column = _step(body, column, air_c(now), humidity(now), step_min * 60)
        mean[i], warmest[i] = column.mean(axis=0), column.max(axis=0)
    return CoolingPath(
        np.arange(count, dtype=np.float64) * step_min,
        mean.reshape(count, *shape),
        warmest.reshape(count, *shape),
    )


def _step(
    body: CoolingBody, column: Numbers, air_c: Numbers, humidity: Numbers, step_s: float
) -> Numbers:
    """Return the column after one implicit step; rows are cells from the bottom up."""
    cells = len(column)
    dz = body.depth_m / cells
    heat = body.density_kg_per_m3 * body.specific_heat_kj_per_kg_k * 1000 * dz / step_s
    half = 0.0 if body.stirred else dz / (2 * body.conductivity_w_per_m_k)
    link = 0.0 if cells == 1 else body.conductivity_w_per_m_k / dz
    side = body.side_w_per_m2_k * body.perimeter_m / body.area_m2 * dz
    top = 1 / (1 / top_w_per_m2_k(body, column[-1], air_c, humidity) + half)
    bottom = 1 / (1 / BOTTOM_W_PER_M2_K[body.place] + half)
    diagonal = np.full_like(column, heat + side + 2 * link)
    diagonal[0] += bottom - link
    diagonal[-1] += top - link
    right = heat * column + side * air_c
    right[0] += bottom * air_c
    right[-1] += top * air_c
    if cells == 1:
        return np.asarray(right / diagonal, dtype=np.float64)
    return _solve_tridiagonal(diagonal, link, right)


def _solve_tridiagonal(diagonal: Numbers, link: float, right: Numbers) -> Numbers:
    """Solve for all columns at once; off-diagonals are all ``-link`` (Thomas algorithm)."""
    cells = len(diagonal)
    ratio, known = np.empty_like(right), np.empty_like(right)
    ratio[0], known[0] = -link / diagonal[0], right[0] / diagonal[0]
    for i in range(1, cells):
        pivot = diagonal[i] + link * ratio[i - 1]
        ratio[i] = -link / pivot
        known[i] = (right[i] + link * known[i - 1]) / pivot
    solved = np.empty_like(right)
    solved[-1] = known[-1]
    for i in range(cells - 2, -1, -1):
        solved[i] = known[i] - ratio[i] * solved[i + 1]
    return solved


def minutes_to_cool(path: CoolingPath, target_c: float) -> Numbers:
    """Return minutes until the mean is at ``target_c``, infinite when it never is [min]."""
    mean = path.mean_c.reshape(len(path.minutes), -1)
    below = mean <= target_c
    reached = below.any(axis=0)
    j = np.maximum(below.argmax(axis=0), 1)
    lane = np.arange(mean.shape[1])
    before, after = mean[j - 1, lane], mean[j, lane]
    share = (before - target_c) / np.maximum(before - after, 1e-12)
    minutes = path.minutes[j - 1] + np.clip(share, 0, 1) * (path.minutes[j] - path.minutes[j - 1])
    minutes = np.where(below[0], 0.0, minutes)
    return np.where(reached, minutes, np.inf).reshape(path.mean_c.shape[1:])


def quick_time_constant_min(body: CoolingBody) -> float:
    """Return the closed-form time constant of a covered paste, as a cross-check [min].

    Notes
    -----
    ``1/tau`` is the sum over the vertical slab and the sides. Slab: ``rho c L (1/h + 0.405 L/k)``
    with the half depth L and the mean of top and bottom; good to 5 % for Biot numbers of 0.1 to
    10.
    """
    rho_c = body.density_kg_per_m3 * body.specific_heat_kj_per_kg_k * 1000
    half = body.depth_m / 2
    h = (TOP_W_PER_M2_K[body.place] + BOTTOM_W_PER_M2_K[body.place]) / 2
    slab = rho_c * half * (1 / h + 0.405 * half / body.conductivity_w_per_m_k)
    side = rho_c * body.area_m2 / (body.perimeter_m * body.side_w_per_m2_k)
    return 1 / (1 / slab + 1 / side) / 60


def usual_vessel(mass_kg: float) -> tuple[VesselShape, float, float]:
    """Return shape and sides of the usual vessel for a mass of paste [m].

    Up to 3 kg a bowl of 22 cm, up to 30 kg a tub of 53 by 38 cm, above a bowl of 70 cm.
    """
    if mass_kg <= 0:
        raise OutOfRangeError(f"usual_vessel: mass_kg must be above zero, got {mass_kg}")
    if mass_kg <= 3:
        return VesselShape.ROUND, 0.22, 0.22
    if mass_kg <= 30:
        return VesselShape.BOX, 0.53, 0.38
    return VesselShape.ROUND, 0.70, 0.70

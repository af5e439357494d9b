"""Cooling of a hot paste in its vessel: conduction upwards, loss at top, bottom and sides.

A still paste is not a point: at a surface coefficient of 10 W/m²K and 0.5 W/mK a layer of 5 cm has
a Biot number of 1. The paste is a column of cells with conduction between them, stepped
implicitly; each cell also loses heat through the sides. A stirred paste is one cell.

References
----------
.. [1] Heating handbooks, heat loss from open tanks of hot water in still air of 60 °F: the dry
   column gives 9 to 12 W/m²K between 32 and 82 °C.
.. [2] Psychrometric relation between evaporation and convection, 15.4 W/m² per kPa and W/m²K.
.. [3] Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601, eq. 21 (vapour pressure).
.. [4] Patankar 1980, Numerical Heat Transfer and Fluid Flow, chapter 4 (implicit cells).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Cover
from planner.errors import OutOfRangeError
from planner.physics.ferment_constants import EVAPORATION_W_PER_M2_KPA, OPEN_TOP_DRY_W_PER_M2_K
from planner.physics.vessels import (
    TOP_W_PER_M2_K,
    CoolingBody,
    CoolingPlace,
    quick_time_constant_min,
    usual_vessel,
)

__all__ = [
    "CoolingBody",
    "CoolingPath",
    "CoolingPlace",
    "cooling_path",
    "heat_given_kj",
    "minutes_to_cool",
    "open_top_w_per_m2_k",
    "quick_time_constant_min",
    "usual_vessel",
    "vapour_pressure_kpa",
]

Numbers = NDArray[np.float64]
OverTime = Callable[[Numbers], Numbers]

CELLS = 24
SURFACE_ROUNDS = 3
"""Fixed-point rounds for the temperature of an evaporating surface; it settles in two."""

LEAST_GAP_K = 0.5
"""Below this gap to the air evaporation is no longer expressed as a coefficient [K]."""

MOST_EVAPORATION_W_PER_M2_K = 200.0
"""Bound of that coefficient; water at the boil has about 150 [W/m²K]."""


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

    Notes
    -----
    ``0.61094 exp(17.625 t / (t + 243.04))``; fitted to 50 °C, 3 % high at the boil [3]_.

    Examples
    --------
    >>> round(float(vapour_pressure_kpa(25.0)), 1)
    3.2
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(0.61094 * np.exp(17.625 * t / (t + 243.04)), dtype=np.float64)


def open_top_w_per_m2_k(
    body: CoolingBody, surface_c: ArrayLike, air_c: ArrayLike, humidity: ArrayLike
) -> Numbers:
    """Return the coefficient of an open top, evaporation included [W/m²K].

    Parameters
    ----------
    body
        Paste; its place, skin and learned factor count.
    surface_c, air_c
        Surface and air [°C].
    humidity
        Relative humidity of the air, 0 to 1.

    Returns
    -------
    ndarray
        Heat flow per degree between surface and air [W/m²K].

    Notes
    -----
    ``h_dry + s K (p_s(T) - RH p_s(T_air)) / (T - T_air)`` with K = 77 W/m² per kPa [2]_ and a skin
    factor s of 0.6 (a guess): free water in the tank tables [1]_ loses more, K = 107. Known to
    −40 / +60 %; condensation on a cold surface is left out.

    Examples
    --------
    >>> from planner.bakery import VesselShape
    >>> paste = CoolingBody(2.0, VesselShape.ROUND, 0.22, 0.22, Cover.OPEN, CoolingPlace.BENCH, 3.4)
    >>> [float(round(h)) for h in open_top_w_per_m2_k(paste, [32.0, 60.0], 16.0, 0.5)]
    [22.0, 31.0]
    """
    surface, air = np.asarray(surface_c, dtype=np.float64), np.asarray(air_c, dtype=np.float64)
    drive_kpa = vapour_pressure_kpa(surface) - np.asarray(humidity) * vapour_pressure_kpa(air)
    gap_k = np.maximum(surface - air, LEAST_GAP_K)
    wet = body.skin_factor * EVAPORATION_W_PER_M2_KPA.value * np.maximum(drive_kpa, 0.0) / gap_k
    dry = max(OPEN_TOP_DRY_W_PER_M2_K.value, TOP_W_PER_M2_K[body.place])
    return np.asarray(
        body.surface_factor * (dry + np.minimum(wet, MOST_EVAPORATION_W_PER_M2_K)),
        dtype=np.float64,
    )


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
        Shapes (N,) and (N, ...) with the shape of the starts behind.

    Raises
    ------
    OutOfRangeError
        If ``span_min`` or ``step_min`` is not above zero.

    Notes
    -----
    ``rho c dT/dt = k d²T/dz² - U P/A (T - T_air)`` with ``k dT/dz`` at top and bottom equal to the
    surface losses, 24 cells, implicit in time [4]_, so that any step is stable. The coefficient
    of an open top is taken at the surface temperature of the step before. The vessel's own heat
    is left out (it belongs to the pour), and so is shrinking by evaporation.

    Examples
    --------
    >>> from planner.bakery import VesselShape
    >>> paste = CoolingBody(2.0, VesselShape.ROUND, 0.22, 0.22, Cover.FILM, CoolingPlace.BENCH, 3.4)
    >>> path = cooling_path(paste, start_c=75.0, start_minute=0.0, air_c=lambda m: 0 * m + 18.0,
    ...                     humidity=lambda m: 0 * m + 0.5, span_min=480)
    >>> round(float(minutes_to_cool(path, 35.0)) / 60, 1)
    3.3
    """
    if not min(span_min, step_min) > 0:
        raise OutOfRangeError("cooling_path: span_min and step_min must be above zero")
    starts, first = np.broadcast_arrays(
        np.asarray(start_minute, dtype=np.float64), np.asarray(start_c, dtype=np.float64)
    )
    shape, starts = starts.shape, starts.reshape(-1)
    column = _Column(body, step_min * 60)
    cells_c = np.tile(first.reshape(-1), (column.cells, 1))
    count = ceil(span_min / step_min - 1e-9) + 1
    mean, warmest = np.empty((count, len(starts))), np.empty((count, len(starts)))
    mean[0] = warmest[0] = first.reshape(-1)
    for i in range(1, count):
        now = starts + (i - 0.5) * step_min
        cells_c = column.step(cells_c, air_c(now), humidity(now))
        mean[i], warmest[i] = cells_c.mean(axis=0), cells_c.max(axis=0)
    return CoolingPath(
        np.arange(count, dtype=np.float64) * step_min,
        mean.reshape(count, *shape),
        warmest.reshape(count, *shape),
    )


@dataclass(frozen=True)
class _Column:
    """The cells of one body, from the bottom up, and one implicit step in time.

    The matrix is inverted once, for the top it would have if covered. An open top changes only
    its last entry, which the rank-one formula of Sherman and Morrison follows for every start.
    """

    body: CoolingBody
    step_s: float

    @property
    def cells(self) -> int:
        return 1 if self.body.stirred else CELLS

    @property
    def cell_m(self) -> float:
        return self.body.depth_m / self.cells

    @cached_property
    def half_cell(self) -> float:
        """Resistance between the middle of a cell and its face [m²K/W]."""
        return 0.0 if self.body.stirred else self.cell_m / (2 * self.body.conductivity_w_per_m_k)

    @cached_property
    def stores(self) -> float:
        """Heat a cell stores per degree and step [W/m²K]."""
        body = self.body
        heat = body.density_kg_per_m3 * body.specific_heat_kj_per_kg_k * 1000
        return heat * self.cell_m / self.step_s

    @cached_property
    def side(self) -> float:
        """Loss of a cell through the side wall, per horizontal area [W/m²K]."""
        body = self.body
        return body.side_w_per_m2_k * body.perimeter_m / body.area_m2 * self.cell_m

    @cached_property
    def bottom(self) -> float:
        return 1 / (1 / self.body.bottom_w_per_m2_k + self.half_cell)

    @cached_property
    def covered_top(self) -> float:
        return 1 / (1 / self.body.covered_top_w_per_m2_k + self.half_cell)

    @cached_property
    def inverse(self) -> Numbers:
        link = 0.0 if self.cells == 1 else self.body.conductivity_w_per_m_k / self.cell_m
        matrix = np.diag(np.full(self.cells, self.stores + self.side + 2 * link))
        matrix[0, 0] += self.bottom - link
        matrix[-1, -1] += self.covered_top - link
        matrix -= link * (np.eye(self.cells, k=1) + np.eye(self.cells, k=-1))
        return np.asarray(np.linalg.inv(matrix), dtype=np.float64)

    def top(self, cell_c: Numbers, air_c: Numbers, humidity: Numbers) -> Numbers:
        """Return the coefficient between the middle of the top cell and the air [W/m²K]."""
        if self.body.cover is not Cover.OPEN:
            return np.full_like(cell_c, self.covered_top)
        surface_c = cell_c
        for _ in range(SURFACE_ROUNDS):
            free = open_top_w_per_m2_k(self.body, surface_c, air_c, humidity)
            surface_c = air_c + (cell_c - air_c) / (1 + free * self.half_cell)
        return np.asarray(1 / (1 / free + self.half_cell), dtype=np.float64)

    def step(self, cells_c: Numbers, air_c: Numbers, humidity: Numbers) -> Numbers:
        """Return the cells one step later; columns are starts."""
        top = self.top(cells_c[-1], air_c, humidity)
        known = self.stores * cells_c + self.side * air_c
        known[0] += self.bottom * air_c
        known[-1] += top * air_c
        covered = self.inverse @ known
        more = top - self.covered_top
        pull = more * covered[-1] / (1 + more * self.inverse[-1, -1])
        return np.asarray(covered - self.inverse[:, -1:] * pull, dtype=np.float64)


def minutes_to_cool(path: CoolingPath, target_c: float, *, warmest: bool = False) -> Numbers:
    """Return minutes until the paste is at ``target_c``, infinite when it never is [min].

    Parameters
    ----------
    path
        A cool-down, shape (N, ...).
    target_c
        Wanted temperature [°C].
    warmest
        Whether the warmest point must be there, not only the mean.

    Returns
    -------
    ndarray
        Linear between steps, shape behind N [min].
    """
    curve = path.warmest_c if warmest else path.mean_c
    flat = curve.reshape(len(path.minutes), -1)
    below = flat <= target_c
    reached = below.any(axis=0)
    j = np.maximum(below.argmax(axis=0), 1)
    lane = np.arange(flat.shape[1])
    before, after = flat[j - 1, lane], flat[j, lane]
    share = (before - target_c) / np.maximum(before - after, 1e-12)
    minutes = path.minutes[j - 1] + np.clip(share, 0, 1) * (path.minutes[j] - path.minutes[j - 1])
    minutes = np.where(below[0], 0.0, minutes)
    return np.where(reached, minutes, np.inf).reshape(curve.shape[1:])


def heat_given_kj(body: CoolingBody, path: CoolingPath) -> Numbers:
    """Return the heat that the paste has given to its place since the start, over time [kJ].

    Parameters
    ----------
    body, path
        Paste, and its cool-down.

    Returns
    -------
    ndarray
        Shape (N, ...): what a cooler has had to take up.
    """
    return np.asarray(body.heat_capacity_kj_per_k * (path.mean_c[0] - path.mean_c))

"""Cells of cooling paste, and one step in time for many pastes and pours at once.

Each paste is a column of cells with conduction between them; each cell also loses heat through
the sides. Columns of one kind are stacked, so that all ways to cool all scalds of a day are
followed in one sweep.

References
----------
.. [1] Alexander 1977, SIAM J. Numer. Anal. 14:1006: the two-stage, second-order, stiffly accurate
   diagonally implicit method.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Cover
from planner.physics.cooling_across import Across
from planner.physics.ferment_constants import EVAPORATION_W_PER_M2_KPA, OPEN_TOP_DRY_W_PER_M2_K
from planner.physics.vessels import TOP_W_PER_M2_K, CoolingBody

Numbers = NDArray[np.float64]

CELLS = 24

GAMMA = 1 - 1 / sqrt(2)
"""Share of a step at which its first stage lies [1]_."""

AGED = 1.5
"""The side loss of a still paste is worked out anew when it has grown so many times older."""

LEAST_GAP_K = 0.5
"""Below this gap to the air evaporation fades to nothing, so that no paste cools below it [K]."""

MOST_EVAPORATION_W_PER_M2_K = 200.0
"""Bound of that coefficient; water at the boil has about 150 [W/m²K]."""


def vapour_pressure_kpa(temperature_c: ArrayLike) -> Numbers:
    """Return the saturation pressure of water vapour [kPa].

    Notes
    -----
    ``0.61094 exp(17.625 t / (t + 243.04))``; fitted to 50 °C, 3 % high at the boil (Alduchov and
    Eskridge 1996, J. Appl. Meteorol. 35:601, eq. 21).

    Examples
    --------
    >>> round(float(vapour_pressure_kpa(25.0)), 1)
    3.2
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    return np.asarray(0.61094 * np.exp(17.625 * t / (t + 243.04)), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Tops:
    """What the tops of some pastes give off; rows are pastes.

    Attributes
    ----------
    factor
        Learned factor on the coefficient.
    dry_w_per_m2_k
        Convection and radiation [W/m²K].
    evaporation_w_per_m2_kpa
        Evaporation, skin counted; 0 under a cover [W/m² kPa].
    """

    factor: Numbers
    dry_w_per_m2_k: Numbers
    evaporation_w_per_m2_kpa: Numbers

    def coefficient(self, surface_c: Numbers, air_c: Numbers, vapour_kpa: Numbers) -> Numbers:
        """Return heat flow per degree between surface and air [W/m²K]."""
        drive_kpa = np.maximum(vapour_pressure_kpa(surface_c) - vapour_kpa, 0.0)
        wet = self.evaporation_w_per_m2_kpa * drive_kpa / np.maximum(surface_c - air_c, LEAST_GAP_K)
        return np.asarray(
            self.factor * (self.dry_w_per_m2_k + np.minimum(wet, MOST_EVAPORATION_W_PER_M2_K))
        )

    def slope(self, surface_c: Numbers, air_c: Numbers, coefficient: Numbers) -> Numbers:
        """Return how the heat flow of the top rises with its surface [W/m²K]."""
        beside = surface_c + 243.04
        rise = vapour_pressure_kpa(surface_c) * (17.625 * 243.04) / (beside * beside)
        free = self.factor * (self.dry_w_per_m2_k + self.evaporation_w_per_m2_kpa * rise)
        return np.asarray(np.where(surface_c - air_c > LEAST_GAP_K, free, coefficient))


def tops_of(bodies: Sequence[CoolingBody]) -> Tops:
    """Return the tops of some pastes, open or covered."""
    dry, wet = [], []
    for body in bodies:
        is_open = body.cover is Cover.OPEN
        still = TOP_W_PER_M2_K[body.place]
        dry.append(max(OPEN_TOP_DRY_W_PER_M2_K.value, still) if is_open else still)
        wet.append(body.skin_factor * EVAPORATION_W_PER_M2_KPA.value if is_open else 0.0)
    return Tops(_rows([body.surface_factor for body in bodies]), _rows(dry), _rows(wet))


def _rows(values: Sequence[float]) -> Numbers:
    return np.array(values, dtype=np.float64)[:, None]


@dataclass(frozen=True)
class Columns:
    """Pastes of equally many cells, from the bottom up.

    The matrix of a step is inverted once, with every top as if covered. What a top really gives
    off changes only the last cell, by the rank-one formula of Sherman and Morrison; the flow is
    linearised at the surface of the stage before, so that it is implicit too.
    """

    bodies: tuple[CoolingBody, ...]

    @property
    def cells(self) -> int:
        """How many cells each has: one when it is stirred."""
        return 1 if self.bodies[0].is_mixed else CELLS

    @cached_property
    def cell_m(self) -> Numbers:
        """Height of a cell [m]."""
        return _rows([body.depth_m / self.cells for body in self.bodies])

    @cached_property
    def half_cell(self) -> Numbers:
        """Resistance between the middle of a cell and its face, or of a stirred paste [m²K/W]."""
        if self.cells == 1:
            return _rows([body.mixed_resistance_m2_k_per_w for body in self.bodies])
        return self.cell_m / 2 / _rows([body.conductivity_w_per_m_k for body in self.bodies])

    @cached_property
    def stores_j(self) -> Numbers:
        """Heat a cell stores per degree [J/m²K]."""
        rho_c = [b.density_kg_per_m3 * b.specific_heat_kj_per_kg_k * 1000 for b in self.bodies]
        return _rows(rho_c) * self.cell_m

    @cached_property
    def across(self) -> tuple[Across, ...]:
        """What goes on from the middle to the sides."""
        return tuple(Across(body) for body in self.bodies)

    def side(self, from_s: float, to_s: float) -> Numbers:
        """Loss of a cell through the side wall between two ages, per horizontal area [W/m²K]."""
        return _rows([one.side_per_s(from_s, to_s) for one in self.across]) * self.stores_j

    @cached_property
    def bottom(self) -> Numbers:
        """Loss between the middle of the lowest cell and what is below it [W/m²K]."""
        return 1 / (1 / _rows([b.bottom_w_per_m2_k for b in self.bodies]) + self.half_cell)

    @cached_property
    def covered(self) -> Numbers:
        """Loss between the middle of the top cell and the air, if it is covered [W/m²K]."""
        return 1 / (1 / _rows([b.covered_top_w_per_m2_k for b in self.bodies]) + self.half_cell)

    @cached_property
    def tops(self) -> Tops:
        """What their tops give off."""
        return tops_of(self.bodies)

    @cached_property
    def any_open(self) -> bool:
        """Whether any of them is open."""
        return any(body.cover is Cover.OPEN for body in self.bodies)

    def inverse(self, step_s: float, side: Numbers) -> Numbers:
        """Return the inverse of the matrix of one stage, one per paste."""
        link = 0.0 * self.cell_m
        if self.cells > 1:
            link = _rows([b.conductivity_w_per_m_k for b in self.bodies]) / self.cell_m
        n = self.cells
        whole = self.stores_j / (GAMMA * step_s) + side + 2 * link
        matrix = np.eye(n) * whole[:, :, None]
        matrix -= (np.eye(n, k=1) + np.eye(n, k=-1)) * link[:, :, None]
        matrix[:, 0, 0] += (self.bottom - link)[:, 0]
        matrix[:, -1, -1] += (self.covered - link)[:, 0]
        return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


@dataclass
class March:
    """A stack of columns on its way: cells and surfaces, moved step by step.

    Attributes
    ----------
    cells_c
        Mean of every layer [°C], shape (pastes, cells, starts).
    mixed_c
        Temperature at which each was last everywhere the same [°C], shape (pastes, starts).
    age_s
        How long ago that was [s].
    surface_c
        Temperature of the top surface [°C], shape (pastes, starts).
    """

    columns: Columns
    cells_c: Numbers
    mixed_c: Numbers
    age_s: float = 0.0

    def __post_init__(self) -> None:
        """Begin with a surface as warm as its paste."""
        self.surface_c = np.array(self.cells_c[:, -1])
        self._step_s, self._good_to_s = 0.0, 0.0

    def step(self, step_s: float, air_c: Numbers, vapour_kpa: Numbers) -> None:
        """Go one step further; air and vapour at its two stages, shape (2, pastes, starts)."""
        if step_s != self._step_s or self.age_s >= self._good_to_s - 1e-6:
            self._step_s = step_s
            self._good_to_s = max(AGED * self.age_s, self.age_s + step_s)
            self._side = self.columns.side(self.age_s, self._good_to_s)
            self._inverse = self.columns.inverse(step_s, self._side)
        before = self.cells_c
        first = self._stage(before, air_c[0], vapour_kpa[0])
        ahead = before + (1 - GAMMA) / GAMMA * (first - before)
        self.cells_c = self._stage(ahead, air_c[1], vapour_kpa[1])
        self.age_s += step_s

    def through(self, ends: Sequence[float], air_c: Numbers, vapour_kpa: Numbers) -> Numbers:
        """Go through steps that end at some minutes; return mean, warmest and centre after each.

        The middle of a layer is warmer than its mean, but never warmer than the paste was when it
        was last even. Shape (steps, 3, pastes, starts) [°C].
        """
        rows, age_s = [], self.age_s
        for i, (a, b) in enumerate(zip([0.0, *ends[:-1]], ends, strict=True)):
            self.step((b - a) * 60, air_c[i], vapour_kpa[i])
            rows.append(self.row())
        found = np.array(rows)
        ages = age_s + 60 * np.array(ends)
        lift = np.stack([one.middle_over_mean(ages) - 1 for one in self.columns.across], axis=1)
        over = np.maximum(found[:, 1:] - air_c[:, 1][:, None], 0.0) * lift[:, None, :, None]
        most = np.maximum(self.mixed_c, found[:, 1:])
        found[:, 1:] = np.minimum(found[:, 1:] + over, most)
        return found

    def row(self) -> Numbers:
        """Return mean, warmest and middle layer, shape (3, pastes, starts) [°C]."""
        cells = self.cells_c
        count = cells.shape[1]
        middle = cells[:, (count - 1) // 2 : count // 2 + 1].mean(axis=1)
        return np.stack([cells.mean(axis=1), cells.max(axis=1), middle])

    def _stage(self, base_c: Numbers, air_c: Numbers, vapour_kpa: Numbers) -> Numbers:
        of, tops, inverse = self.columns, self.columns.tops, self._inverse
        known = (of.stores_j / (GAMMA * self._step_s))[:, :, None] * base_c
        known += (self._side * air_c)[:, None, :]
        known[:, 0] += of.bottom * air_c
        known[:, -1] += of.covered * air_c
        cells = inverse @ known
        if not of.any_open:
            return cells
        corner = inverse[:, -1, -1][:, None]
        surface = self.surface_c
        h = tops.coefficient(surface, air_c, vapour_kpa)
        flow, slope = h * (surface - air_c), tops.slope(surface, air_c, h)
        # Newton's step for the surface: what the top cell gives is what the surface gives off.
        lag = 1 - corner * of.covered
        off = surface - cells[:, -1] + of.half_cell * flow
        off += corner * (flow - of.covered * (surface + of.half_cell * flow - air_c))
        moved = off / (lag * (1 + of.half_cell * slope) + corner * slope)
        self.surface_c = surface - moved
        flow = flow - slope * moved
        pull = flow - of.covered * (self.surface_c + of.half_cell * flow - air_c)
        return np.asarray(cells - inverse[:, :, -1:] * pull[:, None, :], dtype=np.float64)

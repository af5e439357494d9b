"""What the side walls take from a still paste, and how much warmer its middle stays.

In a vessel with even walls the excess over the air is a product: of the profile from bottom to top
and of one profile for each way across. So the ways across are solved once, on their own, by the
modes of a few rings or slices, and the column only needs how fast they lose heat.

References
----------
.. [1] Carslaw and Jaeger 1959, Conduction of Heat in Solids, section 1.15 (products) and 7.7
   (cylinder with a surface coefficient).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import pi
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.bakery import VesselShape
from planner.physics.vessels import SIDE_W_PER_M2_K, CoolingBody

Numbers = NDArray[np.float64]

SLICES = 20
TOWARDS_WALL = 1.6
"""How much the slices crowd at the wall, where the first heat is lost; 1 is even."""


@dataclass(frozen=True)
class Modes:
    """Decay of a profile that was even at first: shares of its modes and their speeds.

    Attributes
    ----------
    per_s
        Speed of each mode [1/s].
    mean, middle
        Share of each in the mean, and in the middle.
    """

    per_s: Numbers
    mean: Numbers
    middle: Numbers


@lru_cache(maxsize=1024)
def modes_across(body: CoolingBody, half_m: float) -> Modes:
    """Return the modes of one way across, from the middle to the wall.

    Parameters
    ----------
    body
        Paste and vessel; a round one is cut into rings, a box into slices.
    half_m
        Radius or half width [m].
    """
    edge = half_m * (1 - (1 - np.linspace(0, 1, SLICES + 1)) ** TOWARDS_WALL)
    is_round = body.shape is VesselShape.ROUND
    volume = pi * np.diff(edge**2) if is_round else np.diff(edge)
    face = 2 * pi * edge[1:] if is_round else np.ones(SLICES)
    middle = (edge[1:] + edge[:-1]) / 2
    k = body.conductivity_w_per_m_k
    link = face[:-1] * k / np.diff(middle)
    outer = 1 / (body.surface_factor * SIDE_W_PER_M2_K[body.place])
    wall = face[-1] / (outer + (edge[-1] - middle[-1]) / k)
    losses = np.diag(np.append(link, wall) + np.append(0.0, link))
    losses -= np.diag(link, 1) + np.diag(link, -1)
    stores = body.density_kg_per_m3 * body.specific_heat_kj_per_kg_k * 1000 * volume
    root = np.sqrt(stores)
    per_s, shapes = np.linalg.eigh(losses / root[:, None] / root[None, :])
    part = shapes.T @ root
    return Modes(per_s, part**2 / stores.sum(), shapes[0] / root[0] * part)


@dataclass(frozen=True)
class Across:
    """All ways across a still paste together; a stirred one has none and loses steadily."""

    body: CoolingBody

    @cached_property
    def ways(self) -> tuple[Modes, ...]:
        """Its ways across: one for a cylinder, two for a box."""
        body = self.body
        if body.is_mixed:
            return ()
        if body.shape is VesselShape.ROUND:
            return (modes_across(body, body.length_m / 2),)
        return tuple(modes_across(body, m / 2) for m in (body.length_m, body.width_m))

    def side_per_s(self, from_s: float, to_s: float) -> float:
        """Return how fast the sides take the excess, mean between two ages [1/s]."""
        body = self.body
        if not self.ways:
            rho_c = body.density_kg_per_m3 * body.specific_heat_kj_per_kg_k * 1000
            return body.side_w_per_m2_k * body.perimeter_m / (body.area_m2 * rho_c)
        left = _left(self.ways, np.array([from_s, to_s]), "mean")
        return float(np.log(left[0] / max(left[1], 1e-300))) / (to_s - from_s)

    def middle_over_mean(self, age_s: Numbers) -> Numbers:
        """Return the excess in the middle over the mean excess of a layer, at some ages."""
        if not self.ways:
            return np.ones_like(age_s)
        mean = np.maximum(_left(self.ways, age_s, "mean"), 1e-300)
        return np.asarray(_left(self.ways, age_s, "middle") / mean)


def _left(ways: Sequence[Modes], age_s: Numbers, where: Literal["mean", "middle"]) -> Numbers:
    """Return the share of the excess that is left at some ages, all ways across together."""
    left = np.ones_like(age_s)
    for way in ways:
        shares = way.mean if where == "mean" else way.middle
        left = left * (shares @ np.exp(-np.outer(way.per_s, age_s)))
    return left

"""The inside of a standing dough: shells from core to skin, and what they relax to.

Up to a Biot number of 0.75 the mean of a dough says enough: one part with one time constant. Above
it (a tub of 20 kg in a retarder, a big bowl anywhere) the skin follows the air within the hour
while the core hardly moves; then the dough is a row of shells with conduction between them. The
shells are solved once per body: their temperatures are sums of parts that each relax to the air
with a time constant of their own, so that a night of many starts costs little more than one part.

References
----------
.. [1] Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., 3.4, 3.11 and 7.10 (slab with
   surface loss; the box as product of three; cylinder and sphere).
.. [2] Abramowitz and Stegun, Handbook of Mathematical Functions, table 9.5 (zeros of Bessel
   functions).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from planner.errors import OutOfRangeError
from planner.physics.dough_temperature import (
    DoughShape,
    Surface,
    box_biot,
    box_m,
    loss_w_per_k,
    lumped_time_constant_min,
)
from planner.physics.ferment_constants import (
    DOUGH_KJ_PER_KG_K,
    RISEN_DOUGH_KG_PER_M3,
    RISEN_DOUGH_W_PER_M_K,
)

Numbers = NDArray[np.float64]

SHELLS = 10
"""Shells of a dough; twice as many move its mean by less than 0.1 K of 22 (tested)."""

THINNER_OUTSIDE = 1.5
"""Power by which shells get thinner towards the skin, where the first hour happens."""

LUMPED_BIOT = 0.75
"""Up to this Biot number the mean of a dough says enough: beyond it the shells are nearer to
conduction in three ways (tested)."""

# First zero of the Bessel function of order p/2 - 1 over p, for shells of dimension p: a slab, a
# cylinder, a sphere and three beyond [2].
_DIMENSION = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
_FIRST_ZERO_OVER_P = (pi / 2, 2.404826 / 2, pi / 3, 3.831706 / 4, 4.493409 / 5, 5.135622 / 6)


@dataclass(frozen=True, slots=True)
class Box:
    """A standing dough as a box.

    Attributes
    ----------
    length_m, width_m, depth_m
        Its sides [m].
    dough_kg
        What is in it [kg].
    """

    length_m: float
    width_m: float
    depth_m: float
    dough_kg: float

    def __post_init__(self) -> None:
        if not min(self.length_m, self.width_m, self.depth_m, self.dough_kg) > 0:
            raise OutOfRangeError(f"Box: sides and mass must be above zero, got {self}")

    @classmethod
    def in_vessel(cls, length_m: float, width_m: float, dough_kg: float) -> Box:
        """Return the dough in a vessel of known floor, as deep as its risen volume asks.

        Examples
        --------
        >>> round(Box.in_vessel(0.53, 0.38, 20.0).depth_m, 2)
        0.14
        """
        depth_m = dough_kg / RISEN_DOUGH_KG_PER_M3.value / (length_m * width_m)
        return cls(length_m, width_m, depth_m, dough_kg)

    @property
    def volume_m3(self) -> float:
        """Volume [m³]."""
        return self.length_m * self.width_m * self.depth_m

    @property
    def area_m2(self) -> float:
        """Whole surface [m²]."""
        ends = self.length_m * self.width_m
        return 2 * ends + 2 * (self.length_m + self.width_m) * self.depth_m

    @property
    def sides_m(self) -> tuple[float, float, float]:
        """Length, width, depth [m]."""
        return self.length_m, self.width_m, self.depth_m


@dataclass(frozen=True, slots=True)
class DoughBody:
    """What a dough relaxes with in one place: parts, each with a time constant of its own.

    Attributes
    ----------
    weights
        Share of each part in the mean; they add up to 1. Shape (K,).
    time_constants_min
        Of each part [min]. Shape (K,).
    shells
        Temperature of each shell, core first, from the parts; rows add up to 1. Shape (N, K).
    parts
        The parts from the shells, the other way round. Shape (K, N).
    """

    weights: Numbers
    time_constants_min: Numbers
    shells: Numbers = field(repr=False)
    parts: Numbers = field(repr=False)

    @property
    def is_lumped(self) -> bool:
        """Whether its mean is all there is of it."""
        return len(self.weights) == 1

    @property
    def mean_lag_min(self) -> float:
        """How far its mean lags behind air that warms steadily [min]."""
        return float(self.weights @ self.time_constants_min)


def lumped_body(time_constant_min: float) -> DoughBody:
    """Return a dough that is known by one time constant, as from two probe readings [min].

    Examples
    --------
    >>> lumped_body(120.0).mean_lag_min
    120.0
    """
    if not time_constant_min > 0:
        raise OutOfRangeError("lumped_body: time_constant_min must be above zero")
    one = np.ones((1, 1))
    return DoughBody(np.ones(1), np.array([time_constant_min]), one, one)


def dough_body(box: Box, surface: Surface, *, shells: int = SHELLS) -> DoughBody:
    """Return what a dough relaxes with in its place.

    Parameters
    ----------
    box
        The dough.
    surface
        Surface coefficients of its place.
    shells
        Shells, where there are any.

    Returns
    -------
    DoughBody
        One part up to a Biot number of 0.75, else as many as shells.

    Notes
    -----
    Shell boundaries are boxes within the box, at steps of ``x`` from core to skin; ``V x^p``
    lies inside ``x``. Between shells flows ``k S x^(p-1) dT/dx`` with ``S = A²/(p V)``, which is
    the flow of half-space conduction through the whole surface at first; the dimension ``p`` is
    that whose slowest mode decays as the box's, ``pi² alpha sum 1/L²``, at a perfect surface [1]_.
    A slab has p = 1, a tub about 3. Against conduction in three ways the mean of tubs of 20 to
    300 kg is within 3 % of the first difference to the air, that of a lumped dough within 11 %.

    Examples
    --------
    >>> from planner.physics.dough_temperature import SURFACES, Surroundings
    >>> bowl = dough_body(Box(0.65, 0.65, 0.20, 60.0), SURFACES[Surroundings.FAN_CHAMBER])
    >>> len(bowl.weights), round(float(bowl.weights.sum()), 6)
    (10, 1.0)
    """
    if box_biot(box.sides_m, surface) <= LUMPED_BIOT:
        return lumped_body(lumped_time_constant_min(box.dough_kg, box.sides_m, surface))
    heat_j_per_k = box.dough_kg * DOUGH_KJ_PER_KG_K.value * 1000
    share, flow = _shell_flows(box, surface, shells)
    root = np.sqrt(share * heat_j_per_k)
    rates, modes = np.linalg.eigh(flow / np.outer(root, root))
    # A dough of one temperature excites each mode so much; its parts are scaled to that.
    excited = modes.T @ root
    scaled = (modes / root[:, None]) * excited
    return DoughBody(
        weights=excited**2 / heat_j_per_k,
        time_constants_min=1 / (rates * 60),
        shells=scaled,
        parts=np.linalg.inv(scaled),
    )


def usual_box(dough_kg: float) -> Box:
    """Return the usual tub of a mass [kg].

    Examples
    --------
    >>> usual_box(20.0).depth_m
    0.13
    """
    return Box(*box_m(dough_kg, DoughShape.TUB), dough_kg)


def _dimension(box: Box) -> float:
    """Return the dimension of shells that decay as slowly as the box at a perfect surface."""
    slowest = pi * sqrt(sum(1 / side**2 for side in box.sides_m))
    wanted = slowest * box.volume_m3 / box.area_m2
    return float(np.interp(-wanted, [-zero for zero in _FIRST_ZERO_OVER_P], _DIMENSION))


def _shell_flows(box: Box, surface: Surface, count: int) -> tuple[Numbers, Numbers]:
    """Return the share of each shell in the dough, and what flows between them and out [W/K]."""
    p, k = _dimension(box), RISEN_DOUGH_W_PER_M_K.value
    spread = box.area_m2**2 / (p * box.volume_m3)
    edges = 1 - np.linspace(1.0, 0.0, count + 1) ** THINNER_OUTSIDE
    inside = edges**p
    middle = ((inside[1:] + inside[:-1]) / 2) ** (1 / p)
    between = k * spread * edges[1:-1] ** (p - 1) / np.diff(middle)
    flow = np.diag(np.append(between, 0.0) + np.insert(between, 0, 0.0))
    flow -= np.diag(between, k=1) + np.diag(between, k=-1)
    # From the middle of the skin the heat goes through dough first, then into the air.
    skin_m2_k_per_w = (1 - middle[-1]) * box.area_m2 / spread / k
    flow[-1, -1] += loss_w_per_k(box.sides_m, surface, behind_m2_k_per_w=skin_m2_k_per_w)
    return np.diff(inside), flow

"""How fast a dough follows the air around it.

Dough of a given mass is a box with a surface coefficient on each side; the conduction inside is
a Biot correction on the lumped time constant, good to about 10 % for the mean temperature.

References
----------
.. [1] Choi and Okos 1986, composition method: dough of 50 to 85 % water has 2.7 to 3.0 kJ/kgK.
.. [2] Maxwell's relation for the conductivity of a foam: 0.45 W/mK gas-free, 0.20 at half gas.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from planner.errors import OutOfRangeError

DOUGH_SPECIFIC_HEAT_KJ_PER_KG_K = 2.8
"""2.6 to 3.0 by hydration [1]."""

RISEN_DOUGH_CONDUCTIVITY_W_PER_M_K = 0.32
"""Dough a quarter risen, between 0.39 at 10 % gas and 0.20 at 50 % [2]."""

BIOT_CORRECTION = 0.7
"""Fitted to product solutions of boxes from 0.25 to 120 kg, within 10 % (ours)."""


class Surroundings(StrEnum):
    """How air moves around the dough."""

    ROOM = "still air of a room"
    FAN_CHAMBER = "chamber with a fan"


class DoughShape(StrEnum):
    """How dough stands: as a mass in its tub, or as shaped pieces."""

    TUB = "tub"
    PIECE = "piece"


@dataclass(frozen=True, slots=True)
class Surface:
    """Surface coefficients, covered top, bottom and sides [W/m²K]."""

    top: float
    bottom: float
    side: float


SURFACES = {
    Surroundings.ROOM: Surface(4.0, 5.0, 6.0),
    Surroundings.FAN_CHAMBER: Surface(10.0, 12.0, 15.0),
}

# Usual box of a mass: kg, length, width, depth [m]; between rows by the logarithm of the mass.
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
    """Return length, width and depth of the usual box of a mass [m]."""
    if not dough_kg > 0:
        raise OutOfRangeError(f"box_m: dough_kg must be above zero, got {dough_kg}")
    table = _TUBS if shape is DoughShape.TUB else _PIECES
    size = np.log(dough_kg)
    length, width, depth = (
        float(np.exp(np.interp(size, np.log(table[:, 0]), np.log(table[:, i])))) for i in (1, 2, 3)
    )
    return length, width, depth


def time_constant_min(
    dough_kg: float, surroundings: Surroundings, *, shape: DoughShape = DoughShape.TUB
) -> float:
    """Return the time in which the mean of a dough comes 63 % nearer to the air [min].

    Parameters
    ----------
    dough_kg
        Mass that stands together [kg].
    surroundings
        Still room or fan.
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
    ``tau = m c / sum(h A) (1 + 0.7 Bi)`` with ``Bi = h (V/A) / k`` and h the mean over the surface.

    Examples
    --------
    >>> round(time_constant_min(20.0, Surroundings.ROOM) / 60, 1)
    7.0
    """
    length, width, depth = box_m(dough_kg, shape)
    surface = SURFACES[surroundings]
    sides_m2 = 2 * (length + width) * depth
    area_m2 = 2 * length * width + sides_m2
    loss_w_per_k = length * width * (surface.top + surface.bottom) + sides_m2 * surface.side
    biot = (
        loss_w_per_k / area_m2 * (length * width * depth / area_m2)
    ) / RISEN_DOUGH_CONDUCTIVITY_W_PER_M_K
    seconds = dough_kg * DOUGH_SPECIFIC_HEAT_KJ_PER_KG_K * 1000 / loss_w_per_k
    return seconds * (1 + BIOT_CORRECTION * biot) / 60


def heat_of_fermentation_w_per_kg(reference_hours: float) -> float:
    """Return the heat a dough makes at its reference temperature [W/kg].

    Notes
    -----
    1.15 kJ per g of CO2 (standard enthalpies, glucose to ethanol and gas). A dough that is ripe
    in an hour gasses at about 1 L/kg h, slower doughs in proportion: ``min(0.8 / X, 0.9)`` (ours).

    Examples
    --------
    >>> heat_of_fermentation_w_per_kg(2.0)
    0.4
    """
    if not reference_hours > 0:
        raise OutOfRangeError(
            f"heat_of_fermentation_w_per_kg: reference_hours is {reference_hours}, not above zero"
        )
    return min(0.8 / reference_hours, 0.9)

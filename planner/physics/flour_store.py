"""Flour follows its room slowly: a first-order lag per kind of store.

References
----------
Dry flour conducts 0.109 W/mK (instrument maker's application note); with 600 kg/m³ and
1.83 kJ/kgK its diffusivity is 1.0e-7 m²/s. The time constants are computed from that for usual
bodies with 8 W/m²K at their surface (ours).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import FlourStoreKind

TIME_CONSTANT_H = {
    FlourStoreKind.SACK: 15.0,
    FlourStoreKind.STACK: 33.0,
    FlourStoreKind.TUB: 29.0,
    FlourStoreKind.PALLET: 96.0,
    FlourStoreKind.SILO: 31.0 * 24,
}
"""Time in which flour comes 63 % nearer to its room [h]."""


def stored_flour_c(kind: FlourStoreKind, room_c: ArrayLike) -> NDArray[np.float64]:
    """Return the flour temperature hour by hour [°C].

    Parameters
    ----------
    kind
        How the flour stands.
    room_c
        Room temperature per hour [°C].

    Notes
    -----
    Starts at the mean of the given hours, since what was before is not known; a probe replaces
    it at once.

    Examples
    --------
    >>> [float(t) for t in stored_flour_c(FlourStoreKind.SACK, [20.0, 20.0])]
    [20.0, 20.0]
    """
    room = np.asarray(room_c, dtype=np.float64)
    keeps = float(np.exp(-1.0 / TIME_CONSTANT_H[kind]))
    flour = np.empty_like(room)
    flour[0] = room.mean()
    for hour in range(1, len(room)):
        flour[hour] = keeps * flour[hour - 1] + (1 - keeps) * room[hour - 1]
    return flour

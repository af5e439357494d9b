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
from planner.constants import Constant
from planner.errors import OutOfRangeError

TIME_CONSTANT_H = {
    FlourStoreKind.SACK: Constant(15.0, "h", 6.0, 18.0, "one sack with one side on the floor"),
    FlourStoreKind.STACK: Constant(33.0, "h", 25.0, 45.0, "five sacks on top of each other"),
    FlourStoreKind.TUB: Constant(29.0, "h", 20.0, 40.0, "100 kg tub"),
    FlourStoreKind.PALLET: Constant(96.0, "h", 72.0, 144.0, "1 t pallet, its mean"),
    FlourStoreKind.SILO: Constant(744.0, "h", 264.0, 1080.0, "silo of 2.5 m"),
}
"""Time in which flour comes 63 % nearer to its room [h]."""


def stored_flour_c(kind: FlourStoreKind, room_c_hourly: ArrayLike) -> NDArray[np.float64]:
    """Return the flour temperature hour by hour [°C].

    Parameters
    ----------
    kind
        How the flour stands.
    room_c_hourly
        Room temperature per hour [°C].

    Returns
    -------
    ndarray
        One value per given hour.

    Raises
    ------
    OutOfRangeError
        If no hour is given.

    Notes
    -----
    ``T[k+1] = a T[k] + (1 - a) T_room`` with ``a = exp(-1 h / tau)``, the room taken as the mean
    of the hour. It starts at the mean of the given hours, since what was before is not known:
    flour from a hot lorry is warmer, and a probe replaces the model at once.

    Examples
    --------
    >>> [float(t) for t in stored_flour_c(FlourStoreKind.SACK, [20.0, 20.0])]
    [20.0, 20.0]
    """
    room = np.asarray(room_c_hourly, dtype=np.float64)
    if room.size == 0:
        raise OutOfRangeError("stored_flour_c: needs at least one hour")
    keeps = float(np.exp(-1.0 / TIME_CONSTANT_H[kind].value))
    flour = np.empty_like(room)
    flour[0] = room.mean()
    for hour in range(1, len(room)):
        of_the_hour = (room[hour - 1] + room[hour]) / 2
        flour[hour] = keeps * flour[hour - 1] + (1 - keeps) * of_the_hour
    return flour

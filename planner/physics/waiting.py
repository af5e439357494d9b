"""What warms or cools while it waits: drawn water in its bucket, a bowl between two mixes.

References
----------
.. [1] A bucket of 10 l, 20 °C colder or warmer than the air, moves 0.4 °C in five minutes: a
   lumped body with a surface coefficient of 9 W/m²K.
"""

from __future__ import annotations

from math import exp, log

from planner.constants import BOWL_RELAXES_MIN, BUCKET_OF_10_KG_MIN
from planner.errors import OutOfRangeError

MAY_MOVE_K = 0.5
"""Water may move by this much between tap and bowl [K] (ours)."""

LONGEST_AHEAD_MIN = 120.0
"""Water that keeps for longer needs no word about it [min]."""


def bucket_time_constant_min(water_kg: float) -> float:
    """Return how fast drawn water follows the air [min].

    Parameters
    ----------
    water_kg
        Water in one vessel [kg].

    Raises
    ------
    OutOfRangeError
        If there is no water.

    Notes
    -----
    ``250 (m/10)^(1/3)``: heat goes with the mass, surface with its two-thirds power [1]_.

    Examples
    --------
    >>> round(bucket_time_constant_min(10.0))
    250
    """
    if not water_kg > 0:
        raise OutOfRangeError(f"bucket_time_constant_min: water_kg is {water_kg}")
    return float(BUCKET_OF_10_KG_MIN.value * (water_kg / 10.0) ** (1 / 3))


def waiting_water_c(water_c: float, water_kg: float, room_c: float, minutes: float) -> float:
    """Return the temperature of drawn water after some minutes in a room [°C].

    Examples
    --------
    >>> round(waiting_water_c(4.0, 10.0, 24.0, 5.0), 1)
    4.4
    """
    gone = exp(-minutes / bucket_time_constant_min(water_kg))
    return room_c + (water_c - room_c) * gone


def draw_ahead_min(water_c: float, water_kg: float, room_c: float) -> float | None:
    """Return how long before the mix water may be drawn at most [min]; None for any time.

    Parameters
    ----------
    water_c, water_kg
        The water [°C, kg].
    room_c
        Where it waits [°C].

    Notes
    -----
    So long that it moves half a degree: ``tau ln(gap/(gap - 0.5))``.

    Examples
    --------
    >>> round(draw_ahead_min(4.0, 10.0, 24.0))
    6
    >>> draw_ahead_min(23.0, 10.0, 24.0) is None
    True
    """
    gap_k = abs(room_c - water_c)
    if water_kg <= 0 or gap_k <= MAY_MOVE_K:
        return None
    ahead = bucket_time_constant_min(water_kg) * log(gap_k / (gap_k - MAY_MOVE_K))
    return ahead if ahead < LONGEST_AHEAD_MIN else None


def bowl_after_c(bowl_c: float, room_c: float, minutes: float) -> float:
    """Return the temperature of an empty bowl some minutes after its dough came out [°C].

    Parameters
    ----------
    bowl_c
        Bowl and tool when the dough came out [°C].
    room_c
        Air of its room [°C].
    minutes
        How long it stands empty, at least 0 [min].

    Raises
    ------
    OutOfRangeError
        If the minutes are negative.

    Examples
    --------
    >>> bowl_after_c(26.0, 20.0, 0.0), round(bowl_after_c(26.0, 20.0, 120.0), 1)
    (26.0, 20.0)
    """
    if minutes < 0:
        raise OutOfRangeError(f"bowl_after_c: minutes is {minutes}")
    return room_c + (bowl_c - room_c) * exp(-minutes / BOWL_RELAXES_MIN.value)

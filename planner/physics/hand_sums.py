"""The sums of the trade, in both of their conventions.

*Sum space* (US, Italy, China): water = n × DDT − the others − friction, the friction being a
number of the sum. *Rise space* (Germany, Japan): water = n × (DDT − rise) − the others, the rise
being real degrees of dough. A friction is n rises, only if all temperatures are alike.
"""

from __future__ import annotations

from collections.abc import Sequence

from planner.errors import OutOfRangeError


def water_from_sum_c(dough_c: float, others_c: Sequence[float], friction_k: float) -> float:
    """Return the water of the sum with a friction number [°C].

    Parameters
    ----------
    dough_c
        Desired dough temperature [°C].
    others_c
        Room, flour and, for the four-term sum, preferment [°C].
    friction_k
        Friction number of the sum, a difference [K].

    Examples
    --------
    >>> water_from_sum_c(18.0, [20.0, 19.0], 2.0)
    13.0
    """
    return (len(others_c) + 1) * dough_c - sum(others_c) - friction_k


def water_from_rise_c(dough_c: float, others_c: Sequence[float], rise_k: float) -> float:
    """Return the water of the sum with the real rise of the dough [°C].

    Examples
    --------
    >>> water_from_rise_c(26.0, [22.0, 22.0], 3.0)
    25.0
    """
    return (len(others_c) + 1) * (dough_c - rise_k) - sum(others_c)


def dough_from_rise_c(inputs_c: Sequence[float], rise_k: float) -> float:
    """Return the dough of equal-weight inputs and a rise [°C].

    Examples
    --------
    >>> dough_from_rise_c([23.0, 20.0, 20.0], 6.0)
    27.0
    """
    if not inputs_c:
        raise OutOfRangeError("dough_from_rise_c: no temperatures")
    return sum(inputs_c) / len(inputs_c) + rise_k


def water_from_base_c(base_c: float, others_c: Sequence[float]) -> float:
    """Return the water of a base temperature: the fixed sum of room, flour and water [°C].

    Examples
    --------
    >>> water_from_base_c(48.0, [21.0, 21.0])
    6.0
    """
    return base_c - sum(others_c)


def friction_from_mix_k(dough_c: float, inputs_c: Sequence[float]) -> float:
    """Return the friction number a finished mix would have needed [K].

    Parameters
    ----------
    dough_c
        Dough that came off [°C].
    inputs_c
        Water, room, flour and any preferment [°C].

    Examples
    --------
    >>> friction_from_mix_k(26.0, [15.0, 22.0, 23.0])
    18.0
    """
    return len(inputs_c) * dough_c - sum(inputs_c)


def water_two_terms_c(dough_c: float, flour_c: float, friction_k: float = 0.0) -> float:
    """Return the water of the two-term rule, nearer to the true weights [°C].

    Examples
    --------
    >>> water_two_terms_c(21.0, 27.0)
    15.0
    """
    return 2 * dough_c - flour_c - friction_k

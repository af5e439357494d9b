"""The sums of the trade, in both of their conventions.

*Sum space* (US, Italy, China): water = n × DDT − the others − friction, the friction being a
number of the sum. *Rise space* (Germany, Japan): water = n × (DDT − rise) − the others, the rise
being real degrees of dough. A friction is n rises, only if all temperatures are alike. No function
here takes a number without saying in its name or argument which of the two it is.

All temperatures are °C and all differences K; a friction number from a Fahrenheit source is
converted with `planner.quantities.kelvin_from_fahrenheit_difference`.

References
----------
.. [1] Teaching pages of US, Italian, South American and Chinese baking schools: friction taken off
   once; by hand 5 °F, in a stand mixer 20, in a food processor 25.
.. [2] German and Japanese trade texts: the dough's own rise, 3 to 7 °C, in front of the factor n.
.. [3] French school tables, for a dough of 24 °C: base temperature 50 to 56 for intensive, 60 to 64
   for improved, 68 to 72 for slow mixing; corrected by three times what a dough has missed.
.. [4] A baker's blog and a trade magazine: twice the dough less the flour, the room left out.
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
        Room, flour and, for the four-term sum, preferment [°C]; flour alone for two terms.
    friction_k
        Friction number of the sum, a difference [K].

    Returns
    -------
    float
        Water [°C]; below freezing it means ice.

    Raises
    ------
    OutOfRangeError
        If there is no other temperature.

    Notes
    -----
    ``n DDT - sum(others) - friction``: every temperature weighs the same, which is wrong by 3 to
    7 degrees of dough in hot or cold weather and with a cold preferment. Three terms for room and
    flour, four with a preferment [1]_.

    Examples
    --------
    >>> water_from_sum_c(18.0, [20.0, 19.0], 2.0)
    13.0
    >>> water_from_sum_c(25.0, [22.0, 22.0, 26.0], 17.0)
    13.0
    """
    return _terms("water_from_sum_c", others_c) * dough_c - sum(others_c) - friction_k


def water_from_rise_c(dough_c: float, others_c: Sequence[float], rise_k: float) -> float:
    """Return the water of the sum with the real rise of the dough [°C].

    Parameters
    ----------
    dough_c
        Desired dough temperature [°C].
    others_c
        The other temperatures [°C].
    rise_k
        What mixing adds to the dough [K].

    Raises
    ------
    OutOfRangeError
        If there is no other temperature.

    Notes
    -----
    ``n (DDT - rise) - sum(others)``, of three terms or of four [2]_.

    Examples
    --------
    >>> water_from_rise_c(26.0, [22.0, 22.0], 3.0)
    25.0
    >>> water_from_rise_c(26.0, [22.0, 22.0, 24.0], 3.0)
    24.0
    """
    return _terms("water_from_rise_c", others_c) * (dough_c - rise_k) - sum(others_c)


def dough_from_rise_c(inputs_c: Sequence[float], rise_k: float) -> float:
    """Return the dough of equal-weight inputs and a rise [°C].

    Parameters
    ----------
    inputs_c
        Water, flour, room and any preferment [°C].
    rise_k
        What mixing adds to the dough [K].

    Raises
    ------
    OutOfRangeError
        If there are no inputs.

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

    Parameters
    ----------
    base_c
        Base temperature, about 50 to 56 for intensive mixing, 68 to 72 for slow mixing [°C] [3]_.
    others_c
        Room and flour [°C].

    Examples
    --------
    >>> water_from_base_c(48.0, [21.0, 21.0])
    6.0
    """
    return base_c - sum(others_c)


def base_from_friction_c(dough_c: float, friction_k: float, terms: int = 3) -> float:
    """Return the base temperature that a dough and a friction number stand for [°C].

    Notes
    -----
    ``n DDT - friction``: it holds for that dough temperature alone.

    Examples
    --------
    >>> base_from_friction_c(24.0, 18.0)
    54.0
    """
    return terms * dough_c - friction_k


def friction_from_base_k(dough_c: float, base_c: float, terms: int = 3) -> float:
    """Return the friction number, in sum space, that a base temperature holds for a dough [K].

    Examples
    --------
    >>> friction_from_base_k(24.0, 54.0)
    18.0
    """
    return terms * dough_c - base_c


def friction_from_rise_k(rise_k: float, terms: int = 3) -> float:
    """Return the friction number, in sum space, that stands for a number in rise space [K].

    Notes
    -----
    ``n rise``: the same water by either sum. That is not the friction a mix with that true rise
    needs, see `friction_from_weights_k`.

    Examples
    --------
    >>> friction_from_rise_k(6.0), friction_from_rise_k(6.0, terms=4)
    (18.0, 24.0)
    """
    return terms * rise_k


def rise_from_friction_k(friction_k: float, terms: int = 3) -> float:
    """Return the number in rise space that stands for a friction number in sum space [K].

    Examples
    --------
    >>> rise_from_friction_k(18.0)
    6.0
    """
    return friction_k / terms


def corrected_base_c(
    base_c: float, wanted_c: float, got_c: float, water_per_dough: float = 3.0
) -> float:
    """Return the base temperature for the next dough, by the French rule of three [°C].

    Parameters
    ----------
    base_c
        Base of the dough that missed [°C].
    wanted_c, got_c
        Dough wanted and got [°C].
    water_per_dough
        Degrees of water for one of dough: 3 in the rule [3]_, 1.8 to 2.0 by the heat balance.

    Examples
    --------
    >>> corrected_base_c(70.0, 24.0, 26.0)
    64.0
    """
    return base_c + water_per_dough * (wanted_c - got_c)


def friction_from_mix_k(dough_c: float, inputs_c: Sequence[float]) -> float:
    """Return the friction number, in sum space, that a finished mix would have needed [K].

    Parameters
    ----------
    dough_c
        Dough that came off [°C].
    inputs_c
        Water, room, flour and any preferment [°C].

    Raises
    ------
    OutOfRangeError
        If there are no inputs.

    Notes
    -----
    ``n T - sum(T_i)``. It holds for those temperatures only: in truth the number is
    ``n R + sum (n w_i - 1) T_i``, with ``R`` the rise and ``w_i`` the true weights.

    Examples
    --------
    >>> friction_from_mix_k(26.0, [15.0, 22.0, 23.0])
    18.0
    """
    if not inputs_c:
        raise OutOfRangeError("friction_from_mix_k: no temperatures")
    return len(inputs_c) * dough_c - sum(inputs_c)


def friction_from_weights_k(
    weights: Sequence[float], inputs_c: Sequence[float], rise_k: float
) -> float:
    """Return the friction number that the true weights would give [K].

    Parameters
    ----------
    weights
        Share of each input in the heat capacity of dough, bowl and air; they add up to one.
    inputs_c
        Temperatures in the same order [°C].
    rise_k
        What wetting and working add to the dough [K].

    Raises
    ------
    OutOfRangeError
        If the weights do not add up to one, or do not belong to the temperatures.

    Notes
    -----
    ``n R + sum (n w_i - 1) T_i``: it drifts with the season, so it cannot be learned.

    Examples
    --------
    >>> round(friction_from_weights_k([1 / 3, 1 / 3, 1 / 3], [12.0, 22.0, 22.0], 6.0), 6)
    18.0
    """
    if len(weights) != len(inputs_c) or abs(sum(weights) - 1) > 1e-6:
        raise OutOfRangeError("friction_from_weights_k: weights must add up to one, one per input")
    n = len(inputs_c)
    skew = sum((n * w - 1) * t for w, t in zip(weights, inputs_c, strict=True))
    return n * rise_k + skew


def water_two_terms_c(dough_c: float, flour_c: float, friction_k: float = 0.0) -> float:
    """Return the water of the two-term rule, nearer to the true weights [°C].

    Parameters
    ----------
    dough_c, flour_c
        Desired dough, and flour [°C].
    friction_k
        Friction number of the sum of two terms [K]; none in the plain rule [4]_.

    Examples
    --------
    >>> water_two_terms_c(21.0, 27.0)
    15.0
    """
    return water_from_sum_c(dough_c, [flour_c], friction_k)


def _terms(name: str, others_c: Sequence[float]) -> int:
    """Return the number of terms of the sum, water included."""
    if not others_c:
        raise OutOfRangeError(f"{name}: no temperatures besides the water")
    return len(others_c) + 1

"""The fermentation clock: how fast a dough ferments at a temperature, and what a dose does.

A baker says "ripe after X hours at this dough temperature"; how a dough gets through its own
temperatures stands in `planner.physics.ripening_path`.

References
----------
.. [1] Ratkowsky et al. 1983, J. Bacteriol. 154:1222, extended square-root form.
.. [2] Salvadó et al. 2011, Appl. Environ. Microbiol. 77:2292 (S. cerevisiae over temperature).
.. [3] Gänzle, Ehmann, Hammes 1998, Appl. Environ. Microbiol. 64:2616 (growth of C. milleri and
   L. sanfranciscensis); constants as quoted second-hand, good to about 25 %.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import OutOfRangeError
from planner.estimate import Estimate, Origin
from planner.physics.ferment_constants import (
    MOST_DOSE_FACTOR,
    SEED_EXPONENT,
    YEAST_C_PER_K,
    YEAST_DOSE_EXPONENT,
    YEAST_MAX_C,
    YEAST_MIN_C,
)
from planner.ripening import Curve

Numbers = NDArray[np.float64]

NORMAL_C = 25.0
"""Temperature at which every relative rate is 1 [°C]."""

# a, b, c, T_max of mu = a (T_max - T)^b exp(-c (T_max - T)) in 1/h [3].
SOUR_YEAST = (0.0124, 2.981, 0.3355, 36.0)
LACTOBACILLI = (0.1267, 1.5404, 0.1931, 41.0)

# Height above the sea [m] and share of the sea-level time to a volume: high-altitude baking texts
# have doughs rise 25 to 50 % faster above 3,000 ft; the slope between is ours.
_ALTITUDE_M = (0.0, 914.0, 2463.0)
_TIME_SHARE = (1.0, 0.80, 0.67)


def relative_rate(curve: Curve, temperature_c: ArrayLike) -> Numbers:
    """Return the speed of fermentation relative to 25 °C.

    Parameters
    ----------
    curve
        Yeast, levain (half yeast of sour doughs, half lactobacilli) or acid (lactobacilli).
    temperature_c
        Dough temperature [°C], number or array.

    Returns
    -------
    ndarray
        Dimensionless; 1 at 25 °C.

    Notes
    -----
    Yeast is the extended square root ``r = b [(T + 1)(1 - exp(0.25 (T - 48)))]²`` [1]_, whose
    optimum of 38.5 °C is where baking strains gas most, above that of growth [2]_; zero below
    −1 and above 48 °C. The organisms of sour doughs follow
    ``mu = a (T_max - T)^b exp(-c (T_max - T))`` [3]_. Good to 2.5 % per degree away from the
    reference between 18 and 30 °C, 35 % between 8 and 18, a factor of two to three below; levain
    above 30 °C depends on its culture to a factor of two (ours).

    Examples
    --------
    >>> round(float(relative_rate(Curve.YEAST, 20.0)), 3)
    0.655
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    if curve is Curve.YEAST:
        return _yeast(t) / _YEAST_AT_NORMAL
    lactobacilli = _growth(t, LACTOBACILLI) / _LACTOBACILLI_AT_NORMAL
    if curve is Curve.ACID:
        return lactobacilli
    yeast = _growth(t, SOUR_YEAST) / _SOUR_YEAST_AT_NORMAL
    return np.asarray((yeast + lactobacilli) / 2, dtype=np.float64)


def _yeast(t: ArrayLike) -> Numbers:
    inside = np.clip(t, YEAST_MIN_C.value, YEAST_MAX_C.value)
    near_the_top = np.exp(YEAST_C_PER_K.value * (inside - YEAST_MAX_C.value))
    root = (inside - YEAST_MIN_C.value) * (1 - near_the_top)
    return np.asarray(root * root, dtype=np.float64)


def _growth(t: ArrayLike, constants: tuple[float, float, float, float]) -> Numbers:
    a, b, c, highest_c = constants
    below_k = np.maximum(highest_c - np.asarray(t), 0.0)
    return np.asarray(a * below_k**b * np.exp(-c * below_k), dtype=np.float64)


_YEAST_AT_NORMAL = float(_yeast(NORMAL_C))
_SOUR_YEAST_AT_NORMAL = float(_growth(NORMAL_C, SOUR_YEAST))
_LACTOBACILLI_AT_NORMAL = float(_growth(NORMAL_C, LACTOBACILLI))


def hours_at_dose(reference_hours: float, dose_factor: float, curve: Curve) -> float:
    """Return the reference hours when more or less yeast or seed goes in [h].

    Parameters
    ----------
    reference_hours
        Hours with the usual dose [h].
    dose_factor
        New dose over usual dose, a third to three.
    curve
        Yeast by weight of yeast, levain and acid by weight of seed.

    Returns
    -------
    float
        Hours at the same reference temperature [h].

    Raises
    ------
    OutOfRangeError
        If the dose changes by more than a factor of three: then the hours must be asked for anew.

    Notes
    -----
    ``X ~ dose^-n`` with n 0.85 (0.7 to 1.0) for yeast above half a percent, 0.45 (0.3 to 0.6) for
    cultures, which multiply while they ripen (ours, from trade tables).

    Examples
    --------
    >>> round(hours_at_dose(8.0, 0.5, Curve.LEVAIN), 1)
    10.9
    """
    most = MOST_DOSE_FACTOR.value
    if not (reference_hours > 0 and 1 / most <= dose_factor <= most):
        raise OutOfRangeError(
            f"hours_at_dose: dose_factor must be 1/{most:g} to {most:g}, got {dose_factor:g}"
        )
    exponent = YEAST_DOSE_EXPONENT if curve is Curve.YEAST else SEED_EXPONENT
    return float(reference_hours * dose_factor**-exponent.value)


def altitude_time_factor(altitude_m: float) -> Estimate:
    """Return the share of the sea-level time in which dough reaches a volume up high.

    Parameters
    ----------
    altitude_m
        Height of the house [m].

    Returns
    -------
    Estimate
        Factor on hours brought from sea level, 1 or less, with a wide band: a default for the
        baker to replace. Hours observed in the house itself need none.

    Notes
    -----
    Gas takes more room at lower pressure. Trade texts have rises 25 to 50 % faster above 3,000 ft,
    a factor of 0.67 to 0.80.

    Examples
    --------
    >>> round(altitude_time_factor(1524.0).value, 2)
    0.75
    """
    share = float(np.interp(altitude_m, _ALTITUDE_M, _TIME_SHARE))
    return Estimate(share, 0.4 * (1 - share), Origin.ASSUMED, "rule of high-altitude baking texts")

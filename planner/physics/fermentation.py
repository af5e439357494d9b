"""The fermentation clock: relative rates, and progress along a dough's own temperature.

A baker says "ripe after X hours at this dough temperature". Progress is the integral of the
relative rate over the true temperature path, in units of X; at 1 the dough is ripe.

References
----------
.. [1] Ratkowsky et al. 1983, J. Bacteriol. 154:1222, extended square-root form.
.. [2] Salvadó et al. 2011, Appl. Environ. Microbiol. 77:2292 (S. cerevisiae over temperature).
.. [3] Gänzle, Ehmann, Hammes 1998, Appl. Environ. Microbiol. 64:2616 (growth of C. milleri and
   L. sanfranciscensis); constants as quoted second-hand, good to about 25 %.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import NotConvergedError, OutOfRangeError
from planner.estimate import Estimate, Origin
from planner.physics.dough_temperature import heat_of_fermentation_w_per_kg
from planner.physics.ferment_constants import (
    DOUGH_KJ_PER_KG_K,
    MOST_DOSE_FACTOR,
    SEED_EXPONENT,
    YEAST_C_PER_K,
    YEAST_DOSE_EXPONENT,
    YEAST_MAX_C,
    YEAST_MIN_C,
)
from planner.ripening import (
    Curve,
)

FINE_STEP_MIN = 5.0
"""Steps longer than this are looked at at both ends [min]."""

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

CLOCK_ITERATIONS = 60
CLOCK_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class RipeningPath:
    """Temperature and progress of a dough over time.

    Attributes
    ----------
    minutes
        Minutes from the start, evenly spaced, shape (N,).
    temperature_c, progress
        Dough temperature [°C] and progress, shape (N, ...).
    """

    minutes: Numbers
    temperature_c: Numbers
    progress: Numbers


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


def ripening_path(
    *,
    start_minute: ArrayLike,
    start_c: ArrayLike,
    air_c: Callable[[Numbers], Numbers],
    time_constant_min: float,
    reference_hours: ArrayLike,
    reference_c: float,
    curve: Curve,
    exponent: float = 1.0,
    span_min: float,
    step_min: float = 5.0,
) -> RipeningPath:
    """Follow a dough from its start.

    Parameters
    ----------
    start_minute, start_c
        Start [min] and temperature at the start [°C]; they broadcast to any shape.
    air_c
        Air temperature over absolute minutes [°C].
    time_constant_min
        Time constant of the dough in its place [min].
    reference_hours, reference_c
        Ripe after so many hours at this dough temperature [h, °C]; the hours broadcast too.
    curve, exponent
        Relative-rate curve and the learned exponent on it.
    span_min, step_min
        Length and step [min].

    Returns
    -------
    RipeningPath
        Shapes (N,) and (N, ...).

    Raises
    ------
    OutOfRangeError
        If a duration is not above zero, or the curve stands still at ``reference_c``.

    Notes
    -----
    ``dT/dt = (T_air - T) / tau + q r(T) / (r(T_ref) c)`` and ``dP/dt = (r(T) / r(T_ref))^s / X``.
    Each step relaxes exactly to the air at its middle, raised by the dough's own heat at its
    beginning, in a long step by the mean of both ends. Progress is Simpson's rule with the
    geometric mean of the rates in the middle, since a rate rises and falls with the temperature
    almost exponentially. Folds re-mix a dough and so leave its mean temperature, which is all that
    this lumped path knows, as it was.

    Examples
    --------
    Dough and room at the reference, too slow to warm itself: half ripe at half the time.

    >>> path = ripening_path(start_minute=0, start_c=25.0, air_c=lambda m: 0 * m + 25.0,
    ...                      time_constant_min=5.0, reference_hours=10.0, reference_c=25.0,
    ...                      curve=Curve.YEAST, span_min=600)
    >>> round(float(progress_after(path, 300)), 2)
    0.5
    """
    hours = np.asarray(reference_hours, dtype=np.float64)
    if not (min(time_constant_min, span_min, step_min) > 0 and np.all(hours > 0)):
        raise OutOfRangeError("ripening_path: durations must be above zero")
    at_reference = float(relative_rate(curve, reference_c))
    if not at_reference > 0:
        raise OutOfRangeError(f"ripening_path: nothing ferments at {reference_c:g} °C")
    minute = np.asarray(start_minute, dtype=np.float64)
    first = np.asarray(start_c, dtype=np.float64)
    shape = np.broadcast_shapes(minute.shape, first.shape, hours.shape)
    count = ceil(span_min / step_min - 1e-9) + 1
    temperature, progress = np.empty((count, *shape)), np.zeros((count, *shape))
    temperature[0] = first
    own_k = _own_rise_k(hours, time_constant_min)
    keeps = np.exp(-step_min / time_constant_min)
    rate = relative_rate(curve, temperature[0]) / at_reference
    speed = rate if exponent == 1 else rate**exponent
    per_step = step_min / 60 / hours / 6
    for i in range(1, count):
        air = air_c(minute + (i - 0.5) * step_min)
        toward = air + own_k * rate
        temperature[i] = toward + (temperature[i - 1] - toward) * keeps
        if step_min > FINE_STEP_MIN:  # over a long step its own heat falls off with the cooling
            foreseen = relative_rate(curve, temperature[i]) / at_reference
            toward = air + own_k * (rate + foreseen) / 2
            temperature[i] = toward + (temperature[i - 1] - toward) * keeps
        rate = relative_rate(curve, temperature[i]) / at_reference
        faster = rate if exponent == 1 else rate**exponent
        middle = np.sqrt(speed * faster)
        progress[i] = progress[i - 1] + per_step * (speed + 4 * middle + faster)
        speed = faster
    return RipeningPath(np.arange(count, dtype=np.float64) * step_min, temperature, progress)


def _own_rise_k(reference_hours: Numbers, time_constant_min: float) -> Numbers:
    """Return by how much a dough stays above its air by its own heat, at the reference rate [K]."""
    watts = heat_of_fermentation_w_per_kg(reference_hours)
    return watts * time_constant_min * 60 / (DOUGH_KJ_PER_KG_K.value * 1000)


def minutes_to(path: RipeningPath, progress: ArrayLike) -> Numbers:
    """Return minutes from the start to a progress, infinite when not reached in the span [min].

    Parameters
    ----------
    path
        A ripening, shape (N, ...).
    progress
        Wanted progress; broadcasts to the shape behind N.

    Returns
    -------
    ndarray
        Linear between steps [min].
    """
    shape = path.progress.shape[1:]
    flat = path.progress.reshape(len(path.minutes), -1)
    wanted = np.broadcast_to(np.asarray(progress, dtype=np.float64), shape).reshape(-1)
    after = (flat < wanted).sum(axis=0)
    j = np.clip(after, 1, len(path.minutes) - 1)
    lane = np.arange(flat.shape[1])
    before, there = flat[j - 1, lane], flat[j, lane]
    share = (wanted - before) / np.maximum(there - before, 1e-15)
    minutes = path.minutes[j - 1] + share * (path.minutes[j] - path.minutes[j - 1])
    minutes = np.where(after == 0, 0.0, minutes)
    return np.where(after >= len(path.minutes), np.inf, minutes).reshape(shape)


def progress_after(path: RipeningPath, minutes: ArrayLike) -> Numbers:
    """Return the progress some minutes after the start.

    Parameters
    ----------
    path
        A ripening, shape (N, ...).
    minutes
        Minutes from the start; broadcasts to the shape behind N [min].

    Returns
    -------
    ndarray
        Linear between steps.

    Raises
    ------
    OutOfRangeError
        If the path does not reach so far.
    """
    return _after(path, path.progress, minutes)


def temperature_after(path: RipeningPath, minutes: ArrayLike) -> Numbers:
    """Return the dough temperature some minutes after the start [°C].

    Parameters, return and errors as `progress_after`.
    """
    return _after(path, path.temperature_c, minutes)


def _after(path: RipeningPath, values: Numbers, minutes: ArrayLike) -> Numbers:
    shape = values.shape[1:]
    wanted = np.broadcast_to(np.asarray(minutes, dtype=np.float64), shape).reshape(-1)
    last = float(path.minutes[-1])
    if not np.all((wanted >= -1e-9) & (wanted <= last + 1e-9)):
        raise OutOfRangeError(f"the path runs from 0 to {last:g} min, asked for {wanted} min")
    steps = np.clip(wanted / path.minutes[1], 0, len(path.minutes) - 1)
    j = np.minimum(steps.astype(np.intp), len(path.minutes) - 2)
    flat, lane = values.reshape(len(path.minutes), -1), np.arange(len(wanted))
    found = flat[j, lane] + (steps - j) * (flat[j + 1, lane] - flat[j, lane])
    return np.asarray(found.reshape(shape), dtype=np.float64)


def hours_from_clock(
    *,
    minutes: float,
    room_c: float,
    dough_c: float,
    time_constant_min: float,
    curve: Curve,
    exponent: float = 1.0,
    reference_c: float = NORMAL_C,
) -> float:
    """Return the reference hours behind "so many minutes by the clock in the usual room" [h].

    Parameters
    ----------
    minutes
        Minutes by the clock after which it is ripe [min].
    room_c, dough_c
        Usual air and usual dough temperature at the start [°C].
    time_constant_min
        Time constant of the usual mass in its place [min].
    curve, exponent
        Relative-rate curve and exponent.
    reference_c
        Dough temperature of the reference [°C].

    Returns
    -------
    float
        Hours at ``reference_c`` that make the progress 1 after ``minutes`` [h].

    Raises
    ------
    OutOfRangeError
        If a duration is not above zero.
    NotConvergedError
        If the hours do not settle, as in a place too cold to ferment.

    Notes
    -----
    Progress goes as 1/X but for the dough's own heat, so X is multiplied by the progress reached
    until that is 1.

    Examples
    --------
    Two hours in a room and a dough of 25 °C are a little more at 25 °C, for the dough warms itself.

    >>> round(hours_from_clock(minutes=120, room_c=25, dough_c=25, time_constant_min=400,
    ...                        curve=Curve.YEAST), 2)
    2.07
    """
    if not minutes > 0:
        raise OutOfRangeError(f"hours_from_clock: minutes must be above zero, got {minutes}")
    hours = minutes / 60
    for _ in range(CLOCK_ITERATIONS):
        path = ripening_path(
            start_minute=0.0,
            start_c=dough_c,
            air_c=lambda minute: np.full_like(minute, room_c),
            time_constant_min=time_constant_min,
            reference_hours=hours,
            reference_c=reference_c,
            curve=curve,
            exponent=exponent,
            span_min=minutes,
            step_min=minutes / max(12, ceil(minutes / 5)),
        )
        reached = float(path.progress[-1])
        if abs(reached - 1) < CLOCK_TOLERANCE:
            return hours
        if reached <= 0:
            break
        hours *= reached
    raise NotConvergedError(
        f"hours_from_clock: {minutes:g} min in a place of {room_c:g} °C never ripen this dough"
    )


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

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
from planner.formula import Curve
from planner.physics.dough_temperature import (
    DOUGH_SPECIFIC_HEAT_KJ_PER_KG_K,
    heat_of_fermentation_w_per_kg,
)

Numbers = NDArray[np.float64]

NORMAL_C = 25.0
"""Temperature at which every relative rate is 1 [°C]."""

YEAST_MIN_C, YEAST_MAX_C, YEAST_C = -1.0, 48.0, 0.25
"""Extended square root [1] with an optimum of 38.5 °C, where baking strains gas most [2]."""

# a, b, c, T_max of mu = a (T_max - T)^b exp(-c (T_max - T)) in 1/h [3].
SOUR_YEAST = (0.0124, 2.981, 0.3355, 36.0)
LACTOBACILLI = (0.1267, 1.5404, 0.1931, 41.0)

CLOCK_ITERATIONS = 60
CLOCK_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class RipeningPath:
    """Temperature and progress of a dough over time.

    Attributes
    ----------
    minutes
        Minutes from the start, shape (N,).
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
    Valid 8 to 33 °C; below 8 °C good to a factor of two, levain above 30 °C likewise.

    Examples
    --------
    >>> round(float(relative_rate(Curve.YEAST, 20.0)), 3)
    0.655
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    if curve is Curve.YEAST:
        return _yeast(t) / _yeast(np.float64(NORMAL_C))
    lactobacilli = _growth(t, LACTOBACILLI) / _growth(np.float64(NORMAL_C), LACTOBACILLI)
    if curve is Curve.ACID:
        return lactobacilli
    yeast = _growth(t, SOUR_YEAST) / _growth(np.float64(NORMAL_C), SOUR_YEAST)
    return np.asarray((yeast + lactobacilli) / 2, dtype=np.float64)


def _yeast(t: ArrayLike) -> Numbers:
    inside = np.clip(t, YEAST_MIN_C, YEAST_MAX_C)
    root = (inside - YEAST_MIN_C) * (1 - np.exp(YEAST_C * (inside - YEAST_MAX_C)))
    return np.asarray(root**2, dtype=np.float64)


def _growth(t: ArrayLike, constants: tuple[float, float, float, float]) -> Numbers:
    a, b, c, highest_c = constants
    below = np.maximum(highest_c - np.asarray(t), 0.0)
    return np.asarray(a * below**b * np.exp(-c * below), dtype=np.float64)


def ripening_path(
    *,
    start_minute: ArrayLike,
    start_c: ArrayLike,
    air_c: Callable[[Numbers], Numbers],
    time_constant_min: float,
    reference_hours: float,
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
        Ripe after so many hours at this dough temperature [h, °C].
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
        If a duration is not above zero.

    Notes
    -----
    Each step relaxes exactly to the air raised by the dough's own heat,
    ``T_air + q tau / c``; progress is the trapezoid of ``(r(T)/r(T_ref))^s / X``. Folds re-mix a
    dough and leave its mean temperature, which is all that this lumped path knows.
    """
    if min(time_constant_min, reference_hours, span_min, step_min) <= 0:
        raise OutOfRangeError("ripening_path: durations must be above zero")
    starts, first = np.broadcast_arrays(
        np.asarray(start_minute, dtype=np.float64), np.asarray(start_c, dtype=np.float64)
    )
    count = ceil(span_min / step_min) + 1
    temperature = np.empty((count, *starts.shape))
    progress = np.zeros((count, *starts.shape))
    temperature[0] = first
    at_reference = float(relative_rate(curve, reference_c))
    own_k = _own_rise_k(reference_hours, time_constant_min)
    keeps = np.exp(-step_min / time_constant_min)
    rate = relative_rate(curve, first) / at_reference
    speed = rate**exponent
    per_step = step_min / 60 / reference_hours / 2
    for i in range(1, count):
        toward = air_c(starts + (i - 0.5) * step_min) + own_k * rate
        temperature[i] = toward + (temperature[i - 1] - toward) * keeps
        rate = relative_rate(curve, temperature[i]) / at_reference
        faster = rate**exponent
        progress[i] = progress[i - 1] + per_step * (speed + faster)
        speed = faster
    return RipeningPath(np.arange(count, dtype=np.float64) * step_min, temperature, progress)


def _own_rise_k(reference_hours: float, time_constant_min: float) -> float:
    """Return by how much a dough stays above its air by its own heat, at the reference rate [K]."""
    watts = heat_of_fermentation_w_per_kg(reference_hours)
    return watts * time_constant_min * 60 / (DOUGH_SPECIFIC_HEAT_KJ_PER_KG_K * 1000)


def minutes_to(path: RipeningPath, progress: float) -> Numbers:
    """Return minutes from the start to a progress, infinite when not reached in the span [min]."""
    flat = path.progress.reshape(len(path.minutes), -1)
    after = (flat < progress).sum(axis=0)
    j = np.clip(after, 1, len(path.minutes) - 1)
    lane = np.arange(flat.shape[1])
    before, there = flat[j - 1, lane], flat[j, lane]
    share = (progress - before) / np.maximum(there - before, 1e-15)
    minutes = path.minutes[j - 1] + share * (path.minutes[j] - path.minutes[j - 1])
    minutes = np.where(after >= len(path.minutes), np.inf, minutes)
    return minutes.reshape(path.progress.shape[1:])


def progress_after(path: RipeningPath, minutes: ArrayLike) -> Numbers:
    """Return the progress some minutes after the start."""
    return _after(path, path.progress, minutes)


def temperature_after(path: RipeningPath, minutes: ArrayLike) -> Numbers:
    """Return the dough temperature some minutes after the start [°C]."""
    return _after(path, path.temperature_c, minutes)


def _after(path: RipeningPath, values: Numbers, minutes: ArrayLike) -> Numbers:
    wanted = np.broadcast_to(np.asarray(minutes, dtype=np.float64), values.shape[1:]).reshape(-1)
    flat = values.reshape(len(path.minutes), -1)
    found = [np.interp(m, path.minutes, flat[:, i]) for i, m in enumerate(wanted)]
    return np.array(found).reshape(values.shape[1:])


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

    Raises
    ------
    NotConvergedError
        If the hours do not settle, as in a place too cold to ferment.

    Notes
    -----
    Progress goes as 1/X but for the dough's own heat, so X is multiplied by the progress reached
    until that is 1.
    """
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

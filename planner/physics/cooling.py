"""Cooling of a hot paste in its vessel: conduction upwards, loss at top, bottom and sides.

A still paste is not a point: at a surface coefficient of 10 W/m²K and 0.5 W/mK a layer of 5 cm has
a Biot number of 1. The paste is a column of cells with conduction between them, stepped
implicitly; each cell also loses heat through the sides. A stirred paste is one cell.

References
----------
.. [1] Heating handbooks, heat loss from open tanks of hot water in still air of 60 °F: the dry
   column gives 9 to 12 W/m²K between 32 and 82 °C.
.. [2] Psychrometric relation between evaporation and convection, 15.4 W/m² per kPa and W/m²K.
.. [3] Patankar 1980, Numerical Heat Transfer and Fluid Flow, chapter 4 (implicit cells).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Cover
from planner.errors import OutOfRangeError
from planner.physics.cooling_column import (
    GAMMA,
    Columns,
    March,
    tops_of,
    vapour_pressure_kpa,
)
from planner.physics.vessels import (
    CoolingBody,
    CoolingPlace,
    quick_time_constant_min,
    usual_vessel,
)

__all__ = [
    "CoolingBody",
    "CoolingLeg",
    "CoolingPath",
    "CoolingPlace",
    "cooling_course",
    "cooling_courses",
    "cooling_path",
    "cooling_paths",
    "heat_given_kj",
    "minutes_between",
    "minutes_to_cool",
    "open_top_w_per_m2_k",
    "quick_time_constant_min",
    "usual_vessel",
    "vapour_pressure_kpa",
]

Numbers = NDArray[np.float64]
OverTime = Callable[[Numbers], Numbers]

LADDER = ((0.5, 6), (1.0, 6), (2.0, 12), (4.0, 18))
"""Length of a step in units of the usual one, and how many of it there are: the finest first,
then twice, four and eight times that; what is left goes in the longest steps."""

LONGEST_STEP = 8.0


@dataclass(frozen=True, slots=True)
class CoolingPath:
    """A cool-down.

    Attributes
    ----------
    minutes
        Minutes after the pour, shape (N,); they lie closer at the start.
    mean_c, warmest_c
        Mean and warmest temperature [°C], shape (N, ...).
    centre_c
        Temperature halfway between bottom and top, where a probe is held [°C], shape (N, ...).
    """

    minutes: Numbers
    mean_c: Numbers
    warmest_c: Numbers
    centre_c: Numbers

    def mean_at(self, minutes: ArrayLike) -> Numbers:
        """Return the mean at a minute after the pour, shape of the starts behind [°C]."""
        return along(self, self.mean_c, minutes)

    def warmest_at(self, minutes: ArrayLike) -> Numbers:
        """Return the warmest point at a minute after the pour [°C]."""
        return along(self, self.warmest_c, minutes)


def along(path: CoolingPath, curve: Numbers, minutes: ArrayLike) -> Numbers:
    """Return a curve of a path at minutes after the pour: one for all starts, or one each."""
    flat = curve.reshape(len(path.minutes), -1)
    at = np.broadcast_to(np.asarray(minutes, dtype=np.float64), curve.shape[1:]).reshape(-1)
    values = [np.interp(m, path.minutes, flat[:, i]) for i, m in enumerate(at)]
    return np.array(values, dtype=np.float64).reshape(curve.shape[1:])


def open_top_w_per_m2_k(
    body: CoolingBody, surface_c: ArrayLike, air_c: ArrayLike, humidity: ArrayLike
) -> Numbers:
    """Return the coefficient of an open top, evaporation included [W/m²K].

    Parameters
    ----------
    body
        Paste; its place, skin and learned factor count.
    surface_c, air_c
        Surface and air [°C].
    humidity
        Relative humidity of the air, 0 to 1.

    Returns
    -------
    ndarray
        Heat flow per degree between surface and air [W/m²K].

    Notes
    -----
    ``h_dry + s K (p_s(T) - RH p_s(T_air)) / (T - T_air)`` with K = 77 W/m² per kPa [2]_ and a skin
    factor s of 0.6 (a guess): free water in the tank tables [1]_ loses more, K = 107. Known to
    −40 / +60 %; condensation on a cold surface is left out, and evaporation fades within 0.5 K of
    the air, so that no paste is said to cool below it.

    Examples
    --------
    >>> from planner.bakery import VesselShape
    >>> paste = CoolingBody(2.0, VesselShape.ROUND, 0.22, 0.22, Cover.OPEN, CoolingPlace.BENCH, 3.4)
    >>> [float(round(h)) for h in open_top_w_per_m2_k(paste, [32.0, 60.0], 16.0, 0.5)]
    [22.0, 31.0]
    """
    surface, air = np.asarray(surface_c, dtype=np.float64), np.asarray(air_c, dtype=np.float64)
    tops = tops_of([replace(body, cover=Cover.OPEN)])
    vapour_kpa = np.asarray(humidity) * vapour_pressure_kpa(air)
    return tops.coefficient(surface, air, vapour_kpa).reshape(
        np.broadcast_shapes(surface.shape, air.shape)
    )


def cooling_path(
    body: CoolingBody,
    *,
    start_c: ArrayLike,
    start_minute: ArrayLike,
    air_c: OverTime,
    humidity: OverTime,
    span_min: float,
    step_min: float = 5.0,
) -> CoolingPath:
    """Follow a cool-down.

    Parameters
    ----------
    body
        Paste and vessel.
    start_c
        Uniform temperature at the start [°C]; broadcasts with ``start_minute``.
    start_minute
        Start [min], any shape.
    air_c, humidity
        Air temperature [°C] and relative humidity (0 to 1) over minutes.
    span_min, step_min
        Length, and the usual step [min]: half of it at first, eight times it after a night.

    Returns
    -------
    CoolingPath
        Shapes (N,) and (N, ...) with the shape of the starts behind.

    Raises
    ------
    OutOfRangeError
        If ``span_min`` or ``step_min`` is not above zero.

    Notes
    -----
    ``rho c dT/dt = k d²T/dz² - U P/A (T - T_air)`` with ``k dT/dz`` at top and bottom equal to the
    surface losses, 24 cells [3]_, implicit and of second order in time, so that any step is
    stable. The vessel's own heat is left out (it belongs to the pour), and so is shrinking by
    evaporation.

    Examples
    --------
    >>> from planner.bakery import VesselShape
    >>> paste = CoolingBody(2.0, VesselShape.ROUND, 0.22, 0.22, Cover.FILM, CoolingPlace.BENCH, 3.4)
    >>> path = cooling_path(paste, start_c=75.0, start_minute=0.0, air_c=lambda m: 0 * m + 18.0,
    ...                     humidity=lambda m: 0 * m + 0.5, span_min=480)
    >>> round(float(minutes_to_cool(path, 35.0)) / 60, 1)
    3.2
    """
    leg = CoolingLeg(body, span_min, air_c, humidity)
    return cooling_course([leg], start_c=start_c, start_minute=start_minute, step_min=step_min)


@dataclass(frozen=True, slots=True)
class CoolingLeg:
    """A stretch of a cool-down in one vessel and place.

    Attributes
    ----------
    body
        The paste as it stands there.
    minutes
        How long it stands there [min].
    air_c, humidity
        Air temperature [°C] and relative humidity (0 to 1) over minutes of the night.
    mixed_to_c
        Mean it has once it is in place, for a given mean of before [°C]: water or ice stirred in.
        None when nothing goes in.
    stirred_first
        Whether it is stirred through, or tipped into this vessel, before it stands.
    """

    body: CoolingBody
    minutes: float
    air_c: OverTime
    humidity: OverTime
    mixed_to_c: Callable[[Numbers], Numbers] | None = None
    stirred_first: bool = False


def cooling_course(
    legs: Sequence[CoolingLeg],
    *,
    start_c: ArrayLike,
    start_minute: ArrayLike,
    step_min: float = 5.0,
) -> CoolingPath:
    """Follow a cool-down through several vessels and places, one after the other.

    Parameters
    ----------
    legs
        Where it stands, in order.
    start_c, start_minute, step_min
        As in `cooling_path`.

    Returns
    -------
    CoolingPath
        Over the whole course. A paste that is moved as it is keeps its warm core; tipped, stirred
        or thinned it is everywhere the same.

    Raises
    ------
    OutOfRangeError
        If a leg or a step is not above zero.
    """
    return cooling_courses([legs], start_c=[start_c], start_minute=start_minute, step_min=step_min)[
        0
    ]


def cooling_courses(
    variants: Sequence[Sequence[CoolingLeg]],
    *,
    start_c: Sequence[ArrayLike],
    start_minute: ArrayLike,
    step_min: float = 5.0,
) -> list[CoolingPath]:
    """Follow one course with several bodies, airs or starts in one sweep.

    Parameters
    ----------
    variants
        The legs of each variant; they are equally many, as long, and stirred alike.
    start_c
        Temperature of each variant after the pour [°C].
    start_minute, step_min
        As in `cooling_path`.

    Returns
    -------
    list of CoolingPath
        One for each variant.

    Raises
    ------
    OutOfRangeError
        If a leg or a step is not above zero.
    """
    if not min(step_min, *(leg.minutes for leg in variants[0])) > 0:
        raise OutOfRangeError("cooling_path: span_min and step_min must be above zero")
    each = np.broadcast_arrays(*(np.asarray(c, dtype=np.float64) for c in (*start_c, start_minute)))
    shape, starts = each[-1].shape, each[-1].reshape(-1)
    poured = np.array([c.reshape(-1) for c in each[:-1]])[:, None, :]
    march = March(Columns(tuple(v[0].body for v in variants)), poured, poured[:, 0])
    rows, minutes, clock = [march.row()[None]], [0.0], 0.0
    for legs in zip(*variants, strict=True):
        march = _begin(legs, march)
        ends = step_ends(legs[0].minutes, step_min)
        air, vapour = _weather(legs, starts + clock, ends)
        rows.append(march.through(ends, air, vapour))
        minutes += [clock + b for b in ends]
        clock += legs[0].minutes
    by_time = np.concatenate(rows)
    return [
        CoolingPath(
            np.array(minutes),
            *(by_time[:, kind, i].reshape(len(minutes), *shape) for kind in range(3)),
        )
        for i in range(len(variants))
    ]


def cooling_paths(
    legs: Sequence[CoolingLeg],
    *,
    start_c: Sequence[ArrayLike],
    starts: Numbers,
    step_min: float = 5.0,
) -> list[CoolingPath]:
    """Follow many pastes from many pours in one sweep.

    Parameters
    ----------
    legs
        One for each paste; they all last as long as the longest.
    start_c
        Temperature of each after its pour: one for all starts, or one each [°C].
    starts
        Minutes at which each is poured, shape (S,).
    step_min
        As in `cooling_path`.

    Returns
    -------
    list of CoolingPath
        One for each paste, its starts behind.
    """
    found: dict[int, CoolingPath] = {}
    span = max(leg.minutes for leg in legs)
    ends = step_ends(span, step_min)
    for mixed in (False, True):
        alike = [i for i, leg in enumerate(legs) if leg.body.is_mixed is mixed]
        if not alike:
            continue
        columns = Columns(tuple(legs[i].body for i in alike))
        each = [np.broadcast_to(np.asarray(start_c[i]), (len(starts),)) for i in alike]
        first = np.array(each, dtype=np.float64)[:, None, :]
        cells = np.broadcast_to(first, (len(alike), columns.cells, len(starts)))
        march = March(columns, cells, cells[:, 0])
        air, vapour = _weather([legs[i] for i in alike], starts, ends)
        poured = march.row()[None]
        by_time = np.concatenate([poured, march.through(ends, air, vapour)])
        minutes = np.array([0.0, *ends])
        for row, i in enumerate(alike):
            mean, warmest, centre = (by_time[:, kind, row] for kind in range(3))
            found[i] = CoolingPath(minutes, mean, warmest, centre)
    return [found[i] for i in range(len(legs))]


def _begin(legs: Sequence[CoolingLeg], before: March) -> March:
    """Return pastes as they begin a leg."""
    columns, cells_c = Columns(tuple(leg.body for leg in legs)), before.cells_c
    mixing = legs[0].mixed_to_c is not None or legs[0].stirred_first
    if cells_c.shape[1] == columns.cells and not mixing:
        return March(columns, cells_c, before.mixed_c, before.age_s)
    mean = cells_c.mean(axis=1, keepdims=True)
    mean = np.stack(
        [
            mean[i] if leg.mixed_to_c is None else np.asarray(leg.mixed_to_c(mean[i]))
            for i, leg in enumerate(legs)
        ]
    )
    cells_c = np.broadcast_to(mean, (len(legs), columns.cells, mean.shape[2]))
    return March(columns, cells_c, cells_c[:, 0])


def _weather(
    legs: Sequence[CoolingLeg], starts: Numbers, ends: Sequence[float]
) -> tuple[Numbers, Numbers]:
    """Return air and its vapour at the two stages of every step, shape (N, 2, pastes, starts)."""
    last = np.array(ends)
    before = np.concatenate([[0.0], last[:-1]])
    stage = np.stack([before + GAMMA * (last - before), last], axis=1)
    minute = stage[:, :, None] + starts[None, None, :]
    known: dict[tuple[int, int], tuple[Numbers, Numbers]] = {}
    air, vapour = [], []
    for leg in legs:
        key = (id(leg.air_c), id(leg.humidity))
        if key not in known:
            air_c = np.broadcast_to(leg.air_c(minute), minute.shape)
            known[key] = (air_c, leg.humidity(minute) * vapour_pressure_kpa(air_c))
        air.append(known[key][0])
        vapour.append(known[key][1])
    return np.stack(air, axis=2), np.stack(vapour, axis=2)


def step_ends(span_min: float, step_min: float) -> list[float]:
    """Return the minutes at which the steps of a cool-down end: close at first, then wider.

    Examples
    --------
    >>> step_ends(10.0, 5.0)
    [2.5, 5.0, 7.5, 10.0]
    """
    ends: list[float] = []
    at = 0.0
    for share, count in (*LADDER, (LONGEST_STEP, 10**6)):
        for _ in range(count):
            if at >= span_min - 1e-9:
                return ends
            at = min(at + share * step_min, span_min)
            ends.append(at)
    return ends


def minutes_to_cool(path: CoolingPath, target_c: float, *, warmest: bool = False) -> Numbers:
    """Return minutes until the paste is at ``target_c``, infinite when it never is [min].

    Parameters
    ----------
    path
        A cool-down, shape (N, ...).
    target_c
        Wanted temperature [°C].
    warmest
        Whether the warmest point must be there, not only the mean.

    Returns
    -------
    ndarray
        Linear between steps, shape behind N [min].
    """
    curve = path.warmest_c if warmest else path.mean_c
    flat = curve.reshape(len(path.minutes), -1)
    below = flat <= target_c
    reached = below.any(axis=0)
    j = np.maximum(below.argmax(axis=0), 1)
    lane = np.arange(flat.shape[1])
    before, after = flat[j - 1, lane], flat[j, lane]
    share = (before - target_c) / np.maximum(before - after, 1e-12)
    minutes = path.minutes[j - 1] + np.clip(share, 0, 1) * (path.minutes[j] - path.minutes[j - 1])
    minutes = np.where(below[0], 0.0, minutes)
    return np.where(reached, minutes, np.inf).reshape(curve.shape[1:])


def minutes_between(
    path: CoolingPath, low_c: float, high_c: float, *, warmest: bool = False
) -> Numbers:
    """Return minutes for which the paste lies between two temperatures [min].

    Parameters
    ----------
    path
        A cool-down, shape (N, ...).
    low_c, high_c
        The window [°C].
    warmest
        Whether the warmest point is asked for, not the mean.

    Returns
    -------
    ndarray
        Linear between steps, shape behind N [min]; up to the end of the path if it is still there.

    Raises
    ------
    OutOfRangeError
        If the window is empty.
    """
    if not low_c < high_c:
        raise OutOfRangeError("minutes_between: low_c must be below high_c")
    curve = path.warmest_c if warmest else path.mean_c
    a, b = curve[:-1], curve[1:]
    top, bottom = np.maximum(a, b), np.minimum(a, b)
    inside = np.minimum(top, high_c) - np.maximum(bottom, low_c)
    flat = (top - bottom) < 1e-9
    share = np.where(
        flat,
        (a >= low_c) & (a <= high_c),
        np.clip(inside, 0, None) / np.where(flat, 1.0, top - bottom),
    )
    length = np.diff(path.minutes).reshape(-1, *([1] * (curve.ndim - 1)))
    return np.asarray((share * length).sum(axis=0), dtype=np.float64)


def heat_given_kj(body: CoolingBody, path: CoolingPath) -> Numbers:
    """Return the heat that the paste has given to its place since the start, over time [kJ].

    Parameters
    ----------
    body, path
        Paste, and its cool-down.

    Returns
    -------
    ndarray
        Shape (N, ...): what a cooler has had to take up.
    """
    return np.asarray(body.heat_capacity_kj_per_k * (path.mean_c[0] - path.mean_c))

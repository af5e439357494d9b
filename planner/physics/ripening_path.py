"""A dough on its way: through its places, its own temperature, and its progress.

Heat goes between the dough and the air of wherever it stands; a fold mixes skin and core; a move
takes the dough as it is into other air. Progress is the integral of the relative rate over the
temperature so found, in units of the hours the baker knows; at 1 the dough is ripe.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import NotConvergedError, OutOfRangeError
from planner.physics.dough_body import DoughBody
from planner.physics.dough_temperature import heat_of_fermentation_w_per_kg
from planner.physics.ferment_constants import DOUGH_KJ_PER_KG_K
from planner.physics.fermentation import NORMAL_C, relative_rate
from planner.ripening import Curve

Numbers = NDArray[np.float64]
AirCurve = Callable[[Numbers], Numbers]

FINE_STEP_MIN = 5.0
"""Steps longer than this are looked at at both ends [min]."""

CLOCK_ITERATIONS = 60
CLOCK_TOLERANCE = 1e-6

K_PER_MIN_PER_W_PER_KG = 60 / (DOUGH_KJ_PER_KG_K.value * 1000)
"""Degrees a minute that a watt per kilo warms dough."""


@dataclass(frozen=True)
class Clock:
    """What the baker knows of a dough, and how its speed goes with temperature.

    Attributes
    ----------
    reference_hours, reference_c
        Ripe after so many hours at this dough temperature [h, °C]; the hours broadcast.
    curve, exponent
        Relative-rate curve and the learned exponent on it.
    """

    reference_hours: ArrayLike
    reference_c: float
    curve: Curve
    exponent: float = 1.0

    def __post_init__(self) -> None:
        if not self._at_reference > 0:
            raise OutOfRangeError(f"Clock: nothing ferments at {self.reference_c:g} °C")

    @cached_property
    def _at_reference(self) -> float:
        return float(relative_rate(self.curve, self.reference_c))

    def rate(self, temperature_c: ArrayLike) -> Numbers:
        """Return the rate of the curve beside that at the reference."""
        return relative_rate(self.curve, temperature_c) / self._at_reference


@dataclass(frozen=True, slots=True)
class Stay:
    """A stretch of a dough's way in one place.

    Attributes
    ----------
    air_c
        Air temperature of the place over absolute minutes [°C].
    body
        How the dough follows that air.
    from_min
        When it comes there, from the start of the way [min].
    most_w_per_kg
        Heat the place can take from each kilo of what stands in it [W/kg]; None for as much as
        comes. While more comes, its air is so much warmer.
    """

    air_c: AirCurve
    body: DoughBody
    from_min: float = 0.0
    most_w_per_kg: float | None = None


@dataclass(frozen=True, slots=True)
class RipeningPath:
    """Temperature and progress of a dough over time.

    Attributes
    ----------
    minutes
        Minutes from the start, evenly spaced, shape (N,).
    temperature_c, progress
        Mean dough temperature [°C] and progress, shape (N, ...).
    core_c, skin_c
        Its innermost and outermost shell [°C], where asked for.
    """

    minutes: Numbers
    temperature_c: Numbers
    progress: Numbers
    core_c: Numbers | None = None
    skin_c: Numbers | None = None


def ripening_path(
    *,
    start_minute: ArrayLike,
    start_c: ArrayLike,
    stays: Sequence[Stay],
    clock: Clock,
    span_min: float,
    step_min: float = 5.0,
    folds_min: Sequence[float] = (),
    start_progress: ArrayLike = 0.0,
    inside: bool = False,
    until_progress: float | None = None,
) -> RipeningPath:
    """Follow a dough from its start.

    Parameters
    ----------
    start_minute, start_c
        Start [min] and temperature at the start [°C]; they broadcast to any shape.
    stays
        Where it stands from when on, the first from 0; a stay begins with a full step.
    clock
        What the baker knows of it.
    span_min, step_min
        Length and step [min].
    folds_min
        When it is folded, which makes it one temperature [min].
    start_progress
        Progress it comes with, from a stage that counts on the same clock; broadcasts.
    inside
        Whether core and skin are wanted too.
    until_progress
        Stop when every start has passed this progress; None for the whole span.

    Returns
    -------
    RipeningPath
        Shapes (N,) and (N, ...).

    Raises
    ------
    OutOfRangeError
        If a duration is not above zero, no stay begins at 0, or nothing ferments at the reference.

    Notes
    -----
    Each part of the body goes ``dT/dt = (T_air - T) / tau + q r(T) / (r(T_ref) c)``, the mean by
    its weights, and ``dP/dt = (r(T) / r(T_ref))^s / X`` at the mean. Each step relaxes exactly to
    the air at its middle, raised by the dough's own heat at its beginning, in a long step by the
    mean of both ends. Progress is Simpson's rule with the geometric mean of the rates in the
    middle, since a rate rises and falls with the temperature almost exponentially. Where a place
    can take only so much heat, its air is as warm as lets just that much flow.

    Examples
    --------
    Dough and room at the reference, too slow to warm itself: half ripe at half the time.

    >>> from planner.physics.dough_body import lumped_body
    >>> path = ripening_path(start_minute=0, start_c=25.0,
    ...                      stays=[Stay(lambda m: 0 * m + 25.0, lumped_body(5.0))],
    ...                      clock=Clock(10.0, 25.0, Curve.YEAST), span_min=600)
    >>> round(float(progress_after(path, 300)), 2)
    0.5
    """
    hours = np.asarray(clock.reference_hours, dtype=np.float64)
    if not (min(span_min, step_min) > 0 and np.all(hours > 0)):
        raise OutOfRangeError("ripening_path: durations must be above zero")
    if not stays or stays[0].from_min != 0:
        raise OutOfRangeError("ripening_path: the first stay must begin at 0")
    minute = np.asarray(start_minute, dtype=np.float64)
    first = np.asarray(start_c, dtype=np.float64)
    come_with = np.asarray(start_progress, dtype=np.float64)
    shape = np.broadcast_shapes(minute.shape, first.shape, hours.shape, come_with.shape)
    walk = _Walk(minute, shape, hours, clock, stays, set(_steps(folds_min, step_min)), step_min)
    count = ceil(span_min / step_min - 1e-9) + 1
    temperature, progress = np.empty((count, walk.size)), np.empty((count, walk.size))
    shells = np.empty((2, count, walk.size)) if inside else None
    walk.begin(first)
    speed, done = walk.speed, count
    for i in range(count):
        if i > 0:
            walk.step(i)
            before, speed = speed, walk.speed
            progress[i] = progress[i - 1] + _gained(before, speed, walk.hours, step_min)
        else:
            progress[0] = np.broadcast_to(come_with, shape).reshape(-1)
        temperature[i] = walk.mean_c
        if shells is not None:
            shells[:, i] = walk.core_and_skin_c
        if until_progress is not None and i > 0 and progress[i].min() > until_progress:
            done = i + 1
            break
    core, skin = (None, None) if shells is None else shells[:, :done].reshape(2, done, *shape)
    return RipeningPath(
        np.arange(done, dtype=np.float64) * step_min,
        temperature[:done].reshape(done, *shape),
        progress[:done].reshape(done, *shape),
        core,
        skin,
    )


def _gained(before: Numbers, after: Numbers, hours: Numbers, step_min: float) -> Numbers:
    """Return the progress of a step between two speeds."""
    total = before + 4 * np.sqrt(before * after) + after
    return np.asarray(total * (step_min / 360) / hours)


def _steps(minutes: Sequence[float], step_min: float) -> list[int]:
    """Return the steps at whose end something happens at these minutes."""
    return [max(1, round(minute / step_min)) for minute in minutes]


class _Walk:
    """Doughs on their way, step by step: parts of the body in rows, starts in columns."""

    def __init__(
        self,
        minute: Numbers,
        shape: tuple[int, ...],
        hours: Numbers,
        clock: Clock,
        stays: Sequence[Stay],
        folds: set[int],
        step_min: float,
    ) -> None:
        self._minute, self._shape, self._clock = minute, shape, clock
        self._stays, self._folds, self._step_min = stays, folds, step_min
        self.hours = np.broadcast_to(hours, shape).reshape(-1)
        self.size = len(self.hours)
        self._own_k_per_min = heat_of_fermentation_w_per_kg(self.hours) * K_PER_MIN_PER_W_PER_KG
        self._come_to(stays[0])

    def _come_to(self, stay: Stay) -> None:
        self._here = stay
        tau = stay.body.time_constants_min[:, None]
        self._own_k = self._own_k_per_min * tau
        self._keeps = np.exp(-self._step_min / tau)
        self._given_off = stay.body.weights * (1 - self._keeps[:, 0]) / self._step_min

    def begin(self, start_c: Numbers) -> None:
        """Set doughs of one temperature each into their first place."""
        self._settle(np.broadcast_to(start_c, self._shape).reshape(-1))

    def _settle(self, mean_c: Numbers) -> None:
        """Make each dough one temperature."""
        self.mean_c = mean_c
        self._parts = np.tile(mean_c, (len(self._here.body.weights), 1))
        self._rate = self._clock.rate(mean_c)

    @property
    def speed(self) -> Numbers:
        """Rate with the exponent on it."""
        exponent = self._clock.exponent
        return self._rate if exponent == 1 else np.asarray(self._rate**exponent)

    def step(self, i: int) -> None:
        """Go on by one step, the i-th."""
        begin_min = (i - 1) * self._step_min
        here = [stay for stay in self._stays if stay.from_min <= begin_min + 1e-9][-1]
        if here is not self._here:
            self._move(here)
        air = here.air_c(self._minute + begin_min + self._step_min / 2)
        air = np.broadcast_to(air, self._shape).reshape(-1)
        if here.most_w_per_kg is not None:
            air = np.maximum(air, self._least_air_c(here.most_w_per_kg))
        rate = self._rate
        mean, parts = self._relaxed(air, rate)
        if self._step_min > FINE_STEP_MIN:  # over long steps its own heat falls as it cools
            foreseen = self._clock.rate(mean)
            mean, parts = self._relaxed(air, (rate + foreseen) / 2)
        self.mean_c, self._parts, self._rate = mean, parts, self._clock.rate(mean)
        if i in self._folds and not here.body.is_lumped:
            self._settle(mean)

    def _relaxed(self, air: Numbers, rate: Numbers) -> tuple[Numbers, Numbers]:
        toward = air + self._own_k * rate
        parts = toward + (self._parts - toward) * self._keeps
        mean = parts[0] if self._here.body.is_lumped else self._here.body.weights @ parts
        return mean, parts

    def _least_air_c(self, most_w_per_kg: float) -> Numbers:
        """Return the air at which just so much heat leaves the dough in a step [°C]."""
        over = self._given_off @ self._parts - most_w_per_kg * K_PER_MIN_PER_W_PER_KG
        return np.asarray(over / self._given_off.sum())

    def _move(self, there: Stay) -> None:
        """Take the doughs into another place, core and skin as they are."""
        before, after = self._here.body, there.body
        self._come_to(there)
        if before.is_lumped or after.is_lumped:
            self._settle(self.mean_c)
            return
        parts = after.parts @ (before.shells @ self._parts)
        # Into a tub of other shape its shells are others: the heat in them stays.
        self._parts = parts + (self.mean_c - after.weights @ parts)

    @property
    def core_and_skin_c(self) -> Numbers:
        """Innermost and outermost shell [°C]."""
        return np.asarray(self._here.body.shells[[0, -1]] @ self._parts)


def shell_progress(path: RipeningPath, clock: Clock) -> tuple[Numbers, Numbers]:
    """Return the progress of core and skin of a dough over time.

    Parameters
    ----------
    path
        A ripening with core and skin.
    clock
        What the baker knows of it.

    Returns
    -------
    tuple of ndarray
        Core and skin, shape (N, ...); what the path came with is not in them.

    Raises
    ------
    OutOfRangeError
        If the path was followed without core and skin.
    """
    if path.core_c is None or path.skin_c is None:
        raise OutOfRangeError("shell_progress: the path has no core and skin; ask for the inside")
    hours = np.asarray(clock.reference_hours, dtype=np.float64)
    step_min = float(path.minutes[1])
    found = []
    for shell in (path.core_c, path.skin_c):
        speed = clock.rate(shell) ** clock.exponent
        gained = _gained(speed[:-1], speed[1:], hours, step_min)
        found.append(np.concatenate([np.zeros_like(speed[:1]), np.cumsum(gained, axis=0)]))
    return found[0], found[1]


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
    body: DoughBody,
    curve: Curve,
    exponent: float = 1.0,
    reference_c: float = NORMAL_C,
    folds_min: Sequence[float] = (),
) -> float:
    """Return the reference hours behind "so many minutes by the clock in the usual room" [h].

    Parameters
    ----------
    minutes
        Minutes by the clock after which it is ripe [min].
    room_c, dough_c
        Usual air and usual dough temperature at the start [°C].
    body
        How the usual mass in its usual tub follows the air of its place.
    curve, exponent
        Relative-rate curve and exponent.
    reference_c
        Dough temperature of the reference [°C].
    folds_min
        When it is folded [min].

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

    >>> from planner.physics.dough_body import lumped_body
    >>> round(hours_from_clock(minutes=120, room_c=25, dough_c=25, body=lumped_body(400),
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
            stays=[Stay(lambda minute: np.full_like(minute, room_c), body)],
            clock=Clock(hours, reference_c, curve, exponent),
            folds_min=folds_min,
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

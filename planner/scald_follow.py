"""The ways of a scald followed from many pours: when each is cool enough, and how warm it stood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.formula import Scald
from planner.night import Night
from planner.physics.cooling import (
    CoolingLeg,
    CoolingPath,
    OverTime,
    cooling_paths,
    minutes_between,
    minutes_to_cool,
)
from planner.physics.quench import quenched_c
from planner.scald_ways import SETTLE_MIN, STEP_MIN, ScaldWay, hot_specific_heat

Numbers = NDArray[np.float64]

START_EVERY_MIN = 60.0
"""Pours that are followed lie so far apart; between them the time to cool is read off a line."""

NEAREST_TO_AIR_K = 3.0
"""No paste is waited for nearer than this to the air of its place [K]."""

NEVER_MIN = 1e7


@dataclass(frozen=True)
class Followed:
    """A way followed from some pours.

    Attributes
    ----------
    starts
        Minutes of the pours.
    path
        Its cool-down from each, the stand in the heat included.
    warm_min
        Minutes that its enzymes have had in their window, by pour; infinite without a window.
    coolest_air_c
        Coolest air of its place [°C].
    """

    way: ScaldWay
    starts: Numbers
    path: CoolingPath
    warm_min: Numbers
    coolest_air_c: float

    def ready_min(self, target_c: float, starts: Numbers) -> Numbers:
        """Return minutes from a pour until its mean is at a temperature, infinite if never.

        Parameters
        ----------
        target_c
            Wanted [°C].
        starts
            Minutes of the pours, any shape; between those followed a line is drawn.
        """
        lag = np.maximum(minutes_to_cool(self.path, target_c), self.way.add_min)
        if target_c < self.coolest_air_c + NEAREST_TO_AIR_K:  # by what is stirred in, or never
            lag = np.where(lag <= self.way.add_min + SETTLE_MIN, lag, NEVER_MIN)
        lag = np.minimum(np.asarray(lag, dtype=np.float64), NEVER_MIN)
        found = np.interp(starts, self.starts, lag)
        return np.asarray(np.where(found > NEVER_MIN / 1e3, np.inf, found), dtype=np.float64)


Asked = tuple[Scald, float, Sequence[ScaldWay]]
"""A scald, what it weighs in the end [kg], and its ways."""


def follow_ways(
    night: Night, part: Scald, mass_kg: float, ways: Sequence[ScaldWay], starts: Numbers
) -> tuple[Followed, ...]:
    """Follow every way of one scald from some pours.

    Parameters
    ----------
    night, part, mass_kg
        The scald.
    ways
        As `scald_ways` gives them.
    starts
        Minutes of the pours, in order.
    """
    return follow_all(night, [(part, mass_kg, ways)], starts)[0]


def follow_all(
    night: Night, asked: Sequence[Asked], starts: Numbers
) -> tuple[tuple[Followed, ...], ...]:
    """Follow every way of every scald from some pours, all in one sweep.

    Parameters
    ----------
    night
        Temperatures of the night.
    asked
        Scalds with their ways.
    starts
        Minutes of the pours, in order.

    Returns
    -------
    tuple
        The ways of each scald, in the order they were asked for.
    """
    rows = [_Row(part, kg, way) for part, kg, ways in asked for way in ways]
    places = {row.part.place_id for row in rows} | {r.way.stand.place_id for r in rows}
    air = {p: (night.air_c(p), night.humidity(p)) for p in places}
    held = _in_the_heat(rows, air, starts)
    after = _cooling(night, rows, air, held, starts)
    found = iter(_followed(night, rows, air, held, after, starts))
    return tuple(tuple(next(found) for _ in ways) for _, _, ways in asked)


@dataclass(frozen=True, slots=True)
class _Row:
    """One way of one scald."""

    part: Scald
    mass_kg: float
    way: ScaldWay


Air = dict[str, tuple[OverTime, OverTime]]


def _in_the_heat(rows: Sequence[_Row], air: Air, starts: Numbers) -> dict[int, CoolingPath]:
    """Return how each stands before anything is done to it, where it does."""
    found: dict[int, CoolingPath] = {}
    for minutes in {row.way.add_min for row in rows if row.way.hold is not None}:
        alike = [i for i, r in enumerate(rows) if r.way.hold and r.way.add_min == minutes]
        legs = [
            CoolingLeg(
                rows[i].way.hold or rows[i].way.stand.body, minutes, *air[rows[i].part.place_id]
            )
            for i in alike
        ]
        start_c = [rows[i].way.pour.start_c for i in alike]
        paths = cooling_paths(legs, start_c=start_c, starts=starts, step_min=STEP_MIN)
        found |= dict(zip(alike, paths, strict=True))
    return found


def _cooling(
    night: Night,
    rows: Sequence[_Row],
    air: Air,
    held: dict[int, CoolingPath],
    starts: Numbers,
) -> dict[int, CoolingPath]:
    """Return how each cools once everything is in place."""
    found: dict[int, CoolingPath] = {}
    for minutes in {row.way.add_min for row in rows}:
        alike = [i for i, row in enumerate(rows) if row.way.add_min == minutes]
        legs = [
            CoolingLeg(
                rows[i].way.stand.body,
                rows[i].part.keep_at_most_h * 60 - minutes,
                *air[rows[i].way.stand.place_id],
            )
            for i in alike
        ]
        start_c = [
            _after_adding(night, rows[i].part, rows[i].mass_kg, rows[i].way, held.get(i))
            for i in alike
        ]
        later = starts + minutes
        paths = cooling_paths(legs, start_c=start_c, starts=later, step_min=STEP_MIN)
        found |= dict(zip(alike, paths, strict=True))
    return found


def _followed(
    night: Night,
    rows: Sequence[_Row],
    air: Air,
    held: dict[int, CoolingPath],
    after: dict[int, CoolingPath],
    starts: Numbers,
) -> list[Followed]:
    coolest = {place: float(np.min(over[0](night.hours))) for place, over in air.items()}
    return [
        Followed(
            row.way,
            starts,
            _joined(held.get(i), after[i]),
            _warm_min(row.part, held.get(i), len(starts)),
            coolest[row.way.stand.place_id],
        )
        for i, row in enumerate(rows)
    ]


def legs_of(night: Night, part: Scald, mass_kg: float, way: ScaldWay) -> list[CoolingLeg]:
    """Return where a scald stands, one leg after the other, with what is stirred in between.

    Parameters
    ----------
    night, part, mass_kg, way
        The scald and its way.
    """
    span = part.keep_at_most_h * 60
    place = night.air_c(way.stand.place_id), night.humidity(way.stand.place_id)
    if way.hold is None:
        return [CoolingLeg(way.stand.body, span, *place)]
    own = night.air_c(part.place_id), night.humidity(part.place_id)

    def mixed(mean: Numbers) -> Numbers:
        flat = mean.reshape(-1)
        return np.array([thinned_c(night, part, mass_kg, way, flat)]).reshape(mean.shape)

    return [
        CoolingLeg(way.hold, way.add_min, *own),
        CoolingLeg(way.stand.body, span - way.add_min, *place, mixed_to_c=mixed),
    ]


def _after_adding(
    night: Night, part: Scald, mass_kg: float, way: ScaldWay, held: CoolingPath | None
) -> Numbers:
    """Return the mean once everything is in place, by pour [°C]."""
    if held is None:
        return np.asarray(way.pour.start_c)
    return thinned_c(night, part, mass_kg, way, held.mean_c[-1])


def thinned_c(night: Night, part: Scald, mass_kg: float, way: ScaldWay, mean: Numbers) -> Numbers:
    """Return the mean of a scald once what was kept back has been stirred in [°C].

    Parameters
    ----------
    night, part, mass_kg, way
        The scald and its way.
    mean
        Its mean before, shape (S,) [°C].
    """
    if way.held_back_kg <= 0:
        return np.asarray(mean)
    made = night.day.bakery.ice
    ice_c = -5.0 if made is None else made.temperature_c.value
    true = 1.0 if made is None else made.true_ice_fraction.value
    hot_kg = mass_kg - way.held_back_kg
    heat = hot_specific_heat(part, mass_kg, way.held_back_kg)
    melt_kg = way.ice_kg * (1 - true)  # stored ice that is already water, at its melting point
    return np.array(
        [
            quenched_c(
                hot_kg,
                float(c),
                water_kg=way.cold_kg + melt_kg,
                water_c=way.cold_c * way.cold_kg / max(way.cold_kg + melt_kg, 1e-9),
                ice_kg=way.ice_kg * true,
                ice_c=ice_c,
                scald_kj_per_kg_k=heat,
            )
            for c in mean
        ]
    )


def _joined(held: CoolingPath | None, after: CoolingPath) -> CoolingPath:
    if held is None:
        return after
    minutes = held.minutes[-1] + after.minutes
    return CoolingPath(
        np.concatenate([held.minutes, minutes]),
        np.concatenate([held.mean_c, after.mean_c]),
        np.concatenate([held.warmest_c, after.warmest_c]),
        np.concatenate([held.centre_c, after.centre_c]),
    )


def _warm_min(part: Scald, held: CoolingPath | None, count: int) -> Numbers:
    if held is None or part.hold_from_c is None or part.hold_to_c is None:
        return np.full(count, np.inf)
    return minutes_between(held, part.hold_from_c - 0.01, part.hold_to_c + 0.01)


def sampled_starts(night: Night) -> Numbers:
    """Return the pours that are followed: every hour of the span [min]."""
    return np.arange(0.0, night.day.span_min + START_EVERY_MIN, START_EVERY_MIN)

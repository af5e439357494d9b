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


def follow_ways(
    night: Night, part: Scald, mass_kg: float, ways: Sequence[ScaldWay], starts: Numbers
) -> tuple[Followed, ...]:
    """Follow every way from some pours, all in one sweep.

    Parameters
    ----------
    night, part, mass_kg
        The scald.
    ways
        As `scald_ways` gives them.
    starts
        Minutes of the pours, in order.
    """
    span = part.keep_at_most_h * 60
    place = {p: (night.air_c(p), night.humidity(p)) for p in {part.place_id, *_places(ways)}}
    first = [w for w in ways if w.hold is not None]
    held: dict[int, CoolingPath] = {}
    by_length: dict[float, list[ScaldWay]] = {}
    for way in first:
        by_length.setdefault(way.add_min, []).append(way)
    for minutes, alike in by_length.items():
        legs = [CoolingLeg(w.hold or w.stand.body, minutes, *place[part.place_id]) for w in alike]
        paths = cooling_paths(
            legs, start_c=[w.pour.start_c for w in alike], starts=starts, step_min=STEP_MIN
        )
        held |= {id(w): p for w, p in zip(alike, paths, strict=True)}
    after: dict[int, CoolingPath] = {}
    for add_min in {w.add_min for w in ways}:
        alike = [w for w in ways if w.add_min == add_min]
        legs = [CoolingLeg(w.stand.body, span - add_min, *place[w.stand.place_id]) for w in alike]
        start_c = [_after_adding(night, part, mass_kg, w, held.get(id(w))) for w in alike]
        paths = cooling_paths(legs, start_c=start_c, starts=starts + add_min, step_min=STEP_MIN)
        after |= {id(w): p for w, p in zip(alike, paths, strict=True)}
    return tuple(
        Followed(
            w,
            starts,
            _joined(held.get(id(w)), after[id(w)]),
            _warm_min(part, held.get(id(w)), len(starts)),
            float(np.min(place[w.stand.place_id][0](night.hours))),
        )
        for w in ways
    )


def _places(ways: Sequence[ScaldWay]) -> set[str]:
    return {way.stand.place_id for way in ways}


def _after_adding(
    night: Night, part: Scald, mass_kg: float, way: ScaldWay, held: CoolingPath | None
) -> Numbers:
    """Return the mean once everything is in place, by pour [°C]."""
    if held is None:
        return np.asarray(way.pour.start_c)
    mean = held.mean_c[-1]
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

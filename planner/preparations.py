"""Preparations: levains, preferments, scalds and soakers, set back so that they are ready.

Parts of the same name and make-up are one preparation that may feed several mixes. Each offers,
for every half hour of the night, how long after its start it can be used; the search picks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from planner.balances import part_kg
from planner.batches import Batch, choose_mixers, mixers_with_speeds
from planner.builds import courses, made_min, single_builds
from planner.formula import Part, Preferment, Scald, Soaker
from planner.night import Night
from planner.options import BUCKET_MIN, PartCurve
from planner.planned import PreparationKind
from planner.scalds import ScaldCooling, scald_cooling, scald_use_at_most_c
from planner.scheduling.problem import Lag, Preparation

WORST_SAMPLES_MIN = (0, 15, 30)
"""Starts inside a bucket that are looked at; the worst counts [min]."""

LONGEST_LAG_MIN = 2880
"""A preparation is set at most two days before its use [min]."""

MOST_BUILDS = 3
"""Into how many builds a preferment may be split in one day."""


@dataclass(frozen=True)
class Offered:
    """One preparation with the mixes that need it.

    Attributes
    ----------
    id
        Id of the preparation.
    part
        The part as the first of its formulas has it.
    users
        Batches that need it.
    total_kg
        What all of them take together [kg].
    ready_c
        The warmest that it may be at use [°C]; for a preferment its own ripening decides.
    curve
        Its temperature when used at a minute of the night.
    problem
        What the search sees.
    """

    id: str
    part: Part
    users: tuple[Batch, ...]
    total_kg: float
    ready_c: float
    curve: PartCurve
    problem: Preparation

    @property
    def kind(self) -> PreparationKind:
        """What kind of preparation it is."""
        return kind_of(self.part)

    def feeds(self, batch_id: str) -> bool:
        """Return whether a batch needs it."""
        return any(b.id == batch_id for b in self.users)


def kind_of(part: Part) -> PreparationKind:
    """Return what kind of preparation a part is."""
    if isinstance(part, Preferment):
        return PreparationKind.PREFERMENT
    return PreparationKind.SCALD if isinstance(part, Scald) else PreparationKind.SOAKER


def preparations_of(night: Night, batches: Sequence[Batch], grid_min: int) -> tuple[Offered, ...]:
    """Work out every preparation of a day.

    Parameters
    ----------
    night
        Temperatures of the night.
    batches
        All mixes.
    grid_min
        Grid of the search [min].
    """
    groups: dict[Part, list[tuple[Part, Batch]]] = {}
    for batch in batches:
        for part in batch.formula.parts:
            groups.setdefault(make_up(part), []).append((part, batch))
    ids = _ids([members[0] for members in groups.values()])
    return tuple(
        _offered(night, one_id, members, grid_min)
        for one_id, members in zip(ids, groups.values(), strict=True)
    )


def make_up(part: Part) -> Part:
    """Return what two parts must share to be one preparation: all but their share of the dough.

    Their name, and when they go into their dough, may differ; how they are made, kept and used may
    not.
    """
    total = sum(line.percent for line in part.lines)
    lines = tuple(
        replace(line, percent=round(1000 * line.percent / total, 2)) for line in part.lines
    )
    return replace(part, lines=lines, name="", step=0)


def _ids(firsts: list[tuple[Part, Batch]]) -> list[str]:
    plain = [part.id for part, _ in firsts]
    return [
        part.id if plain.count(part.id) == 1 else f"{batch.formula.id}.{part.id}"
        for part, batch in firsts
    ]


def _offered(
    night: Night, one_id: str, members: list[tuple[Part, Batch]], grid_min: int
) -> Offered:
    part = members[0][0]
    users = tuple(batch for _, batch in members)
    total_kg = sum(part_kg(p, b.flour_kg) for p, b in members)
    if isinstance(part, Preferment):
        return _preferment(night, one_id, part, users, total_kg, grid_min)
    if isinstance(part, Scald):
        return _scald(night, one_id, part, users, total_kg, grid_min)
    return _soaker(night, one_id, part, users, total_kg, grid_min)


def _starts(night: Night) -> NDArray[np.float64]:
    """Starts looked at: bucket by sample [min]."""
    buckets = np.arange(0, night.day.span_min // BUCKET_MIN)
    return np.asarray(
        buckets[:, None] * BUCKET_MIN + np.array(WORST_SAMPLES_MIN)[None, :], dtype=np.float64
    )


def _preferment(
    night: Night,
    one_id: str,
    part: Preferment,
    users: tuple[Batch, ...],
    total_kg: float,
    grid_min: int,
) -> Offered:
    builds = min(MOST_BUILDS, len(users))
    mixers: tuple[str, ...] = ()
    if part.steps:
        builds = len(users)
        fitting = mixers_with_speeds(night.day.bakery, {s.speed for s in part.steps})
        mixers = tuple(m.id for m in choose_mixers(fitting, total_kg / builds))
    start = _starts(night)
    lags, curves = [], []
    for mass_kg in sorted({total_kg, total_kg / builds}):
        last = courses(night, part, mass_kg, start, mixers[0] if mixers else None)[-1]
        stands = last.offset_min + made_min(part)
        low, ripe, high = (m + stands for m in last.rise.window(last.path))
        lags.append((low, high))
        curves.append(_use_curve(start, ripe, last.path.minutes, last.path.temperature_c, stands))
    low = np.max([a for a, _ in lags], axis=0)
    high = np.min([b for _, b in lags], axis=0)
    return Offered(
        one_id,
        part,
        users,
        total_kg,
        part.temperature_c + 10,
        curves[-1],
        Preparation(
            id=one_id,
            lags=lag_rows(low, high, grid_min),
            work_min=ceil(made_min(single_builds(part)[0]) / grid_min) * grid_min,
            mixer_ids=mixers,
            mix_min=ceil(sum(s.minutes for s in part.steps) / grid_min) * grid_min,
            max_builds=builds,
        ),
    )


def _use_curve(
    start: NDArray[np.float64],
    lag: NDArray[np.float64],
    minutes: NDArray[np.float64],
    temperature_c: NDArray[np.float64],
    offset_min: float,
) -> PartCurve:
    """Return the temperature of a preparation used when it is just ready."""
    flat = start.reshape(-1)
    flat_lag = np.where(np.isfinite(lag), lag, minutes[-1]).reshape(-1)
    by_start = temperature_c.reshape(len(minutes), -1)
    at_use = np.array(
        [np.interp(flat_lag[i] - offset_min, minutes, by_start[:, i]) for i in range(len(flat))]
    )
    return PartCurve(flat + flat_lag, at_use)


def lag_rows(low: NDArray[np.float64], high: NDArray[np.float64], grid_min: int) -> tuple[Lag, ...]:
    """Return the lags of every bucket in which some use is possible, worst of its samples."""
    rows = []
    for bucket, (a, b) in enumerate(zip(low.max(axis=1), high.min(axis=1), strict=True)):
        if not np.isfinite(a):
            continue
        first = ceil(float(a) / grid_min - 1e-9) * grid_min
        last = floor(min(float(b), LONGEST_LAG_MIN) / grid_min + 1e-9) * grid_min
        if first <= last:
            rows.append(Lag(bucket, first, last))
    return tuple(rows)


def _scald(
    night: Night,
    one_id: str,
    part: Scald,
    users: tuple[Batch, ...],
    total_kg: float,
    grid_min: int,
) -> Offered:
    start = _starts(night)
    ready_c = scald_use_at_most_c(night, part, users)
    cooling: ScaldCooling = scald_cooling(night, part, total_kg, start)
    lag = cooling.minutes_to(ready_c)
    low = np.maximum(lag, part.hold_min) + part.work_min
    high = np.full_like(low, part.keep_at_most_h * 60)
    return Offered(
        one_id,
        part,
        users,
        total_kg,
        ready_c,
        PartCurve(np.array([0.0, float(night.day.span_min)]), np.array([ready_c, ready_c])),
        Preparation(
            id=one_id,
            lags=lag_rows(low, np.where(np.isfinite(low), high, np.inf), grid_min),
            work_min=ceil(part.work_min / grid_min) * grid_min,
            max_builds=min(2, len(users)),
        ),
    )


def _soaker(
    night: Night,
    one_id: str,
    part: Soaker,
    users: tuple[Batch, ...],
    total_kg: float,
    grid_min: int,
) -> Offered:
    start = _starts(night)
    low = np.full_like(start, part.soak_h * 60)
    high = np.full_like(start, part.keep_at_most_h * 60)
    minutes = night.hours
    air = night.air_c(part.place_id)(minutes)
    return Offered(
        one_id,
        part,
        users,
        total_kg,
        99.0,
        PartCurve(minutes, air),
        Preparation(
            id=one_id,
            lags=lag_rows(low, high, grid_min),
            work_min=ceil(part.work_min / grid_min) * grid_min,
        ),
    )

"""Preparations: levains, preferments, scalds and soakers, set back so that they are ready.

Parts of the same name and make-up are one preparation that may feed several mixes. Each offers,
for every half hour of the night, how long after its start it can be used; the search picks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from planner.balances import part_kg
from planner.batches import Batch, counted_once
from planner.builds import build_offsets_min, courses, made_min, single_builds
from planner.crew import Skill
from planner.formula import Part, Preferment, Scald, Soaker
from planner.mixer_loads import choose_mixers, mixers_with_speeds
from planner.night import Night
from planner.options import BUCKET_MIN, PartCurve
from planner.planned_preparation import PreparationKind
from planner.scald_follow import Followed, follow_all, sampled_starts
from planner.scald_ways import STIR_EVERY_MIN, STIR_MIN, ScaldWay, scald_ways
from planner.scalds import scald_use_at_most_c, scald_wish_c
from planner.scheduling.preparation import Lag, Preparation, Way
from planner.scheduling.problem import VESSELS
from planner.water_sources import SupplyKind

WORST_SAMPLES_MIN = (0, 15, 30)
"""Starts inside a bucket that are looked at; the worst counts [min]."""

LONGEST_LAG_MIN = 2880
"""A preparation is set at most two days before its use [min]."""

OTHER_WAY_COST = 20
"""Points for cooling a scald otherwise than its baker does, beside one for each minute of work and
six for each kilo of ice, as for a dough."""

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
    way_codes
        For a scald, what each way of ``problem`` stands for.
    """

    id: str
    part: Part
    users: tuple[Batch, ...]
    total_kg: float
    ready_c: float
    curve: PartCurve
    problem: Preparation
    way_codes: tuple[str, ...] = ()

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
    whole = [
        _Group(
            members[0][0],
            tuple(batch for _, batch in members),
            _total_kg(members),
        )
        for members in groups.values()
    ]
    followed = _ready_and_ways(night, whole)
    scarce = _scarce(night, whole, followed)
    return tuple(
        _offered(night, one_id, group, grid_min, followed.get(i), scarce)
        for i, (one_id, group) in enumerate(zip(ids, whole, strict=True))
    )


def _total_kg(members: Sequence[tuple[Part, Batch]]) -> float:
    """Return what all mixes take; a dough that can be made in several ways counts once [kg]."""
    once = {batch.id for batch in counted_once([batch for _, batch in members])}
    return sum(part_kg(part, batch.flour_kg) for part, batch in members if batch.id in once)


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
    night: Night,
    one_id: str,
    group: _Group,
    grid_min: int,
    followed: ReadyWays | None,
    scarce: Mapping[str, int],
) -> Offered:
    part, users, total_kg = group.part, group.users, group.total_kg
    if isinstance(part, Preferment):
        return _preferment(night, one_id, part, users, total_kg, grid_min)
    if isinstance(part, Soaker):
        return _soaker(night, one_id, part, users, total_kg, grid_min)
    if followed is None:
        raise TypeError(f"_offered: {part.id} is a scald and was not followed")
    return _scald(night, one_id, part, group, grid_min, followed, scarce)


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
    mixes = len(counted_once(users))
    builds = min(MOST_BUILDS, mixes)
    mixers: tuple[str, ...] = ()
    if part.steps:
        builds = mixes
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
            ways=(Way(visits=feeds_of(part)),),
            mixer_ids=mixers,
            mix_min=ceil(sum(s.minutes for s in part.steps) / grid_min) * grid_min,
            max_builds=builds,
            skill=Skill.FEED,
        ),
    )


def feeds_of(part: Preferment) -> tuple[tuple[int, int], ...]:
    """Return when later builds are set after the first, and their work [min]."""
    later = zip(single_builds(part)[1:], build_offsets_min(part)[1:], strict=True)
    return tuple((round(offset), ceil(made_min(build))) for build, offset in later)


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
    group: _Group,
    grid_min: int,
    found: ReadyWays,
    scarce: Mapping[str, int],
) -> Offered:
    start = _starts(night)
    ready_c, followed = found
    rows = [(one, one.ready_min(ready_c, start)) for one in followed]
    kept = unbeaten(rows)
    lags: list[Lag] = []
    for number, (one, lag) in enumerate(kept):
        low = np.maximum(lag, part.hold_min) + part.work_min + np.ceil(one.way.labour_min)
        high = np.where(np.isfinite(low), part.keep_at_most_h * 60, np.inf)
        lags += [replace(r, way=number) for r in lag_rows(low, high, grid_min)]
    return Offered(
        one_id,
        part,
        group.users,
        group.total_kg,
        ready_c,
        PartCurve(np.array([0.0, float(night.day.span_min)]), np.array([ready_c, ready_c])),
        Preparation(
            id=one_id,
            lags=tuple(sorted(lags, key=lambda r: (r.bucket, r.way))),
            work_min=ceil(part.work_min / grid_min) * grid_min,
            max_builds=min(2, len(group.users)),
            ways=tuple(_way(night, part, one.way, grid_min, scarce) for one, _ in kept),
            skill=Skill.POUR,
        ),
        tuple(one.way.code for one, _ in kept),
    )


@dataclass(frozen=True)
class _Group:
    """Parts of one make-up, with the mixes that need them."""

    part: Part
    users: tuple[Batch, ...]
    total_kg: float


ReadyWays = tuple[float, tuple[Followed, ...]]
"""The warmest a scald may be [°C], and its ways."""


def _ready_and_ways(night: Night, groups: Sequence[_Group]) -> dict[int, ReadyWays]:
    """Return the warmest each scald may be, and its ways, by the place of its group.

    It is what its doughs can take, if any way reaches that; otherwise as near to the air of its
    place as waiting brings it. All are followed together.
    """
    scalds = {i: (g, g.part) for i, g in enumerate(groups) if isinstance(g.part, Scald)}
    wish_c = {i: scald_wish_c(night, part, g.users) for i, (g, part) in scalds.items()}
    pours = sampled_starts(night)
    found = _follow(night, scalds, wish_c, pours)
    relaxed_c = {
        i: scald_use_at_most_c(night, part, g.users)
        for i, (g, part) in scalds.items()
        if not any(np.isfinite(one.ready_min(wish_c[i], pours)).any() for one in found[i][1])
    }
    short = {i: scalds[i] for i, c in relaxed_c.items() if c > wish_c[i]}
    return found | _follow(night, short, relaxed_c, pours)


def _follow(
    night: Night,
    scalds: Mapping[int, tuple[_Group, Scald]],
    ready_c: Mapping[int, float],
    pours: NDArray[np.float64],
) -> dict[int, ReadyWays]:
    if not scalds:
        return {}
    asked = [
        (part, g.total_kg, scald_ways(night, part, g.total_kg, ready_c[i]))
        for i, (g, part) in scalds.items()
    ]
    followed = follow_all(night, asked, pours)
    return {i: (ready_c[i], ways) for i, ways in zip(scalds, followed, strict=True)}


def unbeaten(
    rows: Sequence[tuple[Followed, NDArray[np.float64]]],
) -> list[tuple[Followed, NDArray[np.float64]]]:
    """Return the ways that no other beats in time, work, ice and room; the baker's own first.

    Parameters
    ----------
    rows
        Each way with its minutes to be ready, by start.
    """
    own, *others = rows
    kept = [own]
    for one, lag in sorted(others, key=lambda row: _price(row[0].way)):
        better = any(
            bool((other <= lag).all())
            and all(a <= b for a, b in zip(_price(k.way), _price(one.way), strict=True))
            for k, other in kept
        )
        if not better and np.isfinite(lag).any():
            kept.append((one, lag))
    return kept


def _price(way: ScaldWay) -> tuple[float, float, float, float]:
    return way.labour_min, way.ice_kg, way.cold_kg, float(way.stand.racks)


def _way(night: Night, part: Scald, way: ScaldWay, grid_min: int, scarce: Mapping[str, int]) -> Way:
    """Return what a way takes of people, stores and chambers."""
    chilled = night.supply(SupplyKind.CHILLER) is not None
    visits = _visits(part, way, grid_min)
    work_min = part.work_min + (0.0 if visits or way.add_min > 0 else way.labour_min)
    return Way(
        cost=0 if way.is_own else OTHER_WAY_COST + round(way.labour_min + 6 * way.ice_kg),
        work_min=ceil(work_min / grid_min - 1e-9) * grid_min,
        ice_g=ceil(way.ice_kg * 1000),
        chilled_g=ceil(way.cold_kg * 1000) if chilled else 0,
        hot_g=ceil(way.pour.hot_kg * 1000) if night.day.bakery.kettle is not None else 0,
        holds=_holds(night, way, scarce),
        visits=visits,
    )


def _visits(part: Scald, way: ScaldWay, grid_min: int) -> tuple[tuple[int, int], ...]:
    """Return when hands are needed after the pour: water, ice and trays, and each stir [min]."""
    stand, found = way.stand, []
    own_min = way.labour_min - stand.stirs * STIR_MIN
    if way.add_min > 0 and own_min > 0:
        found.append((part.work_min + way.add_min, own_min))
    after = part.work_min + way.add_min
    found += [(after + STIR_EVERY_MIN * (i + 1), STIR_MIN) for i in range(stand.stirs)]
    return tuple(
        (ceil(at / grid_min - 1e-9) * grid_min, ceil(length / grid_min - 1e-9) * grid_min)
        for at, length in found
    )


def _holds(night: Night, way: ScaldWay, scarce: Mapping[str, int]) -> tuple[tuple[str, int], ...]:
    """Return the racks and the scarce vessels that a way takes."""
    stand = way.stand
    found = []
    if stand.racks and night.day.bakery.chamber(stand.place_id) is not None:
        found.append((stand.place_id, stand.racks))
    if stand.vessel_id in scarce:
        found.append((VESSELS + stand.vessel_id, stand.vessels))
    return tuple(found)


def _scarce(
    night: Night, groups: Sequence[_Group], followed: Mapping[int, ReadyWays]
) -> dict[str, int]:
    """Return how many there are of the vessels that several scalds may want at once."""
    wanted: dict[str, list[int]] = {}
    for i, (_, ways) in followed.items():
        most: dict[str, int] = {}
        for one in ways:
            stand = one.way.stand
            most[stand.vessel_id] = max(most.get(stand.vessel_id, 0), stand.vessels)
        builds = min(2, len(groups[i].users))
        for vessel_id, count in most.items():
            wanted.setdefault(vessel_id, []).extend([count] * builds)
    there = {v.id: v.count for v in night.day.bakery.vessels}
    return {
        vessel_id: max(there[vessel_id], *counts)
        for vessel_id, counts in wanted.items()
        if vessel_id in there and len(counts) > 1 and sum(counts) > there[vessel_id]
    }


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
            skill=Skill.SOAK,
        ),
    )

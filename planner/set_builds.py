"""Preparations of a night that has begun: what is set stays set, and what of it is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from math import ceil, floor

from planner.balances import part_kg
from planner.batches import Batch
from planner.begun import Begun
from planner.night import Night
from planner.planned import Plan
from planner.planned_preparation import PlannedPreparation
from planner.preparations import Offered, preparations_of
from planner.remarks import Remark, RemarkKind, mass, word

SPARE_SHARE = 0.002
"""A build is weighed to about so much of what is in it; less than this short is not short."""


def waiting_preparations(
    night: Night,
    plan: Plan,
    begun: Mapping[str, Begun],
    batches: Sequence[Batch],
    now: datetime,
    grid_min: int,
) -> tuple[Offered, ...]:
    """Return the preparations of mixes that have not begun, those already set at their start.

    A build that is set feeds what it was made for, and beyond that what still fits into what is
    left of it; what it does not feed gets a build of its own, with an id that no earlier version
    has used.

    Parameters
    ----------
    night, plan, begun
        The night, the plan in force and what has begun of it.
    batches
        Mixes that have not begun.
    now
        From when on something new can be set [UTC].
    grid_min
        Grid of the search [min].
    """
    found: list[Offered] = []
    for offered in preparations_of(night, batches, grid_min):
        taken: set[str] = set()
        for old in set_builds(plan, offered.part.id, now):
            users = fed_by(old, offered, begun, taken)
            if not users:
                continue
            start = round(plan.day.minute(old.start_utc))
            taken |= {b.id for b in users}
            fixed = replace(
                _way_taken(offered, old).problem,
                id=old.id,
                max_builds=1,
                earliest_start=start,
                latest_start=start,
            )
            found.append(replace(offered, id=old.id, users=users, problem=fixed))
        rest = tuple(b for b in offered.users if b.id not in taken)
        if rest:
            again = any(old.part_id == offered.part.id for old in set_builds(plan, "", now))
            one_id = f"{offered.id}.v{plan.version + 1}" if again else offered.id
            later = replace(
                offered.problem,
                id=one_id,
                earliest_start=ceil(plan.day.minute(now)),
                max_builds=min(offered.problem.max_builds, len(rest)),
            )
            found.append(replace(offered, id=one_id, users=rest, problem=later))
    return tuple(found)


def set_builds(plan: Plan, part_id: str, now: datetime) -> list[PlannedPreparation]:
    """Return the builds of a part that are set by a moment; of every part when it is empty."""
    started = [p for p in plan.preparations if p.start_utc <= now]
    return [p for p in started if not part_id or p.part_id == part_id]


def fed_by(
    old: PlannedPreparation, offered: Offered, begun: Mapping[str, Begun], taken: set[str]
) -> tuple[Batch, ...]:
    """Return the mixes that a set build feeds: its own first, then what fits into the rest."""
    users = [b for b in offered.users if b.id not in taken]
    own = [b for b in users if b.id in old.mix_ids]
    left_kg = left_of(old, begun) - sum(needed_kg(offered, b) for b in own)
    if left_kg < -SPARE_SHARE * old.made_kg:  # a mix that is larger now takes no more than there is
        own, left_kg = [], left_of(old, begun)
    more = []
    for batch in sorted(users, key=lambda b: (b.id not in old.mix_ids, -b.priority)):
        need_kg = needed_kg(offered, batch)
        if batch not in own and need_kg <= left_kg + SPARE_SHARE * old.made_kg:
            more.append(batch)
            left_kg -= need_kg
    return tuple(b for b in offered.users if b in own or b in more)


def left_of(old: PlannedPreparation, begun: Mapping[str, Begun]) -> float:
    """Return what mixes that have begun leave of a set build, its seed kept back [kg]."""
    used_kg = 0.0
    for mix_id in old.mix_ids:
        if mix_id in begun:
            batch = begun[mix_id].batch
            part = next(p for p in batch.formula.parts if p.id == old.part_id)
            used_kg += part_kg(part, batch.flour_kg)
    return old.made_kg - old.kept_back_kg - used_kg


def needed_kg(offered: Offered, batch: Batch) -> float:
    """Return what a mix takes of a preparation [kg]."""
    part = next(p for p in batch.formula.parts if p.id == offered.part.id)
    return part_kg(part, batch.flour_kg)


def what_is_left(
    plan: Plan,
    begun: Mapping[str, Begun],
    batches: Sequence[Batch],
    unplaced: Sequence[str],
    now: datetime,
) -> list[Remark]:
    """Say how many pieces the builds that are set still allow of mixes that found no place.

    Parameters
    ----------
    plan, begun, now
        As in `waiting_preparations`; the plan with its preparations as they were.
    batches
        Every mix of the day.
    unplaced
        Ids of those without a place.
    """
    remarks = []
    used = _used_to_come(plan, begun, batches, unplaced)
    for batch in batches:
        if batch.id not in unplaced or batch.product is None or batch.pieces == 0:
            continue
        for part in batch.formula.parts:
            builds = set_builds(plan, part.id, now)
            if not builds:
                continue
            left_kg = sum(left_of(old, begun) for old in builds) - used.get(part.id, 0.0)
            each_kg = part_kg(part, batch.flour_kg) / batch.pieces
            pieces = min(batch.pieces, max(0, floor(left_kg / each_kg + 1e-9)))
            text = (
                "Of the {part} that is set {left} is left: enough for {pieces} of the {wanted} "
                "pieces of {product}."
            )
            figures = (
                word("part", part.name),
                mass("left", max(0.0, left_kg)),
                word("pieces", str(pieces)),
                word("wanted", str(batch.pieces)),
                word("product", batch.product.name),
            )
            remarks.append(Remark(RemarkKind.LEVER, "part_left", text, figures, batch.id))
    return remarks


def _used_to_come(
    plan: Plan, begun: Mapping[str, Begun], batches: Sequence[Batch], unplaced: Sequence[str]
) -> dict[str, float]:
    """Return what mixes with a place will take of each part that they were promised [kg]."""
    promised = {(p.part_id, m) for p in plan.preparations for m in p.mix_ids}
    used: dict[str, float] = {}
    for batch in batches:
        if batch.id in begun or batch.id in unplaced:
            continue
        for part in batch.formula.parts:
            if (part.id, batch.id) in promised:
                used[part.id] = used.get(part.id, 0.0) + part_kg(part, batch.flour_kg)
    return used


def _way_taken(offered: Offered, old: PlannedPreparation) -> Offered:
    """Return a scald that is poured with the one way by which it was."""
    if old.way not in offered.way_codes:
        return offered
    taken = offered.way_codes.index(old.way)
    lags = tuple(lag for lag in offered.problem.lags if lag.way == taken)
    return replace(offered, problem=replace(offered.problem, lags=lags))


def merged(
    fresh: Sequence[PlannedPreparation],
    old: Sequence[PlannedPreparation],
    begun: Mapping[str, Begun],
    now: datetime,
) -> tuple[PlannedPreparation, ...]:
    """Return the preparations to come, and those that are set as they were set."""
    started = {p.id: p for p in old if p.start_utc <= now}
    kept = []
    for p in started.values():
        used = [(m, c) for m, c in zip(p.mix_ids, p.use_c, strict=True) if m in begun]
        again = next((f for f in fresh if f.id == p.id), None)
        if again is not None:
            used += list(zip(again.mix_ids, again.use_c, strict=True))
        kept.append(replace(p, mix_ids=tuple(m for m, _ in used), use_c=tuple(c for _, c in used)))
    new = [p for p in fresh if p.id not in started]
    return tuple(sorted([*kept, *new], key=lambda p: (p.start_utc, p.id)))

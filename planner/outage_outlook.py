"""The ovens stand still: which loads come through where they stand, which in the cold, which not.

Told for every load and dough that waits while no oven of its product runs: until when it keeps
where it stands; if that is too soon, what the cold makes of it when it is carried there now; for a
dough in bulk, whether it can be knocked back and rise once more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from functools import partial

from planner.bakery import ChamberKind
from planner.begun import Begun, followed_loads
from planner.changes import mix_names
from planner.conditions import Inherited, Standing
from planner.evaluation import SOONEST_MOVE_MIN
from planner.night import Night
from planner.planned import Plan, PlannedLoad, PlannedMix, PlannedMove
from planner.posing import inherited_ripeness
from planner.product import Product
from planner.remarks import Figure, Remark, RemarkKind, moment, word
from planner.ripening import Move

COLD = frozenset({ChamberKind.RETARDER, ChamberKind.COOLER, ChamberKind.FRIDGE})
"""Where a proof is held without freezing it."""

SECOND_RISE_SHARE = 0.5
"""A dough knocked back rises again in about half the time of its bulk (trade rule, rounded)."""

READY_AGAIN_MIN = 20.0
"""A load that is ripe in the cold this soon after the oven is back stays there [min] (ours)."""

TAKES_KNOCKING_BACK = frozenset({"wheat", "mixed", "sweet", "pizza", "pretzel"})
"""Classes of dough whose gluten holds gas a second time; rye and laminated doughs do not."""


class Fate(StrEnum):
    """What becomes of something that waits for an oven."""

    KEEPS = "comes through where it stands"
    COLD = "comes through in the cold"
    KNOCK_BACK = "can be knocked back"
    LOST = "is lost"


@dataclass(frozen=True, slots=True)
class Outlook:
    """What becomes of one load or dough while the ovens stand.

    Attributes
    ----------
    subject
        Id of the load, or of the mix in bulk.
    over_utc
        When it is over where it stands [UTC].
    place_id
        The cold place that saves it, if one does.
    from_utc, by_utc
        When it can be loaded there from and by; for a dough knocked back, when it is knocked back
        at the latest and divided again about.
    out_again_utc
        When it is carried out of the cold again, to ripen [UTC]; None when it stays there.
    """

    subject: str
    fate: Fate
    over_utc: datetime
    place_id: str | None = None
    from_utc: datetime | None = None
    by_utc: datetime | None = None
    out_again_utc: datetime | None = None


def outlooks(night: Night, plan: Plan, begun: Sequence[Begun], now: datetime) -> list[Outlook]:
    """Return what becomes of everything that waits while the ovens of its product stand.

    Parameters
    ----------
    night
        Temperatures of the night, failed chambers included.
    plan
        The new version, with the outages it was made for.
    begun
        What has begun.
    now
        When something can be carried [UTC].
    """
    free = _free_racks(plan, now)
    found: list[Outlook] = []
    waiting = [*_waiting(night, plan, begun, now), *_inherited(night, plan, now)]
    for one in sorted(waiting, key=lambda w: (w.load.load_by_utc, w.load.id)):
        back = _back(plan, night.day.product(one.load.product_id), now)
        if back is None:
            continue
        if one.load.load_by_utc >= back:
            found.append(Outlook(one.load.id, Fate.KEEPS, one.load.load_by_utc))
            continue
        saved = _in_the_cold(plan, one, (now, back), free)
        found.append(saved or Outlook(one.load.id, Fate.LOST, one.load.load_by_utc))
    return found + [o for one in begun for o in _in_bulk(night, plan, one, now)]


@dataclass(frozen=True)
class _Waiting:
    """A load with its window where it stands, and what it is when carried elsewhere."""

    load: PlannedLoad
    carried: Callable[[Sequence[PlannedMove]], tuple[datetime, datetime]]


def _waiting(night: Night, plan: Plan, begun: Sequence[Begun], now: datetime) -> Iterator[_Waiting]:
    """Yield the loads of divided mixes that were in no oven when this happened."""
    known = {ld.id: ld for m in plan.mixes for ld in m.loads}
    for one in begun:
        if not one.is_divided or one.mix.product_id is None:
            continue
        for load in followed_loads(night, one, one.mix.loads):
            if known.get(load.id, load).load_utc > now or load.id in plan.unplaced:
                yield _Waiting(load, partial(_load_carried, night, one, load))


def _load_carried(
    night: Night, one: Begun, load: PlannedLoad, moves: Sequence[PlannedMove]
) -> tuple[datetime, datetime]:
    there = replace(load, carried=(*load.carried, *moves))
    moved = [there if other.id == load.id else other for other in one.mix.loads]
    followed = next(ld for ld in followed_loads(night, one, moved) if ld.id == load.id)
    return followed.load_from_utc, followed.load_by_utc


def _inherited(night: Night, plan: Plan, now: datetime) -> Iterator[_Waiting]:
    """Yield what stood from the beginning and is in no oven yet."""
    standing = {one.id: one for one in night.conditions.inherited}
    for load in plan.inherited_loads:
        one = standing[load.id]
        if load.load_utc > now and one.stage is Standing.PROOF:
            yield _Waiting(load, partial(_inherited_carried, night, one, load))


def _inherited_carried(
    night: Night, one: Inherited, load: PlannedLoad, moves: Sequence[PlannedMove]
) -> tuple[datetime, datetime]:
    more = tuple(Move((m.at_utc - one.since_utc) / timedelta(minutes=1), m.place_id) for m in moves)
    there = replace(one, moves=(*one.moves, *more))
    minute, moment_of = night.day.minute, night.day.moment
    low, high, _ = inherited_ripeness(night, there, minute(load.load_utc))
    return moment_of(low), moment_of(high)


def _back(plan: Plan, product: Product, now: datetime) -> datetime | None:
    """Return when an oven of a product runs again; None when one runs now."""
    out = {o.resource_id: o for o in plan.outages if o.from_utc <= now}
    ends = []
    for oven_id in product.oven_ids:
        stopped = out.get(oven_id)
        if stopped is None or (stopped.until_utc is not None and stopped.until_utc <= now):
            return None
        ends.append(stopped.until_utc or plan.day.end_utc)
    return min(ends)


def _free_racks(plan: Plan, now: datetime) -> dict[str, int]:
    """Return the free racks of each cold chamber, with all that the plan may bring there in."""
    free = {c.id: c.racks for c in plan.day.bakery.chambers if c.kind in COLD}
    loads = [ld for m in plan.mixes for ld in m.loads] + list(plan.inherited_loads)
    for load in loads:
        places = {load.proof_place_id, *(m.place_id for m in (*load.moves, *load.carried))}
        for place_id in places & free.keys():
            if load.load_utc > now:
                free[place_id] -= load.oven_places
    return free


def _in_the_cold(
    plan: Plan, one: _Waiting, hours: tuple[datetime, datetime], free: dict[str, int]
) -> Outlook | None:
    """Return the cold place that keeps a load longest, if that is long enough; take its racks.

    A load that would not be ripe in the cold by the time the oven is back is carried out again
    then.
    """
    load, (now, back) = one.load, hours
    into = max(now, load.proof_start_utc + timedelta(minutes=SOONEST_MOVE_MIN))
    best: tuple[datetime, datetime, str] | None = None
    for chamber in plan.day.bakery.chambers:
        if chamber.kind not in COLD or free.get(chamber.id, 0) < load.oven_places:
            continue
        low, high = one.carried((PlannedMove(into, chamber.id),))
        if high >= back and (best is None or high > best[1]):
            best = (max(back, low), high, chamber.id)
    if best is None:
        return None
    low, high, place_id = best
    free[place_id] -= load.oven_places
    if low <= back + timedelta(minutes=READY_AGAIN_MIN):
        return Outlook(load.id, Fate.COLD, load.load_by_utc, place_id, low, high)
    out_again = PlannedMove(back, load.proof_place_id)
    low, high = one.carried((PlannedMove(into, place_id), out_again))
    return Outlook(load.id, Fate.COLD, load.load_by_utc, place_id, max(back, low), high, back)


def _in_bulk(night: Night, plan: Plan, one: Begun, now: datetime) -> Iterator[Outlook]:
    """Yield what becomes of a dough in bulk whose loads would be over before an oven runs."""
    mix = next((m for m in plan.mixes if m.id == one.mix.id), None)
    if one.is_divided or mix is None or mix.product_id is None or not mix.loads:
        return
    product = night.day.product(mix.product_id)
    back = _back(plan, product, now)
    if back is None:
        return
    over = mix.divide_by_utc + _longest_after_divide(mix)
    if over >= back:
        yield Outlook(mix.id, Fate.KEEPS, over)
        return
    again = mix.divide_by_utc + SECOND_RISE_SHARE * (mix.divide_utc - mix.mix_end_utc)
    takes = night.day.formula(mix.formula_id).dough_class.lower() in TAKES_KNOCKING_BACK
    if takes and again + _longest_after_divide(mix) >= back:
        yield Outlook(mix.id, Fate.KNOCK_BACK, over, None, mix.divide_by_utc, again)
    else:
        yield Outlook(mix.id, Fate.LOST, over)


def _longest_after_divide(mix: PlannedMix) -> timedelta:
    """Return how long after its divide the last load of a mix may still be loaded."""
    return min(load.load_by_utc for load in mix.loads) - mix.divide_utc


def outlook_sentences(plan: Plan, found: Sequence[Outlook]) -> list[Remark]:
    """Return what to do with each, those first that are over first."""
    names = mix_names(plan)
    of_load = {ld.id: m.id for m in plan.mixes for ld in m.loads}
    chambers = {c.id: c.name for c in plan.day.bakery.chambers}
    remarks = []
    for one in sorted(found, key=lambda o: (o.over_utc, o.subject)):
        name = word("name", names.get(of_load.get(one.subject, one.subject), one.subject))
        text, figures = _sentence(one, chambers)
        kind = RemarkKind.UNMET if one.fate is Fate.LOST else RemarkKind.LEVER
        code = f"outage_{one.fate.name.lower()}"
        remarks.append(Remark(kind, code, text, (name, *figures), one.subject))
    return remarks


def _sentence(one: Outlook, chambers: dict[str, str]) -> tuple[str, tuple[Figure, ...]]:
    over = moment("over", one.over_utc)
    if one.fate is Fate.KEEPS:
        return "{name} keeps until {over} where it stands: it can wait for the oven.", (over,)
    if one.from_utc is None or one.by_utc is None:
        text = "{name} is over at {over}, before an oven runs; no cold place keeps it until then."
        return text, (over,)
    hours = (moment("from", one.from_utc), moment("by", one.by_utc))
    if one.fate is Fate.KNOCK_BACK:
        text = "{name} is in bulk: knock it back by {from}; it is divided again about {by}."
        return text, hours
    text = (
        "{name} is over at {over} where it stands: carry it into {place} now, and it can be loaded "
        "from {from} to {by}."
    )
    figures: tuple[Figure, ...] = (over, word("place", chambers[one.place_id or ""]), *hours)
    if one.out_again_utc is not None:
        text = (
            "{name} is over at {over} where it stands: carry it into {place} now and out again at "
            "{out}, and it can be loaded from {from} to {by}."
        )
        figures = (*figures, moment("out", one.out_again_utc))
    return text, figures

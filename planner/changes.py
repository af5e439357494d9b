"""What a new version of a plan changes, and whether the shift should hear of it.

A version that saves no dough and moves no mix by more than a trifle stays silent: the paper on the
wall is then still true enough, and a second paper would only be a second truth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from planner.batches import mix_name
from planner.constants import ICE_WORTH_K
from planner.happened import Change, Moved
from planner.planned import Plan, PlannedLoad, PlannedMix
from planner.planned_preparation import PlannedPreparation
from planner.remarks import (
    Figure,
    Remark,
    RemarkKind,
    mass,
    minutes,
    moment,
    temperature,
    word,
)

TRIFLE_MIN, TRIFLE_WATER_K, TRIFLE_ICE_SHARE = 5.0, 1.0, 0.05
"""A mix moved by no more than this, with water and ice no further off, is not worth a word."""

TRIFLE_ICE_K = 0.5
"""Ice that is worth less than this of all the mix's water is a trifle, whatever its share [K]."""

ROUNDING = 1e-6

AFTER_CUT_OFF = "{line} was taken by {by}, {short} after the cut-off for orders."

OUTSIDE_MIN = 1.0
"""A divide or a loading this far outside its window is outside [min]."""

LEVAIN_SHARE = 0.02
"""A preparation is worth a word when it is made heavier or lighter by more than this share."""


def change_of(before: Plan, after: Plan, now: datetime) -> Change:
    """Return what a new version changes.

    Parameters
    ----------
    before
        The plan in force.
    after
        The new version, made at the moment ``now`` [UTC].
    """
    old = {m.id: m for m in before.mixes}
    moved = [_moved(before, old[m.id], m, after, now) for m in after.mixes if m.id in old]
    told = sorted((m for m in moved if _is_told(m)), key=lambda m: (-_size(m), m.mix_id))
    saved = tuple(dict.fromkeys(_saved(before, after, now)))
    lines = [
        *_came_and_went(before, after),
        *(r for one in told for r in _sentences(before, after, one)),
        *_inherited(before, after, now),
        *_preparations(before, after, now),
        *(override.remark for override in after.overrides if override not in before.overrides),
        *(_saved_remark(after, one) for one in saved),
    ]
    return Change(bool(lines), saved, tuple(told), tuple(lines))


def _moved(before: Plan, was: PlannedMix, now_is: PlannedMix, after: Plan, now: datetime) -> Moved:
    begun = now_is.id in after.begun
    divided = was.divide_utc <= now
    loads = {load.id: load for load in was.loads}
    to_load = [
        (loads[load.id], load)
        for load in now_is.loads
        if load.id in loads and loads[load.id].load_utc > now and load.id not in before.unplaced
    ]
    load_min = max((_later_min(a.load_utc, b.load_utc) for a, b in to_load), key=abs, default=0.0)
    water_k, ice_share = (0.0, 0.0) if begun else _water_moved(was, now_is)
    return Moved(
        mix_id=now_is.id,
        start_min=0.0 if begun else _later_min(was.start_utc, now_is.start_utc),
        divide_min=0.0 if divided else _later_min(was.divide_utc, now_is.divide_utc),
        load_min=load_min,
        water_k=water_k,
        ice_share=ice_share,
        other_mixer=was.mixer_id != now_is.mixer_id,
        other_oven=any(a.oven_id != b.oven_id for a, b in to_load),
    )


def _later_min(was: datetime, now_is: datetime) -> float:
    return (now_is - was).total_seconds() / 60


def _water_moved(was: PlannedMix, now_is: PlannedMix) -> tuple[float, float]:
    old, new = was.ticket, now_is.ticket
    water_k = 0.0
    if old.water_c is not None and new.water_c is not None:
        water_k = new.water_c - old.water_c
    off_kg = abs(new.ice_kg - old.ice_kg)
    worth_k = ICE_WORTH_K.value * off_kg / max(new.formula_water_kg, off_kg, 1e-9)
    if worth_k < TRIFLE_ICE_K:
        return water_k, 0.0
    return water_k, off_kg / max(old.ice_kg, new.ice_kg)


def _is_told(one: Moved) -> bool:
    later = max(abs(one.start_min), abs(one.divide_min), abs(one.load_min))
    water = (
        abs(one.water_k) > TRIFLE_WATER_K + ROUNDING or one.ice_share > TRIFLE_ICE_SHARE + ROUNDING
    )
    return later > TRIFLE_MIN or water or one.other_mixer or one.other_oven


def _size(one: Moved) -> float:
    return max(abs(one.start_min), abs(one.divide_min), abs(one.load_min), abs(one.water_k))


def _saved(before: Plan, after: Plan, now: datetime) -> Iterator[str]:
    """Yield what would have been lost, by windows as they are known now, had nothing been moved."""
    old = {m.id: m for m in before.mixes}
    for one in before.unplaced:
        if one not in after.unplaced and one in {m.id for m in after.mixes}:
            yield one
    for mix in after.mixes:
        was = old.get(mix.id)
        if was is None:
            continue
        same_start = abs(_later_min(was.mix_end_utc, mix.mix_end_utc)) < OUTSIDE_MIN
        if was.divide_utc > now and (mix.id in after.begun or same_start):
            window = (mix.divide_from_utc, mix.divide_by_utc)
            if _outside(was.divide_utc, window) and not _outside(mix.divide_utc, window):
                yield mix.id
        loads = {load.id: load for load in was.loads}
        for load in mix.loads:
            known = loads.get(load.id)
            if known is None or known.load_utc <= now:
                continue
            if _would_be_lost(known, load) or _would_be_late(known, load, mix):
                yield load.id


def _would_be_lost(was: PlannedLoad, load: PlannedLoad) -> bool:
    """Return whether the old loading lies outside a window that the new one keeps."""
    if abs(_later_min(was.proof_start_utc, load.proof_start_utc)) >= OUTSIDE_MIN:
        return False  # another proof: its window says nothing about the old loading
    window = (load.load_from_utc, load.load_by_utc)
    return _outside(was.load_utc, window) and not _outside(load.load_utc, window)


def _would_be_late(was: PlannedLoad, load: PlannedLoad, mix: PlannedMix) -> bool:
    leave_by = mix.leave_by_utc
    return leave_by is not None and was.ready_utc > leave_by >= load.ready_utc


def _outside(moment_utc: datetime, window: tuple[datetime, datetime]) -> bool:
    low, high = window
    return max(_later_min(moment_utc, low), _later_min(high, moment_utc)) > OUTSIDE_MIN


def mix_names(plan: Plan) -> dict[str, str]:
    """Return what each mix is called, with its number where a line has several."""
    formulas = {f.id: f.name for f in plan.day.formulas}
    return {m.id: mix_name(formulas[m.formula_id], m.batch, m.batches) for m in plan.mixes}


def _came_and_went(before: Plan, after: Plan) -> Iterator[Remark]:
    names, old_names = mix_names(after), mix_names(before)
    old, new = {m.id for m in before.mixes}, {m.id for m in after.mixes}
    for mix in after.mixes:
        if mix.id not in old:
            figures = (
                word("name", names[mix.id]),
                mass("dough", mix.dough_kg),
                moment("at", mix.start_utc),
                word("mixer", after.day.bakery.mixer(mix.mixer_id).name),
            )
            text = "New: {name}, {dough}, starts at {at} on {mixer}."
            yield _note("came", text, mix.id, *figures)
    for mix in before.mixes:
        if mix.id not in new:
            what = word("name", old_names[mix.id])
            yield _note("went", "{name} is not mixed as it was planned.", mix.id, what)


def _note(code: str, text: str, subject: str, *figures: Figure) -> Remark:
    return Remark(RemarkKind.NOTE, code, text, figures, subject)


MOVES = {
    "start": (
        "{name} starts {by} later, at {at}.",
        "{name} starts {by} sooner, at {at}.",
    ),
    "divide": (
        "{name} is divided {by} later, at {at}.",
        "{name} is divided {by} sooner, at {at}.",
    ),
    "load": (
        "{name} goes into the oven {by} later, at {at}.",
        "{name} goes into the oven {by} sooner, at {at}.",
    ),
}


def _sentences(before: Plan, after: Plan, one: Moved) -> Iterator[Remark]:
    was, mix = before.mix(one.mix_id), after.mix(one.mix_id)
    name = word("name", mix_names(after)[one.mix_id])
    loads = {load.id: load for load in was.loads}
    at_oven = [load.load_utc for load in mix.loads if load.id in loads]
    moments = {
        "start": (one.start_min, mix.start_utc),
        "divide": (one.divide_min, mix.divide_utc),
        "load": (one.load_min, min(at_oven, default=mix.divide_utc)),
    }
    for what, (by_min, at) in moments.items():
        if abs(by_min) > TRIFLE_MIN:
            text = MOVES[what][0 if by_min > 0 else 1]
            figures = (name, minutes("by", abs(by_min)), moment("at", at))
            yield _note(f"moved_{what}", text, mix.id, *figures)
    yield from _elsewhere(after, mix, name, one, loads)
    if abs(one.water_k) > TRIFLE_WATER_K:
        text = "{name}: water {water} instead of {old}."
        old_c, new_c = was.ticket.water_c or 0.0, mix.ticket.water_c or 0.0
        yield _note(
            "other_water",
            text,
            mix.id,
            name,
            temperature("water", new_c),
            temperature("old", old_c),
        )
    if one.ice_share > TRIFLE_ICE_SHARE:
        text = "{name}: {ice} of ice instead of {old}."
        ice = (mass("ice", mix.ticket.ice_kg), mass("old", was.ticket.ice_kg))
        yield _note("other_ice", text, mix.id, name, *ice)


def _elsewhere(
    after: Plan, mix: PlannedMix, name: Figure, one: Moved, loads: dict[str, PlannedLoad]
) -> Iterator[Remark]:
    bakery = after.day.bakery
    if one.other_mixer:
        text = "{name} is mixed on {mixer}."
        yield _note(
            "other_mixer", text, mix.id, name, word("mixer", bakery.mixer(mix.mixer_id).name)
        )
    if one.other_oven:
        others = [ld for ld in mix.loads if ld.id in loads and loads[ld.id].oven_id != ld.oven_id]
        oven_id = others[0].oven_id if others else mix.loads[0].oven_id
        text = "{name} is baked in {oven}."
        yield _note("other_oven", text, mix.id, name, word("oven", bakery.oven(oven_id).name))


def _inherited(before: Plan, after: Plan, now: datetime) -> Iterator[Remark]:
    old = {load.id: load for load in before.inherited_loads}
    products = {p.id: p.name for p in after.day.products}
    for load in after.inherited_loads:
        was = old.get(load.id)
        if was is None or was.load_utc <= now:
            continue
        by_min = _later_min(was.load_utc, load.load_utc)
        if abs(by_min) > TRIFLE_MIN:
            figures = (
                word("name", products[load.product_id]),
                minutes("by", abs(by_min)),
                moment("at", load.load_utc),
            )
            yield _note("moved_load", MOVES["load"][0 if by_min > 0 else 1], load.id, *figures)


def _preparations(before: Plan, after: Plan, now: datetime) -> Iterator[Remark]:
    old = _paired(before.preparations, after.preparations)
    for one in after.preparations:
        was = old.get(one.id)
        if one.start_utc <= now:
            continue
        name = word("name", one.name)
        if was is None:
            figures = (name, mass("made", one.made_kg), moment("at", one.start_utc))
            yield _note("set_new", "New: {name}, {made}, is set at {at}.", one.id, *figures)
            continue
        by_min = _later_min(was.start_utc, one.start_utc)
        if abs(by_min) > TRIFLE_MIN:
            text = "{name} is set {by} later, at {at}."
            if by_min < 0:
                text = "{name} is set {by} sooner, at {at}."
            figures = (name, minutes("by", abs(by_min)), moment("at", one.start_utc))
            yield _note("set_moved", text, one.id, *figures)
        if abs(one.made_kg - was.made_kg) > LEVAIN_SHARE * was.made_kg:
            text = "{name}: make {made} instead of {old}."
            made = (mass("made", one.made_kg), mass("old", was.made_kg))
            yield _note("set_other", text, one.id, name, *made)
    paired = {was.id for was in old.values()}
    for was in before.preparations:
        if was.id not in paired and was.start_utc > now:
            yield _note("set_not", "{name} is not set any more.", was.id, word("name", was.name))


def _paired(
    before: Sequence[PlannedPreparation], after: Sequence[PlannedPreparation]
) -> dict[str, PlannedPreparation]:
    """Return what each preparation was before: that of its id, else the next of its part."""
    pairs = {one.id: was for one in after for was in before if was.id == one.id}
    taken = set(pairs)
    for one in after:
        if one.id in pairs:
            continue
        was = next((p for p in before if p.part_id == one.part_id and p.id not in taken), None)
        if was is not None:
            pairs[one.id] = was
            taken.add(was.id)
    return pairs


def _saved_remark(after: Plan, one: str) -> Remark:
    names = mix_names(after)
    mix_id = next((m.id for m in after.mixes if one in (m.id, *(ld.id for ld in m.loads))), one)
    text = "{name} comes through, which the plan before would have lost."
    return _note("saved", text, one, word("name", names.get(mix_id, one)))

"""Answering a reading: a new ticket or new times for one mix, in milliseconds.

A temperature read before the mix gives another ticket by the very way the first was made. A
reading during the mix says what can still be done. A temperature or time read after it gives the
dough's own windows from there on: what was planned is kept as long as it lies inside them. The
rest of the night is not touched; that is `planner.replan`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from planner.batches import Batch, batches_of, holds_cold
from planner.bowl_remarks import is_cold_mix, mixer_remarks
from planner.evaluation import MixTimes, bulk_result, divide_window, mix_of, rounded_window
from planner.explaining import mix_remarks
from planner.levers import missed_remarks
from planner.making import part_c_for
from planner.mid_mix import mid_mix, mid_mix_remarks
from planner.night import Night
from planner.off_target import OffTarget, ways_back
from planner.options import Choice, Offer, divide_minutes, proof_offsets, proof_rises
from planner.pins import Pin, merged_pins
from planner.planned import Answer, MidMix, Plan, PlannedLoad, PlannedMix
from planner.readings import COOLING_SCALD, Reading, ReadingKind
from planner.remarks import Figure, Remark, RemarkKind, difference, moment, temperature
from planner.rises import dough_rise
from planner.scald_outlook import outlook_remarks, with_outlooks
from planner.scheduling.schedule import ScheduledLoad
from planner.start_times import start_buckets
from planner.stores import planned_allowances
from planner.tickets import READ_SD_K, Mixed, MixTemperatures, make_ticket, with_tap

CHANGED_WATER_K = 0.5
CHANGED_ICE_KG = 0.05
CHANGED_MIN = 2.0
AS_EXPECTED_K = 0.3
"""A dough nearer than this to its forecast needs no word about it [K]."""


def answer(plan: Plan, reading: Reading) -> Answer:
    """Return what one reading changes for its mix.

    Parameters
    ----------
    plan
        The plan in force, with the readings taken so far.
    reading
        The new reading; it may supersede an earlier one.

    Returns
    -------
    Answer
        The mix with its new figures, whether anything changed that the shift acts on, and what
        to do.

    Raises
    ------
    KeyError
        If the plan has no such mix.
    """
    before = plan.mix(reading.mix_id)
    read = with_reading(plan, reading)
    followed = follow(read, reading.mix_id)
    after = followed.mix
    if reading.kind in COOLING_SCALD:
        said = outlook_remarks(read, reading)
        moved = any(r.code in ("scald_moved", "scald_never") for r in said)
        return Answer(after, moved or _changed(before, after), said)
    remarks = _what_to_do(before, after, reading)
    if followed.mid_mix is not None and reading.kind is ReadingKind.DOUGH_MID_C:
        remarks = mid_mix_remarks(after, followed.mid_mix)
    if reading.kind is ReadingKind.DOUGH_END_C:
        remarks = (*remarks, *_ways_back(plan, before, after, reading))
    return Answer(after, _changed(before, after), remarks, followed.mid_mix)


def with_reading(plan: Plan, reading: Reading) -> Plan:
    """Return the plan with one more reading; the same id twice is the same reading."""
    kept = tuple(r for r in plan.readings if r.id not in (reading.id, reading.supersedes))
    return replace(plan, readings=(*kept, reading))


def standing_readings(readings: Iterable[Reading], mix_id: str) -> list[Reading]:
    """Return the readings at one mix that nothing has superseded or taken back, by time."""
    everything = list(readings)
    gone = {r.supersedes for r in everything if r.supersedes is not None}
    gone |= {r.id for r in everything if r.kind is ReadingKind.WITHDRAWN}
    here = [r for r in everything if r.mix_id == mix_id and r.id not in gone]
    return sorted(here, key=lambda r: r.at_utc)


def readings_of(readings: Iterable[Reading], mix_id: str) -> dict[ReadingKind, Reading]:
    """Return the latest reading of each kind at one mix."""
    return {r.kind: r for r in standing_readings(readings, mix_id)}


def bare_offer(night: Night, batch: Batch) -> Offer:
    """Return a mix with its rises, without options: enough to follow it on its curves."""
    divide_min = divide_minutes(batch, 5)
    bulk = dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c)
    return Offer(
        batch=batch,
        mixer=batch.mixers[0],
        bulk=bulk,
        proofs=proof_rises(night, batch, bulk),
        proof_offsets_min=proof_offsets(batch, divide_min, 5),
        divide_min=divide_min,
        choices=(),
        options=(),
    )


def measured_before(plan: Plan, mix_id: str) -> MixTemperatures:
    """Return the temperatures read before the mix began; what was read later changes no water."""
    here = standing_readings(plan.readings, mix_id)
    began = next((r.at_utc for r in here if r.kind is ReadingKind.MIX_START), None)
    here = [r for r in here if _counts(r, began)]
    latest = {r.kind: r.value_c for r in here}
    known = [p.part_id for p in plan.preparations if mix_id in p.mix_ids]
    parts = {
        r.part_id or known[0]: r.value_c
        for r in here
        if r.kind is ReadingKind.PART_C and r.value_c is not None and (r.part_id or known)
    }
    return MixTemperatures(
        flour_c=latest.get(ReadingKind.FLOUR_C),
        room_c=latest.get(ReadingKind.ROOM_C),
        tap_c=latest.get(ReadingKind.WATER_C),
        bowl_c=latest.get(ReadingKind.BOWL_C),
        part_c=parts,
    )


def _counts(reading: Reading, began: datetime | None) -> bool:
    return began is None or reading.at_utc <= began


@dataclass(frozen=True)
class Followed:
    """A mix with everything that was read put in.

    Attributes
    ----------
    mix, mixed
        The mix, and its ticket with what was worked out on the way.
    choice
        What the plan chose for it.
    mid_mix
        What can still be done, if the dough was read during the mix.
    """

    mix: PlannedMix
    mixed: Mixed
    choice: Choice
    mid_mix: MidMix | None


def follow(plan: Plan, mix_id: str) -> Followed:
    """Return one mix of a plan with the readings taken at it so far.

    Parameters
    ----------
    plan
        The plan in force, with its readings.
    mix_id
        The mix.
    """
    before = plan.mix(mix_id)
    plan = with_outlooks(plan)
    night = Night(plan.day, plan.conditions, plan.corrections_for(mix_id))
    batch = next(b for b in batches_of(plan.day) if b.id == mix_id)
    readings = readings_of(plan.readings, mix_id)
    offered = bare_offer(night, batch)
    start, mix_end = began_and_ended(plan, batch, before, readings)
    mixer = plan.day.bakery.mixer(before.mixer_id)
    choice = Choice(before.steered.dough_c, before.steered.use_chilled)
    allowed = planned_allowances(night, plan)[mix_id]
    if not holds_cold(batch, mixer) and before.ticket.ice_kg == 0:
        allowed = replace(allowed, ice_kg=0.0)  # with ice it would be more than the mixer takes
    part_c = part_c_for(plan.preparations, mix_id)
    measured = measured_before(plan, mix_id)
    night = with_tap(night, measured)
    mixed = make_ticket(
        night,
        batch,
        mixer,
        start,
        choice,
        {**part_c, **measured.part_c},
        measured=measured,
        allowed=allowed,
        bowl_c=before.steered.bowl_c,
    )
    end = readings.get(ReadingKind.DOUGH_END_C)
    during = readings.get(ReadingKind.DOUGH_MID_C)
    middle = None if during is None else mid_mix(mixed, during)
    end_c = None if end is None else end.value_c
    if end_c is None and middle is not None:
        end_c = middle.expected_c
    times = _times(plan, offered, before, mixed, start, mix_end, end_c)
    loads = _scheduled_loads(plan, before, times.divide)
    mix = mix_of(
        night,
        offered,
        times,
        before.mixer_id,
        mixed,
        mixed.steered(choice, allowed),
        loads,
        part_c,
        before.preparation_ids,
        end_c,
    )
    mix = replace(
        mix,
        loads=tuple(_in_window(load) for load in mix.loads),
        folds_utc=_folds_utc(plan, offered, before, mix_end, end_c),
    )
    missed = missed_remarks(mixed, _other_buckets(plan, night, batch))
    cold = is_cold_mix(mix, batch.formula, mixer)
    mix = replace(mix, remarks=(*mixer_remarks(batch, mixer, cold=cold), *missed))
    notes = tuple(r for r in before.remarks if r.code == "scald_way")
    said = (*mix_remarks(night, offered, mix), *notes)
    return Followed(replace(mix, remarks=said), mixed, choice, middle)


def _other_buckets(plan: Plan, night: Night, batch: Batch) -> Collection[int]:
    """Return the half hours in which a mix might still start: none once it has begun."""
    read = standing_readings(plan.readings, batch.id)
    if batch.id in plan.begun or any(r.kind in IN_THE_BOWL for r in read):
        return ()
    pin = next((p for p in merged_pins(plan.pins) if p.mix_id == batch.id), Pin(batch.id))
    known = [r.at_utc for r in read] + ([pin.not_before_utc] if pin.not_before_utc else [])
    if known:
        pin = replace(pin, not_before_utc=max(known))
    return [int(bucket) for bucket in start_buckets(night, batch, pin)]


def began_and_ended(
    plan: Plan, batch: Batch, before: PlannedMix, readings: dict[ReadingKind, Reading]
) -> tuple[float, float]:
    """Return when the mixer started and when the dough came off it: read, or planned [min]."""
    started, ended = readings.get(ReadingKind.MIX_START), readings.get(ReadingKind.MIX_END)
    minute = plan.day.minute
    if started is not None:
        start = minute(started.at_utc)
        return start, minute(ended.at_utc) if ended else start + batch.formula.mix_min
    if ended is None:
        return minute(before.start_utc), minute(before.mix_end_utc)
    mix_end = minute(ended.at_utc)
    return min(minute(before.start_utc), mix_end - batch.formula.mix_min), mix_end


def _times(
    plan: Plan,
    offered: Offer,
    before: PlannedMix,
    mixed: Mixed,
    start: float,
    mix_end: float,
    end_c: float | None,
) -> MixTimes:
    """Return the times of a mix: the planned divide, moved into the dough's window if need be."""
    planned = plan.day.minute(before.divide_utc)
    dough_c = mixed.ticket.expected_c if end_c is None else end_c
    bulk = bulk_result(offered.bulk, mix_end, dough_c, READ_SD_K, max(planned, mix_end))
    low, high = rounded_window(divide_window(offered, mix_end, bulk))
    divide = min(max(planned, low, mix_end), max(high, low, mix_end))
    hands_min = (before.divide_end_utc - before.divide_utc) / timedelta(minutes=1)
    return MixTimes(start, divide, divide + hands_min, mix_end)


def _scheduled_loads(plan: Plan, mix: PlannedMix, divide: float) -> list[ScheduledLoad]:
    """Return the loads of a mix: proof begins as long after the divide as planned."""
    minute = plan.day.minute
    shift = divide - minute(mix.divide_utc)
    found = []
    for load in mix.loads:
        proof_start = minute(load.proof_start_utc) + shift
        load_start = max(minute(load.load_utc), proof_start)
        bake = (load.out_utc - load.load_utc) / timedelta(minutes=1)
        found.append(
            ScheduledLoad(
                load_id=load.id,
                route=load.route,
                proof_start=round(proof_start),
                load_start=round(load_start),
                out=round(load_start + bake),
                oven_id=load.oven_id,
                places=load.oven_places,
            )
        )
    return found


def _folds_utc(
    plan: Plan, offered: Offer, before: PlannedMix, mix_end: float, end_c: float | None
) -> tuple[datetime, ...]:
    """Return when a dough is folded: at the share of its way to ripeness that was planned."""
    folds_min = offered.batch.formula.bulk.folds_min
    share = 1.0
    if end_c is not None and folds_min:
        starts_c = np.array([before.ticket.expected_c, end_c])
        ends = np.array([plan.day.minute(before.mix_end_utc), mix_end])
        planned, now = offered.bulk.window(offered.bulk.path(ends, starts_c))[1]
        if np.isfinite(planned) and np.isfinite(now):
            share = float(now / planned)
    return tuple(plan.day.moment(mix_end + round(share * fold)) for fold in folds_min)


def _in_window(load: PlannedLoad) -> PlannedLoad:
    """Move a loading into its own window; what follows moves with it."""
    at = min(max(load.load_utc, load.load_from_utc), max(load.load_by_utc, load.load_from_utc))
    moved = at - load.load_utc
    if not moved:
        return load
    ripeness = load.ripeness
    span = load.load_utc - load.proof_start_utc
    if span:
        # Near its window the proof runs on almost evenly.
        ripeness *= (at - load.proof_start_utc) / span
    return replace(
        load,
        load_utc=at,
        out_utc=load.out_utc + moved,
        ready_utc=load.ready_utc + moved,
        ripeness=ripeness,
    )


def _changed(before: PlannedMix, after: PlannedMix) -> bool:
    water_k = abs((before.ticket.water_c or 0.0) - (after.ticket.water_c or 0.0))
    ice_kg = abs(before.ticket.ice_kg - after.ticket.ice_kg)
    return water_k >= CHANGED_WATER_K or ice_kg >= CHANGED_ICE_KG or _times_moved(before, after)


def _times_moved(before: PlannedMix, after: PlannedMix) -> bool:
    pairs = [(before.divide_utc, after.divide_utc)]
    pairs += [(a.load_utc, b.load_utc) for a, b in zip(before.loads, after.loads, strict=True)]
    return any(abs((a - b) / timedelta(minutes=1)) >= CHANGED_MIN for a, b in pairs)


def _ways_back(
    plan: Plan, before: PlannedMix, after: PlannedMix, reading: Reading
) -> tuple[Remark, ...]:
    """Return what would have a dough ripe at its planned divide, when that is now outside."""
    if reading.value_c is None or after.divide_from_utc <= before.divide_utc <= after.divide_by_utc:
        return ()
    off = OffTarget(
        next(b for b in batches_of(plan.day) if b.id == before.id),
        plan.day.bakery.mixer(before.mixer_id),
        plan.day.minute(after.mix_end_utc),
        reading.value_c,
        plan.day.minute(before.divide_utc),
    )
    return ways_back(Night(plan.day, plan.conditions, plan.corrections), off)


IN_THE_BOWL = frozenset(
    {
        ReadingKind.MIX_START,
        ReadingKind.MIX_END,
        ReadingKind.DOUGH_MID_C,
        ReadingKind.DOUGH_END_C,
    }
)
AFTER_MIX = frozenset({ReadingKind.DOUGH_END_C, ReadingKind.MIX_END})


def _what_to_do(before: PlannedMix, after: PlannedMix, reading: Reading) -> tuple[Remark, ...]:
    if reading.kind not in AFTER_MIX:
        return after.remarks
    off_k = 0.0 if reading.value_c is None else reading.value_c - before.ticket.expected_c
    if abs(off_k) < AS_EXPECTED_K and not _times_moved(before, after):
        return (
            Remark(RemarkKind.NOTE, "as_expected", "As expected: keep the times.", (), after.id),
        )
    figures: tuple[Figure, ...] = (
        moment("divide_from", after.divide_from_utc),
        moment("divide_by", after.divide_by_utc),
        moment("divide", after.divide_utc),
    )
    text = "Ripe {divide_from} to {divide_by}; divide at {divide}."
    if reading.value_c is not None and abs(off_k) >= AS_EXPECTED_K:
        word_ = "warmer" if off_k > 0 else "cooler"
        text = (
            f"{{off}} {word_} than expected: ripe {{divide_from}} to {{divide_by}}; "
            "divide at {divide}."
        )
        figures = (difference("off", abs(off_k)), temperature("read", reading.value_c), *figures)
    code = "new_times" if _times_moved(before, after) else "same_times"
    return (Remark(RemarkKind.NOTE, code, text, figures, after.id),)

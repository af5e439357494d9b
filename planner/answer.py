"""Answering a reading: a new ticket or new times for one mix, in milliseconds.

A temperature read before the mix gives another ticket by the very way the first was made. A
temperature or time read after the mix gives the dough's own windows from there on. The rest of
the night is not touched; that is `planner.replan`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from planner.batches import Batch, batches_of
from planner.evaluation import MixTimes, planned_loads, planned_mix
from planner.explaining import mix_remarks
from planner.making import part_c_for
from planner.night import Night
from planner.options import Choice, Offer, divide_minutes, proof_offsets, proof_rises
from planner.planned import Answer, Plan, PlannedMix
from planner.publishing import melts_first
from planner.readings import Reading, ReadingKind
from planner.remarks import Remark, RemarkKind, difference, moment, temperature
from planner.rises import dough_rise
from planner.scheduling.schedule import ScheduledLoad
from planner.tickets import MixTemperatures

CHANGED_WATER_K = 0.5
CHANGED_ICE_KG = 0.05
CHANGED_MIN = 2.0
AS_EXPECTED_K = 0.3
"""A dough nearer than this to its forecast needs no new times [K]."""


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
    night = Night(plan.day, plan.conditions, plan.corrections)
    readings = readings_of(with_reading(plan, reading).readings, reading.mix_id)
    batch = next(b for b in batches_of(plan.day) if b.id == reading.mix_id)
    after = _mix_with(night, plan, batch, before, readings)
    return Answer(after, _changed(before, after), _what_to_do(before, after, reading))


def with_reading(plan: Plan, reading: Reading) -> Plan:
    """Return the plan with one more reading; the same id twice is the same reading."""
    kept = tuple(r for r in plan.readings if r.id not in (reading.id, reading.supersedes))
    return replace(plan, readings=(*kept, reading))


def readings_of(readings: Iterable[Reading], mix_id: str) -> dict[ReadingKind, Reading]:
    """Return the latest reading of each kind at one mix."""
    latest: dict[ReadingKind, Reading] = {}
    for reading in sorted(readings, key=lambda r: r.at_utc):
        if reading.mix_id == mix_id:
            latest[reading.kind] = reading
    return latest


def bare_offer(night: Night, batch: Batch) -> Offer:
    """Return a mix with its rises, without options: enough to follow it on its curves."""
    divide_min = divide_minutes(batch, 5)
    return Offer(
        batch=batch,
        mixer=batch.mixers[0],
        bulk=dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c),
        proofs=proof_rises(night, batch),
        proof_offsets_min=proof_offsets(batch, divide_min, 5),
        divide_min=divide_min,
        choices=(),
        options=(),
    )


def measured_before(
    plan: Plan, mix_id: str, readings: dict[ReadingKind, Reading]
) -> MixTemperatures:
    """Return the temperatures read before the mix."""
    parts = {
        r.part_id: r.value_c
        for r in plan.readings
        if r.mix_id == mix_id
        and r.kind is ReadingKind.PART_C
        and r.part_id
        and r.value_c is not None
    }
    one = readings.get(ReadingKind.PART_C)
    if one is not None and one.value_c is not None:
        known = [p.part_id for p in plan.preparations if mix_id in p.mix_ids]
        for part_id in [one.part_id] if one.part_id else known[:1]:
            parts[part_id] = one.value_c
    return MixTemperatures(
        flour_c=_value(readings, ReadingKind.FLOUR_C),
        room_c=_value(readings, ReadingKind.ROOM_C),
        tap_c=_value(readings, ReadingKind.WATER_C),
        part_c={str(part): float(c) for part, c in parts.items()},
    )


def _value(readings: dict[ReadingKind, Reading], kind: ReadingKind) -> float | None:
    reading = readings.get(kind)
    return None if reading is None else reading.value_c


def _mix_with(
    night: Night,
    plan: Plan,
    batch: Batch,
    before: PlannedMix,
    readings: dict[ReadingKind, Reading],
) -> PlannedMix:
    day = plan.day
    offered = bare_offer(night, batch)
    started, ended = readings.get(ReadingKind.MIX_START), readings.get(ReadingKind.MIX_END)
    start = day.minute(started.at_utc if started else before.start_utc)
    mix_end = day.minute(ended.at_utc) if ended else start + batch.formula.mix_min
    shift = mix_end - day.minute(before.mix_end_utc)
    divide = day.minute(before.divide_utc) + shift
    end_c = _value(readings, ReadingKind.DOUGH_END_C)
    chilled = any(line.kind.value == "chiller" for line in before.ticket.water)
    after = planned_mix(
        night,
        offered,
        MixTimes(start, divide, divide + offered.divide_min, mix_end),
        before.mixer_id,
        Choice(before.ticket.wanted_c, chilled or night.day.bakery.ice is None),
        _scheduled_loads(plan, before, shift),
        part_c_for(plan.preparations, batch.id),
        before.preparation_ids,
        measured=measured_before(plan, batch.id, readings),
        dough_end_c=end_c,
    )
    after = _divided_in_window(night, plan, offered, after, shift) if end_c or shift else after
    remarks = mix_remarks(night, offered, after, melt_first=melts_first(night, offered, after))
    return replace(after, remarks=remarks)


def _scheduled_loads(plan: Plan, mix: PlannedMix, shift: float) -> list[ScheduledLoad]:
    day = plan.day
    routes = [r.place_id for r in day.product(mix.product_id).routes] if mix.product_id else []
    return [
        ScheduledLoad(
            load_id=load.id,
            route=routes.index(load.proof_place_id),
            proof_start=round(day.minute(load.proof_start_utc) + shift),
            load_start=round(day.minute(load.load_utc) + shift),
            out=round(day.minute(load.out_utc) + shift),
            oven_id=load.oven_id,
            places=load.oven_places,
        )
        for load in mix.loads
    ]


def _divided_in_window(
    night: Night, plan: Plan, offered: Offer, mix: PlannedMix, shift: float
) -> PlannedMix:
    """Move the divide into the dough's new window, and its loads with it."""
    divide = min(max(mix.divide_utc, mix.divide_from_utc), mix.divide_by_utc)
    moved = (divide - mix.divide_utc) / timedelta(minutes=1)
    if not moved:
        return mix
    room_id = plan.day.bakery.mixer(mix.mixer_id).room_id
    before = plan.mix(mix.id)
    loads = planned_loads(
        night,
        offered,
        room_id,
        plan.day.minute(divide),
        mix.ticket.expected_c,
        _scheduled_loads(plan, before, shift + moved),
    )
    return replace(
        mix,
        divide_utc=divide,
        divide_end_utc=mix.divide_end_utc + timedelta(minutes=moved),
        loads=loads,
    )


def _changed(before: PlannedMix, after: PlannedMix) -> bool:
    water_k = abs((before.ticket.water_c or 0.0) - (after.ticket.water_c or 0.0))
    ice_kg = abs(before.ticket.ice_kg - after.ticket.ice_kg)
    divide_min = abs((before.divide_utc - after.divide_utc) / timedelta(minutes=1))
    return water_k >= CHANGED_WATER_K or ice_kg >= CHANGED_ICE_KG or divide_min >= CHANGED_MIN


def _what_to_do(before: PlannedMix, after: PlannedMix, reading: Reading) -> tuple[Remark, ...]:
    if reading.kind is not ReadingKind.DOUGH_END_C or reading.value_c is None:
        return after.remarks
    off_k = reading.value_c - before.ticket.expected_c
    if abs(off_k) < AS_EXPECTED_K:
        return (
            Remark(RemarkKind.NOTE, "as_expected", "As expected: keep the times.", (), after.id),
        )
    word_ = "warmer" if off_k > 0 else "cooler"
    text = (
        f"{{off}} {word_} than expected: ripe {{divide_from}} to {{divide_by}}; "
        "divide at {divide}."
    )
    figures = (
        difference("off", abs(off_k)),
        temperature("read", reading.value_c),
        moment("divide_from", after.divide_from_utc),
        moment("divide_by", after.divide_by_utc),
        moment("divide", after.divide_utc),
    )
    return (Remark(RemarkKind.NOTE, "new_times", text, figures, after.id),)

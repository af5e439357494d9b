"""What thermometer readings say about a scald that cools: when it is ready now, and how sure it is.

A reading also teaches the vessel it was taken in, for the rest of the night: what a pour into it
loses, and how fast it cools. What follows is worked out in the very way it was before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from planner.bakery import Vessel
from planner.estimate import Estimate, Origin
from planner.formula import Scald
from planner.night import Night
from planner.physics.scald_reading import (
    FittedCooling,
    ScaldReading,
    fit_cooling,
    second_reading_min,
)
from planner.planned import Plan
from planner.planned_preparation import PlannedPreparation, PreparationKind
from planner.readings import COOLING_SCALD, Reading, ReadingKind
from planner.remarks import Figure, Remark, RemarkKind, minutes, moment, temperature
from planner.scald_follow import legs_of
from planner.scald_ways import ScaldWay, way_of
from planner.scalds import scald_vessel

BAND_SD = 1.6
"""A band of ready times holds nine of ten: so many standard deviations to each side."""

ASK_AHEAD_MIN = 30.0
"""No reading is asked for nearer than this to the time at which the scald is ready [min]."""

SAME_MIN = 5.0
"""A ready time that moves by less than this is the same [min]."""


@dataclass(frozen=True)
class ScaldOutlook:
    """A scald as its readings show it.

    Attributes
    ----------
    ready_utc
        When it is cool enough now; None when it never is.
    band_min
        Half width of the nine-in-ten band of that time [min].
    use_c
        Its mean at each use [°C], in the order of the preparation's mixes.
    read_again_utc
        When another reading would tell most; None when it would tell nothing new.
    fit, way
        The corrected curve, and how it is cooled.
    """

    preparation: PlannedPreparation
    ready_utc: datetime | None
    band_min: float
    use_c: tuple[float, ...]
    read_again_utc: datetime | None
    fit: FittedCooling
    way: ScaldWay
    readings: tuple[Reading, ...]


def scald_outlook(plan: Plan, preparation: PlannedPreparation) -> ScaldOutlook | None:
    """Return what the readings of a scald say, or None when none was taken.

    Parameters
    ----------
    plan
        The plan in force, with its readings.
    preparation
        One of its preparations.
    """
    taken = readings_of_scald(plan, preparation)
    if preparation.kind is not PreparationKind.SCALD or not taken:
        return None
    night, part = _night(plan), _part(plan, preparation)
    poured = plan.day.minute(preparation.start_utc) + part.work_min
    way = way_of(night, part, preparation.made_kg, preparation.use_at_most_c, preparation.way)
    seen = [
        ScaldReading(
            max(0.0, plan.day.minute(r.at_utc) - poured),
            r.value_c or 0.0,
            r.sd_k,
            r.kind is ReadingKind.SCALD_STIRRED_C,
        )
        for r in taken
    ]
    fit = fit_cooling(
        legs_of(night, part, preparation.made_kg, way),
        seen,
        start_c=way.pour.start_c,
        start_minute=poured,
        air_sd_k=max(0.3, night.air_sd_k(way.stand.place_id, poured)),
    )
    lag, sd = fit.ready(preparation.use_at_most_c)
    ready = poured + max(lag, part.hold_min) + np.ceil(way.labour_min)
    starts = {m.id: plan.day.minute(m.start_utc) for m in plan.mixes}
    return ScaldOutlook(
        preparation,
        plan.day.moment(float(ready)) if np.isfinite(lag) else None,
        BAND_SD * sd,
        tuple(fit.mean_c(max(0.0, starts[m] - poured))[0] for m in preparation.mix_ids),
        _read_again(plan, night, way, fit, seen, poured, float(ready)),
        fit,
        way,
        taken,
    )


def readings_of_scald(plan: Plan, preparation: PlannedPreparation) -> tuple[Reading, ...]:
    """Return the readings taken while a scald cooled, that nothing has superseded, in order."""
    gone = {r.supersedes for r in plan.readings if r.supersedes is not None}
    mine = [
        r
        for r in plan.readings
        if r.kind in COOLING_SCALD
        and r.id not in gone
        and r.mix_id in preparation.mix_ids
        and r.part_id in (None, preparation.part_id)
        and r.at_utc >= preparation.start_utc
    ]
    return tuple(sorted(mine, key=lambda r: r.at_utc))


def _night(plan: Plan) -> Night:
    return Night(plan.day, plan.conditions, plan.corrections)


def _part(plan: Plan, preparation: PlannedPreparation) -> Scald:
    parts = plan.day.formula(preparation.formula_id).parts
    return next(p for p in parts if p.id == preparation.part_id and isinstance(p, Scald))


def _read_again(
    plan: Plan,
    night: Night,
    way: ScaldWay,
    fit: FittedCooling,
    seen: list[ScaldReading],
    poured: float,
    ready: float,
) -> datetime | None:
    if len(seen) > 1:
        return None
    air_c = float(night.air_c(way.stand.place_id)(np.asarray(poured)))
    at = poured + second_reading_min(fit.path, air_c, stirred=seen[0].stirred)
    if not poured + seen[0].minutes < at < ready - ASK_AHEAD_MIN:
        return None
    return plan.day.moment(at)


def with_outlooks(plan: Plan) -> Plan:
    """Return the plan with the ready times and temperatures that its readings of scalds show."""
    if not any(r.kind in COOLING_SCALD for r in plan.readings):
        return plan
    found = []
    for one in plan.preparations:
        seen = scald_outlook(plan, one)
        if seen is None:
            found.append(one)
            continue
        ready = one.ready_by_utc if seen.ready_utc is None else seen.ready_utc
        found.append(replace(one, ready_from_utc=ready, use_c=seen.use_c))
    return replace(plan, preparations=tuple(found))


def with_taught_vessels(plan: Plan) -> Plan:
    """Return the plan whose vessels lose heat as the readings of this night have shown."""
    vessels = {v.id: v for v in plan.day.bakery.vessels}
    for one in plan.preparations:
        seen = scald_outlook(plan, one)
        if seen is not None:
            for vessel in _taught(plan, seen):
                vessels[vessel.id] = vessel
    if tuple(vessels.values()) == plan.day.bakery.vessels:
        return plan
    bakery = replace(plan.day.bakery, vessels=tuple(vessels.values()))
    return replace(plan, day=replace(plan.day, bakery=bakery))


def _taught(plan: Plan, seen: ScaldOutlook) -> list[Vessel]:
    """Return the vessels of one scald as it has taught them."""
    night, part = _night(plan), _part(plan, seen.preparation)
    own = scald_vessel(night, part)
    basis = f"{len(seen.readings)} readings of {seen.preparation.name}"
    found: list[Vessel] = []
    if own is not None and seen.way.pour.cold_kg <= 0:
        room_c = float(np.mean(night.air_c(_room(night, part))(night.hours)))
        loss = own.pour_loss.value
        still_c = (seen.way.pour.start_c - loss * room_c) / (1 - loss)
        share = float(np.clip((still_c - seen.fit.start_c) / (still_c - room_c), 0.0, 0.6))
        own = replace(own, pour_loss=Estimate(share, 0.03, Origin.LEARNED, basis))
        found.append(own)
    stands_in = own
    if seen.way.stand.tipped:
        vessel_id = seen.way.stand.code.rsplit(" in ", 1)[0]
        stands_in = plan.day.bakery.vessel(vessel_id)
    if stands_in is not None:
        factor = float(np.clip(stands_in.cooling_factor.value * seen.fit.factor, 0.2, 5.0))
        learned = Estimate(factor, 0.1 * factor, Origin.LEARNED, basis)
        found.append(replace(stands_in, cooling_factor=learned))
    return found


def _room(night: Night, part: Scald) -> str:
    rooms = [room.id for room in night.day.bakery.rooms]
    return part.place_id if part.place_id in rooms else rooms[0]


def outlook_remarks(plan: Plan, reading: Reading) -> tuple[Remark, ...]:
    """Return what one reading of a cooling scald changes, in plain words.

    Parameters
    ----------
    plan
        The plan in force, the reading in it.
    reading
        The reading.
    """
    for one in plan.preparations:
        seen = scald_outlook(plan, one)
        if seen is not None and reading in seen.readings:
            return tuple(replace(r, subject=one.id) for r in _said(seen, reading))
    return ()


def _said(seen: ScaldOutlook, reading: Reading) -> list[Remark]:
    found = [_ready_said(seen, reading)]
    if seen.read_again_utc is not None:
        text = "Read it once more at {at}: by then the two tell how fast it cools."
        found.append(
            Remark(RemarkKind.NOTE, "read_again", text, (moment("at", seen.read_again_utc),))
        )
    if reading.kind is ReadingKind.SCALD_MIDDLE_C:
        text = (
            "Stirred through it would tell more: the middle lags behind, and how far depends on "
            "what lies above and below it."
        )
        found.append(Remark(RemarkKind.NOTE, "stir_first", text))
    return found


def _ready_said(seen: ScaldOutlook, reading: Reading) -> Remark:
    wanted = temperature("wanted", seen.preparation.use_at_most_c)
    read = temperature("read", reading.value_c or 0.0)
    if seen.ready_utc is None:
        text = "Read {read}: it does not come down to {wanted} where it stands; do more than wait."
        return Remark(RemarkKind.UNMET, "scald_never", text, (read, wanted))
    was = seen.preparation.ready_from_utc
    moved_min = (seen.ready_utc - was) / timedelta(minutes=1)
    figures: tuple[Figure, ...] = (
        read,
        wanted,
        moment("ready", seen.ready_utc),
        minutes("band", seen.band_min),
    )
    if abs(moved_min) < SAME_MIN:
        text = "Read {read}: as foreseen, at {wanted} by {ready}, give or take {band}."
        return Remark(RemarkKind.NOTE, "scald_as_foreseen", text, figures)
    text = "Read {read}: at {wanted} by {ready}, give or take {band}, not by {was}."
    return Remark(RemarkKind.NOTE, "scald_moved", text, (*figures, moment("was", was)))

"""Replanning the rest of a night: what has begun stays, the rest is planned again.

First version. What has begun keeps its start, mixer and ticket, and its windows follow what was
read. Everything else is planned anew from now on; it is not yet held near its old times. A
mixer or oven that breaks down is not used again for what has not begun.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from planner.answer import readings_of, with_reading
from planner.bakery import SupplyKind
from planner.batches import Batch, batches_of
from planner.conditions import Conditions
from planner.day import check_utc
from planner.making import part_c_for
from planner.night import Night
from planner.offers import offer
from planner.options import Offer, Settled, constant_curve
from planner.pins import Limits, OnProgress, Pin
from planner.plan import judged, search
from planner.planned import Plan, PlannedMix, PlannedPreparation
from planner.posing import pose, start_buckets
from planner.preparations import Offered, preparations_of
from planner.publishing import Worked, publish
from planner.readings import Reading, ReadingKind
from planner.scheduling.check import check
from planner.scheduling.problem import Job, Problem

REPLAN_LIMITS = Limits(solve_s=4.0, deterministic_s=3.0)


@dataclass(frozen=True, slots=True)
class Breakdown:
    """A mixer or oven that stops.

    Attributes
    ----------
    resource_id
        Its id.
    from_utc
        Since when [UTC].
    """

    resource_id: str
    from_utc: datetime

    def __post_init__(self) -> None:
        check_utc("from_utc", self.from_utc)


@dataclass(frozen=True, slots=True)
class NewConditions:
    """The night turned out otherwise: a new forecast, other ice, another tap."""

    conditions: Conditions


Event = Reading | Breakdown | NewConditions


def replan(
    plan: Plan,
    now: datetime,
    events: Sequence[Event],
    *,
    pins: Sequence[Pin] = (),
    limits: Limits = REPLAN_LIMITS,
    on_progress: OnProgress | None = None,
) -> Plan:
    """Plan the rest of a night again.

    Parameters
    ----------
    plan
        The plan in force.
    now
        The moment from which things can still be changed [UTC].
    events
        What happened: readings, breakdowns, new conditions.
    pins
        What the baker fixes now, besides the pins of the plan.
    limits, on_progress
        As in `planner.plan.make_plan`.

    Returns
    -------
    Plan
        The next version, judged like any plan.
    """
    check_utc("now", now)
    plan = _with_events(plan, events)
    down = frozenset(e.resource_id for e in events if isinstance(e, Breakdown))
    night = Night(plan.day, plan.conditions, plan.corrections)
    begun = {m.id: m for m in plan.mixes if m.start_utc <= now}
    known_c = {mix_id: part_c_for(plan.preparations, mix_id) for mix_id in begun}
    all_pins = tuple(p for p in (*plan.pins, *pins) if p.mix_id not in begun)
    batches = batches_of(plan.day)
    preparations = waiting_preparations(
        night, plan, [b for b in batches if b.id not in begun], now, limits.grid_min
    )
    offers = tuple(
        _offer(night, plan, batch, begun.get(batch.id), all_pins, preparations, known_c, limits)
        for batch in batches
    )
    problem = pose(
        night,
        offers,
        [(p.problem, frozenset(b.id for b in p.users)) for p in preparations],
        all_pins,
        limits.grid_min,
    )
    problem = from_now_on(problem, plan, now, begun, down)
    schedule = search(problem, limits, on_progress)
    worked = Worked(night, offers, preparations, problem, schedule, known_c)
    fresh = publish(worked, all_pins, limits, plan.version + 1)
    return judged(keep_begun(fresh, plan, begun, now), check(problem, schedule))


def _with_events(plan: Plan, events: Sequence[Event]) -> Plan:
    for event in events:
        if isinstance(event, Reading):
            plan = with_reading(plan, event)
        elif isinstance(event, NewConditions):
            plan = replace(plan, conditions=event.conditions)
    return plan


def came_off_c(plan: Plan, mix: PlannedMix) -> float:
    """Return the temperature a begun mix came off the mixer with: read, or expected [°C]."""
    read = readings_of(plan.readings, mix.id).get(ReadingKind.DOUGH_END_C)
    return mix.ticket.expected_c if read is None or read.value_c is None else read.value_c


def _offer(
    night: Night,
    plan: Plan,
    batch: Batch,
    begun: PlannedMix | None,
    pins: Sequence[Pin],
    preparations: Sequence[Offered],
    known_c: dict[str, dict[str, float]],
    limits: Limits,
) -> Offer:
    if begun is None:
        pin = next((p for p in pins if p.mix_id == batch.id), None)
        curves = {p.part.id: p.curve for p in preparations if p.feeds(batch.id)}
        settled = None
    else:
        pin = Pin(
            batch.id,
            start_utc=begun.start_utc,
            mixer_id=begun.mixer_id,
            dough_c=begun.ticket.wanted_c,
        )
        curves = {part: constant_curve(c) for part, c in known_c[batch.id].items()}
        chilled_kg = sum(w.water_kg for w in begun.ticket.water if w.kind is SupplyKind.CHILLER)
        settled = Settled(came_off_c(plan, begun), begun.ticket.ice_kg, chilled_kg)
    buckets = start_buckets(night, batch, pin)
    return offer(night, batch, pin, limits.grid_min, buckets, curves, settled)


def waiting_preparations(
    night: Night, plan: Plan, batches: Sequence[Batch], now: datetime, grid_min: int
) -> tuple[Offered, ...]:
    """Return the preparations of mixes that have not begun, those already set at their start."""
    found: list[Offered] = []
    for offered in preparations_of(night, batches, grid_min):
        taken: set[str] = set()
        for old in plan.preparations:
            users = tuple(b for b in offered.users if b.id in old.mix_ids)
            if old.part_id != offered.part.id or old.start_utc > now or not users:
                continue
            start = round(plan.day.minute(old.start_utc))
            taken |= {b.id for b in users}
            fixed = replace(
                offered.problem, id=old.id, max_builds=1, earliest_start=start, latest_start=start
            )
            found.append(replace(offered, id=old.id, users=users, problem=fixed))
        rest = tuple(b for b in offered.users if b.id not in taken)
        if rest:
            one_id = f"{offered.id}.v{plan.version + 1}" if taken else offered.id
            later = replace(
                offered.problem,
                id=one_id,
                earliest_start=ceil(plan.day.minute(now)),
                max_builds=min(offered.problem.max_builds, len(rest)),
            )
            found.append(replace(offered, id=one_id, users=rest, problem=later))
    return tuple(found)


def from_now_on(
    problem: Problem,
    plan: Plan,
    now: datetime,
    begun: dict[str, PlannedMix],
    down: frozenset[str],
) -> Problem:
    """Return the problem with the past fixed and what is broken taken away."""
    minute = ceil(plan.day.minute(now))

    def later(job: Job) -> Job:
        if job.id in begun:
            return replace(job, preparation_ids=())
        mixers = tuple(m for m in job.mixer_ids if m not in down)
        loads = tuple(
            replace(load, ovens=tuple(o for o in load.ovens if o.oven_id not in down))
            for load in job.loads
        )
        start = max(job.earliest_start, minute + job.scale_min)
        return replace(
            job,
            mixer_ids=mixers,
            loads=loads,
            earliest_start=start,
            latest_start=max(start, job.latest_start),
        )

    return replace(problem, jobs=tuple(later(job) for job in problem.jobs))


def keep_begun(fresh: Plan, plan: Plan, begun: dict[str, PlannedMix], now: datetime) -> Plan:
    """Return the fresh plan with the tickets and preparations of what has begun put back."""
    mixes = tuple(
        replace(
            m,
            ticket=begun[m.id].ticket,
            scaling=begun[m.id].scaling,
            preparation_ids=begun[m.id].preparation_ids,
        )
        if m.id in begun
        else m
        for m in fresh.mixes
    )
    return replace(
        fresh,
        mixes=mixes,
        preparations=_merged(fresh.preparations, plan.preparations, begun, now),
        readings=plan.readings,
    )


def _merged(
    fresh: Sequence[PlannedPreparation],
    old: Sequence[PlannedPreparation],
    begun: dict[str, PlannedMix],
    now: datetime,
) -> tuple[PlannedPreparation, ...]:
    started = {p.id: p for p in old if p.start_utc <= now}
    merged = []
    for p in started.values():
        used = [(m, c) for m, c in zip(p.mix_ids, p.use_c, strict=True) if m in begun]
        again = next((f for f in fresh if f.id == p.id), None)
        if again is not None:
            used += list(zip(again.mix_ids, again.use_c, strict=True))
        if used:
            merged.append(
                replace(p, mix_ids=tuple(m for m, _ in used), use_c=tuple(c for _, c in used))
            )
    new = [p for p in fresh if p.id not in started]
    return tuple(sorted([*merged, *new], key=lambda p: (p.start_utc, p.id)))

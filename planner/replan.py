"""Replanning the rest of a night: what has begun stays, the rest is planned again.

What has begun keeps its start, mixer and ticket, its windows follow what was read, and what is
divided or in an oven stays so (`planner.begun`). Everything else is planned anew from now on, with
what the finished mixes of the night have taught of their mixers; it is not yet held near its old
times. A mixer or oven that breaks down is not used for what has not
begun, in this plan and in every later one, until it is said to run again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from planner.answer import with_reading
from planner.batches import Batch, batches_of
from planner.begun import Begun, begun_mixes, kept, loads_that_stand
from planner.breaks import rests_from_now
from planner.conditions import Conditions
from planner.day import check_utc
from planner.making import part_c_for
from planner.night import Night
from planner.offers import offer, settled_offer
from planner.options import Offer
from planner.outcomes import learned_from
from planner.pins import Limits, OnProgress, Pin, merged_pins
from planner.places import in_its_tubs
from planner.plan import judged, search
from planner.planned import Breakdown, Foreseen, Plan, PlannedPreparation, PlannedTask
from planner.posing import LATE_SLACK_MIN, pose, start_buckets
from planner.preparations import Offered, preparations_of
from planner.publishing import Worked, publish
from planner.readings import Reading
from planner.remarks import Remark, RemarkKind
from planner.scald_outlook import with_outlooks, with_taught_vessels
from planner.scheduling.check import check
from planner.scheduling.problem import Job, OvenChoice, Problem, StandingLoad
from planner.scheduling.schedule import Schedule

REPLAN_LIMITS = Limits(solve_s=4.0, deterministic_s=3.0)


@dataclass(frozen=True, slots=True)
class RunsAgain:
    """A mixer or oven that was out of order runs again."""

    resource_id: str


@dataclass(frozen=True, slots=True)
class NewConditions:
    """The night turned out otherwise: a new forecast, other ice, another tap."""

    conditions: Conditions


Event = Reading | Breakdown | RunsAgain | NewConditions


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
        What happened: readings, breakdowns, repairs, new conditions.
    pins
        What the baker fixes now; where it says otherwise than a pin of the plan, it counts.
    limits, on_progress
        As in `planner.plan.make_plan`.

    Returns
    -------
    Plan
        The next version, judged like any plan.
    """
    check_utc("now", now)
    before, plan = plan, with_taught_vessels(with_outlooks(with_events(plan, events)))
    down = frozenset(o.resource_id for o in plan.outages if o.from_utc <= now)
    begun = begun_mixes(plan, now)
    plan = replace(plan, foreseen=foreseen(before, begun))
    night = Night(plan.day, plan.conditions, learned_from(plan, begun, plan.corrections))
    known_c = {mix_id: part_c_for(plan.preparations, mix_id) for mix_id in begun}
    all_pins = merged_pins((*plan.pins, *pins))
    batches = [begun[b.id].batch if b.id in begun else b for b in batches_of(plan.day)]
    to_come = [b for b in batches if b.id not in begun]
    asked = {b.id: _from_now(all_pins, b, now) for b in to_come}
    preparations = waiting_preparations(night, plan, to_come, now, limits.grid_min)
    offers = tuple(
        settled_offer(night, begun[b.id].batch, begun[b.id].settled(plan), limits.grid_min)
        if b.id in begun
        else _offer(night, b, asked[b.id], preparations, limits)
        for b in batches
    )
    problem = pose(
        night,
        offers,
        [(p.problem, frozenset(b.id for b in p.users)) for p in preparations],
        [*asked.values(), *(_held(plan, one) for one in begun.values())],
        limits.grid_min,
    )
    problem = from_now_on(night, problem, plan, now, begun, down)
    schedule = search(problem, limits, on_progress)
    was = tuple(
        replace(one.mix, mix_end_utc=plan.day.moment(one.mix_end_min)) for one in begun.values()
    )
    worked = Worked(night, offers, preparations, problem, schedule, known_c, was)
    fresh = publish(worked, tuple(all_pins), limits, plan.version + 1)
    fresh = with_begun(night, fresh, plan, begun, schedule, now)
    return judged(fresh, check(problem, schedule))


def foreseen(before: Plan, begun: Mapping[str, Begun]) -> tuple[Foreseen, ...]:
    """Return what the mixes that have begun were planned with: no later plan foretells them anew.

    Parameters
    ----------
    before
        The plan in force until now.
    begun
        The mixes that have begun by now.
    """
    known = {mix_id for one in before.foreseen for mix_id in one.mix_ids}
    newly = tuple(sorted(mix_id for mix_id in begun if mix_id not in known))
    more = (Foreseen(newly, before.conditions, before.corrections),) if newly else ()
    return (*before.foreseen, *more)


def with_events(plan: Plan, events: Sequence[Event]) -> Plan:
    """Return the plan with what happened noted in it."""
    for event in events:
        if isinstance(event, Reading):
            plan = with_reading(plan, event)
        elif isinstance(event, NewConditions):
            plan = replace(plan, conditions=event.conditions)
        else:
            others = tuple(o for o in plan.outages if o.resource_id != event.resource_id)
            more = (event,) if isinstance(event, Breakdown) else ()
            plan = replace(plan, outages=(*others, *more))
    return plan


def _from_now(pins: Sequence[Pin], batch: Batch, now: datetime) -> Pin:
    """Return what is fixed about a mix to come; it starts no sooner than now."""
    pin = next((p for p in pins if p.mix_id == batch.id), Pin(batch.id))
    earliest = now if pin.not_before_utc is None else max(now, pin.not_before_utc)
    return replace(pin, not_before_utc=earliest)


def _held(plan: Plan, one: Begun) -> Pin:
    """Return the start and the mixer of what has begun, as something fixed."""
    start = plan.day.moment(one.start_min)
    return Pin(one.mix.id, start_utc=start, mixer_id=one.mix.mixer_id)


def _offer(
    night: Night, batch: Batch, pin: Pin, preparations: Sequence[Offered], limits: Limits
) -> Offer:
    curves = {p.part.id: p.curve for p in preparations if p.feeds(batch.id)}
    return offer(night, batch, pin, limits.grid_min, start_buckets(night, batch, pin), curves)


def waiting_preparations(
    night: Night, plan: Plan, batches: Sequence[Batch], now: datetime, grid_min: int
) -> tuple[Offered, ...]:
    """Return the preparations of mixes that have not begun, those already set at their start.

    A build that is set feeds what it was made for; what it does not feed gets a build of its own,
    with an id that no earlier version has used.
    """
    found: list[Offered] = []
    started = [p for p in plan.preparations if p.start_utc <= now]
    for offered in preparations_of(night, batches, grid_min):
        taken: set[str] = set()
        for old in started:
            users = tuple(b for b in offered.users if b.id in old.mix_ids)
            if old.part_id != offered.part.id or not users:
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
            again = any(old.part_id == offered.part.id for old in started)
            one_id = f"{offered.id}.v{plan.version + 1}" if again else offered.id
            later = replace(
                offered.problem,
                id=one_id,
                earliest_start=ceil(plan.day.minute(now)),
                max_builds=min(offered.problem.max_builds, len(rest)),
            )
            found.append(replace(offered, id=one_id, users=rest, problem=later))
    return tuple(found)


def _way_taken(offered: Offered, old: PlannedPreparation) -> Offered:
    """Return a scald that is poured with the one way by which it was."""
    if old.way not in offered.way_codes:
        return offered
    taken = offered.way_codes.index(old.way)
    lags = tuple(lag for lag in offered.problem.lags if lag.way == taken)
    return replace(offered, problem=replace(offered.problem, lags=lags))


def from_now_on(
    night: Night,
    problem: Problem,
    plan: Plan,
    now: datetime,
    begun: Mapping[str, Begun],
    down: frozenset[str],
) -> Problem:
    """Return the problem with the past fixed and what is broken taken away."""
    minute = ceil(plan.day.minute(now))
    jobs = tuple(
        _begun_job(in_its_tubs(job, begun[job.id].mix.tubs), plan, begun[job.id], minute, down)
        if job.id in begun
        else _job_to_come(job, minute, down)
        for job in problem.jobs
    )
    inherited = tuple(_inherited(one, plan, now, minute, down) for one in problem.standing)
    return replace(
        problem,
        jobs=jobs,
        standing=(*inherited, *loads_that_stand(night, plan, begun, now, down)),
        workers=rests_from_now(plan.day, problem.workers, plan.tasks, minute),
    )


def _begun_job(job: Job, plan: Plan, one: Begun, minute: int, down: frozenset[str]) -> Job:
    if one.is_divided:
        divide = round(plan.day.minute(one.mix.divide_utc))
        return replace(job, preparation_ids=(), divide_from=divide, divide_by=divide)
    earliest = minute if job.divide_from is None else max(minute, job.divide_from)
    divide_by = None if job.divide_by is None else max(earliest, job.divide_by)
    return _with_ovens(
        replace(job, preparation_ids=(), divide_from=earliest, divide_by=divide_by), down
    )


def _job_to_come(job: Job, minute: int, down: frozenset[str]) -> Job:
    start = max(job.earliest_start, minute + job.scale_min)
    latest = max(job.latest_start, start)
    if job.earliest_start != job.latest_start:
        latest = max(latest, start + LATE_SLACK_MIN)
    mixers = tuple(m for m in job.mixer_ids if m not in down)
    return _with_ovens(
        replace(job, mixer_ids=mixers, earliest_start=start, latest_start=latest), down
    )


def _with_ovens(job: Job, down: frozenset[str]) -> Job:
    loads = tuple(replace(load, ovens=_running(load.ovens, down)) for load in job.loads)
    return replace(job, loads=loads)


def _running(ovens: tuple[OvenChoice, ...], down: frozenset[str]) -> tuple[OvenChoice, ...]:
    return tuple(oven for oven in ovens if oven.oven_id not in down)


def _inherited(
    one: StandingLoad, plan: Plan, now: datetime, minute: int, down: frozenset[str]
) -> StandingLoad:
    """Return what stood from the beginning: in its oven, or free to go into one from now on."""
    old = next((load for load in plan.inherited_loads if load.id == one.load.id), None)
    if old is not None and old.load_utc <= now and old.id not in plan.unplaced:
        at = round(plan.day.minute(old.load_utc))
        known = OvenChoice(old.oven_id, old.oven_places)
        own = next((c for c in one.load.ovens if c.oven_id == old.oven_id), known)
        oven = (replace(own, hot_from=None, hot_by=None),)
        return replace(one, load=replace(one.load, ovens=oven), load_from=at, load_by=at)
    load = replace(one.load, ovens=_running(one.load.ovens, down))
    start = max(one.load_from, minute)
    return replace(one, load=load, load_from=start, load_by=max(start, one.load_by))


def with_begun(
    night: Night,
    fresh: Plan,
    plan: Plan,
    begun: Mapping[str, Begun],
    schedule: Schedule,
    now: datetime,
) -> Plan:
    """Return the fresh plan with what has begun put back as it is."""
    standing = {load.load_id: load for load in schedule.standing}
    published = {m.id: m for m in fresh.mixes}
    # What has begun is there, whatever the search made of it.
    published |= {one.mix.id: one.mix for one in begun.values() if one.mix.id not in published}
    mixes = sorted(
        (kept(night, begun[m.id], m, standing) if m.id in begun else m for m in published.values()),
        key=lambda m: (m.start_utc, m.id),
    )
    return replace(
        fresh,
        mixes=tuple(mixes),
        unplaced=tuple(one for one in fresh.unplaced if one not in begun),
        preparations=_merged(fresh.preparations, plan.preparations, begun, now),
        tasks=_tasks(fresh.tasks, plan.tasks, now),
        remarks=(*fresh.remarks, *_still_unmet(fresh, plan, begun)),
        readings=plan.readings,
        foreseen=plan.foreseen,
        outages=plan.outages,
        begun=tuple(m.id for m in mixes if m.id in begun),
        as_of_utc=now,
    )


def _still_unmet(fresh: Plan, plan: Plan, begun: Mapping[str, Begun]) -> list[Remark]:
    """Return what was unmet about mixes that have begun and is not said anew: it is not undone."""
    said = {(r.code, r.subject) for r in fresh.remarks}
    ours = {*begun, *(load.id for one in begun.values() for load in one.mix.loads)}
    return [
        r
        for r in plan.remarks
        if r.kind is RemarkKind.UNMET
        and r.subject in ours
        and not r.code.startswith("judge_")
        and (r.code, r.subject) not in said
    ]


def _merged(
    fresh: Sequence[PlannedPreparation],
    old: Sequence[PlannedPreparation],
    begun: Mapping[str, Begun],
    now: datetime,
) -> tuple[PlannedPreparation, ...]:
    started = {p.id: p for p in old if p.start_utc <= now}
    merged = []
    for p in started.values():
        used = [(m, c) for m, c in zip(p.mix_ids, p.use_c, strict=True) if m in begun]
        again = next((f for f in fresh if f.id == p.id), None)
        if again is not None:
            used += list(zip(again.mix_ids, again.use_c, strict=True))
        merged.append(
            replace(p, mix_ids=tuple(m for m, _ in used), use_c=tuple(c for _, c in used))
        )
    new = [p for p in fresh if p.id not in started]
    return tuple(sorted([*merged, *new], key=lambda p: (p.start_utc, p.id)))


def _tasks(
    fresh: Sequence[PlannedTask], old: Sequence[PlannedTask], now: datetime
) -> tuple[PlannedTask, ...]:
    """Return the work to come, and before it the work that was done as it was planned."""
    done = [task for task in old if task.start_utc <= now]
    known = {_task_key(task) for task in done}
    to_come = [task for task in fresh if _task_key(task) not in known]
    return tuple(sorted([*done, *to_come], key=lambda t: (t.start_utc, t.kind, t.subject)))


def _task_key(task: PlannedTask) -> tuple[str, str, datetime | None]:
    """Return what makes two tasks the same; a scald is seen to more than once."""
    return task.kind, task.subject, task.start_utc if task.kind == "see to" else None

"""Replanning the rest of a night: what has begun stays, the rest is disturbed as little as can be.

What has begun keeps its start, mixer and ticket, its windows follow what was read, and what is
divided or in an oven stays so (`planner.begun`). Everything else is planned anew from now on, near
the plan in force (`planner.scheduling.near`), with what the finished mixes of the night have taught
of their mixers. A mixer or oven that breaks down is not used for what has not begun, in this plan
and in every later one, until it is said to run again; what is left of its lines is split among the
others (`planner.resplit`). The new version says what it changes, and whether that is worth a word
(`planner.changes`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime, timedelta
from math import ceil

from planner.batches import Batch, batches_of, mix_name, settled_alternatives
from planner.begun import Begun, begun_mixes, kept, loads_that_stand
from planner.breaks import rests_from_now
from planner.changes import change_of
from planner.clean_downs import rechecks
from planner.contradicting import with_contradictions
from planner.day import Day, check_utc
from planner.events import Event, day_after, overrides_of, with_events
from planner.explaining import unmet_remarks
from planner.happened import Breakdown
from planner.making import part_c_for
from planner.mixers import MixerKind
from planner.night import Night
from planner.offers import offer, settled_offer
from planner.options import Offer
from planner.outage_outlook import outlook_sentences, outlooks
from planner.outcomes import learned_from
from planner.pins import Limits, OnProgress, Pin, merged_pins
from planner.places import in_its_tubs
from planner.plan import cannot_be, check_pins, judged, search
from planner.plan_figures import Points
from planner.planned import Foreseen, Plan, PlannedLoad, PlannedMix, PlannedTask
from planner.posing import pose
from planner.preparations import Offered
from planner.publishing import Worked, publish
from planner.reasons import with_reasons
from planner.remarks import Remark, RemarkKind
from planner.resplit import with_rest_split
from planner.retiming import retimed
from planner.scald_outlook import with_outlooks, with_taught_vessels
from planner.scheduling.check import check
from planner.scheduling.facts import facts_on_grid, with_hands_for_facts
from planner.scheduling.near import SHARE, kept_near
from planner.scheduling.problem import Closed, Job, OvenChoice, Problem, StandingLoad
from planner.scheduling.schedule import Schedule, Unmet
from planner.set_builds import merged, waiting_preparations, what_is_left
from planner.start_times import LATE_SLACK_MIN, start_buckets

MINUTE = timedelta(minutes=1)

REPLAN_LIMITS = Limits(solve_s=4.0, deterministic_s=3.0)


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
        What happened: readings, breakdowns, repairs, late orders, somebody away, new conditions.
    pins
        What the baker fixes now; where it says otherwise than a pin of the plan, it counts.
    limits, on_progress
        As in `planner.plan.make_plan`.

    Returns
    -------
    Plan
        The next version, judged like any plan; its ``change`` says what it changes, and whether
        it is proposed. Where it is not, the plan before stays in force, with what happened noted in
        it (`planner.events.with_events`).

    Raises
    ------
    InputError
        If an event or pin names what is not there, or an order comes after the cut-off and nobody
        takes it by name.
    """
    check_utc("now", now)
    asked = _Asked(plan, now, tuple(events), tuple(pins), limits, on_progress)
    fresh = _planned_again(asked)
    lines = _lines_by_hand(fresh)
    if lines:
        by_hand = _planned_again(asked, lines)
        fresh = min((fresh, by_hand), key=_hurt)
    return fresh


@dataclass(frozen=True)
class _Asked:
    """What a replan was asked for."""

    plan: Plan
    now: datetime
    events: tuple[Event, ...]
    pins: tuple[Pin, ...]
    limits: Limits
    on_progress: OnProgress | None


def _hurt(plan: Plan) -> tuple[float, float]:
    return plan.points.unplaced, plan.points.first_stage


def _lines_by_hand(fresh: Plan) -> frozenset[str]:
    """Return the lines that find no machine in time since one is out, and may be mixed by hand."""
    bakery = fresh.day.bakery
    out = {o.resource_id for o in fresh.outages}
    hands = [m for m in bakery.mixers if m.kind is MixerKind.HAND]
    if not hands or not any(m.id in out for m in bakery.mixers):
        return frozenset()
    hurt = {*fresh.unplaced, *(r.subject for r in fresh.remarks if r.code == "late")}
    hurt |= {m.id for m in fresh.mixes if any(load.id in hurt for load in m.loads)}
    return frozenset(
        b.line_id
        for b in batches_of(fresh.day)
        if b.id in hurt and b.id not in fresh.begun and not all(m in hands for m in b.mixers)
    )


def _planned_again(asked: _Asked, by_hand: frozenset[str] = frozenset()) -> Plan:
    """Return the next version of a plan, with some lines mixed by hand."""
    before, now, limits = asked.plan, asked.now, asked.limits
    plan = with_taught_vessels(with_outlooks(with_events(before, asked.events, now)))
    begun = begun_mixes(plan, now)
    down = frozenset(o.resource_id for o in plan.outages if _is_open(o, now))
    day = with_rest_split(day_after(plan.day, asked.events), plan.day, begun, down, by_hand)
    overrides = (*plan.overrides, *overrides_of(day, asked.events))
    known = foreseen(before, begun)
    plan = replace(plan, day=day, overrides=overrides, foreseen=known)
    check_pins(day, asked.pins)
    night = Night(day, plan.conditions, learned_from(plan, begun, plan.corrections))
    known_c = {mix_id: part_c_for(plan.preparations, mix_id) for mix_id in begun}
    all_pins = merged_pins((*plan.pins, *asked.pins))
    made = {*begun, *(() if down else (m.id for m in plan.mixes)), *(p.mix_id for p in all_pins)}
    in_play = settled_alternatives(batches_of(day), made)
    batches = [begun[b.id].batch if b.id in begun else b for b in in_play]
    to_come = [b for b in batches if b.id not in begun]
    fixed = {b.id: _from_now(all_pins, b, now) for b in to_come}
    preparations = waiting_preparations(night, plan, begun, to_come, now, limits.grid_min)
    offers = tuple(
        settled_offer(night, begun[b.id].batch, begun[b.id].settled(plan), limits.grid_min)
        if b.id in begun
        else _offer(night, b, fixed[b.id], preparations, limits)
        for b in batches
    )
    problem = pose(
        night,
        offers,
        [(p.problem, frozenset(b.id for b in p.users)) for p in preparations],
        [*fixed.values(), *(_held(plan, one) for one in begun.values())],
        limits.grid_min,
    )
    problem = near_the_plan(from_now_on(night, problem, plan, now, begun, down), before)
    cannot = cannot_be(problem, asked.on_progress)
    schedule = search(problem, limits, asked.on_progress)
    was = tuple(replace(one.mix, mix_end_utc=day.moment(one.mix_end_min)) for one in begun.values())
    found = retimed(
        Worked(night, offers, preparations, problem, schedule, known_c, was),
        all_pins,
        limits,
        before=before,
        from_min=ceil(plan.day.minute(now)),
        share=SHARE,
    )
    fresh = publish(found.worked, tuple(all_pins), limits, plan.version + 1)
    fresh = with_begun(night, fresh, plan, begun, found.worked.schedule, now)
    left = what_is_left(plan, begun, batches, fresh.unplaced, now)
    waiting = outlooks(night, fresh, tuple(begun.values()), now)
    changed = (*outlook_sentences(fresh, waiting), *rechecks(before, fresh))
    told = (*changed, *fresh.remarks, *left)
    fresh = replace(fresh, points=own_points(fresh.points), bound=None, remarks=told)
    fresh = with_contradictions(fresh, cannot)
    fresh = judged(fresh, check(found.problem, found.schedule))
    if not limits.list_only:
        by_id = {o.batch.id: o for o in offers}
        mixes = with_reasons(fresh.mixes, by_id, problem, schedule, frozenset(begun))
        fresh = replace(fresh, mixes=mixes)
    return replace(fresh, change=change_of(before, fresh, now))


def _is_open(stopped: Breakdown, now: datetime) -> bool:
    """Return whether something stands still and nobody knows until when."""
    return stopped.from_utc <= now and stopped.until_utc is None


def own_points(points: Points) -> Points:
    """Return the points as a new plan counts them; what lies off the plan before stands apart."""
    values = {field.name: getattr(points, field.name) / SHARE for field in fields(points)}
    return Points(**(values | {"moved": points.moved}))


def near_the_plan(problem: Problem, before: Plan) -> Problem:
    """Return the problem of a night that stays near the plan in force."""
    minute = before.day.minute
    mixes = {m.id: (round(minute(m.start_utc)), m.mixer_id) for m in before.mixes}
    loads = {ld.id: round(minute(ld.load_utc)) for m in before.mixes for ld in m.loads}
    loads |= {ld.id: round(minute(ld.load_utc)) for ld in before.inherited_loads}
    loads = {one: at for one, at in loads.items() if one not in before.unplaced}
    return kept_near(problem, mixes, loads)


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
    closed = tuple(one for one in (_closed(o, plan, now) for o in plan.outages) if one is not None)
    jobs = tuple(
        _begun_job(in_its_tubs(job, begun[job.id].mix.tubs), plan, begun[job.id], minute, down)
        if job.id in begun
        else _job_to_come(job, minute, down)
        for job in problem.jobs
    )
    inherited = tuple(_inherited(one, plan, now, minute, down) for one in problem.standing)
    standing = (*inherited, *loads_that_stand(night, plan, begun, now, down))
    workers = rests_from_now(plan.day, problem.workers, plan.tasks, minute)
    facts = facts_on_grid(
        replace(problem, jobs=jobs, standing=standing, closed=closed, workers=workers)
    )
    return with_hands_for_facts(facts, minute)


def _closed(stopped: Breakdown, plan: Plan, now: datetime) -> Closed | None:
    """Return for how long something stands still; None when it is over or has no end."""
    if _is_open(stopped, now) or plan.day.bakery.chamber(stopped.resource_id) is not None:
        return None
    until = plan.day.end_utc if stopped.until_utc is None else stopped.until_utc
    first, end = max(stopped.from_utc, now), until
    if end <= first:
        return None
    minute = plan.day.minute
    return Closed(stopped.resource_id, int(minute(first)), ceil(minute(end)))


def _begun_job(job: Job, plan: Plan, one: Begun, minute: int, down: frozenset[str]) -> Job:
    if one.is_divided:
        divide = round(plan.day.minute(one.mix.divide_utc))
        return replace(job, preparation_ids=(), divide_from=divide, divide_by=divide, held=True)
    earliest = minute if job.divide_from is None else max(minute, job.divide_from)
    divide_by = None if job.divide_by is None else max(earliest, job.divide_by)
    return _with_ovens(
        replace(job, preparation_ids=(), divide_from=earliest, divide_by=divide_by, held=True),
        down,
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
        return replace(one, load=replace(one.load, ovens=oven, held=True), load_from=at, load_by=at)
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
    baking = in_their_ovens(plan, now)
    standing = {ld.load_id: ld for ld in schedule.standing if ld.load_id not in baking}
    published = {m.id: m for m in fresh.mixes}
    # What has begun is there, whatever the search made of it.
    published |= {one.mix.id: one.mix for one in begun.values() if one.mix.id not in published}
    mixes = sorted(
        (kept(night, begun[m.id], m, standing) if m.id in begun else m for m in published.values()),
        key=lambda m: (m.start_utc, m.id),
    )
    past_ripe = _past_ripe(night.day, mixes, begun, now)
    again = {(r.code, r.subject) for r in past_ripe}
    said = [r for r in fresh.remarks if (r.code, r.subject) not in again]
    return replace(
        fresh,
        mixes=tuple(mixes),
        inherited_loads=tuple(baking.get(load.id, load) for load in fresh.inherited_loads),
        unplaced=tuple(one for one in fresh.unplaced if one not in begun),
        preparations=merged(fresh.preparations, plan.preparations, begun, now),
        tasks=_tasks(fresh.tasks, plan.tasks, now),
        remarks=(*said, *past_ripe, *_still_unmet(fresh, plan, begun, now)),
        readings=plan.readings,
        foreseen=plan.foreseen,
        outages=plan.outages,
        overrides=plan.overrides,
        begun=tuple(m.id for m in mixes if m.id in begun),
        as_of_utc=now,
    )


def _past_ripe(
    day: Day, mixes: Sequence[PlannedMix], begun: Mapping[str, Begun], now: datetime
) -> list[Remark]:
    """Return the loads to come that are loaded past their window, counted from where it ends.

    The search counts from now on: a window that has ended is none to it.
    """
    found = [
        Unmet("load_window", load.id, round(past / MINUTE), "loaded past its window")
        for mix in mixes
        if mix.id in begun and begun[mix.id].is_divided
        for load in mix.loads
        if load.load_utc > now and (past := load.load_utc - load.load_by_utc) > MINUTE
    ]
    names = {
        load.id: mix_name(day.formula(mix.formula_id).name, mix.batch, mix.batches)
        for mix in mixes
        for load in mix.loads
    }
    return unmet_remarks(found, names)


def in_their_ovens(plan: Plan, now: datetime) -> dict[str, PlannedLoad]:
    """Return the loads that are in their ovens, or were: they went in when they did."""
    loads = [*(load for mix in plan.mixes for load in mix.loads), *plan.inherited_loads]
    return {ld.id: ld for ld in loads if ld.load_utc <= now and ld.id not in plan.unplaced}


def _still_unmet(
    fresh: Plan, plan: Plan, begun: Mapping[str, Begun], now: datetime
) -> list[Remark]:
    """Return what was unmet about mixes that have begun and is not said anew: it is not undone.

    A load that is still to come is told by the new version alone.
    """
    said = {(r.code, r.subject) for r in fresh.remarks}
    loads = [load for one in begun.values() for load in one.mix.loads]
    ours = {*begun, *(load.id for load in loads)}
    open_loads = {load.id for load in loads if load.load_utc > now or load.id in plan.unplaced}
    return [
        r
        for r in plan.remarks
        if r.kind is RemarkKind.UNMET
        and r.subject in ours - open_loads
        and not r.code.startswith(("judge_", "outage_"))
        and (r.code, r.subject) not in said
    ]


def _tasks(
    fresh: Sequence[PlannedTask], old: Sequence[PlannedTask], now: datetime
) -> tuple[PlannedTask, ...]:
    """Return the work to come, and before it the work that was done as it was planned."""
    known = {key for task, key in _keyed(old) if task.start_utc <= now}
    done = [task for task, key in _keyed(old) if key in known]
    to_come = [task for task, key in _keyed(fresh) if key not in known]
    return tuple(sorted([*done, *to_come], key=lambda t: (t.start_utc, t.kind, t.subject)))


def _keyed(tasks: Sequence[PlannedTask]) -> list[tuple[PlannedTask, tuple[str, str, int]]]:
    """Return tasks with what makes two of them the same: what for, and which time it is done.

    A dough is folded and moved, and a scald seen to, more than once. What one person hands over to
    another, and what several do together, is one task.
    """
    found, ends = [], dict[tuple[str, str], list[datetime]]()
    for task in sorted(tasks, key=lambda t: (t.start_utc, t.end_utc)):
        times = ends.setdefault((task.kind, task.subject), [])
        if not times or task.start_utc > times[-1]:
            times.append(task.end_utc)
        times[-1] = max(times[-1], task.end_utc)
        found.append((task, (task.kind, task.subject, len(times))))
    return found

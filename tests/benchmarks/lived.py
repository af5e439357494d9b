"""Plans as days that were run: a core schedule, or a whole plan, for the judge."""

from __future__ import annotations

from math import ceil

import numpy as np

from planner.batches import batches_of
from planner.night import Night
from planner.planned import Plan
from planner.posing import standing_load
from planner.scheduling.problem import Load
from planner.scheduling.schedule import Schedule, ScheduledLoad
from tests.benchmarks.clock_rule import came_off
from tests.benchmarks.core_day import Posed
from tests.benchmarks.day_judge import Lived, LivedLoad, LivedMix, LivedStanding

STEP = 5


def schedule_lived(day: Posed, schedule: Schedule) -> Lived:
    """Return a core schedule as it would be run, each dough at what its water and ice reach."""
    problem = day.problem
    recovery = {o.oven_id: o.recovery_min for o in problem.ovens}
    batches = {b.id: b for b in day.batches}
    offers = {o.batch.id: o for o in day.offers}
    mixes = []
    for placed in schedule.jobs:
        job, batch = problem.job(placed.job_id), batches[placed.job_id]
        choice = offers[placed.job_id].choices[job.options[placed.option].choice]
        dough, ice = came_off(
            day.night,
            batch,
            day.preparations,
            np.array([float(placed.start)]),
            (choice.dough_c,),
            iced=choice.use_ice,
        )
        mixes.append(
            LivedMix(
                batch=batch,
                start=placed.start,
                mix_end=placed.start + batch.formula.mix_min,
                dough_c=float(dough[0, 0]),
                ice_kg=float(ice[0, 0]),
                divide=placed.divide_start,
                loads=tuple(
                    _load(load, at, recovery[at.oven_id])
                    for load, at in zip(job.loads, placed.loads, strict=True)
                ),
                leave_by=job.leave_by,
            )
        )
    items = {s.load.id: s for s in problem.standing}
    standing = tuple(
        LivedStanding(
            _load(items[at.load_id].load, at, recovery[at.oven_id]),
            items[at.load_id].load_from,
            items[at.load_id].load_by,
            items[at.load_id].leave_by,
        )
        for at in schedule.standing
    )
    ovens = {o.oven_id: o.places for o in problem.ovens}
    return Lived(day.night, tuple(mixes), standing, ovens, len(schedule.unplaced))


def _load(load: Load, at: ScheduledLoad, recovery_min: int) -> LivedLoad:
    holds = ceil((load.bake_min + recovery_min) / STEP) * STEP
    ready = at.load_start + load.bake_min + load.cool_min
    return LivedLoad(at.route, at.proof_start, at.load_start, ready, at.oven_id, at.places, holds)


def plan_lived(plan: Plan) -> Lived:
    """Return a whole plan as it would be run."""
    night = Night(plan.day, plan.conditions, plan.corrections)
    minute = plan.day.minute
    batches = {b.id: b for b in batches_of(plan.day)}
    ovens = {o.id: o for o in plan.day.bakery.ovens}
    mixes = []
    for mix in plan.mixes:
        batch = batches[mix.id]
        product = batch.product
        mixes.append(
            LivedMix(
                batch=batch,
                start=minute(mix.start_utc),
                mix_end=minute(mix.mix_end_utc),
                dough_c=mix.ticket.expected_c,
                ice_kg=mix.ticket.ice_kg,
                divide=minute(mix.divide_utc),
                loads=tuple(
                    LivedLoad(
                        load.route,
                        minute(load.proof_start_utc),
                        minute(load.load_utc),
                        minute(load.ready_utc),
                        load.oven_id,
                        load.oven_places,
                        ceil((product.bake_min + ovens[load.oven_id].recovery_min) / STEP) * STEP,
                    )
                    for load in mix.loads
                    if product is not None
                ),
                leave_by=None if mix.leave_by_utc is None else minute(mix.leave_by_utc),
            )
        )
    return Lived(
        night,
        tuple(mixes),
        _inherited_lived(plan, night),
        {one: oven.places for one, oven in ovens.items()},
        len(plan.unplaced),
    )


def _inherited_lived(plan: Plan, night: Night) -> tuple[LivedStanding, ...]:
    """Return inherited loads as the plan loads them."""
    items = {i.id: standing_load(night, i, STEP) for i in plan.conditions.inherited}
    minute = plan.day.minute
    found = []
    for load in plan.inherited_loads:
        item = items[load.id]
        recovery = plan.day.bakery.oven(load.oven_id).recovery_min
        holds = ceil((item.load.bake_min + recovery) / STEP) * STEP
        lived = LivedLoad(
            load.route,
            minute(load.proof_start_utc),
            minute(load.load_utc),
            minute(load.ready_utc),
            load.oven_id,
            load.oven_places,
            holds,
        )
        found.append(LivedStanding(lived, item.load_from, item.load_by, item.leave_by))
    return tuple(found)

"""What is made small: first what hurts, then how long bread and ripe preparations stand."""

from __future__ import annotations

from planner.scheduling.cpsat.builds import all_builds
from planner.scheduling.cpsat.model import Expr, JobVars, Model
from planner.scheduling.cpsat.rules import all_loads


def first_stage(model: Model) -> Expr:
    """Return lateness, windows, ice, early mixes, builds, absences and broken pins, in points."""
    weights = model.weights
    there = {load.load.id for load in model.standing}
    unseen = sum(s.priority for s in model.problem.standing if s.load.id not in there)
    terms: list[Expr] = [weights.unplaced * unseen, weights.rest * _rests_never_had(model)]
    terms += [weights.rest * (1 - rest.had) for rest in model.rests]
    seen = {job.job.id: job.placed for job in model.jobs}
    for one in model.problem.jobs:
        wanted = model.made.get(one.id, 1)
        terms.append(weights.unplaced * one.priority * (wanted - seen.get(one.id, 0)))
    for job in model.jobs:
        terms.append(job.points)
        terms.append(weights.window_per_slot * job.over)
        if job.behind is not None:
            terms.append(weights.window_per_slot * job.behind)
        if job.early is not None:
            terms.append(weights.early_per_mix * job.early)
        terms += [
            weights.pin * (1 - kept)
            for kept in (job.load_kept, job.first_kept, *job.after_kept.values())
            if kept is not None
        ]
        terms += _disturbance(model, job)
    for load in all_loads(model):
        terms.append(weights.window_per_slot * load.past)
        if load.off is not None:
            terms.append(weights.proof_per_slot * load.off)
        if load.late is not None:
            terms.append(weights.late_per_slot * load.priority * load.late)
        if load.moved is not None:
            terms.append(weights.moved_per_slot * load.moved)
    terms += [weights.unplaced * load.priority * (1 - load.placed) for load in model.standing]
    for build in all_builds(model):
        ways = build.table.preparation.ways
        terms.append(weights.build * build.used)
        terms += [ways[way].cost * literal for way, literal in build.ways.items()]
    return sum(terms)


def _disturbance(model: Model, job: JobVars) -> list[Expr]:
    """Return what it costs to have a mix off the plan in force."""
    weights, was = model.weights, job.job.was_mixer_id
    terms: list[Expr] = []
    if job.moved is not None:
        terms.append(weights.moved_per_slot * job.moved)
    if weights.other_mixer and was is not None:
        there: Expr = job.on.get(was, 0)
        terms.append(weights.other_mixer * (job.placed - there))
    return terms


def _rests_never_had(model: Model) -> int:
    """Return the breaks that the model does not look at, since nothing is long enough for them."""
    return sum(len(worker.rests) for worker in model.problem.workers) - len(model.rests)


def second_stage(model: Model) -> Expr:
    """Return how long bread lies, ripe preparations stand and mixes without a time are put off."""
    weights = model.weights
    terms: list[Expr] = [0]
    terms += [weights.fresh_per_hour * ld.rest for ld in all_loads(model) if ld.rest is not None]
    for build in all_builds(model):
        terms += [weights.hold_per_hour * hold for hold in build.holds.values()]
    terms += [_put_off(model, job) for job in model.jobs if job.job.leave_by is None]
    return sum(terms)


def _put_off(model: Model, job: JobVars) -> Expr:
    """Return the weighted start of a mix without a leaving time; nothing of one not made."""
    hold = model.weights.hold_per_hour
    if job.job.id not in model.made:
        return hold * job.start
    known = next((j.start for j in model.known.jobs if j.job_id == job.job.id), 0)
    start = model.number(0, model.grid.slots, known // model.grid.step)
    model.cp.add(start >= job.start).only_enforce_if(job.placed)
    return hold * start

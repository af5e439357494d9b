"""What is made small: first what hurts, then how long bread and ripe preparations stand."""

from __future__ import annotations

from planner.scheduling.cpsat.model import Expr, Model
from planner.scheduling.cpsat.resources import all_builds
from planner.scheduling.cpsat.rules import all_loads


def first_stage(model: Model) -> Expr:
    """Return lateness, windows, ice, early mixes, builds, absences and broken pins, in points."""
    weights = model.weights
    unseen = len(model.problem.jobs) - len(model.jobs)
    unseen += len(model.problem.standing) - len(model.standing)
    terms: list[Expr] = [weights.unplaced * unseen, weights.rest * _rests_never_had(model)]
    terms += [weights.rest * (1 - rest.had) for rest in model.rests]
    for job in model.jobs:
        terms.append(job.points)
        terms.append(weights.unplaced * (1 - job.placed))
        terms.append(weights.window_per_slot * job.over)
        if job.behind is not None:
            terms.append(weights.window_per_slot * job.behind)
        if job.early is not None:
            terms.append(weights.early_per_mix * job.early)
        terms += [
            weights.pin * (1 - kept) for kept in (job.load_kept, job.first_kept) if kept is not None
        ]
    for load in all_loads(model):
        terms.append(weights.window_per_slot * load.past)
        if load.late is not None:
            terms.append(weights.late_per_slot * load.priority * load.late)
    terms += [weights.unplaced * (1 - load.placed) for load in model.standing]
    terms += [
        (weights.build + build.table.preparation.ways[build.way].cost) * build.used
        for build in all_builds(model)
    ]
    return sum(terms)


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
    terms += [weights.hold_per_hour * job.start for job in model.jobs if job.job.leave_by is None]
    return sum(terms)

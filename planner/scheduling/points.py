"""Penalty points of a schedule, worked out from its times alone.

The list pass and the solver both report what this file says, whatever they thought themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from planner.scheduling.changeovers import change_minutes
from planner.scheduling.grid import slots_up
from planner.scheduling.preparation import Preparation
from planner.scheduling.problem import Job, Load, Option, Problem, Weights
from planner.scheduling.schedule import (
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    SearchPoints,
)


def points_of(
    problem: Problem,
    jobs: Sequence[ScheduledJob],
    builds: Sequence[ScheduledBuild],
    standing: Sequence[ScheduledLoad],
    *,
    pins_broken: int,
    rests: int | None = None,
) -> SearchPoints:
    """Return the penalty points of a schedule.

    Parameters
    ----------
    problem
        The day.
    jobs, builds, standing
        What was scheduled; what is missing counts as unplaced.
    pins_broken
        How many pins are not kept.
    rests
        How many breaks are had; None for all.
    """
    weights = problem.weights
    windows = weights.pin * pins_broken
    if rests is not None:
        windows += weights.rest * (sum(len(w.rests) for w in problem.workers) - rests)
    ice = early = 0
    for placed in jobs:
        job = problem.job(placed.job_id)
        option = job.options[placed.option]
        windows += option.cost + weights.window_per_slot * window_slots(problem, job, placed)
        windows += weights.proof_per_slot * proof_slots(problem, option, placed)
        ice += water_points(weights, option)
        early += weights.early_per_mix * (placed.start < problem.early_before)
    windows += weights.window_per_slot * sum(standing_slots(problem, load) for load in standing)
    return SearchPoints(
        late=late_points(problem, jobs, standing),
        windows=windows,
        ice=ice,
        early=early,
        unplaced=absence_points(problem, jobs, standing),
        freshness=round(rest_minutes(problem, jobs, builds, standing) / 60),
        builds=sum(weights.build + way_cost(problem, build) for build in builds),
        moved=moved_points(problem, jobs, standing),
    )


def absence_points(
    problem: Problem, jobs: Sequence[ScheduledJob], standing: Sequence[ScheduledLoad]
) -> int:
    """Return the points of what has no place, each times its priority."""
    placed = {job.job_id for job in jobs}
    wanted = set(problem.wanted(placed))
    there = {at.load_id for at in standing}
    missing = [j.priority for j in problem.jobs if j.id in wanted and j.id not in placed]
    missing += [item.priority for item in problem.standing if item.load.id not in there]
    return problem.weights.unplaced * sum(missing)


def moved_points(
    problem: Problem, jobs: Sequence[ScheduledJob], standing: Sequence[ScheduledLoad]
) -> int:
    """Return the points of what lies off the plan in force: slots moved, mixers changed."""
    weights = problem.weights
    if not (weights.moved_per_slot or weights.other_mixer):
        return 0
    loads = {load.id: load for job in problem.jobs for load in job.loads}
    loads |= {item.load.id: item.load for item in problem.standing}
    placed = [at for job in jobs for at in job.loads] + list(standing)
    slots = sum(_slots_off(problem, loads[at.load_id].was_start, at.load_start) for at in placed)
    others = 0
    for one in jobs:
        job = problem.job(one.job_id)
        slots += _slots_off(problem, job.was_start, one.start)
        others += job.was_mixer_id not in (None, one.mixer_id)
    return weights.moved_per_slot * slots + weights.other_mixer * others


def _slots_off(problem: Problem, was: int | None, start: int) -> int:
    step = problem.grid_min
    return 0 if was is None else abs(start // step - was_slot(was, step))


def was_slot(was: int, grid_min: int) -> int:
    """Return the slot of a minute of the plan in force, which may lie beside the grid."""
    return round(was / grid_min)


def worth(problem: Problem, schedule: Schedule) -> tuple[int, int]:
    """Return what makes one schedule better than another: less is better.

    First-stage points, then weighted minutes of the second stage; or both in one sum where the
    second stage may trade.
    """
    rest = rest_minutes(problem, schedule.jobs, schedule.builds, schedule.standing)
    points = schedule.points.first_stage
    return (60 * points + rest, 0) if problem.weights.fresh_trade else (points, rest)


def water_points(weights: Weights, option: Option) -> int:
    """Return the points of an option's ice and chilled water."""
    ice = weights.ice_per_kg * option.ice_g / 1000
    return round(ice + weights.chilled_per_10_kg * option.chilled_g / 10_000)


def window_slots(problem: Problem, job: Job, placed: ScheduledJob) -> int:
    """Return by how many slots a job's divide and loads lie past their windows."""
    past = [placed.bulk_over_min]
    if job.divide_by is not None:
        past.append(placed.divide_start - job.divide_by)
    past += [past_window(job, placed, load) for load in placed.loads]
    return sum(max(0, slots_up(minutes, problem.grid_min)) for minutes in past)


def proof_slots(problem: Problem, option: Option, placed: ScheduledJob) -> int:
    """Return by how many slots the proofs of a job's loads differ from those wanted."""
    if not option.ripe_proofs_min:
        return 0
    first = {load.id: load.first_route for load in problem.job(placed.job_id).loads}
    wanted = option.ripe_proofs_min
    return sum(
        abs(at.load_start - at.proof_start - wanted[first[at.load_id] + at.route])
        // problem.grid_min
        for at in placed.loads
    )


def past_window(job: Job, placed: ScheduledJob, load: ScheduledLoad) -> int:
    """Return by how many minutes a load goes in after its proof window; negative inside it."""
    first = next(one.first_route for one in job.loads if one.id == load.load_id)
    longest = job.options[placed.option].proofs_min[first + load.route][1]
    return load.load_start - load.proof_start - longest


def standing_slots(problem: Problem, load: ScheduledLoad) -> int:
    """Return by how many slots an inherited load goes in past its window."""
    by = next(s.load_by for s in problem.standing if s.load.id == load.load_id)
    return max(0, slots_up(load.load_start - by, problem.grid_min))


def late_points(
    problem: Problem, jobs: Iterable[ScheduledJob], standing: Iterable[ScheduledLoad]
) -> int:
    """Return the points for loads that leave late."""
    return sum(
        problem.weights.late_per_slot * priority * max(0, slots_up(minutes, problem.grid_min))
        for _, minutes, priority in lateness(problem, jobs, standing)
    )


def lateness(
    problem: Problem, jobs: Iterable[ScheduledJob], standing: Iterable[ScheduledLoad]
) -> list[tuple[str, int, int]]:
    """Return load, minutes late (negative when early) and priority of all loads with a time."""
    found = []
    for placed in jobs:
        job = problem.job(placed.job_id)
        loads = {load.id: load for load in job.loads}
        for at in placed.loads:
            leave_by, priority = job.leaves(loads[at.load_id])
            if leave_by is not None:
                late = ready_min(loads[at.load_id], at) - leave_by
                found.append((at.load_id, late, priority))
    inherited = {s.load.id: s for s in problem.standing}
    for at in standing:
        item = inherited[at.load_id]
        found.append((at.load_id, ready_min(item.load, at) - item.leave_by, item.priority))
    return found


def ready_min(load: Load, at: ScheduledLoad) -> int:
    """Return the minute at which a load is cool enough to leave."""
    return at.load_start + load.bake_min + load.cool_min


def rest_minutes(
    problem: Problem,
    jobs: Sequence[ScheduledJob],
    builds: Sequence[ScheduledBuild],
    standing: Sequence[ScheduledLoad],
) -> int:
    """Return weighted minutes of the second stage: bread that lies, ripe preparations that stand.

    Cleaning and changes of dough on a mixer count too, so that like mixes make a run.

    A job without a leaving time counts its start after its earliest one as such standing, so
    that it is not put off for nothing.
    """
    weights = problem.weights
    lies = sum(max(0, -minutes) for _, minutes, _ in lateness(problem, jobs, standing))
    starts = {placed.job_id: placed.start for placed in jobs}
    preparations = {p.id: p for p in problem.preparations}
    stands = sum(
        starts[job_id]
        - build.start
        - ready_from(problem, preparations[build.preparation_id], build)
        for build in builds
        for job_id in build.job_ids
    )
    waits = sum(
        placed.start - max(0, problem.job(placed.job_id).earliest_start)
        for placed in jobs
        if problem.job(placed.job_id).leave_by is None
    )
    rest = weights.fresh_per_hour * lies + weights.hold_per_hour * (stands + waits)
    return rest + change_minutes(problem, jobs)


def way_cost(problem: Problem, build: ScheduledBuild) -> int:
    """Return the points of the way by which a build is made."""
    one = next(p for p in problem.preparations if p.id == build.preparation_id)
    return one.ways[build.way].cost


def ready_from(problem: Problem, preparation: Preparation, build: ScheduledBuild) -> int:
    """Return how many minutes after its start a build is ready."""
    bucket = build.start // problem.bucket_min
    same = (lag for lag in preparation.lags if (lag.bucket, lag.way) == (bucket, build.way))
    return next(same).from_min

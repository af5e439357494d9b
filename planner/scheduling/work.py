"""Hands-on work that a schedule asks for, in minutes."""

from __future__ import annotations

from collections.abc import Iterable

from planner.scheduling.problem import Job, Load, Problem
from planner.scheduling.schedule import HandsOn, ScheduledBuild, ScheduledJob, ScheduledLoad


def hands_on(
    problem: Problem,
    jobs: Iterable[ScheduledJob],
    builds: Iterable[ScheduledBuild],
    standing: Iterable[ScheduledLoad],
) -> tuple[HandsOn, ...]:
    """Return every stretch of hands-on work, in order of time, nobody named yet.

    Parameters
    ----------
    problem
        The day.
    jobs, builds, standing
        What was scheduled.

    Returns
    -------
    tuple of HandsOn
        Kinds are ``scale``, ``attend``, ``fold``, ``move``, ``divide``, ``load``, ``prepare`` and
        ``see to``.
    """
    work = [
        task for placed in jobs for task in _of_job(problem, problem.job(placed.job_id), placed)
    ]
    inherited = {item.load.id: item.load for item in problem.standing}
    for at in standing:
        work += [*_moving(problem, inherited[at.load_id], at), _loading(problem, at)]
    made = {p.id: p for p in problem.preparations}
    for b in builds:
        first, *visits = made[b.preparation_id].hands_of(b.way, b.start)
        work.append(HandsOn("prepare", b.preparation_id, *first, None))
        work += [HandsOn("see to", b.preparation_id, *visit, None) for visit in visits]
    kept = [task for task in work if task.end > task.start]
    return tuple(sorted(kept, key=lambda t: (t.start, t.end, t.kind, t.subject)))


def skill_of(problem: Problem, task: HandsOn) -> str:
    """Return the kind of work that somebody must be able to do for a task."""
    if task.kind in {"prepare", "see to"}:
        return next(p.skill for p in problem.preparations if p.id == task.subject)
    return "mix" if task.kind == "attend" else task.kind


def _of_job(problem: Problem, job: Job, placed: ScheduledJob) -> list[HandsOn]:
    tasks = [HandsOn("scale", job.id, placed.start - job.scale_min, placed.start, None)]
    if job.attended:
        tasks.append(HandsOn("attend", job.id, placed.start, placed.mix_end, None))
    tasks += [
        HandsOn(kind, job.id, due, due + job.fold_min, None) for kind, due in bulk_work(job, placed)
    ]
    divide = HandsOn("divide", job.id, placed.divide_start, placed.divide_end, None)
    tasks += [divide] * job.crew
    for load, at in zip(job.loads, placed.loads, strict=True):
        tasks += [*_moving(problem, load, at), _loading(problem, at)]
    return tasks


def bulk_work(job: Job, placed: ScheduledJob) -> list[tuple[str, int]]:
    """Return the folds and moves of a bulk that are done before its divide: kind and minute."""
    return [
        ("move" if f in job.moves_min else "fold", placed.mix_end + f)
        for f in job.folds_min
        if placed.mix_end + f + job.fold_min <= placed.divide_start
    ]


def proof_moves(problem: Problem, load: Load, at: ScheduledLoad) -> list[int]:
    """Return the minutes at which a load is moved on before it goes into the oven."""
    if not load.routes:
        return []
    return [
        at.proof_start + move
        for move in load.routes[at.route].moves_min
        if at.proof_start + move + problem.load_work_min <= at.load_start
    ]


def _moving(problem: Problem, load: Load, at: ScheduledLoad) -> list[HandsOn]:
    return [
        HandsOn("move", load.id, due, due + problem.load_work_min, None)
        for due in proof_moves(problem, load, at)
    ]


def _loading(problem: Problem, load: ScheduledLoad) -> HandsOn:
    end = load.load_start + problem.load_work_min
    return HandsOn("load", load.load_id, load.load_start, end, None)

"""Hands-on work that a schedule asks for, in minutes."""

from __future__ import annotations

from collections.abc import Iterable

from planner.scheduling.problem import Job, Problem
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
        Kinds are ``scale``, ``attend``, ``fold``, ``divide``, ``load``, ``prepare`` and
        ``see to``.
    """
    work = [
        task for placed in jobs for task in _of_job(problem, problem.job(placed.job_id), placed)
    ]
    work += [_loading(problem, load) for load in standing]
    made = {p.id: p for p in problem.preparations}
    for b in builds:
        first, *visits = made[b.preparation_id].hands_of(b.way, b.start)
        work.append(HandsOn("prepare", b.preparation_id, *first, None))
        work += [HandsOn("see to", b.preparation_id, *visit, None) for visit in visits]
    kept = [task for task in work if task.end > task.start]
    return tuple(sorted(kept, key=lambda t: (t.start, t.end, t.kind, t.subject)))


def _of_job(problem: Problem, job: Job, placed: ScheduledJob) -> list[HandsOn]:
    tasks = [HandsOn("scale", job.id, placed.start - job.scale_min, placed.start, None)]
    if job.attended:
        tasks.append(HandsOn("attend", job.id, placed.start, placed.mix_end, None))
    tasks += [
        HandsOn("fold", job.id, placed.mix_end + f, placed.mix_end + f + job.fold_min, None)
        for f in job.folds_min
        if placed.mix_end + f + job.fold_min <= placed.divide_start
    ]
    tasks.append(HandsOn("divide", job.id, placed.divide_start, placed.divide_end, None))
    return tasks + [_loading(problem, load) for load in placed.loads]


def _loading(problem: Problem, load: ScheduledLoad) -> HandsOn:
    end = load.load_start + problem.load_work_min
    return HandsOn("load", load.load_id, load.load_start, end, None)

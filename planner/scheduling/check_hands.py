"""The first judge's rules about people: every stretch of work has hands, in their hours, once."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from planner.scheduling.findings import Finding, all_loads, placed_jobs, preparation_of
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import HandsOn, Schedule


def hands_for_all_work(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Somebody does every piece of hands-on work, for the whole of its time."""
    found = []
    for kind, subject, start, end in _work(problem, schedule):
        if start >= end:
            continue
        done = [
            t
            for t in schedule.hands_on
            if (t.kind, t.subject) == (kind, subject) and start <= t.start and t.end <= end
        ]
        covered = sum(t.end - t.start for t in done if t.person_id is not None)
        if covered != end - start:
            detail = f"{kind} from {start} to {end}: {covered} min are done"
            found.append(Finding("hands_for_all_work", subject, detail))
    return found


def _work(problem: Problem, schedule: Schedule) -> Iterator[tuple[str, str, int, int]]:
    """Yield all hands-on work that the times of the schedule ask for."""
    for job, placed in placed_jobs(problem, schedule):
        yield "scale", job.id, placed.start - job.scale_min, placed.start
        if job.attended:
            yield "attend", job.id, placed.start, placed.start + job.mix_min
        for fold in job.folds_min:
            due = placed.mix_end + fold
            if due + job.fold_min <= placed.divide_start:
                kind = "move" if fold in job.moves_min else "fold"
                yield kind, job.id, due, due + job.fold_min
        yield "divide", job.id, placed.divide_start, placed.divide_start + job.divide_min
    for load, at in all_loads(problem, schedule):
        yield "load", at.load_id, at.load_start, at.load_start + problem.load_work_min
        ways = load.routes if 0 <= at.route < len(load.routes) else ()
        for move in ways[at.route].moves_min if ways else ():
            due = at.proof_start + move
            if due + problem.load_work_min <= at.load_start:
                yield "move", at.load_id, due, due + problem.load_work_min
    for build in schedule.builds:
        one = preparation_of(problem, build.preparation_id)
        first, *visits = one.hands_of(build.way, build.start)
        yield "prepare", one.id, *first
        for visit in visits:
            yield "see to", one.id, *visit


def people_within_hours(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Nobody works outside their hours, in any minute."""
    there: dict[str, set[int]] = {w.person_id: set() for w in problem.workers}
    for worker in problem.workers:
        for start, end in worker.hours:
            there[worker.person_id] |= set(range(start, end))
    return [
        Finding("people_within_hours", str(t.person_id), f"{t.kind} {t.subject} at {t.start}")
        for t in schedule.hands_on
        if t.person_id is not None
        and not set(range(t.start, t.end)) <= there.get(t.person_id, set())
    ]


def one_task_per_person(_: Problem, schedule: Schedule) -> list[Finding]:
    """Nobody does two things at once."""
    mine: dict[str, list[HandsOn]] = {}
    for task in sorted(schedule.hands_on, key=lambda t: (t.start, t.end)):
        if task.person_id is not None:
            mine.setdefault(task.person_id, []).append(task)
    return [
        Finding("one_task_per_person", person, f"{one.subject} and {other.subject}")
        for person, tasks in mine.items()
        for one, other in pairwise(tasks)
        if other.start < one.end
    ]

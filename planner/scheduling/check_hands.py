"""The first judge's rules about people: every stretch of work has hands, in their hours, once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from planner.scheduling.findings import Finding, all_loads, placed_jobs, preparation_of
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import HandsOn, Schedule


def hands_for_all_work(problem: Problem, schedule: Schedule) -> list[Finding]:
    """So many as it takes do every piece of hands-on work, for the whole of its time.

    Two builds of one preparation may begin together; then its work is wanted twice.
    """
    found = []
    crews = {job.id: job.crew for job in problem.jobs}
    wanted: dict[tuple[str, str], Counter[int]] = {}
    done: dict[tuple[str, str], Counter[int]] = {}
    for kind, subject, start, end in _work(problem, schedule):
        people = crews.get(subject, 1) if kind == "divide" else 1
        minutes = wanted.setdefault((kind, subject), Counter())
        minutes.update(dict.fromkeys(range(start, end), people))
    for task in schedule.hands_on:
        if task.person_id is not None:
            done.setdefault((task.kind, task.subject), Counter()).update(
                range(task.start, task.end)
            )
    for (kind, subject), minutes in wanted.items():
        others = done.get((kind, subject), Counter[int]())
        wrong = [m for m in sorted(minutes | others) if minutes[m] != others[m]]
        if wrong:
            detail = f"{kind} at {wrong[0]}: {others[wrong[0]]} do it, not {minutes[wrong[0]]}"
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


def people_can_do_it(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Nobody is given work that they cannot do."""
    skills = {w.person_id: w.skills for w in problem.workers}
    found = []
    for task in schedule.hands_on:
        can = skills.get(task.person_id or "")
        needed = "mix" if task.kind == "attend" else task.kind
        if task.kind in {"prepare", "see to"}:
            needed = preparation_of(problem, task.subject).skill
        if can is not None and needed not in can:
            detail = f"{task.kind} {task.subject} takes {needed}"
            found.append(Finding("people_can_do_it", str(task.person_id), detail))
    return found


def breaks_are_had(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Everybody has their breaks in their windows, without work in them, or it is said."""
    rule, found = "breaks_are_had", []
    for worker in problem.workers:
        mine = [r for r in schedule.rests if r.person_id == worker.person_id]
        tasks = [t for t in schedule.hands_on if t.person_id == worker.person_id]
        missed = sum(u.code == "rest" and u.subject == worker.person_id for u in schedule.unmet)
        for number, rest in enumerate(worker.rests):
            had = [r for r in mine if r.rest == number]
            if not had and missed > 0:
                missed -= 1
            elif len(had) != 1:
                found.append(Finding(rule, worker.person_id, f"{len(had)} times break {number}"))
            for one in had:
                in_window = rest.from_min <= one.start <= rest.by_min
                if not in_window or one.end != one.start + rest.length_min:
                    detail = f"break {number} from {one.start} to {one.end}"
                    found.append(Finding(rule, worker.person_id, detail))
        found += [
            Finding(rule, worker.person_id, f"{t.kind} {t.subject} in the break at {r.start}")
            for r in mine
            for t in tasks
            if t.start < r.end and r.start < t.end
        ]
    return found


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

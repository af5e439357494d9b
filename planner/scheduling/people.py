"""Who does which work: everybody inside their hours, off their breaks, at what they can do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from planner.scheduling.problem import NOBODY, Problem, Worker
from planner.scheduling.schedule import HandsOn, ScheduledRest
from planner.scheduling.work import skill_of

Hours = tuple[tuple[int, int], ...]


def assign(
    problem: Problem, hands_on: Sequence[HandsOn], rests: Iterable[ScheduledRest] = ()
) -> tuple[HandsOn, ...]:
    """Give every stretch of work to a person who is there and can do it.

    Parameters
    ----------
    problem
        The day with its workers.
    hands_on
        Work without names.
    rests
        Breaks, in which nobody works who has one.

    Returns
    -------
    tuple of HandsOn
        With names. Work that nobody present can finish before going home, or into a break, is
        handed over: it comes back in pieces. A piece without a name means that too few people
        are there.

    Notes
    -----
    From one minute at which something begins or ends to the next, whoever is at a task stays at it.
    A task that begins goes to the free person who goes home soonest but not before its end. Where
    nobody free can do it, others change tasks along an augmenting path (Kuhn 1955), so that all
    work has a name whenever no minute asks for more of any kind than are there.

    Examples
    --------
    >>> from planner.scheduling.problem import Problem, Store, Worker
    >>> day = Problem(60, 5, 30, (), (), (), (Worker("ann", ((0, 60),)),), (), {}, {},
    ...               Store(0, 0, 0), Store(0, 0, 0))
    >>> assign(day, [HandsOn("divide", "m1", 10, 20, None)])[0].person_id
    'ann'
    """
    tasks = sorted(hands_on, key=_by_time)
    skills = [skill_of(problem, task) for task in tasks]
    crew = _off_at_rests(problem.workers, tuple(rests))
    times = {t.start for t in tasks} | {t.end for t in tasks}
    times |= {minute for w in crew for stretch in w.hours for minute in stretch}
    minutes, doers = sorted(times), dict[int, int]()
    named: dict[int, list[HandsOn]] = {i: [] for i in range(len(tasks))}
    for minute, following in pairwise(minutes):
        open_now = [i for i, t in enumerate(tasks) if t.start <= minute < t.end]
        there = {p: end for p, w in enumerate(crew) if (end := _until(w, minute)) is not None}
        doers = {i: p for i, p in doers.items() if i in open_now and p in there}
        can = {i: [p for p in sorted(there) if crew[p].can(skills[i])] for i in open_now}
        for i in open_now:
            if i not in doers:
                able = _in_order(can[i], there, tasks[i].end, crew)
                _match(i, able, doers, can, set())
        for i in open_now:
            name = crew[doers[i]].person_id if i in doers else None
            named[i].append(replace(tasks[i], start=minute, end=following, person_id=name))
    return tuple(sorted((t for ts in named.values() for t in _joined(ts)), key=_by_time))


def joined_hours(worker: Worker) -> Hours:
    """Return a worker's hours in order, stretches that touch made one."""
    joined: list[tuple[int, int]] = []
    for start, end in sorted(h for h in worker.hours if h[0] < h[1]):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)


def hours_without(worker: Worker, rests: Iterable[ScheduledRest]) -> Hours:
    """Return a worker's hours with their breaks taken out.

    Examples
    --------
    >>> hours_without(Worker("ann", ((0, 60),)), [ScheduledRest("ann", 0, 20, 30)])
    ((0, 20), (30, 60))
    """
    hours = list(joined_hours(worker))
    for rest in rests:
        if rest.person_id == worker.person_id:
            hours = [
                piece
                for start, end in hours
                for piece in ((start, min(end, rest.start)), (max(start, rest.end), end))
                if piece[0] < piece[1]
            ]
    return tuple(hours)


def _off_at_rests(workers: Iterable[Worker], rests: tuple[ScheduledRest, ...]) -> list[Worker]:
    return [replace(w, hours=hours_without(w, rests)) for w in workers]


def _by_time(task: HandsOn) -> tuple[int, int, str, str]:
    return (task.start, task.end, task.kind, task.subject)


def _until(worker: Worker, minute: int) -> int | None:
    """Return until when somebody stays, if they are there."""
    return next((end for start, end in worker.hours if start <= minute < end), None)


def _in_order(
    able: Iterable[int], there: dict[int, int], end: int, crew: Sequence[Worker]
) -> list[int]:
    """Return who stays to the end of a task, soonest home first; then who stays longest.

    Nobody comes last.
    """

    def rank(person: int) -> tuple[bool, bool, int, int]:
        leaves, is_nobody = there[person], crew[person].person_id.startswith(NOBODY)
        return (is_nobody, leaves < end, leaves if leaves >= end else -leaves, person)

    return sorted(able, key=rank)


def _match(
    task: int,
    able: Sequence[int],
    doers: dict[int, int],
    can: dict[int, list[int]],
    seen: set[int],
) -> bool:
    """Find somebody for a task: free, or freed by others who change tasks."""
    busy = {p: i for i, p in doers.items()}
    free = next((p for p in able if p not in busy), None)
    if free is not None:
        doers[task] = free
        return True
    for person in able:
        if person not in seen:
            seen.add(person)
            theirs = busy[person]
            if _match(theirs, [p for p in can[theirs] if p not in seen], doers, can, seen):
                doers[task] = person
                return True
    return False


def _joined(pieces: Sequence[HandsOn]) -> list[HandsOn]:
    """Return the pieces of a task with those of one person that touch made one."""
    joined: list[HandsOn] = []
    for piece in pieces:
        if joined and joined[-1].person_id == piece.person_id:
            joined[-1] = replace(joined[-1], end=piece.end)
        else:
            joined.append(piece)
    return joined

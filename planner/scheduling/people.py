"""Who does which hands-on work: greedy interval colouring inside everybody's hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.scheduling.problem import Problem, Worker
from planner.scheduling.schedule import HandsOn


@dataclass
class _Person:
    """A person while work is handed out: their hours, and the minute at which they are free."""

    id: str
    hours: tuple[tuple[int, int], ...]
    free_from: int = 0

    def stays_until(self, minute: int) -> int | None:
        """Return when they go home, if they are there and free at this minute."""
        if self.free_from > minute:
            return None
        return next((end for start, end in self.hours if start <= minute < end), None)


def assign(problem: Problem, hands_on: Sequence[HandsOn]) -> tuple[HandsOn, ...]:
    """Give every stretch of work to a person who is there.

    Parameters
    ----------
    problem
        The day with its workers.
    hands_on
        Work without names.

    Returns
    -------
    tuple of HandsOn
        With names. Work that nobody present can finish before going home is handed over: it
        comes back in pieces. A piece without a name means that too few people are there.

    Notes
    -----
    In order of time, each task goes to the free person who goes home soonest but not before its
    end. Whenever no minute asks for more people than are there, some free person exists at
    every start and at every hand-over, so that nothing stays without a name.

    Examples
    --------
    >>> from planner.scheduling.problem import Problem, Store, Worker
    >>> day = Problem(60, 5, 30, (), (), (), (Worker("ann", ((0, 60),)),), (), {}, {},
    ...               Store(0, 0, 0), Store(0, 0, 0))
    >>> assign(day, [HandsOn("divide", "m1", 10, 20, None)])[0].person_id
    'ann'
    """
    crew = [_Person(w.person_id, joined_hours(w)) for w in problem.workers]
    waiting = sorted(hands_on, key=_by_time)
    done: list[HandsOn] = []
    while waiting:
        task = waiting.pop(0)
        piece, rest = _hand_out(crew, task)
        done.append(piece)
        if rest is not None:
            waiting.append(rest)
            waiting.sort(key=_by_time)
    return tuple(sorted(done, key=_by_time))


def joined_hours(worker: Worker) -> tuple[tuple[int, int], ...]:
    """Return a worker's hours in order, stretches that touch made one."""
    joined: list[tuple[int, int]] = []
    for start, end in sorted(h for h in worker.hours if h[0] < h[1]):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)


def _by_time(task: HandsOn) -> tuple[int, int, str, str]:
    return (task.start, task.end, task.kind, task.subject)


def _hand_out(crew: list[_Person], task: HandsOn) -> tuple[HandsOn, HandsOn | None]:
    """Return the task, or its first piece, with a name, and what is left of it."""
    there = [(end, p) for p in crew if (end := p.stays_until(task.start)) is not None]
    if not there:
        return task, None
    staying = [(end, i) for i, (end, _) in enumerate(there) if end >= task.end]
    index = min(staying)[1] if staying else max((end, -i) for i, (end, _) in enumerate(there))[1]
    leaves, person = there[abs(index)]
    until = min(task.end, leaves)
    person.free_from = until
    piece = replace(task, end=until, person_id=person.id)
    return piece, None if until == task.end else replace(task, start=until)

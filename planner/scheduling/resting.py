"""Breaks while a day fills up, and what to say of one that nobody finds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from planner.scheduling.occupancy import Occupancy
from planner.scheduling.problem import Problem, Rest
from planner.scheduling.schedule import HandsOn, ScheduledRest, Unmet


def place_rests(
    day: Occupancy, lean: float, had: Iterable[ScheduledRest] = ()
) -> list[ScheduledRest]:
    """Take the breaks of all workers that can be had beside what is taken.

    Parameters
    ----------
    day
        What is taken so far; the breaks found are taken in it.
    lean
        Where in its window a break is rather to begin: 0 at once, 1 at the end.
    had
        Breaks that are taken already.

    Returns
    -------
    list of ScheduledRest
        Those that were had already, and those found.
    """
    found = list(had)
    taken = {(r.person_id, r.rest) for r in found}
    for worker in day.problem.workers:
        for number, rest in enumerate(worker.rests):
            if (worker.person_id, number) not in taken:
                start = _start_of(day, worker.person_id, rest, lean)
                if start is not None:
                    end = start + rest.length_min
                    found.append(ScheduledRest(worker.person_id, number, start, end))
    return found


def _start_of(day: Occupancy, person_id: str, rest: Rest, lean: float) -> int | None:
    """Return the minute at which a break is taken, or None when there is none to have."""
    grid, slots = day.grid, day.grid.up(rest.length_min)
    free = day.rest_free(person_id, slots)
    starts = np.flatnonzero(free)
    starts = starts[(starts >= grid.up(rest.from_min)) & (starts <= grid.down(rest.by_min))]
    if len(starts) == 0:
        return None
    wanted = (rest.from_min + lean * (rest.by_min - rest.from_min)) / grid.step
    first = int(starts[np.argmin(np.abs(starts - wanted))])
    return first * grid.step if day.take_rest(person_id, first, first + slots) else None


def missed_rests(
    problem: Problem, rests: Sequence[ScheduledRest], work: Sequence[HandsOn]
) -> list[Unmet]:
    """Return the breaks that are not had: the longest one there is, and what stands in its way.

    Parameters
    ----------
    problem
        The day with its workers.
    rests
        Breaks that are had.
    work
        Hands-on work with names.
    """
    had = {(r.person_id, r.rest) for r in rests}
    return [
        _missed(rest, worker.person_id, [t for t in work if t.person_id == worker.person_id])
        for worker in problem.workers
        for number, rest in enumerate(worker.rests)
        if (worker.person_id, number) not in had
    ]


def _missed(rest: Rest, person_id: str, mine: Sequence[HandsOn]) -> Unmet:
    """Name the work that would have to move for a break, as little of it as can be."""
    starts = range(rest.from_min, max(rest.from_min, rest.by_min) + 1)

    def in_way(start: int) -> list[HandsOn]:
        return [t for t in mine if t.start < start + rest.length_min and start < t.end]

    def worked(start: int) -> int:
        end = start + rest.length_min
        return sum(min(t.end, end) - max(t.start, start) for t in in_way(start))

    best = min(starts, key=lambda start: (worked(start), len(in_way(start)), start))
    names = " and ".join(dict.fromkeys(f"{t.kind} {t.subject}" for t in in_way(best)))
    detail = f"move {names}" if names else "too few others are there"
    return Unmet("rest", person_id, rest.length_min - worked(best), detail)

"""Breaks: from the rules of a house to the windows in which each person is to have theirs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import ceil

from planner.crew import BreakRule
from planner.day import Day
from planner.planned import PlannedTask
from planner.scheduling.problem import Rest, Worker

EDGE_MIN = 60
"""No break in the first or last hour of work, if it can be helped (our guess of what counts) [min].
"""

BREAK = "break"
"""Kind of the task that a break is in a plan."""


def rests_of(hours: Iterable[tuple[int, int]], rules: Sequence[BreakRule]) -> tuple[Rest, ...]:
    """Return the breaks of somebody who works these hours.

    Parameters
    ----------
    hours
        From when to when they work, in minutes of the span; stretches that touch are one.
    rules
        Rules of the house.

    Notes
    -----
    Of the rules that a stretch of work comes under, the longest break counts for the first, the
    shortest for further ones, and the shortest work for how long anybody works without. One break
    may begin wherever neither part is too long; several keep to even shares of the stretch.

    Examples
    --------
    Eight hours, 20 min when working over six: begun after two to six hours of work.

    >>> rests_of([(0, 480)], [BreakRule(360, 20)])
    (Rest(length_min=20, from_min=100, by_min=360),)
    """
    return tuple(rest for stretch in joined(hours) for rest in _of_stretch(*stretch, rules))


def joined(hours: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return stretches of work in order, those that touch made one."""
    found: list[tuple[int, int]] = []
    for start, end in sorted(h for h in hours if h[0] < h[1]):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return found


def _of_stretch(start: int, end: int, rules: Sequence[BreakRule]) -> list[Rest]:
    length = end - start
    due = [rule for rule in rules if length > rule.over_min]
    if not due:
        return []
    most = min(rule.over_min for rule in due)
    lengths = sorted(rule.break_min for rule in due)
    count = ceil(length / most) - 1
    return [
        _rest(start, end, most, k, count, lengths[-1] if k == 1 else lengths[0])
        for k in range(1, count + 1)
    ]


def _rest(start: int, end: int, most: int, number: int, count: int, length_min: int) -> Rest:
    """Return one of several breaks with the window in which it may begin."""
    share = (end - start) / (count + 1)
    slack = (most - share) / 2
    low, high = start + number * share - slack, start + number * share + slack
    if count == 1:
        low, high = end - most - length_min, start + most
    low, high = max(low, start), min(high, end - length_min)
    inner = max(low, start + EDGE_MIN), min(high, end - EDGE_MIN - length_min)
    low, high = inner if inner[0] <= inner[1] else (low, high)
    return Rest(length_min, ceil(low), max(ceil(low), int(high)))


def rests_from_now(
    day: Day, workers: Sequence[Worker], tasks: Sequence[PlannedTask], minute: int
) -> tuple[Worker, ...]:
    """Return the workers with breaks that have begun as they were, and none to come before now.

    Parameters
    ----------
    day
        The production day.
    workers
        With the breaks that the rules of the house give them.
    tasks
        Work and breaks of the plan in force.
    minute
        Now, in minutes of the span.
    """
    begun = {
        (task.person_id, start)
        for task in tasks
        if task.kind == BREAK and (start := round(day.minute(task.start_utc))) <= minute
    }
    return tuple(
        replace(
            worker,
            rests=tuple(_from_now(rest, worker.person_id, begun, minute) for rest in worker.rests),
        )
        for worker in workers
    )


def _from_now(rest: Rest, person_id: str, begun: set[tuple[str | None, int]], minute: int) -> Rest:
    had = [
        start for who, start in begun if who == person_id and rest.from_min <= start <= rest.by_min
    ]
    if had:
        return replace(rest, from_min=had[0], by_min=had[0])
    return replace(rest, from_min=max(rest.from_min, minute), by_min=max(rest.by_min, minute))

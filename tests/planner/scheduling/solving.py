"""Solving a small day in both ways, each judged by the independent check."""

from __future__ import annotations

from planner.scheduling import list_pass
from planner.scheduling.assemble import assemble
from planner.scheduling.check import check
from planner.scheduling.cpsat.solve import solve
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule, Unmet

SMALL = 3
"""Mixes up to which the search is also tried without a list."""


def listed(day: Problem) -> Schedule:
    """The list pass, checked."""
    schedule = list_pass.build(day, seed=7)
    assert check(day, schedule) == []
    return schedule


def nothing(day: Problem) -> Schedule:
    """The schedule in which nothing has a place: it tells the search nothing."""
    ids = [job.id for job in day.jobs] + [item.load.id for item in day.standing]
    return assemble(day, (), (), (), [Unmet("no_place", one, 0, "not tried") for one in ids])


def searched_alone(day: Problem) -> Schedule:
    """The search without a list to begin with, so that every rule must be its own."""
    schedule = solve(
        day,
        nothing(day),
        solve_s=60,
        deterministic_s=4.0,
        workers=1,
        seed=7,
        on_progress=None,
    )
    assert check(day, schedule) == []
    return schedule


def searched(day: Problem, *, workers: int = 1, deterministic_s: float = 4.0) -> Schedule:
    """The search, checked, and never worse than the list it began with."""
    first = listed(day)
    schedule = solve(
        day,
        first,
        solve_s=60,
        deterministic_s=deterministic_s,
        workers=workers,
        seed=7,
        on_progress=None,
    )
    assert check(day, schedule) == []
    assert schedule.points.first_stage <= first.points.first_stage
    if len(day.jobs) <= SMALL:
        assert searched_alone(day).points.first_stage == schedule.points.first_stage
    return schedule


def starts(schedule: Schedule) -> list[int]:
    """Starts of all mixes, in order."""
    return sorted(job.start for job in schedule.jobs)

"""Solving a small day in both ways, each judged by the independent check."""

from __future__ import annotations

from planner.scheduling import list_pass
from planner.scheduling.check import check
from planner.scheduling.cpsat.solve import solve
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule


def listed(day: Problem) -> Schedule:
    """The list pass, checked."""
    schedule = list_pass.build(day, seed=7)
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
    return schedule


def starts(schedule: Schedule) -> list[int]:
    """Starts of all mixes, in order."""
    return sorted(job.start for job in schedule.jobs)

"""A first plan at once: every mix in turn takes the cheapest place that is still free.

Several orders are tried, and what went badly in one goes first in the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.scheduling.assemble import assemble, broken_pins
from planner.scheduling.causes import cause_of, place_rest
from planner.scheduling.grid import Grid
from planner.scheduling.occupancy import Occupancy
from planner.scheduling.placing import Style, place_job
from planner.scheduling.points import points_of, rest_minutes
from planner.scheduling.problem import Job, Problem
from planner.scheduling.schedule import (
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    SearchPoints,
    Unmet,
)
from planner.scheduling.tables import (
    JobTable,
    PreparationTable,
    job_table,
    preparation_table,
)

MOST_TRIES = 12
"""Orders tried at most (12 removed single late mixes in measurements)."""

LEAST_TRIES = 3
"""Orders tried even on the largest day, unless one of them cannot be bettered."""

PLACINGS = 320
"""About how many places are looked for in all, so that a large day is listed in time too."""

STYLES = (
    {"past": False, "keep_pins": True},
    {"past": True, "keep_pins": True},
    {"past": True, "keep_pins": False},
)
"""What is given up in turn for a job that finds no place."""

LEANS = (0.5, 0.1, 0.9)
"""Where in its ripe time a new build is used first, by try."""


@dataclass(frozen=True)
class _Tables:
    problem: Problem
    jobs: dict[str, JobTable]
    preparations: dict[str, PreparationTable]


@dataclass(frozen=True)
class _Try:
    """One order worked through."""

    jobs: tuple[ScheduledJob, ...]
    builds: tuple[ScheduledBuild, ...]
    standing: tuple[ScheduledLoad, ...]
    causes: tuple[Unmet, ...]
    points: SearchPoints
    rest: int
    blame: dict[str, float]


def build(problem: Problem, *, seed: int) -> Schedule:
    """Return a usable schedule quickly.

    Parameters
    ----------
    problem
        The day.
    seed
        Of the orders that are tried.

    Returns
    -------
    Schedule
        With every job that finds a place; the others are named with the reason.

    Notes
    -----
    A job that finds no place inside its windows is tried past them, then without its pins. One
    that still finds none goes first in the next try.

    Examples
    --------
    >>> from planner.scheduling.problem import Store
    >>> store = Store(0, 0, 0)
    >>> build(Problem(60, 5, 30, (), (), (), (), (), {}, {}, store, store), seed=1).jobs
    ()
    """
    grid = Grid(problem)
    tables = _Tables(
        problem,
        {job.id: job_table(grid, job) for job in problem.jobs},
        {p.id: preparation_table(grid, p) for p in problem.preparations},
    )
    best = _best_try(tables, np.random.default_rng(seed))
    placed = {j.job_id for j in best.jobs}
    causes = [
        cause_of(problem, job, tables.preparations, best.jobs, best.builds, best.standing)
        for job in problem.jobs
        if job.id not in placed
    ]
    return assemble(problem, best.jobs, best.builds, best.standing, [*best.causes, *causes])


def _best_try(tables: _Tables, rng: np.random.Generator) -> _Try:
    problem = tables.problem
    floor = sum(cheapest(table) for table in tables.jobs.values())
    order = first_order(problem)
    best = _work_through(tables, order, LEANS[0])
    tries = min(MOST_TRIES, max(LEAST_TRIES, PLACINGS // max(1, len(order))))
    last = best
    for number in range(1, tries):
        if best.points.first_stage <= floor:
            break
        order = next_order(order, last.blame, rng)
        last = _work_through(tables, order, LEANS[number % len(LEANS)])
        best = min(best, last, key=lambda t: (t.points.first_stage, t.rest))
    return best


def cheapest(table: JobTable) -> int:
    """Return the points of a job's cheapest option; no place of it can cost less."""
    return int(table.points.min()) if len(table.points) else table.job.priority


def first_order(problem: Problem) -> list[Job]:
    """Return the jobs: begun and pinned ones first, then those with the fewest ways to go."""
    last = problem.span_min

    def rank(job: Job) -> tuple[int, int, int, str]:
        freedom = job.latest_start - job.earliest_start
        pinned = freedom <= problem.grid_min or job.load_at is not None or job.first_on_mixer
        leaves = last if job.leave_by is None else job.leave_by
        return (0 if pinned else 1, -job.priority, leaves, job.id)

    return sorted(problem.jobs, key=rank)


def next_order(
    order: Sequence[Job], blame: dict[str, float], rng: np.random.Generator
) -> list[Job]:
    """Return another order: what cost most comes forward, the rest is shuffled a little."""
    most = max(blame.values(), default=0.0) or 1.0
    at = {
        job.id: index / len(order) - 0.8 * blame.get(job.id, 0.0) / most + 0.3 * rng.random()
        for index, job in enumerate(order)
    }
    return sorted(order, key=lambda job: (at[job.id], job.id))


def _work_through(tables: _Tables, order: Sequence[Job], lean: float) -> _Try:
    """Place every job of an order in turn."""
    problem, day = tables.problem, Occupancy(tables.problem)
    standing, causes = place_rest(day, problem.standing)
    placed: list[ScheduledJob] = []
    blame: dict[str, float] = {}
    for job in order:
        found = _place(tables, day, job, lean)
        if found is not None:
            placed.append(found)
        blame[job.id] = _blame(problem, tables.jobs[job.id], found)
    builds = _builds(day)
    numbered = tuple(placed)
    points = points_of(
        problem, numbered, builds, standing, pins_broken=len(broken_pins(problem, numbered))
    )
    rest = rest_minutes(problem, numbered, builds, standing)
    return _Try(numbered, builds, tuple(standing), tuple(causes), points, rest, blame)


def _place(tables: _Tables, day: Occupancy, job: Job, lean: float) -> ScheduledJob | None:
    if any(one_id not in tables.preparations for one_id in job.preparation_ids):
        return None
    for given_up in STYLES:
        style = Style(lean=lean, **given_up)
        placed = place_job(day, tables.jobs[job.id], tables.preparations, style)
        if placed is not None:
            return placed
    return None


def _blame(problem: Problem, table: JobTable, placed: ScheduledJob | None) -> float:
    """Return what a job cost beyond its cheapest option."""
    if placed is None:
        return float(problem.weights.unplaced)
    points = points_of(problem, (placed,), (), (), pins_broken=0)
    own = points.first_stage - points.unplaced
    return float(np.log1p(max(0, own - cheapest(table)))) / 12 * problem.weights.unplaced


def _builds(day: Occupancy) -> tuple[ScheduledBuild, ...]:
    return tuple(
        ScheduledBuild(one_id, number, made.start, made.mixer_id, tuple(made.job_ids))
        for one_id, builds in day.builds.items()
        for number, made in enumerate(builds)
    )

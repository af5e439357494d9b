"""What has happened already, on the grid of a search: it stays, whatever the rules say of it.

A night is told to the minute and a search is not; people do more at once than a plan would ask of
them, or go home. What has begun is put on the grid so that it fits itself, and where its work finds
no hands that is named, so that the rest of the night is planned around it and not against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from planner.scheduling.crews import crews_of
from planner.scheduling.grid import Flags, Grid, Ints, Work
from planner.scheduling.preparation import Preparation
from planner.scheduling.problem import NOBODY, Job, Load, Problem, StandingLoad, Worker
from planner.scheduling.taking import job_work


def facts_on_grid(problem: Problem) -> Problem:
    """Return a day whose facts lie on its grid: what is divided or in its oven, to the minute.

    Each stands at the slot after its minute, and what is in an oven is through with its place at
    the slot after that minute.
    """
    grid = Grid(problem)
    return replace(
        problem,
        jobs=tuple(
            replace(job, divide_from=at, divide_by=at)
            if _is_divided(job) and (at := grid.up(job.divide_from or 0) * grid.step)
            else job
            for job in problem.jobs
        ),
        standing=tuple(_standing_on_grid(grid, item) for item in problem.standing),
    )


def _is_divided(job: Job) -> bool:
    return job.divide_from is not None and job.divide_from == job.divide_by


def _standing_on_grid(grid: Grid, item: StandingLoad) -> StandingLoad:
    at = grid.up(item.load_from) * grid.step
    if at == 0:
        return item
    load = _held_on_grid(grid, item.load, item.load_from) if item.load.held else item.load
    return replace(item, load=load, load_from=at, load_by=max(at, item.load_by))


def _held_on_grid(grid: Grid, load: Load, loaded: int) -> Load:
    """Return a load that is in its oven, and gives up its place at the slot after its minute."""
    at = grid.up(loaded) * grid.step
    ovens = []
    for choice in load.ovens:
        oven = next(o for o in grid.problem.ovens if o.oven_id == choice.oven_id)
        told = choice.hold_min
        hold = load.bake_min + oven.recovery_min if told is None else told
        ovens.append(replace(choice, hold_min=grid.up(loaded + hold) * grid.step - at))
    return replace(load, ovens=tuple(ovens))


def with_hands_for_facts(problem: Problem, now: int) -> Problem:
    """Return a day in which what has begun has hands.

    Parameters
    ----------
    problem
        The day, its facts on the grid.
    now
        The minute from which something can still be chosen.

    Returns
    -------
    Problem
        With a worker more, named after `NOBODY`, wherever work that is fixed asks for more hands
        than are there. What of it lies before now was done by somebody.
    """
    grid = Grid(problem)
    lacking = np.zeros(grid.slots, dtype=np.int64)
    skills: set[str] = set()
    works = list(_fixed_work(grid))
    for crew in crews_of(grid):
        asked = np.zeros(grid.slots, dtype=np.int64)
        mine = [work for work in works if work.skill in crew.skills]
        for work in mine:
            asked[max(0, work.first) : max(0, work.end)] += work.people
        for first, end, person_id in _rests_had(grid):
            if person_id in crew.person_ids:
                asked[first:end] += 1
        short = np.maximum(0, asked - crew.people)
        skills |= {w.skill for w in mine if bool(short[max(0, w.first) : max(0, w.end)].any())}
        lacking = np.maximum(lacking, short)
    more = _nobodies(grid, lacking, frozenset(skills), now)
    return replace(problem, workers=(*problem.workers, *more))


def _nobodies(grid: Grid, lacking: Ints, skills: frozenset[str], now: int) -> list[Worker]:
    """Return who would have to be there, those before now apart."""
    step, found = grid.step, []
    later = np.arange(grid.slots) * step >= now
    for count in range(int(lacking.max(initial=0))):
        for word, part in (("before", ~later), ("later", later)):
            hours = tuple((a * step, b * step) for a, b in _runs((lacking > count) & part))
            if hours:
                found.append(Worker(f"{NOBODY}{word} {count + 1}", hours, skills))
    return found


def _runs(there: Flags) -> list[tuple[int, int]]:
    """Return stretches that are there: first slot and the one after the last."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], there.astype(np.int64), [0]))))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def _fixed_work(grid: Grid) -> Iterator[Work]:
    """Yield the hands-on work of all that has begun, in slots."""
    for job in grid.problem.jobs:
        if job.held and job.earliest_start == job.latest_start:
            yield from work_begun(grid, job)
    length = grid.up(grid.problem.load_work_min)
    for item in grid.problem.standing:
        if item.load.held:
            first = grid.up(item.load_from)
            yield Work(first, first + length, "load")
    for one in grid.problem.preparations:
        if one.earliest_start == one.latest_start:
            yield from _work_at(grid, one)


def work_begun(grid: Grid, job: Job) -> list[Work]:
    """Return the hands-on work of a mix that has begun, as far as it is sure, in slots."""
    start = grid.up(job.earliest_start)
    mixed = start + grid.up(job.mix_min)
    if _is_divided(job):
        return job_work(grid, job, start, grid.up(job.divide_from or 0))
    least = min((grid.up(option.bulk_min) for option in job.options), default=0)
    divide = max(mixed + least, grid.up(job.divide_from or 0))
    return job_work(grid, job, start, divide)[:-1]


def _work_at(grid: Grid, one: Preparation) -> Iterator[Work]:
    """Yield the work of a build that is set, as far as its way is known."""
    beside = int(one.earliest_start % grid.step > 0)
    ways = {lag.way for lag in one.lags}
    for begin, end in one.hands_of(min(ways), 0) if len(ways) == 1 else ():
        first = grid.down(one.earliest_start) + grid.down(begin)
        yield Work(first, first + grid.up(end - begin) + beside, one.skill)


def _rests_had(grid: Grid) -> Iterator[tuple[int, int, str]]:
    for worker in grid.problem.workers:
        for rest in worker.rests:
            if rest.from_min == rest.by_min:
                first = grid.up(rest.from_min)
                yield first, first + grid.up(rest.length_min), worker.person_id

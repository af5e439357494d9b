"""What a contradiction is, what leads out of it, and the bounds of mixes that sums start from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.scheduling.crews import people_by_slot
from planner.scheduling.grid import Grid, Ints, free_runs
from planner.scheduling.problem import Job, Load, Problem
from planner.scheduling.tables import (
    JobTable,
    PreparationTable,
    job_table,
    preparation_table,
)


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way out of a contradiction, with its price.

    Attributes
    ----------
    code
        ``leave_later``, ``leave_out``, ``divide_later``, ``more``, ``start_sooner``,
        ``another_build`` or ``unpin``.
    amount
        Minutes later or sooner, or how much more of the resource, in the unit of the contradiction.
    subjects
        The mixes or loads it is about.
    points
        What it costs in the points of the search; None where nothing there counts it.
    """

    code: str
    amount: float
    subjects: tuple[str, ...]
    points: int | None


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Something that was asked and cannot be.

    Attributes
    ----------
    code
        ``too_short``, ``no_mixer``, ``no_oven``, ``no_start``, ``nobody``, ``ovens``,
        ``mixers``, ``hands``, ``racks``, ``overfull``, ``builds``, ``store``, ``pins`` or
        ``order``.
    resource_ids
        What there is too little of.
    from_min, by_min
        Between which minutes of the span.
    job_ids
        The mixes that ask for it; of what was inherited, the loads.
    needed, there
        How much is needed and how much there is, in ``unit``.
    unit
        ``min``, ``place min``, ``rack min``, ``racks``, ``places``, ``mixers``, ``starts``,
        ``builds``, ``mixes`` or ``g``.
    ways_out
        The cheapest first; what has no price in points comes last.
    """

    code: str
    resource_ids: tuple[str, ...]
    from_min: int
    by_min: int
    job_ids: tuple[str, ...]
    needed: float
    there: float
    unit: str
    ways_out: tuple[WayOut, ...] = ()


def cheapest_first(ways: Sequence[WayOut]) -> tuple[WayOut, ...]:
    """Return ways out with the cheapest first, those that nothing is counted for last."""
    return tuple(sorted(ways, key=lambda w: (w.points is None, w.points or 0, w.code)))


@dataclass(frozen=True)
class Bounds:
    """The soonest and the latest slots of one mix that still leave it in time and in its windows.

    Attributes
    ----------
    start, divide
        First and last slot of each; the last is below the first when there is none in time.
    ready_min
        The soonest minute at which its last load could leave; None without loads.
    loads
        First and last slot of loading, by load id.
    """

    start: tuple[int, int]
    divide: tuple[int, int]
    ready_min: int | None
    loads: Mapping[str, tuple[int, int]]


class DaySums:
    """A day with what its sums share."""

    def __init__(self, problem: Problem, without: frozenset[str] = frozenset()) -> None:
        self.problem, self.grid = problem, Grid(problem)
        self.jobs = [job for job in problem.jobs if job.id not in without]
        self.tables = {job.id: job_table(self.grid, job) for job in self.jobs}

    @cached_property
    def people(self) -> Ints:
        """How many work through each slot."""
        return people_by_slot(self.grid, self.grid.problem.workers)

    @cached_property
    def bounds(self) -> dict[str, Bounds]:
        """The bounds of each mix that has some start."""
        return {
            job.id: bounds_of(self.grid, self.tables[job.id], self.people)
            for job in self.jobs
            if len(self.tables[job.id].pair_row)
        }

    @cached_property
    def starts(self) -> dict[str, PreparationTable]:
        """The starts of each preparation, with when it can be used from there."""
        return {p.id: preparation_table(self.grid, p) for p in self.problem.preparations}

    def minute(self, slot: int) -> int:
        """Return the minute at which a slot begins."""
        return slot * self.grid.step


def bounds_of(grid: Grid, table: JobTable, people: Ints) -> Bounds:
    """Return the soonest and latest slots of a mix that has some start.

    A start counts if somebody is there to scale it; if nobody ever is, every start does, and that
    is another rule's.
    """
    job, row, start = table.job, table.pair_row, table.pair_start
    scale = grid.up(job.scale_min)
    if scale and not job.held:
        able = free_runs(people > 0, scale)[np.maximum(start - scale, 0)]
        if able.any():
            row, start = row[able], start[able]
    mix_end = start + grid.up(job.mix_min)
    divide = mix_end + table.bulk[row]
    shortest = table.proof_from.min(axis=1)[row] if table.proof_from.shape[1] else 0 * row
    in_time = np.ones(len(row), dtype=bool)
    if job.divide_by is not None:
        in_time &= divide <= grid.down(job.divide_by)
    first_loads: dict[str, Ints] = {}
    ready: int | None = None
    for load in job.loads:
        at = divide + grid.up(load.proof_offset_min) + shortest
        first_loads[load.id] = at
        done = int(at.min()) * grid.step + load.bake_min + load.cool_min
        ready = done if ready is None else max(ready, done)
        last = grid.in_time(load, job.leave_by)
        if last is not None:
            in_time &= at <= last
    kept = np.flatnonzero(in_time)
    return Bounds(
        start=(int(start.min()), int(start[kept].max()) if len(kept) else -1),
        divide=(int(divide.min()), int(divide[kept].max()) if len(kept) else -1),
        ready_min=ready,
        loads={
            load.id: (int(first_loads[load.id].min()), last_loading(grid, job, load))
            for load in job.loads
        },
    )


def last_loading(grid: Grid, job: Job, load: Load) -> int:
    """Return the last slot from which a load leaves in time and is out by the end of the span."""
    in_time = grid.in_time(load, job.leave_by)
    last = grid.slots - grid.bake_slots(load)
    return last if in_time is None else min(last, in_time)

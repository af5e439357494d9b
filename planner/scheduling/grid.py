"""Minutes to slots and back; people by slot. Shared by the list pass and the solver."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem import (
    Job,
    Load,
    OvenChoice,
    OvenPlaces,
    Problem,
    StandingLoad,
)

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

PAST_SLOTS = 36
"""How many slots a divide or a loading may lie past its window (our guess: 3 h of 5 min)."""


def slots_up(minutes: int, grid_min: int) -> int:
    """Return the slots that cover these minutes.

    Examples
    --------
    >>> slots_up(12, 5), slots_up(-12, 5)
    (3, -2)
    """
    return -(-minutes // grid_min)


@dataclass(frozen=True, slots=True)
class Work:
    """A stretch of hands-on work in slots, rounded outward: from `first` up to `end`.

    Attributes
    ----------
    skill
        Kind of work.
    people
        How many do it together.
    """

    first: int
    end: int
    skill: str = ""
    people: int = 1


@dataclass(frozen=True)
class Grid:
    """The time grid of a problem."""

    problem: Problem

    @property
    def step(self) -> int:
        """Minutes of a slot."""
        return self.problem.grid_min

    @property
    def slots(self) -> int:
        """Slots of the span."""
        return self.problem.span_min // self.problem.grid_min

    @property
    def per_bucket(self) -> int:
        """Slots of a start bucket."""
        return self.problem.bucket_min // self.problem.grid_min

    @property
    def buckets(self) -> int:
        """Start buckets of the span."""
        return -(-self.slots // self.per_bucket)

    def up(self, minutes: int) -> int:
        """Return the slots that cover these minutes."""
        return slots_up(minutes, self.step)

    def down(self, minutes: int) -> int:
        """Return the whole slots inside these minutes."""
        return minutes // self.step

    def work(self, start_min: int, end_min: int, skill: str = "") -> Work:
        """Return the slots that a stretch of work touches."""
        return Work(self.down(start_min), self.up(end_min), skill)

    def bake_slots(self, load: Load) -> int:
        """Return the slots in the oven without recovery."""
        return self.up(load.bake_min)

    def oven_slots(self, load: Load, oven: OvenPlaces) -> int:
        """Return the slots for which a load keeps its places, recovery included."""
        held = next((c.hold_min for c in load.ovens if c.oven_id == oven.oven_id), None)
        return self.up(load.bake_min + oven.recovery_min if held is None else held)

    def hot_slots(self, choice: OvenChoice) -> tuple[int, int]:
        """Return the first and last slot of loading at which an oven is as hot as it should be."""
        first = 0 if choice.hot_from is None else self.up(max(0, choice.hot_from))
        return first, self.slots if choice.hot_by is None else self.down(choice.hot_by)

    def in_time(self, load: Load, leave_by: int | None) -> int | None:
        """Return the last slot of loading from which the load leaves in time."""
        if leave_by is None:
            return None
        return self.down(leave_by - load.bake_min - load.cool_min)

    def start_bounds(self, job: Job) -> tuple[int, int]:
        """Return the first and last start slot of a job."""
        last = min(self.down(job.latest_start), self.slots - self.up(job.mix_min))
        return max(self.up(job.earliest_start), self.up(job.scale_min), 0), last

    def load_at(self, job: Job) -> int | None:
        """Return the slot of a pinned loading."""
        return None if job.load_at is None else round(job.load_at / self.step)


def shut_slots(grid: Grid) -> dict[str, Flags]:
    """Return by mixer and oven the slots in which it is out of order, if it ever is."""
    shut: dict[str, Flags] = {}
    for closed in grid.problem.closed:
        slots = shut.setdefault(closed.resource_id, np.zeros(grid.slots, dtype=bool))
        slots[max(0, grid.down(closed.start)) : max(0, grid.up(closed.end))] = True
    return shut


def chamber_racks(problem: Problem) -> dict[str, int]:
    """Return how many there are of what is counted; at least what stands there at first."""
    standing = standing_racks(problem.standing)
    return {place: max(racks, standing.get(place, 0)) for place, racks in problem.racks.items()}


def standing_racks(standing: Iterable[StandingLoad]) -> dict[str, int]:
    """Return what inherited loads take of what is counted at minute 0."""
    taken: dict[str, int] = {}
    for item in standing:
        for route in item.load.routes[:1]:
            for name, count in route.takes:
                taken[name] = taken.get(name, 0) + count
    return taken


def tub_ways(problem: Problem, job: Job) -> list[int]:
    """Return the ways to keep a job's bulk for which there are tubs, or room, enough at all."""
    there = chamber_racks(problem)
    return [
        number
        for number, way in enumerate(job.tubs)
        if all(there.get(name, count) >= count for name, count in way)
    ]


def free_runs(free: Flags, length: int) -> Flags:
    """Return where a run of `length` slots that are all free begins.

    Examples
    --------
    >>> free_runs(np.array([True, True, False, True]), 2).tolist()
    [True, False, False, False]
    """
    if length <= 0:
        return np.ones_like(free)
    busy = np.concatenate(([0], np.cumsum(~free)))
    runs = np.zeros_like(free)
    if length <= len(free):
        runs[: len(free) - length + 1] = busy[length:] == busy[:-length]
    return runs

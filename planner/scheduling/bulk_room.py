"""Where a dough lies and is divided: tubs, weight in a chamber and bench places, while a day fills.

A mix keeps its tubs from the end of mixing to the divide, and a bench place while it is divided.
"""

from __future__ import annotations

import numpy as np

from planner.scheduling.grid import Flags, Ints, free_runs, tub_ways
from planner.scheduling.occupancy import Occupancy
from planner.scheduling.problem import BENCH, Job


def bulk_has_room(day: Occupancy, job: Job, start: Ints, divide: Ints) -> Flags:
    """Return which starts and divides of a job find tubs for the bulk and a bench.

    Parameters
    ----------
    day
        What is taken so far.
    job
        The mix.
    start, divide
        Slots of its start and of its divide, index-aligned.
    """
    if len(start) == 0 or (job.tubs == ((),) and job.bench == 0):
        return np.ones(len(start), dtype=bool)
    slots = day.grid.slots
    mixed = np.clip(start + day.grid.up(job.mix_min), 0, slots - 1)
    room = np.zeros(len(start), dtype=bool)
    for number in _ways(day, job):
        room |= day.free_until(job.tubs[number])[mixed] >= divide
    if job.bench and BENCH in day.racks:
        bench = free_runs(day.racks[BENCH] >= job.bench, day.grid.up(job.divide_min))
        room &= bench[np.clip(divide, 0, slots - 1)]
    return room


def _ways(day: Occupancy, job: Job) -> list[int]:
    """Return the ways to keep a bulk that are looked at; all when a lack is looked through."""
    known = {"tubs", "weight"} & day.ignore
    return list(range(len(job.tubs))) if known else tub_ways(day.problem, job)


def take_bulk(day: Occupancy, job: Job, start: int, divide: int) -> int | None:
    """Take tubs and bench for a job; return which way its bulk is kept, or None.

    Parameters
    ----------
    day
        What is taken so far.
    job
        The mix.
    start, divide
        Slots of its start and of its divide.
    """
    mixed = start + day.grid.up(job.mix_min)
    for number in _ways(day, job):
        if bool(day.free_until(job.tubs[number])[min(mixed, day.grid.slots - 1)] >= divide):
            return number if hold_bulk(day, job, number, start, divide) else None
    return None


def hold_bulk(day: Occupancy, job: Job, way: int, start: int, divide: int) -> bool:
    """Take the tubs of one way, and the bench."""
    mixed, end = start + day.grid.up(job.mix_min), divide + day.grid.up(job.divide_min)
    tubs = day.take_all(job.tubs[way], mixed, divide)
    return tubs and day.take_places(BENCH, divide, end, job.bench)

"""Taking a place: the cheapest few are tried out one by one, each resource for real.

A job can get in its own way (two loads, one oven; a fold while it is loaded), which only trying
shows.
"""

from __future__ import annotations

import numpy as np

from planner.scheduling.bulk_room import take_bulk
from planner.scheduling.grid import Flags, Grid, Ints, Work
from planner.scheduling.loading import best_loading, loading_slots
from planner.scheduling.occupancy import Build, Held, Occupancy
from planner.scheduling.placing import (
    Places,
    Style,
    build_starts,
    feasible_places,
    mixer_starts,
)
from planner.scheduling.problem import Job, Load, Route, StandingLoad
from planner.scheduling.schedule import ScheduledJob, ScheduledLoad
from planner.scheduling.tables import JobTable, PreparationTable

TRIES = 40
"""How many of the cheapest places are tried out before giving up (our guess)."""


def place_job(
    day: Occupancy, table: JobTable, preparations: dict[str, PreparationTable], style: Style
) -> ScheduledJob | None:
    """Take the cheapest place for a job, or none.

    Parameters
    ----------
    day
        What is taken so far; the place found is taken in it.
    table
        The job's options.
    preparations
        Starts of the preparations.
    style
        How to go about it.
    """
    places = feasible_places(day, table, preparations, style)
    order = np.argsort(places.points, kind="stable")
    for index in _spread(places, order):
        mark = day.mark()
        placed = _take(day, table, preparations, style, places, int(index))
        if placed is not None:
            return placed
        day.back_to(mark)
    return None


def _spread(places: Places, order: Ints) -> list[int]:
    """Return the cheapest places, at most two with the same divide."""
    seen: dict[int, int] = {}
    found: list[int] = []
    for index in order[: 20 * TRIES]:
        divide = int(places.divide[index])
        seen[divide] = seen.get(divide, 0) + 1
        if seen[divide] <= 2:
            found.append(int(index))
        if len(found) == TRIES:
            break
    return found


def _take(
    day: Occupancy,
    table: JobTable,
    preparations: dict[str, PreparationTable],
    style: Style,
    places: Places,
    index: int,
) -> ScheduledJob | None:
    """Take everything that one place asks for, or nothing useful: the caller undoes the rest."""
    grid, job = day.grid, table.job
    row, start = int(places.row[index]), int(places.start[index])
    divide = int(places.divide[index])
    option = job.options[row]
    if not day.take_people(job_work(grid, job, start, divide)):
        return None
    if not day.take_water(option.bucket, option.ice_g, option.chilled_g):
        return None
    tubs = take_bulk(day, job, start, divide)
    if tubs is None:
        return None
    mixer_id = _take_mixer(day, job, start, divide, style, cold=bool(table.cold[row]))
    if mixer_id is None:
        return None
    loads = _take_loads(day, job, places, index)
    builds = None if loads is None else _take_builds(day, job, preparations, start, style)
    if loads is None or builds is None:
        return None
    mix_end = start * grid.step + job.mix_min
    return ScheduledJob(
        job_id=job.id,
        mixer_id=mixer_id,
        start=start * grid.step,
        mix_end=mix_end,
        option=row,
        divide_start=divide * grid.step,
        divide_end=divide * grid.step + job.divide_min,
        loads=loads,
        builds=builds,
        bulk_over_min=divide * grid.step - mix_end - option.bulk_min,
        tubs=tubs,
    )


def _take_loads(
    day: Occupancy, job: Job, places: Places, index: int
) -> tuple[ScheduledLoad, ...] | None:
    """Take what every load of one place asks for."""
    loads = []
    for load, at, route in zip(job.loads, places.loads, places.routes, strict=True):
        proof = int(places.divide[index]) + day.grid.up(load.proof_offset_min)
        taken = _take_load(day, load, int(at[index]), proof, int(route[index]))
        if taken is None:
            return None
        loads.append(taken)
    return tuple(loads)


def _take_builds(
    day: Occupancy, job: Job, preparations: dict[str, PreparationTable], start: int, style: Style
) -> dict[str, int] | None:
    """Draw on a build of every preparation of a job; return their numbers."""
    builds = {}
    for one_id in job.preparation_ids:
        number = _take_build(day, preparations[one_id], job.id, start, style)
        if number is None:
            return None
        builds[one_id] = number
    return builds


def job_work(grid: Grid, job: Job, start: int, divide: int) -> list[Work]:
    """Return the hands-on work of a job up to its divide, in slots."""
    mix_end = start + grid.up(job.mix_min)
    works = [Work(start - grid.up(job.scale_min), start, "scale")]
    if job.attended:
        works.append(Work(start, mix_end, "mix"))
    for fold in job.folds_min:
        if mix_end * grid.step + fold + job.fold_min <= divide * grid.step:
            work = grid.work(fold, fold + job.fold_min)
            kind = "move" if fold in job.moves_min else "fold"
            works.append(Work(mix_end + work.first, mix_end + work.end, kind))
    return [*works, Work(divide, divide + grid.up(job.divide_min), "divide", job.crew)]


def _take_mixer(
    day: Occupancy, job: Job, start: int, divide: int, style: Style, *, cold: bool
) -> str | None:
    grid = day.grid
    held = Held(start, start + grid.up(job.mix_min), job)
    handled = Held(start - grid.up(job.scale_min), divide + grid.up(job.divide_min), job)
    for mixer_id in sorted(job.mixer_ids, key=lambda one: one != job.was_mixer_id):
        if cold and mixer_id in job.warm_only:
            continue
        if handled.end > day.kept_apart(mixer_id, job)[1]:
            continue
        if mixer_starts(day, job, mixer_id, style)[start] and day.take_mixer(mixer_id, held):
            day.handle(mixer_id, handled)
            if job.first_on_mixer and style.keep_pins:
                day.hold_first(mixer_id, start)
            return mixer_id
    return None


def _take_load(day: Occupancy, load: Load, at: int, proof: int, route: int) -> ScheduledLoad | None:
    grid = day.grid
    way = load.routes[route] if load.routes else None
    if not day.take_people([Work(at, at + grid.up(day.problem.load_work_min), "load")]):
        return None
    if way is not None and not (
        day.take_racks(way, proof, at) and day.take_people(move_work(day, way, proof, at))
    ):
        return None
    for choice in load.ovens:
        if choice.oven_id not in day.recovery:
            continue
        runs = day.oven_runs(choice.oven_id, load)[at]
        if runs and day.take_oven(load, choice, at):
            out = at * grid.step + load.bake_min
            return ScheduledLoad(
                load.id,
                route,
                proof * grid.step,
                at * grid.step,
                out,
                choice.oven_id,
                choice.places,
            )
    return None


def move_work(day: Occupancy, way: Route, proof: int, at: int) -> list[Work]:
    """Return the work of moving a load on, in slots, as far as it is not loaded before."""
    grid, length = day.grid, day.problem.load_work_min
    works = [
        grid.work(move, move + length)
        for move in way.moves_min
        if proof * grid.step + move + length <= at * grid.step
    ]
    return [Work(proof + work.first, proof + work.end, "move") for work in works]


def _take_build(
    day: Occupancy, table: PreparationTable, job_id: str, start: int, style: Style
) -> int | None:
    """Draw on a build that is ready at the start, or make one; return its number."""
    minute, one = start * day.grid.step, table.preparation
    builds = day.builds.get(one.id, [])
    for number, build in enumerate(builds):
        at = table.row(build.start, build.way)
        ripe = table.from_min[at] <= minute <= table.by_min[at]
        if ripe and day.use_build(build, job_id, one.ways[build.way], minute):
            return number
    if len(builds) >= one.max_builds:
        return None
    ripe_then = (table.from_min <= minute) & (minute <= table.by_min)
    if not ripe_then.any():
        return None
    able = np.flatnonzero(ripe_then & build_starts(day, table))
    able = able[_can_be_kept(day, table, able, minute)]
    if len(able) == 0:
        return None
    stood = (minute - table.from_min[able]) / np.maximum(
        1, table.by_min[able] - table.from_min[able]
    )
    cost = np.array([way.cost for way in one.ways])[table.way[able]]
    for index in able[np.lexsort((np.abs(stood - style.lean), cost))]:
        mark = day.mark()
        if _take_build_at(day, table, int(index), job_id, minute):
            return len(builds) if one.id not in day.builds else len(day.builds[one.id]) - 1
        day.back_to(mark)
    return None


def _can_be_kept(day: Occupancy, table: PreparationTable, rows: Ints, minute: int) -> Flags:
    """Return of which rows a build finds racks and vessels until its use at a minute."""
    step, able = day.grid.step, np.ones(len(rows), dtype=bool)
    for number, way in enumerate(table.preparation.ways):
        mine = table.way[rows] == number
        if way.holds and mine.any():
            first = -(-table.start_min[rows[mine]] // step)
            until = day.free_until(way.holds)[np.clip(first, 0, day.grid.slots - 1)]
            able[mine] = (until >= -(-minute // step)) | (first * step >= minute)
    return able


def _take_build_at(
    day: Occupancy, table: PreparationTable, row: int, job_id: str, minute: int
) -> bool:
    grid, one = day.grid, table.preparation
    start_min, number = int(table.start_min[row]), int(table.way[row])
    way, bucket = one.ways[number], int(table.start_min[row]) // day.problem.bucket_min
    hands = one.hands_of(number, start_min)
    if not day.take_people([grid.work(a, b, one.skill) for a, b in hands]):
        return False
    if not (day.take_water(bucket, way.ice_g, way.chilled_g) and day.take_hot(bucket, way.hot_g)):
        return False
    work = grid.work(start_min, start_min + one.mix_min)
    held = Held(work.first, work.end, None)
    mixer_id = None
    if one.mixer_ids:
        mixer_id = next((m for m in one.mixer_ids if day.take_mixer(m, held)), None)
        if mixer_id is None:
            return False
    made = Build(start_min, mixer_id, [], number, start_min)
    day.add_build(one.id, made)
    return day.use_build(made, job_id, way, minute)


def place_standing(day: Occupancy, item: StandingLoad, *, past: bool) -> ScheduledLoad | None:
    """Take an oven for an inherited load; its rack is given back when it is loaded."""
    grid, load = day.grid, item.load
    able = loading_slots(day, load)
    low = np.array([max(0, grid.up(item.load_from))])
    last = np.array([grid.slots - grid.bake_slots(load)])
    high = np.array([grid.down(item.load_by)])
    chosen, points = best_loading(
        day,
        able,
        (low, high, last),
        grid.in_time(load, item.leave_by),
        item.priority,
        past=past,
        was=load.was_start,
    )
    if not np.isfinite(points[0]):
        return None
    mark = day.mark()
    taken = _take_load(day, load, int(chosen[0]), 0, 0)
    if taken is None:
        day.back_to(mark)
    return taken

"""All places for one job in a day that is partly full, with their points.

All options and starts of the job are looked at together as arrays, each resource by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.scheduling.bulk_room import bulk_has_room
from planner.scheduling.grid import PAST_SLOTS, Flags, Ints
from planner.scheduling.loading import Points, best_loading, loading_slots, rest_share
from planner.scheduling.occupancy import Occupancy
from planner.scheduling.points import was_slot
from planner.scheduling.preparation import Way
from planner.scheduling.problem import Job, Load
from planner.scheduling.tables import JobTable, PreparationTable

STRETCHES = (0, 1, 2, 4, 8, 12, 18, 24, PAST_SLOTS)
"""By how many slots a bulk is stretched past its window when nothing else helps."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a try goes about it.

    Attributes
    ----------
    past
        Whether windows may be passed, at their price.
    keep_pins
        Whether pinned loadings and first places are kept.
    lean
        Where in its ripe time a new build is used first: 0 fresh, 1 late.
    """

    past: bool = False
    keep_pins: bool = True
    lean: float = 0.5


@dataclass(frozen=True)
class Places:
    """Places for a job: one entry per place, as arrays.

    Attributes
    ----------
    row, start, divide, over
        Option, start, divide, and slots of the divide past its bulk.
    loads
        Slot of loading, per load.
    routes
        Route, per load.
    """

    row: Ints
    start: Ints
    divide: Ints
    over: Ints
    points: Points
    loads: tuple[Ints, ...]
    routes: tuple[Ints, ...]

    def only(self, keep: Flags | Ints) -> Places:
        """Return some of the places."""
        return Places(
            self.row[keep],
            self.start[keep],
            self.divide[keep],
            self.over[keep],
            self.points[keep],
            tuple(x[keep] for x in self.loads),
            tuple(x[keep] for x in self.routes),
        )


def feasible_places(
    day: Occupancy, table: JobTable, preparations: dict[str, PreparationTable], style: Style
) -> Places:
    """Return every place that no single resource forbids, with its points."""
    warm = _start_points(day, table.job, preparations, style, table.job.mixer_ids)
    takers = tuple(m for m in table.job.mixer_ids if m not in table.job.warm_only)
    cold = warm
    if table.job.warm_only:
        cold = _start_points(day, table.job, preparations, style, takers)
    start_points = np.stack([warm, cold])
    places = _with_mixing(day, table, start_points, style)
    places = _with_folds(day, table, places)
    places = places.only(bulk_has_room(day, table.job, places.start, places.divide))
    if len(places.row) == 0:  # a job without options has no proof bounds to look up
        return places
    return _with_loads(day, table, places, style)


def _start_points(
    day: Occupancy,
    job: Job,
    preparations: dict[str, PreparationTable],
    style: Style,
    mixer_ids: tuple[str, ...],
) -> Points:
    """Return points by start slot: early, builds; infinite where the job cannot start."""
    grid, weights = day.grid, day.problem.weights
    slots = np.arange(grid.slots)
    points = np.where(slots * grid.step < day.problem.early_before, weights.early_per_mix, 0.0)
    free = np.zeros(grid.slots, dtype=bool)
    for mixer_id in mixer_ids:
        able = mixer_starts(day, job, mixer_id, style)
        free |= able
        if weights.other_mixer and mixer_id == job.was_mixer_id:
            points = points + np.where(able, 0.0, weights.other_mixer)
    free &= _scaling_starts(day, job)
    if job.was_start is not None:
        points = points + weights.moved_per_slot * np.abs(
            slots - was_slot(job.was_start, grid.step)
        )
    for one_id in job.preparation_ids:
        points = points + _build_points(day, preparations[one_id])
    return np.where(free, points, np.inf)


def mixer_starts(day: Occupancy, job: Job, mixer_id: str, style: Style) -> Flags:
    """Return the slots at which a job can start on a mixer, pins included."""
    free = day.mixer_free(mixer_id, job, day.grid.up(job.mix_min))
    slots = np.arange(day.grid.slots)
    free = free & (slots - day.grid.up(job.scale_min) >= day.kept_apart(mixer_id, job)[0])
    if mixer_id in day.first:
        free = free & (slots >= day.first[mixer_id])
    if job.first_on_mixer and style.keep_pins:
        starts = [h.first for h in day.mixers.get(mixer_id, ()) if h.job is not None]
        free = free & (slots <= min(starts, default=day.grid.slots))
    return free & _in_order(day, job) if style.keep_pins else free


def _in_order(day: Occupancy, job: Job) -> Flags:
    """Return the slots that keep the pinned order beside the mixes that have a place."""
    slots, mix = np.arange(day.grid.slots), day.grid.up(job.mix_min)
    kept = np.ones(day.grid.slots, dtype=bool)
    for held in (h for mixes in day.mixers.values() for h in mixes):
        if held.job is not None and held.job.id in job.after_ids:
            kept &= slots >= held.end
        if held.job is not None and job.id in held.job.after_ids:
            kept &= slots + mix <= held.first
    return kept


def _scaling_starts(day: Occupancy, job: Job) -> Flags:
    grid = day.grid
    before = grid.up(job.scale_min)
    runs = day.people_free(before, "scale")
    starts = np.zeros(grid.slots, dtype=bool)
    starts[before:] = runs[: grid.slots - before]
    return starts & day.people_free(grid.up(job.mix_min), "mix") if job.attended else starts


def _build_points(day: Occupancy, table: PreparationTable) -> Points:
    """Return points of having this preparation ready, by the slot of its use."""
    grid, one = day.grid, table.preparation
    builds = day.builds.get(one.id, [])
    points = np.full(grid.slots, np.inf)
    if len(builds) < one.max_builds:
        able = build_starts(day, table)
        for cost in sorted({way.cost for way in one.ways}, reverse=True):
            so_dear = np.isin(table.way, [i for i, w in enumerate(one.ways) if w.cost == cost])
            edges = np.zeros(grid.slots + 1)
            mine = able & so_dear
            low = np.clip(-(-table.from_min[mine] // grid.step), 0, grid.slots)
            high = np.clip(table.by_min[mine] // grid.step + 1, low, grid.slots)
            np.add.at(edges, low, 1)
            np.add.at(edges, high, -1)
            points[np.cumsum(edges)[:-1] > 0] = day.problem.weights.build + cost
    for build in builds:
        at = table.row(build.start, build.way)
        low_slot = max(0, -(-int(table.from_min[at]) // grid.step))
        points[low_slot : max(0, int(table.by_min[at]) // grid.step + 1)] = 0.0
    return points


def build_starts(day: Occupancy, table: PreparationTable) -> Flags:
    """Return which starts of a preparation find a person and a mixer."""
    grid, one = day.grid, table.preparation
    slot = table.start_min // grid.step
    if len(slot) == 0:
        return np.zeros(0, dtype=bool)
    aligned = bool((table.start_min % grid.step == 0).all())
    able = np.zeros(len(slot), dtype=bool)
    for number, way in enumerate(one.ways):
        mine = table.way == number
        at = np.minimum(slot[mine], grid.slots - 1)
        able[mine] = _has_stores(day, way, at)
        for begin, end in one.hands_of(number, 0):
            length = grid.up(end - begin) + (0 if aligned else 1)
            then = slot[mine] + grid.down(begin)
            free = day.people_free(length, one.skill)[np.minimum(then, grid.slots - 1)]
            able[mine] &= free & (then < grid.slots)
    if one.mixer_ids:
        mix = grid.up(one.mix_min) + (0 if aligned else 1)
        free = np.zeros(grid.slots, dtype=bool)
        for mixer_id in one.mixer_ids:
            free |= day.mixer_free(mixer_id, None, mix)
        able = able & free[np.minimum(slot, grid.slots - 1)]
    return np.asarray(able & (slot < grid.slots), dtype=bool)


def _has_stores(day: Occupancy, way: Way, slot: Ints) -> Flags:
    """Return whether ice and boiling water suffice for a way at each slot."""
    able = np.ones(len(slot), dtype=bool)
    bucket = slot * day.grid.step // day.problem.bucket_min
    if way.ice_g and "ice" not in day.ignore:
        able &= day.ice.spare()[bucket] >= way.ice_g
    if way.chilled_g and "chilled water" not in day.ignore:
        able &= day.chilled.spare()[bucket] >= way.chilled_g
    if way.hot_g and day.problem.kettle is not None and "kettle" not in day.ignore:
        able &= day.kettle.spare()[bucket] >= way.hot_g
    return able


def _with_mixing(day: Occupancy, table: JobTable, start_points: Points, style: Style) -> Places:
    """Return the places whose start, water and divide are free."""
    grid, job = day.grid, table.job
    keep: Flags | slice = slice(0, 0)
    if len(table.pair_start):
        keep = np.isfinite(start_points)[table.cold[table.pair_row], table.pair_start]
    row, start = table.pair_row[keep], table.pair_start[keep]
    ice, chilled = day.spare_water()
    bucket = table.bucket[row]
    wet = (table.ice_g[row] <= ice[bucket]) | (table.ice_g[row] == 0)
    wet &= (table.chilled_g[row] <= chilled[bucket]) | (table.chilled_g[row] == 0)
    row, start = row[wet], start[wet]
    stretch = np.array(STRETCHES if style.past else (0,), dtype=np.int64)
    over = np.repeat(stretch, len(row))
    row, start = np.tile(row, len(stretch)), np.tile(start, len(stretch))
    divide = start + grid.up(job.mix_min) + table.bulk[row] + over
    length = grid.up(job.divide_min)
    until = max((day.kept_apart(m, job)[1] for m in job.mixer_ids), default=0)
    inside = divide + length <= until
    if job.divide_from is not None:
        inside &= divide >= grid.up(job.divide_from)
    by = grid.down(job.divide_by) if job.divide_by is not None else grid.slots
    inside &= divide <= by + (PAST_SLOTS if style.past else 0)
    free = day.people_free(length, "divide", job.crew)
    inside &= free[np.minimum(divide, grid.slots - 1)]
    past = over + np.maximum(0, divide - by)
    points = start_points[table.cold[row], start] + table.points[row]
    points = points + day.problem.weights.window_per_slot * past
    return Places(row, start, divide, over, points, (), ()).only(inside)


def _with_folds(day: Occupancy, table: JobTable, places: Places) -> Places:
    """Keep the places at which somebody is free for every fold before the divide."""
    grid, job = day.grid, table.job
    for fold in job.folds_min:
        work = grid.work(fold, fold + job.fold_min)
        mix_end = places.start + grid.up(job.mix_min)
        kind = "move" if fold in job.moves_min else "fold"
        free = day.people_free(work.end - work.first, kind)
        at = np.minimum(mix_end + work.first, grid.slots - 1)
        after = (mix_end - places.divide) * grid.step + fold + job.fold_min > 0
        places = places.only(free[at] | after)
    return places


def _with_loads(day: Occupancy, table: JobTable, places: Places, style: Style) -> Places:
    """Give every place the best loading of each load; drop those that have none."""
    job = table.job
    later: Ints | None = None
    for index in range(len(job.loads) - 1, -1, -1):
        places, later = _with_load(day, table, places, index, later, style)
    weights = day.problem.weights
    rest = rest_share(weights) * weights.hold_per_hour / 60 * day.grid.step
    if job.leave_by is None:
        return _priced(places, rest * places.start)
    return places


def _priced(places: Places, points: Points) -> Places:
    return Places(
        places.row,
        places.start,
        places.divide,
        places.over,
        places.points + points,
        places.loads,
        places.routes,
    )


def _with_load(
    day: Occupancy,
    table: JobTable,
    places: Places,
    index: int,
    later: Ints | None,
    style: Style,
) -> tuple[Places, Ints]:
    """Add one load, looked at before the loads that come after it in the same job."""
    grid, job = day.grid, table.job
    load = job.loads[index]
    able = loading_slots(day, load)
    if index == 0 and job.load_at is not None and style.keep_pins:
        able &= np.arange(grid.slots) == grid.load_at(job)
    proof = places.divide + grid.up(load.proof_offset_min)
    latest = np.full(len(proof), grid.slots - grid.bake_slots(load))
    if later is not None:
        latest = np.minimum(latest, later - _own_gap(day, job, index))
    best = np.full(len(proof), np.inf)
    at, route = np.zeros(len(proof), dtype=np.int64), np.zeros(len(proof), dtype=np.int64)
    leave_by, priority = job.leaves(load)
    in_time = grid.in_time(load, leave_by)
    for number, way in enumerate(load.routes):
        until = day.racks_until(way)[np.minimum(proof, grid.slots - 1)]
        low = proof + table.proof_from[places.row, load.first_route + number]
        high = proof + table.proof_by[places.row, load.first_route + number]
        last = np.minimum(latest, until)
        ripe = None
        if table.proof_ripe is not None:
            ripe = proof + table.proof_ripe[places.row, load.first_route + number]
        chosen, points = best_loading(
            day,
            able,
            (low, high, last),
            in_time,
            priority,
            past=style.past,
            was=load.was_start,
            ripe=ripe,
        )
        better = points < best
        best = np.where(better, points, best)
        at, route = np.where(better, chosen, at), np.where(better, number, route)
    kept = Places(
        places.row,
        places.start,
        places.divide,
        places.over,
        places.points + best,
        (at, *places.loads),
        (route, *places.routes),
    ).only(np.isfinite(best))
    return kept, kept.loads[0]


def _own_gap(day: Occupancy, job: Job, index: int) -> int:
    """Return by how many slots a load must come before the next one of the same job."""
    here, following = job.loads[index], job.loads[index + 1]
    shared = [
        o
        for o in here.ovens
        if o.oven_id in day.recovery
        and o.places + _places(following, o.oven_id) > day.recovery[o.oven_id].places
    ]
    if "ovens" in day.ignore or len(shared) < len(here.ovens) or len(here.ovens) != 1:
        return 0
    return day.grid.oven_slots(here, day.recovery[shared[0].oven_id])


def _places(load: Load, oven_id: str) -> int:
    return next((o.places for o in load.ovens if o.oven_id == oven_id), 0)

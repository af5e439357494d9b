"""The rules of preparations: when a build is ready, by which way it is made, what it keeps."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from planner.scheduling.cpsat.model import BuildVars, Model, Var
from planner.scheduling.grid import chamber_racks
from planner.scheduling.problem import Problem


def all_builds(model: Model) -> list[BuildVars]:
    """Return the builds of all preparations."""
    return [build for builds in model.builds.values() for build in builds]


def beside_grid(model: Model, build: BuildVars) -> int:
    """Return a slot more for a build that is fixed beside the grid."""
    return int(bool((build.table.start_min % model.grid.step).any()))


def keep_preparation_ahead_of_mix(model: Model) -> None:
    """A mix uses one build of each of its preparations, while that build is ready and not over."""
    jobs = {j.job.id: j for j in model.jobs}
    for one_id, builds in model.builds.items():
        users = [j for j in model.jobs if one_id in j.job.preparation_ids]
        for build in builds:
            _keep_lags_of_build(model, build)
            for job_id, uses in build.users.items():
                start = jobs[job_id].start
                model.cp.add(start >= build.ready).only_enforce_if(uses)
                model.cp.add(start <= build.ripe_by).only_enforce_if(uses)
                hold = build.holds[job_id]
                model.cp.add(start - build.ready <= hold).only_enforce_if(uses)
                model.cp.add_implication(uses, build.used)
        for user in users:
            model.cp.add(sum(b.users[user.job.id] for b in builds) == user.placed)
        for sooner, later in pairwise(builds):
            model.cp.add_implication(later.used, sooner.used)
            model.cp.add(sooner.start <= later.start).only_enforce_if(later.used)


def _keep_lags_of_build(model: Model, build: BuildVars) -> None:
    """A build can be used as the table of its start, and of its way, says."""
    if len(build.ways) > 1 and not beside_grid(model, build):
        _keep_lags_of_ways(model, build)
        return
    step, table = model.grid.step, build.table
    rows = {
        (int(start) // step, -(-int(low) // step), int(high) // step)
        for start, low, high in zip(table.start_min, table.from_min, table.by_min, strict=True)
    }
    model.cp.add_allowed_assignments([build.start, build.ready, build.ripe_by], sorted(rows))


def _keep_lags_of_ways(model: Model, build: BuildVars) -> None:
    """One row per bucket and way, as both lags are the same for every start of a bucket."""
    grid, table = model.grid, build.table
    step, per = grid.step, grid.per_bucket
    low, high = -(-(table.from_min - table.start_min) // step), table.by_min - table.start_min
    columns = np.column_stack([table.start_min // step // per, table.way, low, high // step])
    rows = sorted({tuple(row) for row in columns.tolist()})
    at = build.hinted
    bucket, number, after, until = (
        model.one_of([row[i] for row in rows], int(columns[at, i])) for i in range(4)
    )
    model.cp.add_allowed_assignments([bucket, number, after, until], rows)
    for way, literal in build.ways.items():
        model.cp.add(number == way).only_enforce_if(literal)
    offset = model.number(0, per - 1, int(table.start_min[at]) // step % per)
    model.cp.add(build.start == per * bucket + offset)
    model.cp.add(build.ready == build.start + after)
    model.cp.add(build.ripe_by == build.start + until)


def keep_racks_of_builds(model: Model) -> None:
    """A way that stands in a chamber, or in vessels, keeps them until its last use."""
    known = {j.job_id: j.start // model.grid.step for j in model.known.jobs}
    starts = {j.job.id: j.start for j in model.jobs}
    for build in all_builds(model):
        ways = {way: held for way in build.ways if (held := _held(model.problem, build, way))}
        if not ways:
            continue
        first = int(build.table.start_min[build.hinted]) // model.grid.step
        mine = [known[one] for one in build.users if one in known and one in build.hinted_users]
        last = max(mine, default=first)
        until = model.number(0, 2 * model.grid.slots, last)
        for job_id, uses in build.users.items():
            model.cp.add(until >= starts[job_id]).only_enforce_if(uses)
        length = model.number(0, model.grid.slots, last - first)
        for way, held in ways.items():
            interval = model.cp.new_optional_interval_var(
                build.start, length, until, build.ways[way], ""
            )
            for name, count in held:
                model.in_chamber.setdefault(name, []).append((interval, count))


def _held(problem: Problem, build: BuildVars, way: int) -> list[tuple[str, int]]:
    racks = chamber_racks(problem)
    return [(n, c) for n, c in build.table.preparation.ways[way].holds if n in racks and c]


def in_buckets(model: Model, build: BuildVars) -> dict[int, Var]:
    """Return one literal for each bucket in which a build may start."""
    if not build.inside:
        table, width = build.table, model.problem.bucket_min
        slots: dict[int, list[int]] = {}
        for minute in table.start_min.tolist():
            slots.setdefault(minute // width, []).append(minute // model.grid.step)
        hinted = int(table.start_min[build.hinted]) // width
        build.inside.update({k: model.truth(hint=k == hinted) for k in sorted(slots)})
        model.cp.add_exactly_one(build.inside.values())
        for bucket, literal in build.inside.items():
            model.cp.add(build.start >= min(slots[bucket])).only_enforce_if(literal)
            model.cp.add(build.start <= max(slots[bucket])).only_enforce_if(literal)
    return build.inside

"""The options of a job and the lags of a preparation as arrays, in slots."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from planner.scheduling.grid import Grid, Ints
from planner.scheduling.points import water_points
from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import Job, Problem


@dataclass(frozen=True)
class JobTable:
    """All options of a job; one entry per option.

    Attributes
    ----------
    bucket, bulk, points, ice_g, chilled_g, cold
        Start bucket, bulk length, first-stage points, ice and chilled water, and whether it is cold
        (1) where that matters to some mixer.
    proof_from, proof_by
        Shortest and longest proof per option and route [slots].
    proof_ripe
        Wanted proof per option and route [slots]; None where none is wanted.
    pair_row, pair_start
        Every option with every start slot that its bucket and the job's bounds allow.
    """

    job: Job
    bucket: Ints
    bulk: Ints
    points: Ints
    ice_g: Ints
    chilled_g: Ints
    cold: Ints
    proof_from: Ints
    proof_by: Ints
    proof_ripe: Ints | None
    pair_row: Ints
    pair_start: Ints


def job_table(grid: Grid, job: Job) -> JobTable:
    """Return the options of a job as arrays."""
    weights, options = grid.problem.weights, job.options
    routes = max((len(o.proofs_min) for o in options), default=0)
    proofs = np.array([o.proofs_min for o in options], dtype=np.int64)
    proofs = proofs.reshape(len(options), routes, 2)
    bucket = _column([o.bucket for o in options])
    row, start = _pairs(grid, job, bucket)
    wanted = bool(weights.proof_per_slot) and any(o.ripe_proofs_min for o in options)
    ripe = _column([m for o in options for m in o.ripe_proofs_min]) if wanted else None
    return JobTable(
        job=job,
        bucket=bucket,
        bulk=_column([grid.up(o.bulk_min) for o in options]),
        points=_column([o.cost + water_points(weights, o) for o in options]),
        ice_g=_column([o.ice_g for o in options]),
        chilled_g=_column([o.chilled_g for o in options]),
        cold=_column([int(o.cold and bool(job.warm_only)) for o in options]),
        proof_from=-(-proofs[:, :, 0] // grid.step),
        proof_by=proofs[:, :, 1] // grid.step,
        proof_ripe=None if ripe is None else ripe.reshape(len(options), routes) // grid.step,
        pair_row=row,
        pair_start=start,
    )


def cheapest(table: JobTable) -> int:
    """Return the points of a job's cheapest option that can begin; no place of it costs less."""
    return int(table.points[table.pair_row].min()) if len(table.pair_row) else 0


def least_points(problem: Problem, cheapest_of: Mapping[str, int]) -> int:
    """Return the points of the cheapest options of all jobs; of alternatives the cheapest group.

    Examples
    --------
    >>> from planner.scheduling.problem import Store
    >>> store = Store(0, 0, 0)
    >>> day = Problem(60, 5, 30, (), (), (), (), (), {}, {}, store, store,
    ...               alternatives=((("a",), ("b", "c")),))
    >>> least_points(day, {"a": 9, "b": 2, "c": 3, "d": 4})
    9
    """
    either = {one for groups in problem.alternatives for group in groups for one in group}
    plain = sum(points for one, points in cheapest_of.items() if one not in either)
    return plain + sum(
        min(sum(cheapest_of[one] for one in group) for group in groups)
        for groups in problem.alternatives
    )


def _column(values: list[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _pairs(grid: Grid, job: Job, bucket: Ints) -> tuple[Ints, Ints]:
    first, last = grid.start_bounds(job)
    row = np.repeat(np.arange(len(bucket)), grid.per_bucket)
    start = (bucket[:, None] * grid.per_bucket + np.arange(grid.per_bucket)[None, :]).reshape(-1)
    inside = (start >= first) & (start <= last)
    return row[inside], start[inside]


@dataclass(frozen=True)
class PreparationTable:
    """Every start of a preparation with the minutes between which it can be used.

    Attributes
    ----------
    start_min
        Starts; on the grid, unless the preparation is fixed beside it.
    from_min, by_min
        Minutes of the span from which and until which a build so started can be used.
    way
        By which way; a start has one row per way.
    """

    preparation: Preparation
    start_min: Ints
    from_min: Ints
    by_min: Ints
    way: Ints

    def row(self, start: int, way: int) -> int:
        """Return the row of a start and a way."""
        return int(np.flatnonzero((self.start_min == start) & (self.way == way))[0])

    def by_ways(self, ways: Collection[int]) -> PreparationTable:
        """Return the rows of some ways."""
        keep = np.isin(self.way, sorted(ways))
        return PreparationTable(
            self.preparation,
            self.start_min[keep],
            self.from_min[keep],
            self.by_min[keep],
            self.way[keep],
        )


def preparation_table(grid: Grid, preparation: Preparation) -> PreparationTable:
    """Return the starts of a preparation as arrays."""
    first = max(0, preparation.earliest_start)
    works = [preparation.work_of(way) for way in range(len(preparation.ways))]
    longest = max(*works, preparation.mix_min)
    last = grid.slots * grid.step - longest
    if preparation.latest_start is not None:
        last = min(last, preparation.latest_start)
    starts = np.arange(grid.up(first) * grid.step, last + 1, grid.step)
    if len(starts) == 0 and first == preparation.latest_start:
        starts = np.array([first])
    lags: dict[int, list[Lag]] = {}
    for lag in preparation.lags:
        lags.setdefault(lag.bucket, []).append(lag)
    used = [(s, lag) for s in starts for lag in lags.get(int(s) // grid.problem.bucket_min, [])]
    known = _column([int(s) for s, _ in used])
    return PreparationTable(
        preparation,
        known,
        known + _column([lag.from_min for _, lag in used]),
        known + _column([lag.by_min for _, lag in used]),
        _column([lag.way for _, lag in used]),
    )

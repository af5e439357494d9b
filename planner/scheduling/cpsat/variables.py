"""What the solver decides about mixes, loads and builds, in slots."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.scheduling.cpsat.model import (
    BuildVars,
    Expr,
    JobVars,
    LoadVars,
    Model,
    Var,
    can_be_placed,
    fitting_ovens,
    least_cost,
)
from planner.scheduling.grid import Ints, tub_ways
from planner.scheduling.points import past_window, was_slot
from planner.scheduling.problem import Job, Load
from planner.scheduling.schedule import ScheduledBuild, ScheduledJob, ScheduledLoad
from planner.scheduling.tables import JobTable, PreparationTable, cheapest


def add_variables(model: Model) -> None:
    """Add every mix, inherited load and build that can have a place at all."""
    known = {j.job_id: j for j in model.known.jobs}
    model.add_alternatives()
    for job in model.problem.jobs:
        table = model.tables[job.id]
        rows = possible_rows(model, table, known.get(job.id))
        if rows and can_be_placed(model.grid, job, table, model.starts):
            model.jobs.append(_job(model, table, rows, known.get(job.id)))
    _add_standing(model)
    _add_builds(model)


def possible_rows(model: Model, table: JobTable, known: ScheduledJob | None) -> tuple[int, ...]:
    """Return the options that can begin inside the bounds and that the budget pays for."""
    most = cheapest(table) + model.budget
    rows = {int(r) for r in set(table.pair_row.tolist()) if table.points[r] <= most}
    kept = unbeaten(table, sorted(rows))
    return tuple(sorted(kept if known is None else kept | {known.option}))


def unbeaten(table: JobTable, rows: list[int]) -> set[int]:
    """Return the options that no other of the same bucket, bulk and wanted proof beats.

    Fewer points, less ice and chilled water, wider proof windows are better; of options that
    are alike the first stays.
    """
    merits = np.column_stack(
        [
            table.points,
            table.ice_g,
            table.chilled_g,
            table.proof_from,
            -table.proof_by,
            table.cold,
        ]
    )
    kind = np.column_stack([table.bucket, table.bulk])
    if table.proof_ripe is not None:
        kind = np.column_stack([kind, table.proof_ripe])
    groups: dict[tuple[int, ...], list[int]] = {}
    for row in sorted(rows, key=lambda r: (*merits[r].tolist(), r)):
        group = groups.setdefault(tuple(kind[row].tolist()), [])
        if not any(bool((merits[other] <= merits[row]).all()) for other in group):
            group.append(row)
    return {row for group in groups.values() for row in group}


def _job(
    model: Model, table: JobTable, rows: tuple[int, ...], known: ScheduledJob | None
) -> JobVars:
    grid, job = model.grid, table.job
    row = rows[0] if known is None else known.option
    first, last = grid.start_bounds(job)
    low, high = int(table.bulk[list(rows)].min()), int(table.bulk[list(rows)].max())
    mix = grid.up(job.mix_min)
    over_at = 0 if known is None else grid.up(known.bulk_over_min)
    start_at = _first_start(table, row) if known is None else known.start // grid.step
    divide_at = start_at + mix + int(table.bulk[row]) + over_at
    over_most = model.past_most(over_at)
    placed = model.job_placed(job.id, hint=known is not None)
    optional = not model.all_placed or job.id in model.made
    divide = model.number(first + mix + low, last + mix + high + over_most, divide_at)
    routes = range(table.proof_from.shape[1])
    return JobVars(
        job=job,
        table=table,
        rows=rows,
        placed=placed,
        bucket=_column(model, table.bucket, rows, row),
        bulk=_column(model, table.bulk, rows, row),
        points=_cost(model, table.points, rows, row, known, optional=optional),
        ice=_cost(model, table.ice_g, rows, row, known, optional=optional),
        chilled=_cost(model, table.chilled_g, rows, row, known, optional=optional),
        proof_from=tuple(_column(model, table.proof_from[:, r], rows, row) for r in routes),
        proof_by=tuple(_column(model, table.proof_by[:, r], rows, row) for r in routes),
        proof_ripe=()
        if table.proof_ripe is None
        else tuple(_column(model, table.proof_ripe[:, r], rows, row) for r in routes),
        start=model.number(first, last, start_at),
        divide=divide,
        over=model.number(0, over_most, over_at),
        behind=_behind(model, job, divide_at),
        early=_early(model, first, start_at if known else None),
        on=model.choice(placed, list(job.mixer_ids), known.mixer_id if known else None),
        folds=_folds(model, table, rows, known),
        loads=tuple(
            _job_load(model, job, load, placed, divide, known, optional=optional)
            for load in job.loads
        ),
        load_kept=_kept(model, known, "loading") if job.load_at is not None and job.loads else None,
        first_kept=_kept(model, known, "another") if job.first_on_mixer else None,
        tubs=model.choice(placed, tub_ways(model.problem, job), known.tubs if known else None),
        cold=_column(model, table.cold, rows, row) if job.warm_only else None,
        optional=optional,
        after_kept={
            one: _kept(model, known, f"it starts before {one} is") for one in job.after_ids
        },
        moved=_moved(model, job.was_start, start_at, is_known=known is not None),
    )


def _moved(model: Model, was: int | None, at: int, *, is_known: bool) -> Var | None:
    """Return how many slots off the plan in force something is, as far as the budget pays."""
    each = model.weights.moved_per_slot
    if was is None or each == 0:
        return None
    hint = abs(at - was_slot(was, model.grid.step)) if is_known else 0
    return model.number(0, model.affordable(each, model.grid.slots), hint)


def _first_start(table: JobTable, row: int) -> int:
    """Return the start that stands for a job without a place."""
    return int(table.pair_start[table.pair_row == row].min())


def _column(model: Model, values: Ints, rows: tuple[int, ...], row: int) -> Var:
    return model.one_of((int(values[r]) for r in rows), int(values[row]))


def _cost(
    model: Model,
    values: Ints,
    rows: tuple[int, ...],
    row: int,
    known: ScheduledJob | None,
    *,
    optional: bool,
) -> Var:
    """Return a column of which a job without a place has nothing."""
    absent = [0] if optional else []
    hint = 0 if known is None else int(values[row])
    return model.one_of([*absent, *(int(values[r]) for r in rows)], hint)


def _behind(model: Model, job: Job, divide_at: int) -> Var | None:
    if job.divide_by is None:
        return None
    hint = max(0, divide_at - model.grid.down(job.divide_by))
    return model.number(0, model.past_most(hint), hint)


def _early(model: Model, first: int, start_at: int | None) -> Var | None:
    before = model.grid.up(model.problem.early_before)
    if first >= before:
        return None
    return model.truth(hint=start_at is not None and start_at < before)


def _folds(
    model: Model, table: JobTable, rows: tuple[int, ...], known: ScheduledJob | None
) -> dict[int, Var]:
    job, shortest = table.job, int(table.bulk[list(rows)].min())
    bulk_min = 0 if known is None else known.divide_start - known.mix_end
    return {
        fold: model.truth(hint=bulk_min >= fold + job.fold_min)
        for fold in job.folds_min
        if model.grid.up(fold + job.fold_min) > shortest
    }


def _kept(model: Model, known: ScheduledJob | None, words: str) -> Var:
    """Return whether a pin is kept; known when the budget does not pay for breaking it."""
    if model.affordable(model.weights.pin, 1) == 0:
        return model.fixed(1)
    broken = [u for u in model.known.unmet if u.code == "pin" and u.detail.startswith(words)]
    return model.truth(hint=known is not None and all(u.subject != known.job_id for u in broken))


def _job_load(
    model: Model,
    job: Job,
    load: Load,
    placed: Var,
    divide: Var,
    known: ScheduledJob | None,
    *,
    optional: bool,
) -> LoadVars:
    at = None if known is None else next(x for x in known.loads if x.load_id == load.id)
    past = 0 if known is None or at is None else max(0, past_window(job, known, at))
    proof = divide + model.grid.up(load.proof_offset_min)
    leaves = job.leaves(load)
    late = model.grid.up(past)
    found = _load(model, load, placed, proof, at, leaves, late, optional=optional)
    if model.tables[job.id].proof_ripe is None:
        return found
    return replace(found, off=_off(model, job, known, load, at))


def _off(
    model: Model, job: Job, known: ScheduledJob | None, load: Load, at: ScheduledLoad | None
) -> Var:
    """Return by how many slots a proof may differ from that wanted."""
    away = 0
    if known is not None and at is not None:
        ripe = job.options[known.option].ripe_proofs_min[load.first_route + at.route]
        away = abs(at.load_start - at.proof_start - ripe) // model.grid.step
    most = model.affordable(model.weights.proof_per_slot, model.grid.slots)
    return model.number(0, max(most, away), away)


def _load(
    model: Model,
    load: Load,
    placed: Var,
    proof: Expr,
    known: ScheduledLoad | None,
    leaves: tuple[int | None, int],
    past: int,
    *,
    optional: bool,
) -> LoadVars:
    grid, priority = model.grid, leaves[1]
    last = grid.slots - grid.bake_slots(load)
    in_time = grid.in_time(load, leaves[0])
    at = 0 if known is None else known.load_start // grid.step
    late = rest = None
    if in_time is not None:
        late_at = max(0, at - in_time) if known else 0
        most = model.affordable(model.weights.late_per_slot * priority, grid.slots)
        last = max(0, min(last, in_time + most)) if model.all_placed else last
        late = model.number(0, max(most, late_at), late_at)
        rest = model.number(0, max(0, in_time), max(0, in_time - at))
    return LoadVars(
        load=load,
        placed=placed,
        at=model.number(0, last, at),
        proof=proof,
        ways=model.choice(placed, list(range(len(load.routes))), known.route if known else None),
        ovens=model.choice(
            placed, fitting_ovens(model.problem, load), known.oven_id if known else None
        ),
        past=model.number(0, model.past_most(past), past),
        late=late,
        rest=rest,
        in_time=in_time,
        priority=priority,
        optional=optional,
        moved=_moved(model, load.was_start, at, is_known=known is not None),
    )


def _add_standing(model: Model) -> None:
    """Add the inherited loads; they proof from the first minute on."""
    known = {at.load_id: at for at in model.known.standing}
    for item in model.problem.standing:
        if not fitting_ovens(model.problem, item.load):
            continue
        at = known.get(item.load.id)
        past = 0 if at is None else max(0, model.grid.up(at.load_start - item.load_by))
        placed = model.placed(hint=at is not None)
        leaves = (item.leave_by, item.priority)
        optional = not model.all_placed
        model.standing.append(
            _load(model, item.load, placed, 0, at, leaves, past, optional=optional)
        )


def _add_builds(model: Model) -> None:
    """Add as many builds of each preparation as it may have, has users, and the budget pays for."""
    for one in model.problem.preparations:
        users = [j for j in model.jobs if one.id in j.job.preparation_ids]
        known = sorted(
            (b for b in model.known.builds if b.preparation_id == one.id),
            key=lambda b: (b.start, b.build),
        )
        table = model.starts[one.id]
        further = model.affordable(model.weights.build + least_cost(table), len(users))
        count = min(one.max_builds, len(users), max(len(known), 1 + further))
        table = table.by_ways(_ways_paid_for(model, table) | {b.way for b in known})
        model.builds[one.id] = [
            _build(model, table, users, known[i] if i < len(known) else None) for i in range(count)
        ]


def _ways_paid_for(model: Model, table: PreparationTable) -> set[int]:
    """Return the ways that the budget pays for."""
    ways, most = table.preparation.ways, least_cost(table) + model.budget
    return {way for way in set(table.way.tolist()) if ways[way].cost <= most}


def _build(
    model: Model, table: PreparationTable, users: list[JobVars], known: ScheduledBuild | None
) -> BuildVars:
    grid = model.grid
    at = 0 if known is None else table.row(known.start, known.way)
    ready = -(-table.from_min // grid.step)
    way = int(table.way[at])
    used = model.truth(hint=known is not None)
    starts = {j.job_id: j.start for j in model.known.jobs}
    mine = frozenset() if known is None else frozenset(known.job_ids)
    waits = {
        u.job.id: max(0, starts[u.job.id] // grid.step - int(ready[at])) if u.job.id in mine else 0
        for u in users
    }
    return BuildVars(
        table=table,
        ways=model.choice(used, sorted(set(table.way.tolist())), None if known is None else way),
        hinted=at,
        hinted_way=way,
        hinted_users=mine,
        used=used,
        start=model.one_of(
            (table.start_min // grid.step).tolist(), int(table.start_min[at]) // grid.step
        ),
        ready=model.one_of(ready.tolist(), int(ready[at])),
        ripe_by=model.one_of(
            (table.by_min // grid.step).tolist(), int(table.by_min[at]) // grid.step
        ),
        on=model.choice(used, list(table.preparation.mixer_ids), known.mixer_id if known else None)
        if table.preparation.mixer_ids
        else {},
        users={u.job.id: model.truth(hint=u.job.id in mine) for u in users},
        holds={u.job.id: model.number(0, grid.slots, waits[u.job.id]) for u in users},
    )

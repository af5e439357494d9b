"""From the solver's values back to a schedule."""

from __future__ import annotations

from collections.abc import Callable

from planner.scheduling.assemble import assemble
from planner.scheduling.causes import cause_of, standing_cause
from planner.scheduling.cpsat.model import BuildVars, Expr, JobVars, LoadVars, Model, RestVars
from planner.scheduling.schedule import (
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    ScheduledRest,
)

Value = Callable[[Expr], int]


def read_schedule(model: Model, value: Value) -> Schedule:
    """Return the schedule of a solution, judged and named afresh."""
    builds, used = _builds(model, value)
    jobs = [_job(model, job, value, used) for job in model.jobs if value(job.placed)]
    standing = [_load(model, at, value, 0) for at in model.standing if value(at.placed)]
    rests = [
        ScheduledRest(rest.person_id, rest.rest, *_from_to(model, rest, value))
        for rest in model.rests
        if value(rest.had)
    ]
    there = {j.job_id for j in jobs} | {at.load_id for at in standing}
    causes = [
        cause_of(model.problem, model.tables[one].job, model.starts, jobs, builds, standing, rests)
        for one in model.problem.wanted(there)
        if one not in there
    ]
    causes += [standing_cause(s) for s in model.problem.standing if s.load.id not in there]
    return assemble(model.problem, jobs, builds, standing, causes, rests)


def _from_to(model: Model, rest: RestVars, value: Value) -> tuple[int, int]:
    worker = next(w for w in model.problem.workers if w.person_id == rest.person_id)
    start = value(rest.start) * model.grid.step
    return start, start + worker.rests[rest.rest].length_min


def _job(model: Model, job: JobVars, value: Value, used: dict[str, dict[str, int]]) -> ScheduledJob:
    grid, one = model.grid, job.job
    option = _option(job, value)
    start, divide = value(job.start) * grid.step, value(job.divide) * grid.step
    mix_end = start + one.mix_min
    return ScheduledJob(
        job_id=one.id,
        mixer_id=next(m for m, literal in job.on.items() if value(literal)),
        start=start,
        mix_end=mix_end,
        option=option,
        divide_start=divide,
        divide_end=divide + one.divide_min,
        loads=tuple(_load(model, load, value, value(load.proof)) for load in job.loads),
        builds=used.get(one.id, {}),
        bulk_over_min=divide - mix_end - one.options[option].bulk_min,
        tubs=next(way for way, literal in job.tubs.items() if value(literal)),
    )


def _option(job: JobVars, value: Value) -> int:
    """Return the option that has the values of the columns."""
    table = job.table
    bucket, bulk, points = value(job.bucket), value(job.bulk), value(job.points)
    ice, chilled = value(job.ice), value(job.chilled)
    cold = None if job.cold is None else value(job.cold)
    low = [value(v) for v in job.proof_from]
    high = [value(v) for v in job.proof_by]
    wanted = [value(v) for v in job.proof_ripe]
    return next(
        r
        for r in job.rows
        if (table.bucket[r], table.bulk[r], table.points[r]) == (bucket, bulk, points)
        and (table.ice_g[r], table.chilled_g[r]) == (ice, chilled)
        and cold in (None, table.cold[r])
        and table.proof_from[r].tolist() == low
        and table.proof_by[r].tolist() == high
        and (table.proof_ripe is None or table.proof_ripe[r].tolist() == wanted)
    )


def _load(model: Model, load: LoadVars, value: Value, proof: int) -> ScheduledLoad:
    step, at = model.grid.step, value(load.at)
    oven_id = next(o for o, literal in load.ovens.items() if value(literal))
    return ScheduledLoad(
        load_id=load.load.id,
        route=next(w for w, literal in load.ways.items() if value(literal)),
        proof_start=proof * step,
        load_start=at * step,
        out=at * step + load.load.bake_min,
        oven_id=oven_id,
        places=next(o.places for o in load.load.ovens if o.oven_id == oven_id),
    )


def _builds(model: Model, value: Value) -> tuple[list[ScheduledBuild], dict[str, dict[str, int]]]:
    found: list[ScheduledBuild] = []
    used: dict[str, dict[str, int]] = {}
    for one_id, builds in model.builds.items():
        number = 0
        for build in builds:
            users = [job_id for job_id, literal in build.users.items() if value(literal)]
            if not users:
                continue
            found.append(_build(model, build, number, users, value))
            for job_id in users:
                used.setdefault(job_id, {})[one_id] = number
            number += 1
    return found, used


def _build(
    model: Model, build: BuildVars, number: int, users: list[str], value: Value
) -> ScheduledBuild:
    step, slot = model.grid.step, value(build.start)
    start = next(int(m) for m in build.table.start_min if m // step == slot)
    mixer_id = next((m for m, literal in build.on.items() if value(literal)), None)
    one_id = build.table.preparation.id
    way = next(way for way, literal in build.ways.items() if value(literal))
    return ScheduledBuild(one_id, number, start, mixer_id, tuple(users), way)

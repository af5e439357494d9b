"""The rules of one mix: its options, its times, its windows, its pins."""

from __future__ import annotations

from planner.scheduling.changeovers import clean_min, keeps_apart
from planner.scheduling.cpsat.model import JobVars, LoadVars, Model
from planner.scheduling.points import was_slot


def keep_one_option_per_job(model: Model) -> None:
    """A mix is run as one of its options says; the row of an absent mix costs nothing."""
    for job in model.jobs:
        table = job.table
        columns = [job.bucket, job.bulk, *job.proof_from, *job.proof_by, *job.proof_ripe]
        columns += [] if job.cold is None else [job.cold]
        ripe = table.proof_by[:, :0] if table.proof_ripe is None else table.proof_ripe
        costs = [job.points, job.ice, job.chilled]
        rows = [
            (
                int(table.bucket[r]),
                int(table.bulk[r]),
                *table.proof_from[r].tolist(),
                *table.proof_by[r].tolist(),
                *ripe[r].tolist(),
                *([] if job.cold is None else [int(table.cold[r])]),
                int(table.points[r]),
                int(table.ice_g[r]),
                int(table.chilled_g[r]),
                1,
            )
            for r in job.rows
        ]
        if job.optional:
            absent = rows[0] if not _known(model, job) else rows[_hinted(model, job)]
            rows.append((*absent[: len(columns)], 0, 0, 0, 0))
        model.cp.add_allowed_assignments([*columns, *costs, job.placed], sorted(set(rows)))


def _known(model: Model, job: JobVars) -> bool:
    return any(j.job_id == job.job.id for j in model.known.jobs)


def _hinted(model: Model, job: JobVars) -> int:
    option = next(j.option for j in model.known.jobs if j.job_id == job.job.id)
    return job.rows.index(option)


def keep_start_in_bucket(model: Model) -> None:
    """A mix starts inside the bucket of its option."""
    for job in model.jobs:
        inside = job.start - model.grid.per_bucket * job.bucket
        model.cp.add_linear_constraint(inside, 0, model.grid.per_bucket - 1)


def keep_divide_after_bulk(model: Model) -> None:
    """The divide comes when the bulk is over; later only at a price."""
    for job in model.jobs:
        mix = model.grid.up(job.job.mix_min)
        model.cp.add(job.divide == job.start + mix + job.bulk + job.over)
        last = model.grid.slots - model.grid.up(job.job.divide_min)
        model.cp.add(job.divide <= last).only_enforce_if(job.placed)


def keep_divide_in_given_hours(model: Model) -> None:
    """The divide keeps the clock times of the mix list; past the end only at a price."""
    for job in model.jobs:
        if job.job.divide_from is not None:
            first = model.grid.up(job.job.divide_from)
            model.cp.add(job.divide >= first).only_enforce_if(job.placed)
        if job.job.divide_by is not None and job.behind is not None:
            last = model.grid.down(job.job.divide_by)
            model.cp.add(job.divide <= last + job.behind).only_enforce_if(job.placed)


def keep_loading_in_proof_window(model: Model) -> None:
    """A load goes into the oven while it is ripe; past its window only at a price."""
    for job in model.jobs:
        for load in job.loads:
            for way, literal in load.ways.items():
                low = load.proof + job.proof_from[load.load.first_route + way]
                high = load.proof + job.proof_by[load.load.first_route + way]
                model.cp.add(load.at >= low).only_enforce_if(literal)
                model.cp.add(load.at <= high + load.past).only_enforce_if(literal)
    items = {s.load.id: s for s in model.problem.standing}
    for load in model.standing:
        item = items[load.load.id]
        first, last = model.grid.up(item.load_from), model.grid.down(item.load_by)
        model.cp.add(load.at >= first).only_enforce_if(load.placed)
        model.cp.add(load.at <= last + load.past).only_enforce_if(load.placed)


def count_slots_off_wanted_proof(model: Model) -> None:
    """A load that goes in sooner or later than its proof is wanted pays for the difference."""
    for job in model.jobs:
        for load in job.loads if job.proof_ripe else ():
            for way, literal in load.ways.items():
                wanted = load.proof + job.proof_ripe[load.load.first_route + way]
                model.cp.add(load.at - wanted <= load.off).only_enforce_if(literal)
                model.cp.add(wanted - load.at <= load.off).only_enforce_if(literal)


def count_lateness(model: Model) -> None:
    """A load that is ready after it must leave is late; one that is ready before lies."""
    for load in all_loads(model):
        if load.in_time is None or load.late is None or load.rest is None:
            continue
        late = model.cp.add(load.at <= load.in_time + load.late)
        rest = model.cp.add(load.at >= load.in_time - load.rest)
        if load.optional:
            late.only_enforce_if(load.placed)
            rest.only_enforce_if(load.placed)


def all_loads(model: Model) -> list[LoadVars]:
    """Return the loads of all mixes and the inherited ones."""
    return [load for job in model.jobs for load in job.loads] + model.standing


def count_early_mixes(model: Model) -> None:
    """A mix that does not count as early starts when the crew should."""
    before = model.grid.up(model.problem.early_before)
    for job in model.jobs:
        if job.early is not None:
            late_enough = model.cp.add(job.start >= before)
            late_enough.only_enforce_if([job.early.negated(), job.placed])


def keep_pinned_loading(model: Model) -> None:
    """A pinned load goes in at its minute; otherwise only at a price."""
    for job in model.jobs:
        at = model.grid.load_at(job.job)
        if job.load_kept is not None and at is not None:
            pinned = model.cp.add(job.loads[0].at == at)
            pinned.only_enforce_if([job.load_kept, job.placed])


def keep_first_on_mixer(model: Model) -> None:
    """A mix pinned as the first of its mixer comes before all others there."""
    for job in model.jobs:
        if job.first_kept is None:
            continue
        for other in model.jobs:
            for mixer_id in job.on.keys() & other.on.keys() if other is not job else ():
                first = model.cp.add(other.start >= job.start)
                first.only_enforce_if([job.first_kept, job.on[mixer_id], other.on[mixer_id]])


def keep_pinned_order(model: Model) -> None:
    """A mix pinned after another starts once that one is off its mixer; else only at a price."""
    jobs = {j.job.id: j for j in model.jobs}
    for job in model.jobs:
        for before_id, kept in job.after_kept.items():
            before = jobs.get(before_id)
            if before is None:
                continue
            end = before.start + model.grid.up(before.job.mix_min)
            ordered = model.cp.add(job.start >= end)
            ordered.only_enforce_if([kept, job.placed, before.placed])


def count_moves(model: Model) -> None:
    """What lies off the plan in force is counted, slot by slot."""
    step = model.grid.step
    moves = [(j.job.was_start, j.start, j.moved, j.placed) for j in model.jobs]
    moves += [(ld.load.was_start, ld.at, ld.moved, ld.placed) for ld in all_loads(model)]
    for was, at, moved, placed in moves:
        if was is None or moved is None:
            continue
        there = was_slot(was, step)
        model.cp.add(at - there <= moved).only_enforce_if(placed)
        model.cp.add(there - at <= moved).only_enforce_if(placed)


def keep_clean_down(model: Model) -> None:
    """Between two doughs of which the second must not meet the first, the mixer is cleaned."""
    for index, one in enumerate(model.jobs):
        for other in model.jobs[index + 1 :]:
            mixers = [m for m in one.on if m in other.on and max(_cleans(model, m, one, other)) > 0]
            most = max((max(_cleans(model, m, one, other)) for m in mixers), default=0)
            if mixers and _may_meet(model, one, other, most):
                _clean_between(model, one, other, mixers)


def _cleans(model: Model, mixer_id: str, one: JobVars, other: JobVars) -> tuple[int, int]:
    """Return the slots of cleaning on a mixer after one mix and before it."""
    grid, problem = model.grid, model.problem
    there = clean_min(problem, mixer_id, one.job, other.job)
    return grid.up(there), grid.up(clean_min(problem, mixer_id, other.job, one.job))


def keep_cold_mixes_light(model: Model) -> None:
    """A mixer that holds a mix only while nothing in it is cold takes it only so."""
    for job in model.jobs:
        for mixer_id in job.job.warm_only & job.on.keys() if job.cold is not None else ():
            model.cp.add(job.cold == 0).only_enforce_if(job.on[mixer_id])


def keep_gluten_out(model: Model) -> None:
    """Gluten comes into a room only after what must be free of it is divided."""
    rooms, grid = model.problem.mixer_room, model.grid
    for one in model.jobs:
        for other in model.jobs if one.job.gluten_free else ():
            if not keeps_apart(one.job, other.job):
                continue
            out = one.divide + grid.up(one.job.divide_min)
            begin = other.start - grid.up(other.job.scale_min)
            for mixer_id, here in one.on.items():
                for other_id, there in other.on.items():
                    if rooms.get(mixer_id) == rooms.get(other_id):
                        model.cp.add(begin >= out).only_enforce_if([here, there])


def _may_meet(model: Model, one: JobVars, other: JobVars, clean: int) -> bool:
    """Return whether the bounds of two mixes let one follow the other too closely."""
    grid = model.grid
    (a, b), (c, d) = grid.start_bounds(one.job), grid.start_bounds(other.job)
    return not (
        b + grid.up(one.job.mix_min) + clean <= c or d + grid.up(other.job.mix_min) + clean <= a
    )


def _clean_between(model: Model, one: JobVars, other: JobVars, mixers: list[str]) -> None:
    """Leave the time for cleaning in whichever order two mixes come."""
    starts = {j.job_id: j.start for j in model.known.jobs}
    hint = starts.get(one.job.id, 0) <= starts.get(other.job.id, 0)
    before = model.truth(hint=hint)
    for mixer_id in mixers:
        both = [one.on[mixer_id], other.on[mixer_id]]
        after_one, after_other = _cleans(model, mixer_id, one, other)
        for literal, first, second, gap in (
            (before, one, other, after_one),
            (before.negated(), other, one, after_other),
        ):
            end = first.start + model.grid.up(first.job.mix_min) + gap
            model.cp.add(second.start >= end).only_enforce_if([literal, *both])

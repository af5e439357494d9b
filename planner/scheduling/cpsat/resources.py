"""The rules of what is shared: people, mixers, ovens, racks, ice, preparations."""

from __future__ import annotations

from itertools import pairwise

from planner.scheduling.cpsat.model import BuildVars, Expr, JobVars, LoadVars, Model, Var
from planner.scheduling.cpsat.rules import all_loads
from planner.scheduling.crews import crews_of
from planner.scheduling.grid import Ints, chamber_racks
from planner.scheduling.problem import Store


def place_hands_on_work(model: Model) -> None:
    """Scaling, mixing by hand, folds, dividing, loading and preparing each take a person."""
    grid = model.grid
    for job in model.jobs:
        one, mix = job.job, grid.up(job.job.mix_min)
        before = grid.up(one.scale_min)
        _hand(model, job.start - before, before, job.placed, "scale")
        if one.attended:
            _hand(model, job.start, mix, job.placed, "mix")
        _hand(model, job.divide, grid.up(one.divide_min), job.placed, "divide", one.crew)
        for fold in one.folds_min:
            work = grid.work(fold, fold + one.fold_min)
            done = job.folds.get(fold, job.placed)
            kind = "move" if fold in one.moves_min else "fold"
            _hand(model, job.start + mix + work.first, work.end - work.first, done, kind)
    for load in all_loads(model):
        length = model.problem.load_work_min
        _hand(model, load.at, grid.up(length), load.placed, "load")
        for way, literal in load.ways.items():
            for move in load.load.routes[way].moves_min:
                work = grid.work(move, move + length)
                _hand(model, load.proof + work.first, work.end - work.first, literal, "move")
    for build in all_builds(model):
        beside = _beside_grid(model, build)
        for begin, end in build.table.preparation.hands_of(build.way, 0):
            length = grid.up(end - begin) + beside
            skill = build.table.preparation.skill
            _hand(model, build.start + grid.down(begin), length, build.used, skill)


def _hand(
    model: Model, start: Expr, length: int, present: Var, skill: str, people: int = 1
) -> None:
    if length > 0:
        interval = model.cp.new_optional_fixed_size_interval_var(start, length, present, "")
        model.hands.append((interval, skill, people))


def all_builds(model: Model) -> list[BuildVars]:
    """Return the builds of all preparations."""
    return [build for builds in model.builds.values() for build in builds]


def _beside_grid(model: Model, build: BuildVars) -> int:
    """Return a slot more for a build that is fixed beside the grid."""
    return int(bool((build.table.start_min % model.grid.step).any()))


def keep_folds_inside_bulk(model: Model) -> None:
    """A fold is done when the bulk is long enough for it."""
    for job in model.jobs:
        bulk = job.divide - job.start - model.grid.up(job.job.mix_min)
        for fold, done in job.folds.items():
            needed = model.grid.up(fold + job.job.fold_min)
            model.cp.add(bulk >= needed).only_enforce_if(done)
            model.cp.add(bulk < needed).only_enforce_if([done.negated(), job.placed])
            model.cp.add_implication(done, job.placed)


def keep_people_within_hours(model: Model) -> None:
    """No slot asks for more people, of those who can do it, than work through it."""
    for crew in crews_of(model.grid):
        people = crew.people
        most = int(people.max(initial=0))
        asked = [(i, n) for i, skill, n in model.hands if skill in crew.skills]
        asked += [(r.interval, 1) for r in model.rests if r.person_id in crew.person_ids]
        for first, end, count in steps(people):
            if count < most:
                interval = model.cp.new_fixed_size_interval_var(first, end - first, "")
                asked.append((interval, most - count))
        outside = model.cp.new_fixed_size_interval_var(len(people), 2 * len(people), "")
        asked.append((outside, most))
        model.cp.add_cumulative([i for i, _ in asked], [n for _, n in asked], most)


def steps(counts: Ints) -> list[tuple[int, int, int]]:
    """Return stretches of equal count: first, end, count.

    Examples
    --------
    >>> import numpy as np
    >>> steps(np.array([1, 1, 2]))
    [(0, 2, 1), (2, 3, 2)]
    """
    changes = [i for i in range(len(counts)) if i == 0 or counts[i] != counts[i - 1]]
    return [(a, b, int(counts[a])) for a, b in pairwise([*changes, len(counts)])]


def keep_one_mix_per_mixer(model: Model) -> None:
    """A mixer runs one mix or one preparation at a time."""
    for job in model.jobs:
        length = model.grid.up(job.job.mix_min)
        for mixer_id, literal in job.on.items():
            _on_mixer(model, mixer_id, job.start, length, literal)
    for build in all_builds(model):
        length = model.grid.up(build.table.preparation.mix_min) + _beside_grid(model, build)
        for mixer_id, literal in build.on.items():
            _on_mixer(model, mixer_id, build.start, length, literal)
    for intervals in model.on_mixer.values():
        model.cp.add_no_overlap(intervals)


def _on_mixer(model: Model, mixer_id: str, start: Var, length: int, present: Var) -> None:
    interval = model.cp.new_optional_fixed_size_interval_var(start, length, present, "")
    model.on_mixer.setdefault(mixer_id, []).append(interval)


def keep_loads_within_oven(model: Model) -> None:
    """No oven holds more than its places; a place recovers before its next load."""
    ovens = {o.oven_id: o for o in model.problem.ovens}
    for load in all_loads(model):
        places = {o.oven_id: o.places for o in load.load.ovens}
        for oven_id, literal in load.ovens.items():
            slots = model.grid.oven_slots(load.load, ovens[oven_id])
            interval = model.cp.new_optional_fixed_size_interval_var(load.at, slots, literal, "")
            model.in_oven.setdefault(oven_id, []).append((interval, places[oven_id]))
    for oven_id, inside in model.in_oven.items():
        intervals, demands = [i for i, _ in inside], [d for _, d in inside]
        model.cp.add_cumulative(intervals, demands, ovens[oven_id].places)


def keep_out_of_order_empty(model: Model) -> None:
    """Nothing runs in a mixer or oven while it is out of order but what is held there."""
    grid = model.grid
    for closed in model.problem.closed:
        first = grid.down(closed.start)
        shut = model.cp.new_fixed_size_interval_var(first, grid.up(closed.end) - first, "")
        uses = [
            (job.on, job.start, grid.up(job.job.mix_min)) for job in model.jobs if not job.job.held
        ]
        uses += [
            (load.ovens, load.at, grid.bake_slots(load.load))
            for load in all_loads(model)
            if not load.load.held
        ]
        uses += [
            (build.on, build.start, grid.up(build.table.preparation.mix_min))
            for build in all_builds(model)
        ]
        for on, start, length in uses:
            if closed.resource_id in on:
                present = on[closed.resource_id]
                use = model.cp.new_optional_fixed_size_interval_var(start, length, present, "")
                model.cp.add_no_overlap([use, shut])


def keep_racks_within_chamber(model: Model) -> None:
    """No chamber holds more racks than it has; a load keeps its rack until it is loaded."""
    racks = chamber_racks(model.problem)
    for load in all_loads(model):
        for way, literal in load.ways.items():
            counted = [(n, c) for n, c in load.load.routes[way].takes if n in racks and c]
            if counted:
                length = _proof_length(model, load)
                interval = model.cp.new_optional_interval_var(
                    load.proof, length, load.at, literal, ""
                )
                for name, count in counted:
                    model.in_chamber.setdefault(name, []).append((interval, count))
    for build in all_builds(model):
        _keep_racks_of_build(model, build)
    for place_id, inside in model.in_chamber.items():
        intervals, demands = [i for i, _ in inside], [d for _, d in inside]
        model.cp.add_cumulative(intervals, demands, racks[place_id])


def _keep_racks_of_build(model: Model, build: BuildVars) -> None:
    """A way that stands in a chamber keeps its racks until its last use."""
    way = build.table.preparation.ways[build.way]
    known_racks = chamber_racks(model.problem)
    holds = [(name, count) for name, count in way.holds if name in known_racks]
    if not holds:
        return
    first = int(build.table.start_min[0]) // model.grid.step
    starts = {j.job.id: j.start for j in model.jobs}
    known = {j.job_id: j.start // model.grid.step for j in model.known.jobs}
    last = max((known[j] for j in known if j in build.users), default=first)
    until = model.number(first, model.grid.slots, last)
    for job_id, uses in build.users.items():
        model.cp.add(until >= starts[job_id]).only_enforce_if(uses)
    length = model.number(0, model.grid.slots, last - first)
    interval = model.cp.new_optional_interval_var(first, length, until, build.used, "")
    for name, count in holds:
        model.in_chamber.setdefault(name, []).append((interval, count))


def _proof_length(model: Model, load: LoadVars) -> Var:
    """Return the slots of proof of a load with a place."""
    known = [at for j in model.known.jobs for at in j.loads] + list(model.known.standing)
    at = next((x for x in known if x.load_id == load.load.id), None)
    hint = 0 if at is None else (at.load_start - at.proof_start) // model.grid.step
    return model.number(0, model.grid.slots, hint)


def keep_ice_within_store(model: Model) -> None:
    """Ice is taken only from what is stored and was made before."""
    _keep_within_store(model, model.problem.ice, [(j, j.ice, "ice_g") for j in model.jobs])


def keep_chilled_water_within_store(model: Model) -> None:
    """Chilled water is drawn only from what is in the tank and was cooled before."""
    draws = [(j, j.chilled, "chilled_g") for j in model.jobs]
    _keep_within_store(model, model.problem.chiller, draws)


def _keep_within_store(model: Model, store: Store, draws: list[tuple[JobVars, Var, str]]) -> None:
    """Keep the level of a store at zero or more, bucket by bucket.

    What a bucket makes counts from the next one on, and a full store makes nothing: the next
    level is at most min(room, level + made) - used. Left out when even everything together
    would not empty the store.
    """
    most = {
        id(j): max(int(getattr(j.job.options[r], name)) for r in j.rows) for j, _, name in draws
    }
    full = min(store.start_g, store.room_g)
    fixed = _taken_by_builds(model, draws[0][2]) if draws else {}
    if sum(most.values()) + sum(fixed.values()) <= full:
        return
    takers = [(j, var, most[id(j)]) for j, var, _ in draws if most[id(j)] > 0]
    used = _used_by_bucket(model, takers)
    made = store.rate_g_per_h * model.problem.bucket_min // 60
    known, level, at = _known_use(model, draws[0][2]), model.fixed(full), full
    for bucket in range(model.grid.buckets):
        taken = sum(used.get(bucket, [])) + fixed.get(bucket, 0)
        model.cp.add(level >= taken)
        at = min(store.room_g, at + made) - known.get(bucket, 0) - fixed.get(bucket, 0)
        following = model.number(0, store.room_g, at)
        model.cp.add(following <= level + made - taken)
        model.cp.add(following <= store.room_g - taken)
        level = following


def _taken_by_builds(model: Model, name: str) -> dict[int, int]:
    """Return the ice or chilled water of scalds by bucket; how they are made is settled."""
    use: dict[int, int] = {}
    for build in all_builds(model):
        way = build.table.preparation.ways[build.way]
        grams = int(getattr(way, name))
        if grams:
            bucket = int(build.table.start_min[0]) // model.problem.bucket_min
            use[bucket] = use.get(bucket, 0) + grams
    return use


def _known_use(model: Model, name: str) -> dict[int, int]:
    use: dict[int, int] = {}
    for placed in model.known.jobs:
        option = model.problem.job(placed.job_id).options[placed.option]
        use[option.bucket] = use.get(option.bucket, 0) + int(getattr(option, name))
    return use


def _used_by_bucket(model: Model, takers: list[tuple[JobVars, Var, int]]) -> dict[int, list[Var]]:
    """Return what each mix takes in each bucket; in its own at least what its option says."""
    known = {j.job_id: j for j in model.known.jobs}
    used: dict[int, list[Var]] = {}
    for job, amount, most in takers:
        placed = known.get(job.job.id)
        at = None if placed is None else job.job.options[placed.option].bucket
        buckets = sorted({int(job.table.bucket[r]) for r in job.rows})
        inside = {
            k: model.truth(hint=k == at or (at is None and k == _absent_bucket(job)))
            for k in buckets
        }
        model.cp.add_exactly_one(inside.values())
        model.cp.add(job.bucket == sum(k * literal for k, literal in inside.items()))
        for bucket, literal in inside.items():
            hint = 0 if placed is None or bucket != at else _amount(model, job, amount)
            taken = model.number(0, most, hint)
            model.cp.add(taken >= amount).only_enforce_if(literal)
            used.setdefault(bucket, []).append(taken)
    return used


def _absent_bucket(job: JobVars) -> int:
    return int(job.table.bucket[job.rows[0]])


def _amount(model: Model, job: JobVars, amount: Var) -> int:
    option = next(j.option for j in model.known.jobs if j.job_id == job.job.id)
    row = job.job.options[option]
    return row.ice_g if amount is job.ice else row.chilled_g


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
    """A build can be used as the table of its start says."""
    step, table = model.grid.step, build.table
    rows = {
        (int(start) // step, -(-int(low) // step), int(high) // step)
        for start, low, high in zip(table.start_min, table.from_min, table.by_min, strict=True)
    }
    model.cp.add_allowed_assignments([build.start, build.ready, build.ripe_by], sorted(rows))

"""The rules of what is shared: people, mixers, ovens, racks."""

from __future__ import annotations

from itertools import pairwise

from planner.scheduling.cpsat.builds import all_builds, beside_grid, keep_racks_of_builds
from planner.scheduling.cpsat.model import Expr, LoadVars, Model, Var
from planner.scheduling.cpsat.rules import all_loads
from planner.scheduling.crews import crews_of
from planner.scheduling.grid import Ints, chamber_racks


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
        beside, made = beside_grid(model, build), build.table.preparation
        for way, literal in build.ways.items():
            for begin, end in made.hands_of(way, 0):
                length = grid.up(end - begin) + beside
                _hand(model, build.start + grid.down(begin), length, literal, made.skill)


def _hand(
    model: Model, start: Expr, length: int, present: Var, skill: str, people: int = 1
) -> None:
    if length > 0:
        interval = model.cp.new_optional_fixed_size_interval_var(start, length, present, "")
        model.hands.append((interval, skill, people))


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
        length = model.grid.up(build.table.preparation.mix_min) + beside_grid(model, build)
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
    keep_racks_of_builds(model)
    for place_id, inside in model.in_chamber.items():
        intervals, demands = [i for i, _ in inside], [d for _, d in inside]
        model.cp.add_cumulative(intervals, demands, racks[place_id])


def _proof_length(model: Model, load: LoadVars) -> Var:
    """Return the slots of proof of a load with a place."""
    known = [at for j in model.known.jobs for at in j.loads] + list(model.known.standing)
    at = next((x for x in known if x.load_id == load.load.id), None)
    hint = 0 if at is None else (at.load_start - at.proof_start) // model.grid.step
    return model.number(0, model.grid.slots, hint)

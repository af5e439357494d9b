"""Timing a schedule anew with its order fixed: whole minutes, least cost, proved or nearly so.

Every rule is then a distance between two times, and every cost a distance that is too long or
too short; the solver proves such a model best as soon as it has solved its linear relaxation.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from planner.scheduling.exact import PerMinute, Retiming, Times, Window, Windows
from planner.scheduling.orders import (
    Moment,
    divide_of,
    loading_of,
    start_of,
)
from planner.scheduling.problem import Load

FARTHEST_MIN = 60
"""No time is moved farther than this, since windows were read off near it [min]."""

GAP_MIN = 10
"""Time that had better be left between two tasks of the busiest mixer and oven [min]."""

DETERMINISTIC_S = 2.0
"""Work after which the best times found are taken."""


@dataclass
class _Model:
    job: Retiming
    per: PerMinute
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    times: dict[Moment, cp_model.IntVar] = field(default_factory=dict)
    terms: list[cp_model.LinearExpr] = field(default_factory=list)

    def at(self, moment: Moment) -> cp_model.LinearExpr:
        """Return a moment as an expression."""
        if not moment.of:
            return self.cp.new_constant(moment.plus)
        return self.times[Moment(moment.of, moment.subject)] + moment.plus

    def cost(self, above: cp_model.LinearExpr, weight: int, most: int = 10_000) -> None:
        """Make every minute above zero cost so much."""
        if weight <= 0:
            return
        short = self.cp.new_int_var(0, most, "")
        self.cp.add(short >= above)
        self.terms.append(weight * short)


def retime(job: Retiming, windows: Windows, per: PerMinute, near: Times, seed: int) -> Times | None:
    """Return the cheapest times of a schedule whose order is fixed.

    Parameters
    ----------
    job
        Schedule and orders.
    windows
        Windows at the times that are known.
    per
        What a minute costs.
    near
        The times at which the windows were read off; no time goes far from them.
    seed
        Of the solver.

    Returns
    -------
    Times or None
        None when no times keep the orders, which those of the schedule always do.
    """
    model = _Model(job, per)
    _add_times(model, near, windows)
    for one in job.before:
        if one.first.of or one.then.of:
            model.cp.add(model.at(one.then) >= model.at(one.first) + one.gap)
    for one in job.gaps:
        model.cost(model.at(one.first) + GAP_MIN - model.at(one.then), per.gap, GAP_MIN)
    for placed in job.schedule.jobs:
        _cost_mix(model, placed.job_id, windows, near)
    for at in job.schedule.standing:
        _cost_standing(model, at.load_id)
    for moment, minute in windows.pins.items():
        _keep_near(model, moment, minute, per.pin)
    _hold(model)
    for moment in model.times:
        _keep_near(model, moment, job.wanted.minute(moment), per.move)
    model.cp.minimize(sum(model.terms))
    return _solved(model, seed)


def _add_times(model: _Model, near: Times, windows: Windows) -> None:
    problem, schedule = model.job.problem, model.job.schedule
    for placed in schedule.jobs:
        one = problem.job(placed.job_id)
        low, high = one.earliest_start, one.latest_start
        if low == high:  # pinned, and put on the grid after its minute
            pinned = windows.pins.get(start_of(one.id), high)
            low = high = pinned if 0 <= high - pinned < problem.grid_min else high
        if placed.start >= problem.early_before:
            low = max(low, min(problem.early_before, high))
        _add(model, start_of(one.id), near, max(low, one.scale_min), high)
        last = problem.span_min - one.divide_min
        _add(model, divide_of(one.id), near, one.divide_from or 0, last)
        for load in one.loads:
            _add_load(model, load, near, 0)
    standing = {item.load.id: item for item in problem.standing}
    for at in schedule.standing:
        item = standing[at.load_id]
        _add_load(model, item.load, near, item.load_from)
        if item.load_by <= item.load_from:  # it is in its oven
            model.cp.add(model.times[loading_of(at.load_id)] == at.load_start)


def _add_load(model: _Model, load: Load, near: Times, low: int) -> None:
    _add(model, loading_of(load.id), near, low, model.job.problem.span_min - load.bake_min)


def _add(model: _Model, moment: Moment, near: Times, low: int, high: int) -> None:
    at = near.minute(moment)
    if at >= model.job.from_min:
        low = max(low, min(model.job.from_min, high))
    if low < high:
        low, high = max(low, at - FARTHEST_MIN), min(high, at + FARTHEST_MIN)
        low, high = min(low, at), max(high, at)
    var = model.cp.new_int_var(low, high, "")
    model.cp.add_hint(var, at)
    model.times[moment] = var


def _cost_mix(model: _Model, job_id: str, windows: Windows, near: Times) -> None:
    problem, per = model.job.problem, model.per
    one = problem.job(job_id)
    divide = model.at(divide_of(job_id))
    if job_id in windows.bulks:
        mixed = model.at(start_of(job_id)) + one.mix_min
        was = near.divides[job_id] - near.starts[job_id] - one.mix_min
        _cost_window(model, divide - mixed, windows.bulks[job_id], was)
    else:
        _stay(model, start_of(job_id))
        _stay(model, divide_of(job_id))
    if one.divide_by is not None:
        model.cost(divide - one.divide_by, per.window)
    for load in one.loads:
        at = model.at(loading_of(load.id))
        if load.id in windows.proofs:
            offset = load.proof_offset_min
            was = near.loads[load.id] - near.divides[job_id] - offset
            _cost_window(model, at - divide - offset, windows.proofs[load.id], was)
        leave_by, priority = one.leaves(load)
        if leave_by is not None:
            _cost_leaving(model, at, load, leave_by, priority)


def _cost_window(model: _Model, length: cp_model.LinearExpr, window: Window, was: int) -> None:
    """Past its window a length costs most, near its ends some, off its best a little."""
    per = model.per
    model.cp.add(length >= min(window.low, was))  # nothing is hurried for anything
    model.cost(window.low - length, per.window)
    model.cost(length - window.high, per.window)
    model.cost(window.low + window.margin - length, per.edge)
    model.cost(length - window.high + window.margin, per.edge)
    if window.ideal is not None:
        model.cost(window.ideal - length, per.ideal)
        model.cost(length - window.ideal, per.ideal)


def _cost_leaving(
    model: _Model, at: cp_model.LinearExpr, load: Load, leave_by: int, priority: int
) -> None:
    in_time = leave_by - load.bake_min - load.cool_min
    model.cost(at - in_time, model.per.late * priority)
    model.cost(in_time - at, model.per.fresh)


def _cost_standing(model: _Model, load_id: str) -> None:
    item = next(s for s in model.job.problem.standing if s.load.id == load_id)
    at = model.at(loading_of(load_id))
    model.cost(at - item.load_by, model.per.window)
    _cost_leaving(model, at, item.load, item.leave_by, item.priority)


def _stay(model: _Model, moment: Moment) -> None:
    """Keep a time of what has begun."""
    model.cp.add(model.times[moment] == Times.of(model.job.schedule).minute(moment))


def _keep_near(model: _Model, moment: Moment, minute: int, weight: int) -> None:
    model.cost(model.at(moment) - minute, weight)
    model.cost(minute - model.at(moment), weight)


def _hold(model: _Model) -> None:
    """A preparation that stands ready costs by the hour; so does a mix without a leaving time."""
    starts: Mapping[str, cp_model.LinearExpr] = {
        placed.job_id: model.at(start_of(placed.job_id)) for placed in model.job.schedule.jobs
    }
    hold = model.per.hold
    for build in model.job.schedule.builds:
        model.terms += [hold * starts[job_id] for job_id in build.job_ids]
    model.terms += [
        hold * start
        for job_id, start in starts.items()
        if model.job.problem.job(job_id).leave_by is None
    ]


def _solved(model: _Model, seed: int) -> Times | None:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = DETERMINISTIC_S
    solver.parameters.cp_model_probing_level = 0
    if solver.solve(model.cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    found: dict[str, dict[str, int]] = {"start": {}, "divide": {}, "load": {}}
    for moment, var in model.times.items():
        found[moment.of][moment.subject] = int(solver.value(var))
    return Times(found["start"], found["divide"], found["load"])

"""Random days timed anew to the minute: whatever rules are on, the judge finds nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.scheduling.check import check
from planner.scheduling.exact import (
    PerMinute,
    Retiming,
    Times,
    Window,
    Windows,
    at_times,
    exact_problem,
)
from planner.scheduling.orders import kept_orders
from planner.scheduling.problem import Option, Problem
from planner.scheduling.schedule import Schedule, ScheduledJob
from tests.planner.scheduling.days import random_day
from tests.planner.scheduling.solving import listed
from tests.planner.scheduling.test_full_days import full_day
from tests.planner.scheduling.test_random_days import ways_day


def windows_near(schedule: Schedule, seed: int) -> Windows:
    """Windows such as curves would give: some minutes to either side, the best off the grid."""
    rng = np.random.default_rng(seed)
    bulks, proofs = {}, {}
    for placed in schedule.jobs:
        length = placed.divide_start - placed.mix_end
        ripe = length + int(rng.integers(-6, 7))
        bulks[placed.job_id] = Window(min(length, ripe) - 4, max(length, ripe) + 4, ripe, 2)
        for at in placed.loads:
            proof = at.load_start - at.proof_start
            proofs[at.load_id] = Window(proof - 9, proof + 9, None, int(rng.integers(0, 9)))
    return Windows(bulks, proofs, {})


def times_of(day: Problem, schedule: Schedule, windows: Windows, from_min: int = 0) -> Times:
    from planner.scheduling.cpsat.retime import retime  # noqa: PLC0415  loads the solver

    near = Times.of(schedule)
    job = Retiming(day, schedule, kept_orders(day, schedule), (), near, from_min)
    found = retime(job, windows, PerMinute.of(day.weights, day.grid_min), near, seed=1)
    assert found is not None
    return found


def at_the_minute(day: Problem, schedule: Schedule, windows: Windows, times: Times):
    """The day on a grid of a minute, and the schedule in it."""
    options = {j.job_id: _option(day, j, windows, times) for j in schedule.jobs}
    fine = exact_problem(day, options, times.starts)
    return fine, at_times(fine, schedule, times)


def _option(day: Problem, placed: ScheduledJob, windows: Windows, times: Times) -> Option:
    job = day.job(placed.job_id)
    was = job.options[placed.option]
    bounds = list(was.proofs_min)
    for load, at in zip(job.loads, placed.loads, strict=True):
        proof = times.loads[load.id] - times.divides[job.id] - load.proof_offset_min
        window = windows.proofs[load.id]
        low, high = bounds[load.first_route + at.route]
        bounds[load.first_route + at.route] = (
            min(low, window.low, proof),
            max(high, window.high, proof),
        )
    length = times.divides[job.id] - times.starts[job.id] - job.mix_min
    return replace(was, bulk_min=length, proofs_min=tuple(bounds))


DAYS = {
    "plain": lambda seed: random_day(9, seed, 0.8, hot=True),
    "ways": ways_day,
    "full": lambda seed: full_day(8, seed),
    "crowded": lambda seed: full_day(12, seed, 0.9),
}


@pytest.mark.parametrize("kind", DAYS)
@pytest.mark.parametrize("seed", range(1, 7))
def test_a_schedule_timed_anew_is_sound(kind, seed):
    day = DAYS[kind](seed)
    schedule = listed(day)
    windows = windows_near(schedule, seed)
    times = times_of(day, schedule, windows)
    assert times != Times.of(schedule)
    fine, found = at_the_minute(day, schedule, windows, times)
    assert check(fine, found) == []
    assert len(found.rests) == len(schedule.rests)

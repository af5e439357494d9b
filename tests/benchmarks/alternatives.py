"""How the search does with doughs that can be made as one mix or two, beside trying every way.

    python -m tests.benchmarks.alternatives 12 3 2

12 mixes, of which 3 can be made as one that must stay warm or as two that may take ice, on two hot
random days. Compared are: the search with alternatives, and the best of all days in which it is
settled beforehand how each dough is made (2 to the power of 3). Times are of the processor.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import product
from time import process_time

from planner.scheduling import list_pass
from planner.scheduling.check import check
from planner.scheduling.cpsat.solve import solve
from planner.scheduling.points import worth
from planner.scheduling.problem import Job, Problem
from planner.scheduling.schedule import Schedule
from tests.planner.scheduling.days import random_day

FURTHER_MIX = 6
"""Points of each of two mixes that one could have been."""


def with_alternatives(count: int, either: int, seed: int) -> Problem:
    """Return a hot random day of which some doughs can be made in two ways."""
    day = random_day(count, seed, hot=True)
    jobs: list[Job] = []
    ways = []
    for job in day.jobs:
        if len(ways) >= either or len(job.loads) < 2:
            jobs.append(job)
            continue
        options = tuple(replace(o, cold=o.ice_g > 0) for o in job.options)
        jobs.append(replace(job, options=options, warm_only=frozenset(job.mixer_ids)))
        halves = [_half(job, index) for index in range(2)]
        jobs += halves
        ways.append(((job.id,), tuple(half.id for half in halves)))
    return replace(day, jobs=tuple(jobs), alternatives=tuple(ways))


def _half(job: Job, index: int) -> Job:
    loads = job.loads[index::2]
    return replace(
        job,
        id=f"{job.id}-{index + 1}",
        divide_min=max(5, job.divide_min // 10 * 5),
        options=tuple(
            replace(o, ice_g=o.ice_g // 2, chilled_g=o.chilled_g // 2, cost=o.cost + FURTHER_MIX)
            for o in job.options
        ),
        loads=tuple(
            replace(load, id=f"{job.id}-{index + 1}.{n + 1}", proof_offset_min=10)
            for n, load in enumerate(loads)
        ),
    )


def settled(day: Problem, choice: tuple[int, ...]) -> Problem:
    """Return the day with the way of each dough settled."""
    out = {
        one
        for groups, taken in zip(day.alternatives, choice, strict=True)
        for index, group in enumerate(groups)
        if index != taken
        for one in group
    }
    jobs = tuple(job for job in day.jobs if job.id not in out)
    return replace(day, jobs=jobs, alternatives=())


def searched(day: Problem) -> tuple[Schedule, Schedule, float]:
    """Return the list, the best schedule, and the time of the processor [s]."""
    begun = process_time()
    listed = list_pass.build(day, seed=7)
    best = solve(
        day, listed, solve_s=120.0, deterministic_s=6.0, workers=1, seed=7, on_progress=None
    )
    if check(day, best):
        raise AssertionError("the check finds something")
    return listed, best, process_time() - begun


def main(count: int, either: int, seeds: int) -> None:
    """Print one line per day."""
    for seed in range(seeds):
        day = with_alternatives(count, either, seed)
        listed, together, took_s = searched(day)
        tried = [
            searched(settled(day, choice))
            for choice in product(range(2), repeat=len(day.alternatives))
        ]
        apart = min((best for _, best, _ in tried), key=lambda s: worth(day, s))
        print(
            f"seed {seed}: {len(day.alternatives)} of {count} in two ways; "
            f"list {listed.points.first_stage}, search {together.points.first_stage} "
            f"({together.status.value}) in {took_s:.1f} s; best of {len(tried)} settled days "
            f"{apart.points.first_stage} in {sum(s for _, _, s in tried):.1f} s"
        )


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:4]))

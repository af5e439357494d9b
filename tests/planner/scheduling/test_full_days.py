"""Random days with bench, tubs, weight, skills, breaks and heat all on: sound, never worsened."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.scheduling import list_pass
from planner.scheduling.check import check
from planner.scheduling.cpsat.solve import solve
from planner.scheduling.problem import BENCH, TUBS, WEIGHT, Job, Load, Problem, Rest
from tests.planner.scheduling.days import random_day
from tests.planner.scheduling.solving import listed, searched

HEATS = (240, 240, 210, 190)
SKILLS = (None, frozenset({"scale", "divide", "fold", "load", "move", "prepare"}))


def full_day(count: int, seed: int, load: float = 0.62) -> Problem:
    """A random day with every kind of place and hand scarce, though not hopeless."""
    rng = np.random.default_rng(seed)
    day = random_day(count, seed, load)
    crew = [
        replace(
            worker,
            skills=SKILLS[int(rng.integers(2))],
            rests=(Rest(20, worker.hours[0][0] + 120, worker.hours[0][1] - 140),),
        )
        for worker in day.workers
    ]
    crew[1] = replace(crew[1], skills=None)
    crew[-1] = replace(crew[-1], skills=None)
    crew[0] = replace(crew[0], skills=None)
    return replace(
        day,
        workers=tuple(crew),
        jobs=tuple(_filled_in(job, rng) for job in day.jobs),
        ovens=(
            replace(day.ovens[0], heats_k_per_min=5.0, cools_k_per_min=1.0),
            replace(day.ovens[1], gap_min=5, places=1),
            *day.ovens[2:],
        ),
        racks={
            **day.racks,
            BENCH: max(1, count // 6),
            f"{TUBS}large": max(2, count // 4),
            f"{TUBS}small": count,
            f"{WEIGHT}proofer": 20_000 * count,
        },
    )


def _filled_in(job: Job, rng: np.random.Generator) -> Job:
    kg = int(rng.integers(10, 60))
    heat = int(rng.choice(HEATS))
    tubs = (((f"{TUBS}large", -(-kg // 40)),), ((f"{TUBS}small", -(-kg // 15)),))
    loads = tuple(_heated(load, heat, 1000 * kg, rng) for load in job.loads)
    return replace(job, bench=1, tubs=tubs, loads=loads, crew=int(rng.integers(1, 3)))


def _heated(load: Load, heat: int, grams: int, rng: np.random.Generator) -> Load:
    ovens = tuple(
        replace(c, places=1, hold_min=10)
        if c.oven_id == "rack"
        else replace(c, hold_min=load.bake_min + int(rng.integers(0, 15)))
        for c in load.ovens
    )
    routes = tuple(
        replace(r, holds=((f"{WEIGHT}proofer", grams),)) if r.place_id == "proofer" else r
        for r in load.routes
    )
    return replace(load, bake_c=heat, ovens=ovens, routes=routes)


@pytest.mark.parametrize("count", [6, 12])
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_list_of_a_full_day_is_sound(count, seed):
    schedule = listed(full_day(count, seed))
    assert len(schedule.jobs) >= count // 2
    assert schedule.rests


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_search_of_a_full_day_is_sound_and_never_worse(seed):
    searched(full_day(8, seed), deterministic_s=1.5)


def test_a_full_day_is_planned_the_same_twice():
    day = full_day(8, 5)
    first = list_pass.build(day, seed=1)
    assert first == list_pass.build(day, seed=1)
    again = [
        solve(day, first, solve_s=60, deterministic_s=0.5, workers=1, seed=1, on_progress=None)
        for _ in range(2)
    ]
    assert replace(again[0], search_s=0.0) == replace(again[1], search_s=0.0)
    assert check(day, again[0]) == []


@pytest.mark.parametrize("seed", range(6))
def test_search_alone_comes_to_the_same_points_on_small_full_days(seed):
    """`searched` also solves a day of three mixes without any list to begin with."""
    searched(full_day(3, seed), deterministic_s=4)

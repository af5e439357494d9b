"""How long a cool-down takes, and the ways of a day's scalds: `python -m tests.benchmarks.scald`.

Medians of one run; nothing here is a test.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

from dataclasses import replace
from statistics import median
from time import process_time

import numpy as np

from planner.bakery import Cover
from planner.physics.cooling import CoolingLeg, cooling_path, minutes_to_cool
from planner.physics.scald_reading import ScaldReading, fit_cooling
from planner.scald_follow import follow_all, follow_ways, sampled_starts
from planner.scald_ways import scald_ways
from tests.planner.physics.scald_bodies import body
from tests.planner.scald_days import FLAKES, WALK_IN, rye_house, rye_night, scald

SCALDS, STARTS, SPAN_H = 8, 312, 24.0
RUNS = 15


def timed(job):
    """Milliseconds of a job on the processor, the median of some runs."""
    took = []
    for _ in range(RUNS):
        begun = process_time()
        job()
        took.append(process_time() - begun)
    return 1000 * median(took)


def one_cool_down():
    """A tub, open, a day long, with a learned multiplier, from one pour."""
    tub = body(20, 0.53, 0.38, Cover.OPEN, surface_factor=1.2)
    cooling = cooling_path(
        tub,
        start_c=75.0,
        start_minute=0.0,
        air_c=lambda m: 24 - np.asarray(m) / 400,
        humidity=lambda m: np.full_like(m, 0.5),
        span_min=SPAN_H * 60,
        step_min=10.0,
    )
    return minutes_to_cool(cooling, 32.0)


def a_fit():
    """Two readings of it."""
    tub = body(20, 0.53, 0.38, Cover.OPEN)
    leg = CoolingLeg(
        tub, SPAN_H * 60, lambda m: np.full_like(m, 24.0), lambda m: np.full_like(m, 0.5)
    )
    fit_cooling([leg], [ScaldReading(5, 72.0), ScaldReading(90, 58.0)], start_c=75.0)


def a_day(night, parts):
    """Every way of eight scalds from every five minutes of the span."""
    starts = np.arange(STARTS) * 5.0
    asked = [(p, kg, scald_ways(night, p, kg, 34.0)) for p, kg in parts]
    followed = follow_all(night, asked, sampled_starts(night))
    return [one.ready_min(34.0, starts) for ways in followed for one in ways]


def main():
    """Print the figures."""
    house = rye_house(chambers=(WALK_IN,), ice=FLAKES)
    night, _ = rye_night(house=house, ice_kg=60)
    parts = [(replace(scald(), work_min=10 + i), 12.0 + 11 * i) for i in range(SCALDS)]
    ways = len(a_day(night, parts))
    print(f"one cool-down of {SPAN_H:g} h: {timed(one_cool_down):.1f} ms")
    print(f"one fit of two readings: {timed(a_fit):.0f} ms")
    part, kg = parts[-1]
    pours = sampled_starts(night)
    one = timed(lambda: follow_ways(night, part, kg, scald_ways(night, part, kg, 34.0), pours))
    print(f"all ways of one scald: {one:.0f} ms")
    all_of_them = timed(lambda: a_day(night, parts))
    print(f"{ways} ways of {SCALDS} scalds from {STARTS} starts: {all_of_them:.0f} ms")


if __name__ == "__main__":
    main()

"""How far a dough is off while its mixer is being learned: `python -m tests.benchmarks.learning`.

Sixty bakeries with hidden truths; the figures are means of the absolute error of the true dough.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import sys
from random import Random
from statistics import mean

from planner.corrections import Corrections
from planner.learning.readings import learn
from tests.planner.learning.simulated_bakery import (
    DAYS,
    HiddenBakery,
    Season,
    by_the_sum,
    mixed,
    remembered,
)


def first_night(bakeries: int, memories: int) -> float:
    """Mean error of the very first mix, with so many remembered ones."""
    errors = []
    for seed in range(bakeries):
        hidden, rng = HiddenBakery.drawn(seed), Random(1000 + seed)
        told = [remembered(hidden, rng) for _ in range(memories)]
        known = learn(told, Corrections()) if told else Corrections()
        error, _ = mixed(hidden, Season.of(rng.uniform(0, DAYS), rng), known)
        errors.append(abs(error))
    return mean(errors)


def after(bakeries: int, logged: int) -> float:
    """Mean error of the five mixes after so many logged ones, within one season."""
    errors = []
    for seed in range(bakeries):
        hidden, rng = HiddenBakery.drawn(seed), Random(2000 + seed)
        known, start = Corrections(), rng.uniform(0, DAYS)
        for n in range(logged + 5):
            error, known = mixed(hidden, Season.of(start + n, rng), known)
            if n >= logged:
                errors.append(abs(error))
    return mean(errors)


def through_a_year(bakeries: int, step: int = 6) -> tuple[float, float, float]:
    """Mean error over a year: learned work, the sum re-tuned after every mix, and the sum kept."""
    ours, sums, stiff = [], [], []
    for seed in range(bakeries):
        hidden, rng = HiddenBakery.drawn(seed), Random(3000 + seed)
        known, friction, kept = Corrections(), None, None
        for n in range(0, DAYS, step):
            season = Season.of(n, rng)
            error, known = mixed(hidden, season, known)
            if friction is None:
                friction = kept = by_the_sum(hidden, season, 15.0)[1]
                continue
            ours.append(abs(error))
            stiff.append(abs(by_the_sum(hidden, season, kept)[0]))
            off, friction = by_the_sum(hidden, season, friction)
            sums.append(abs(off))
    return mean(ours), mean(sums), mean(stiff)


def main() -> None:
    """Print the table."""
    bakeries = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print("mean error of the dough, °C")
    for memories in range(3):
        print(f"  first night, {memories} remembered mixes: {first_night(bakeries, memories):.2f}")
    for logged in (1, 3, 5, 20):
        print(f"  after {logged:2d} logged mixes:             {after(bakeries, logged):.2f}")
    ours, sums, stiff = through_a_year(max(4, bakeries // 6))
    print(f"  a year, a mix every six days:      {ours:.2f}")
    print(f"    three-term sum, re-tuned each time: {sums:.2f}; friction kept: {stiff:.2f}")


if __name__ == "__main__":
    main()

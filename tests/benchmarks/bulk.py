"""How long the fermentation of a day takes: `python -m tests.benchmarks.bulk`.

Forty doughs of all curves and sizes, each from 312 starts and 21 dough temperatures to the first,
ripe and last minute of its window; and one dough read off the mixer answered with its new times.
Medians of several runs in one process.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

from dataclasses import replace
from statistics import median
from time import perf_counter

import numpy as np

from planner.bakery import Chamber, ChamberKind
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.evaluation import bulk_result
from planner.night import Night
from planner.ripening import Curve, HoursAt, Ripening
from planner.rises import Rise, dough_rise
from tests.planner.builders import bakery, day, night_of

STARTS = np.arange(312) * 5.0
DOUGHS = np.linspace(19.0, 29.0, 21)
SIZES_KG = (8.0, 20.0, 45.0, 80.0, 150.0)
WAYS = (
    (Curve.YEAST, 1.5, "room"),
    (Curve.YEAST, 2.5, "room"),
    (Curve.LEVAIN, 4.0, "room"),
    (Curve.ACID, 3.0, "room"),
    (Curve.YEAST, 2.0, "cold"),
)


def rises() -> list[Rise]:
    """Return forty doughs: five sizes, five ways, so that a fifth stands in a cold chamber."""
    cold = Chamber("cold", "cold room", ChamberKind.RETARDER, Estimate(14.0), 20)
    night = Night(day(bakery=bakery(chambers=(cold,))), night_of(25.0), Corrections())
    ways = [
        (size, Ripening(HoursAt(hours, 25.0), curve, place))
        for size in SIZES_KG
        for curve, hours, place in WAYS
    ]
    return [dough_rise(night, way, kg, 25.0) for kg, way in (ways * 2)[:40]]


def tables(all_rises: list[Rise]) -> float:
    """Return seconds for the windows of all doughs from all starts and temperatures."""
    began = perf_counter()
    for rise in all_rises:
        rise.window(rise.path(STARTS[:, None], DOUGHS[None, :], until_window_ends=True))
    return perf_counter() - began


def live(rise: Rise) -> float:
    """Return seconds for one dough that came off two degrees warm."""
    began = perf_counter()
    bulk_result(rise, 400.0, 27.0, 0.4, 500.0, 1.0)
    return perf_counter() - began


def main() -> None:
    """Print medians."""
    doughs = rises()
    shells = sum(not stay.body.is_lumped for rise in doughs for stay in rise.stays)
    runs = [tables(doughs) for _ in range(5)]
    print(f"windows of 40 doughs x 312 starts x 21 temperatures, {shells} of them in shells:")
    print(f"  median {median(runs):.2f} s, worst {max(runs):.2f} s")
    for rise in (doughs[0], replace(doughs[4]), doughs[19]):
        answers = [live(rise) for _ in range(50)]
        print(f"  one live answer: median {1000 * median(answers):.1f} ms")


if __name__ == "__main__":
    main()

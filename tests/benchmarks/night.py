"""How long a demo night takes: medians of several runs in one process.

Run with ``.venv/bin/python -m tests.benchmarks.night [scenario] [runs]``. Prints, does not judge:
seconds differ from machine to machine.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import sys
from pathlib import Path
from statistics import median
from time import perf_counter

from api.files.toml_day import load
from planner import Limits, Reading, ReadingKind, answer, make_plan
from planner.pins import Progress
from planner.planned import Plan

FOLDER = Path(__file__).parents[2] / "scenarios"


def run(name: str) -> tuple[dict[str, float], Plan]:
    """Plan once; return seconds to each mark and the plan."""
    day, conditions, pins = load((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    marks: dict[str, float] = {}
    began = perf_counter()

    def told(progress: Progress) -> bool:
        marks.setdefault(progress.stage, perf_counter() - began)
        return True

    plan = make_plan(day, conditions, pins=pins, limits=Limits(), on_progress=told)
    marks["published"] = perf_counter() - began
    mix = plan.mixes[0]
    reading = Reading("r", ReadingKind.FLOUR_C, mix.id, mix.start_utc, 25.0)
    began = perf_counter()
    answer(plan, reading)
    marks["one reading answered"] = perf_counter() - began
    return marks, plan


def main() -> None:
    """Print medians over the runs."""
    name = sys.argv[1] if len(sys.argv) > 1 else "july_night"
    runs = [run(name) for _ in range(int(sys.argv[2]) if len(sys.argv) > 2 else 3)]
    plan = runs[-1][1]
    print(f"{name}: {len(plan.mixes)} mixes, {len(runs)} runs, default limits {plan.limits}")
    for stage in dict.fromkeys(stage for marks, _ in runs for stage in marks):
        seconds = [marks[stage] for marks, _ in runs if stage in marks]
        print(f"  {stage:40s} median {median(seconds):7.3f} s, worst {max(seconds):7.3f} s")
    points = [p.points.first_stage + p.points.freshness for _, p in runs]
    print(f"  points {points}, status {[str(p.status) for _, p in runs]}")


if __name__ == "__main__":
    main()

"""Random days through the whole planner: published plans, replans, and what cannot be.

Measures for ``python -m tests.benchmarks.days``; the full model, with all that the product adds to
the core model of `core_day`.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from math import inf
from time import perf_counter, process_time

from planner import Breakdown, Limits, Reading, ReadingKind, make_plan, replan
from planner.pins import Progress
from planner.planned import Plan
from planner.replan import REPLAN_LIMITS
from tests.benchmarks.day_judge import judge
from tests.benchmarks.lived import plan_lived
from tests.benchmarks.random_days import Kind, at, random_day

SEED = 7
FOUR = at(28.0)
WARM_K = 2.0
STOPPED_MIN = 40
LISTED = Limits(seed=SEED, list_only=True)

Row = dict[str, float]


@dataclass
class Timer:
    """Seconds of processor and wall since it was made, and when which stage was told."""

    told: dict[str, tuple[float, float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.cpu, self.wall = process_time(), perf_counter()

    def __call__(self) -> tuple[float, float]:
        return process_time() - self.cpu, perf_counter() - self.wall

    def hear(self, progress: Progress) -> None:
        """Note when a stage is told first."""
        self.told.setdefault(progress.stage, self())


def full(kind: Kind, options: argparse.Namespace) -> Row:
    """Measure a whole plan: the list alone, and with the search, of the full model."""
    made = random_day(kind)
    timer = Timer()
    listed = make_plan(made.day, made.conditions, limits=LISTED)
    list_cpu, list_wall = timer()
    timer = Timer()
    limits = Limits(solve_s=3600.0, deterministic_s=2.5 * options.limit, seed=SEED)
    plan = make_plan(made.day, made.conditions, limits=limits)
    cpu, wall = timer()
    verdict = judge(plan_lived(plan))[0]
    return {
        "listed cpu": list_cpu,
        "listed wall": list_wall,
        "listed points": listed.points.first_stage,
        "cpu": cpu,
        "wall": wall,
        "points": plan.points.first_stage,
        "bound": plan.bound or 0.0,
        "proved": float(plan.status.value == "optimal"),
        "late": verdict.late_loads,
        "out": verdict.out,
        "ice kg": verdict.ice_kg,
        "unplaced": len(plan.unplaced),
        "judged": _judged(listed) + _judged(plan),
    }


def _judged(plan: Plan) -> int:
    """Return how much the two judges of the product found."""
    return sum(r.code.startswith("judge_") for r in plan.remarks)


def again(kind: Kind, _: argparse.Namespace) -> Row:
    """Measure a replan at 04:00: a dough 2 °C too warm, the busiest mixer down for 40 min."""
    made = random_day(kind)
    before = make_plan(made.day, made.conditions, limits=LISTED)
    events = (_warm(before), _stopped(before))
    timer = Timer()
    quick = replace(REPLAN_LIMITS, seed=SEED, list_only=True, to_the_minute=False)
    first = replan(before, FOUR, events, limits=quick)
    first_cpu, first_wall = timer()
    timer = Timer()
    after = replan(before, FOUR, events, limits=replace(REPLAN_LIMITS, seed=SEED))
    cpu, wall = timer()
    moved = _moved_min(before, after)
    return {
        "first cpu": first_cpu,
        "first wall": first_wall,
        "final cpu": cpu,
        "final wall": wall,
        "moved": sum(minutes > 0 for minutes in moved),
        "furthest min": max(moved, default=0.0),
        "late before": _late(before),
        "late first": _late(first),
        "late": _late(after),
        "unplaced": len(after.unplaced) - len(before.unplaced),
        "judged": _judged(first) + _judged(after),
    }


def _warm(plan: Plan) -> Reading:
    """Return a reading of the dough that came off last before four, 2 °C above its ticket."""
    mix = max((m for m in plan.mixes if m.mix_end_utc <= FOUR), key=lambda m: m.mix_end_utc)
    value_c = mix.ticket.expected_c + WARM_K
    return Reading("warm", ReadingKind.DOUGH_END_C, mix.id, mix.mix_end_utc, value_c)


def _stopped(plan: Plan) -> Breakdown:
    """Return the breakdown of the mixer with most starts in the next hour."""

    def starts(mixer_id: str) -> int:
        hour = FOUR + timedelta(hours=1)
        return sum(m.mixer_id == mixer_id and FOUR < m.start_utc <= hour for m in plan.mixes)

    busiest = max((m.id for m in plan.day.bakery.mixers), key=starts)
    return Breakdown(busiest, FOUR, FOUR + timedelta(minutes=STOPPED_MIN))


def _late(plan: Plan) -> int:
    return sum(r.code == "late" for r in plan.remarks)


def _moved_min(before: Plan, after: Plan) -> list[float]:
    """Return by how much each mix starts at another time [min]."""
    were = {m.id: m.start_utc for m in before.mixes if m.id not in before.unplaced}
    return [_apart_min(were[m.id], m.start_utc) for m in after.mixes if m.id in were]


def _apart_min(one: datetime, other: datetime) -> float:
    return abs((one - other).total_seconds()) / 60


def cannot(kind: Kind, _: argparse.Namespace) -> Row:
    """Measure how soon it is named why a day cannot be as it was asked: nobody comes at 05:00."""
    made = random_day(kind)
    night = tuple(s for s in made.day.shifts if s.end_utc <= at(30.0))
    timer = Timer()
    plan = make_plan(
        replace(made.day, shifts=night), made.conditions, limits=LISTED, on_progress=timer.hear
    )
    cpu, wall = timer()
    told = [seconds for stage, seconds in timer.told.items() if stage.startswith("not all")]
    known_cpu, known_wall = told[0] if told else (inf, inf)
    return {
        "known cpu": known_cpu,
        "known wall": known_wall,
        "plan cpu": cpu,
        "plan wall": wall,
        "causes": sum(r.code.startswith("cannot_") for r in plan.remarks),
    }

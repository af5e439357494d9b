"""Random days measured: how long planning takes, and what the plans are worth.

Run with ``python -m tests.benchmarks.days WHAT [--sizes 20,40] [--loads 62,80]
[--weathers normal,hot] [--seeds 1-10] [--limit 20] [--workers 2]``. WHAT is one of

- ``stage``: option tables, list pass and check, first stage until it is proved;
- ``worth``: lateness, windows and ice of the plans against the clock rule, as foreseen and in
  nights that turn out otherwise, and the same plans with hindsight;
- ``full``: the whole planner on the full model, list alone and with the search;
- ``replan``: at 04:00 a dough is 2 °C too warm and the busiest mixer stops for 40 min;
- ``cannot``: days that cannot be as asked, and how soon that is named.

Prints one line a day, then medians and worst; judges nothing. Seconds are of processor time of the
process (all threads) and of the wall; on a machine with other work only the first mean something.
The limit is in the solver's own deterministic time, so that it is the same on a busy machine.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from itertools import groupby
from os import getloadavg
from statistics import mean, median
from time import perf_counter

from planner.scheduling import list_pass
from planner.scheduling.check import check
from planner.scheduling.cpsat.running import Limits
from planner.scheduling.cpsat.solve import better_first_stage
from planner.scheduling.schedule import Schedule
from tests.benchmarks.clock_rule import best_rule
from tests.benchmarks.core_day import Posed, posed
from tests.benchmarks.day_judge import Verdict, judge, perturbed, with_hindsight
from tests.benchmarks.lived import schedule_lived
from tests.benchmarks.random_days import LOADS, SEEDS, SIZES, WARMER_K, Kind, all_kinds
from tests.benchmarks.whole_days import SEED, Row, Timer, again, cannot, full

NIGHTS = 20


def stage(kind: Kind, options: argparse.Namespace) -> Row:
    """Measure one day up to the proof of its first stage."""
    return searched(posed(kind), options)[1]


def searched(day: Posed, options: argparse.Namespace) -> tuple[Schedule, Row]:
    """Return the schedule of a core day after its first stage, and what it took."""
    timer = Timer()
    listed = list_pass.build(day.problem, seed=SEED)
    list_cpu, list_wall = timer()
    timer = Timer()
    findings = check(day.problem, listed)
    check_cpu, _ = timer()
    timer = Timer()
    limits = Limits(3600.0, 2.5 * options.limit, options.workers, SEED)
    found = better_first_stage(day.problem, listed, limits, None)
    cpu, wall = timer()
    findings += check(day.problem, found.schedule)
    return found.schedule, {
        "tables cpu": day.tables_cpu_s,
        "list cpu": list_cpu,
        "list wall": list_wall,
        "check cpu": check_cpu,
        "publish cpu": day.tables_cpu_s + list_cpu + check_cpu,
        "listed": listed.points.first_stage,
        "stage cpu": cpu,
        "stage wall": wall,
        "work": found.deterministic_s,
        "points": found.schedule.points.first_stage,
        "bound": found.bound,
        "proved": float(found.proved),
        "unplaced": len(found.schedule.unplaced),
        "findings": len(findings),
    }


def worth(kind: Kind, options: argparse.Namespace) -> Row:
    """Judge the plan of one day beside the clock rule."""
    day = posed(kind)
    schedule, row = searched(day, options)
    lived = schedule_lived(day, schedule)
    rule = best_rule(day)
    plain = judge(lived)[0]
    other = perturbed(len(lived.mixes), NIGHTS, kind.seed)
    rule_other = perturbed(len(rule.lived.mixes), NIGHTS, kind.seed)
    return row | {
        "late": plain.late_loads,
        "out": plain.out,
        "out %": 100 * plain.share,
        "ice kg": plain.ice_kg,
        "rule °C": rule.dough_c,
        "rule slack": rule.slack_min,
        "rule late": rule.verdict.late_loads,
        "rule out %": 100 * rule.verdict.share,
        "rule ice kg": rule.verdict.ice_kg,
        "perturbed %": _mean_share(judge(lived, other)),
        "hindsight %": _mean_share(with_hindsight(lived, other)),
        "rule perturbed %": _mean_share(judge(rule.lived, rule_other)),
    }


def _mean_share(verdicts: list[Verdict]) -> float:
    return 100 * mean(v.share for v in verdicts)


MEASURES: dict[str, Callable[[Kind, argparse.Namespace], Row]] = {
    "stage": stage,
    "worth": worth,
    "full": full,
    "replan": again,
    "cannot": cannot,
}


def numbers(text: str) -> Iterator[int]:
    """Read ``1-3,7`` as 1, 2, 3, 7."""
    for piece in text.split(","):
        first, _, last = piece.partition("-")
        yield from range(int(first), int(last or first) + 1)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.days")
    parser.add_argument("what", choices=list(MEASURES))
    parser.add_argument("--sizes", default=",".join(str(s) for s in SIZES))
    parser.add_argument("--loads", default=",".join(f"{100 * x:.0f}" for x in LOADS))
    parser.add_argument("--weathers", default=",".join(WARMER_K))
    parser.add_argument("--seeds", default=f"{SEEDS[0]}-{SEEDS[-1]}")
    parser.add_argument("--limit", type=float, default=20.0, help="first stage at most [s of work]")
    parser.add_argument("--workers", type=int, default=2)
    return parser.parse_args()


def print_row(name: str, row: Row) -> None:
    """Print one line of figures."""
    print(name, "  ".join(f"{key} {value:.4g}" for key, value in row.items()), flush=True)


def main() -> None:
    """Measure the days asked for."""
    options = _options()
    kinds = all_kinds(
        tuple(numbers(options.sizes)),
        tuple(n / 100 for n in numbers(options.loads)),
        tuple(options.weathers.split(",")),
        tuple(numbers(options.seeds)),
    )
    print(f"{len(kinds)} days; load of the machine {getloadavg()[0]:.1f}; {vars(options)}")
    began, rows = perf_counter(), []
    for done, kind in enumerate(kinds, 1):
        row = MEASURES[options.what](kind, options)
        rows.append((kind, row))
        left = (perf_counter() - began) / done * (len(kinds) - done)
        print_row(f"{kind.name} ({left / 60:.0f} min to go)", row)
    for group, members in groupby(rows, key=lambda r: (r[0].mixes, r[0].load, r[0].weather)):
        same = [row for _, row in members]
        for word, way in (("median", median), ("worst", max)):
            together = {key: way(row[key] for row in same) for key in same[0]}
            print_row(f"{word:6s} {group[0]} mixes {group[1]:.0%} {group[2]}", together)


if __name__ == "__main__":
    main()

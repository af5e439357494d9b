"""The days of the benchmarks: posed, planned, run by the clock, and judged on the true curves."""

from __future__ import annotations

import pytest

from planner import Limits, make_plan
from planner.scheduling import list_pass
from planner.scheduling.check import check
from tests.benchmarks.clock_rule import DOUGHS_C, SLACKS_MIN, best_rule, drawn_at, run_rule
from tests.benchmarks.core_day import posed
from tests.benchmarks.day_judge import judge, judge_all, perturbed, with_hindsight
from tests.benchmarks.lived import plan_lived, schedule_lived
from tests.benchmarks.random_days import Kind, random_day

SMALL = Kind(4, 0.62, "normal", 1)


@pytest.fixture(scope="module")
def day():
    return posed(SMALL)


@pytest.fixture(scope="module")
def lived(day):
    schedule = list_pass.build(day.problem, seed=7)
    assert check(day.problem, schedule) == []
    return schedule_lived(day, schedule)


def test_the_judge_that_knows_no_search_finds_the_list_in_its_windows(lived):
    (verdict,) = judge(lived)
    assert (verdict.late_loads, verdict.out) == (0, 0)
    assert verdict.bulks == 4


def test_a_dough_divided_an_hour_late_is_outside(lived):
    """Its bulk takes two hours at most, of which 15 in 100 may be over."""
    first, *others = lived.mixes
    late = [type(first)(**(vars(first) | {"divide": first.divide + 60, "loads": ()})), *others]
    assert judge(type(lived)(**(vars(lived) | {"mixes": tuple(late)})))[0].bulks_out == 1


def test_many_ways_judged_in_one_go_are_judged_as_each_alone(day):
    drawn = {batch.id: drawn_at(day, batch, DOUGHS_C[:2]) for batch in day.batches}
    came = {one: (a[:, 1], b[:, 1]) for one, (a, b) in drawn.items()}
    ways = [run_rule(day, DOUGHS_C[1], slack, came) for slack in SLACKS_MIN[::2]]
    assert judge_all(ways) == [judge(way)[0] for way in ways]


def test_hindsight_misses_no_more_than_the_clock(lived):
    nights = perturbed(len(lived.mixes), 5, 1)
    by_clock = sum(v.out for v in judge(lived, nights))
    assert sum(v.out for v in with_hindsight(lived, nights)) <= by_clock


def test_the_rule_is_taken_at_its_best(day):
    rule = best_rule(day)
    assert rule.dough_c in DOUGHS_C
    assert rule.verdict.bulks + rule.lived.missing >= 4


def test_a_whole_plan_is_judged_likewise():
    made = random_day(SMALL)
    plan = make_plan(made.day, made.conditions, limits=Limits(list_only=True))
    assert judge(plan_lived(plan))[0].out == 0

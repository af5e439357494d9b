"""Breaks: windows worked out by hand, and nights in which somebody has one, or cannot.

Practitioner case U06 carries its number.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.breaks import joined, rests_from_now, rests_of
from planner.crew import BreakRule
from planner.day import Order, Shift
from planner.errors import InputError
from planner.estimate import Estimate
from planner.pins import Limits
from planner.plan import make_plan
from planner.planned import PlannedTask
from planner.replan import replan
from planner.ripening import ByTheClock, Curve, Ripening
from planner.scheduling.problem import Rest, Worker
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of

QUICK = Limits(list_only=True)
SIX_HOURS = BreakRule(360, 20)
FOUR_AND_A_HALF, SIX = BreakRule(270, 15), BreakRule(360, 30)
HOUR = 60


@pytest.mark.parametrize(
    ("hours", "rules", "rests"),
    [
        # Six hours are not more than six; a minute more is.
        ([(0, 360)], [SIX_HOURS], ()),
        ([(0, 361)], [SIX_HOURS], (Rest(20, 60, 281),)),
        # Two stretches that touch are one of eight hours: the break begins after 100 to 360 min,
        # so that neither part is longer than 360.
        ([(0, 240), (240, 480)], [SIX_HOURS], (Rest(20, 100, 360),)),
        # A split shift has none.
        ([(0, 240), (600, 840)], [SIX_HOURS], ()),
        # Both rules: 30 min, and nobody works for longer than 270.
        ([(100, 580)], [FOUR_AND_A_HALF, SIX], (Rest(30, 280, 370),)),
        # Ten hours in stretches of up to 270: shares of 200, so two breaks, each 35 either way.
        ([(0, 600)], [FOUR_AND_A_HALF, SIX], (Rest(30, 165, 235), Rest(15, 365, 435))),
    ],
)
def test_u06_rules_of_the_house_give_windows(hours, rules, rests):
    assert rests_of(hours, rules) == rests


@pytest.mark.parametrize("length", [361, 480, 540, 700, 1000, 1400])
def test_wherever_breaks_begin_nobody_works_longer_than_the_rule(length):
    rests = rests_of([(0, length)], [SIX_HOURS])
    starts = [[rest.from_min for rest in rests], [rest.by_min for rest in rests]]
    for early, late in zip([0, *starts[0]], [*starts[1], length], strict=True):
        worked_from = early and early + SIX_HOURS.break_min
        assert late - worked_from <= SIX_HOURS.over_min


def test_touching_hours_are_one():
    assert joined([(60, 90), (0, 60), (100, 100)]) == [(0, 90)]


def test_a_break_as_long_as_the_work_is_refused():
    with pytest.raises(InputError, match="as long as the work"):
        BreakRule(60, 60)


def one_person(*, rules=(SIX_HOURS,), orders=3, **changes):
    """Ada alone from 02:00 to 10:00, as ten to eighteen hours after the span begins."""
    lines = tuple(Order(f"o{i}", "loaf", 20, at(17.5)) for i in range(orders))
    values = {
        "bakery": bakery(breaks=rules),
        "lines": lines,
        "shifts": (Shift("ada", at(10), at(18)),),
    }
    return day(**(values | changes))


@pytest.mark.parametrize("minutes", [20, 30])
def test_u06_one_person_from_two_to_ten_has_a_break_without_hands_on_work(minutes):
    """20 min when working over six hours; elsewhere 30. Working and waiting are separate."""
    plan = make_plan(one_person(rules=(BreakRule(360, minutes),)), night_of(), limits=QUICK)
    (rest,) = [t for t in plan.tasks if t.kind == "break"]
    assert rest.end_utc - rest.start_utc == timedelta(minutes=minutes)
    assert rest.person_id == "ada"
    assert at(11) <= rest.start_utc <= at(16)
    work = [t for t in plan.tasks if t.kind != "break"]
    assert not [t for t in work if t.start_utc < rest.end_utc and rest.start_utc < t.end_utc]
    assert not plan.unplaced
    assert "rest" not in {r.code for r in plan.remarks}


def test_u06_a_break_is_kept_when_the_night_is_searched_and_timed_to_the_minute():
    searched = Limits(deterministic_s=1.0, workers=1)
    plan = make_plan(one_person(), night_of(), limits=searched)
    (rest,) = [t for t in plan.tasks if t.kind == "break"]
    work = [t for t in plan.tasks if t.kind != "break"]
    assert [t for t in work if t.start_utc.minute % 5], "timed to the minute"
    assert not [t for t in work if t.start_utc < rest.end_utc and rest.start_utc < t.end_utc]
    assert "rest" not in {r.code for r in plan.remarks}


def test_u06_a_break_that_is_not_possible_says_what_to_move():
    """Ada divides for six and a half of her eight hours.

    Scaled and mixed in 20 min and ripe in about 40, the dough is divided from the first hour on
    and, if it shall be done by ten, from half past three at the latest: 390 min without a stop.
    The break would have to begin from 100 to 360 min after two. Bea only loads the oven.
    """
    quick = Ripening(ByTheClock(40, 24.0), Curve.YEAST, "room")
    ada, bea = bakery().people[0], replace(bakery().people[0], id="bea", name="Bea")
    long_divide = one_person(
        bakery=bakery(breaks=(SIX_HOURS,), people=(ada, bea)),
        formulas=(lean_dough(bulk=quick),),
        products=(loaf(shape_min_per_piece=Estimate(6.5), pieces_per_place=60),),
        lines=(Order("o1", "loaf", 60, at(20)),),
        shifts=(Shift("ada", at(10), at(18)), Shift("bea", at(18), at(20))),
    )
    plan = make_plan(long_divide, night_of(), limits=QUICK)
    assert not plan.unplaced
    (said,) = [r for r in plan.remarks if r.code == "rest"]
    figures = {f.name: f.value for f in said.figures}
    assert figures == {"name": "Ada", "minutes": 0.0, "detail": "move divide o1"}
    assert not [t for t in plan.tasks if t.kind == "break"]


def test_nobody_plans_breaks_unless_they_are_entered():
    plan = make_plan(one_person(rules=()), night_of(), limits=QUICK)
    assert not [t for t in plan.tasks if t.kind == "break"]


def test_a_break_that_was_had_stays_where_it_was_in_a_replan():
    plan = make_plan(one_person(), night_of(), limits=QUICK)
    (had,) = [t for t in plan.tasks if t.kind == "break"]
    later = replan(plan, had.end_utc, [])
    assert [t for t in later.tasks if t.kind == "break"] == [had]


def test_no_break_to_come_lies_in_the_past():
    ann = Worker("ann", ((0, 480),), rests=(Rest(20, 100, 360),))
    assert rests_from_now(day(), [ann], (), 200)[0].rests == (Rest(20, 200, 360),)
    assert rests_from_now(day(), [ann], (), 400)[0].rests == (Rest(20, 400, 400),)
    had = PlannedTask("break", "ann", at(2), at(2) + timedelta(minutes=20), "ann", "")
    assert rests_from_now(day(), [ann], (had,), 200)[0].rests == (Rest(20, 120, 120),)

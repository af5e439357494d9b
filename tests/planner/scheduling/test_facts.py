"""What has begun lies on the grid and has its hands, or is named; small days, worked by hand."""

from __future__ import annotations

from dataclasses import replace

from planner.scheduling.check import check
from planner.scheduling.facts import facts_on_grid, with_hands_for_facts
from planner.scheduling.problem import (
    NOBODY,
    Load,
    OvenChoice,
    OvenPlaces,
    Rest,
    Route,
    StandingLoad,
    Worker,
)
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import listed, searched, starts

ALONE = (Worker("ann", ((0, 300),)),)


def begun(one_id: str, start: int, **changes: object):
    """A mix that started at a minute, on a mixer of its own."""
    own = {"mixer_ids": (one_id,), "earliest_start": start, "latest_start": start, "held": True}
    return plain_job(one_id, **(own | changes))


def in_oven(one_id: str, at: int, hold_min: int, bake_c: int | None = None) -> StandingLoad:
    oven = OvenChoice("o", 1, hold_min)
    load = Load(one_id, 0, (Route("room", 0),), (oven,), 40, 0, held=True, bake_c=bake_c)
    return StandingLoad(load, at, at, 300)


def test_facts_beside_the_grid_stand_at_the_slot_after_them():
    # Divided at 43, in its oven at 91: 45 and 95. What may still be chosen keeps its bounds.
    day = plain_day(
        plain_job("a", divide_from=43, divide_by=43),
        plain_job("b", divide_from=43, divide_by=60),
        standing=(in_oven("s", 91, 38),),
    )
    fact, choice = facts_on_grid(day).jobs
    assert (fact.divide_from, fact.divide_by) == (45, 45)
    assert (choice.divide_from, choice.divide_by) == (43, 60)
    assert facts_on_grid(day).standing[0].load_from == 95


def test_loads_one_behind_the_other_on_a_belt_stay_so_on_the_grid():
    # On the belt from 91 to 104 and from 104 to 117: from 95 to 105 and from 105 to 120, where
    # 13 min each from 95 and 105 on would take three slots, and meet.
    belt = OvenPlaces("o", 1, 0, gap_min=10)
    day = plain_day(standing=(in_oven("s", 91, 13), in_oven("t", 104, 13)), ovens=(belt,))
    on_grid = facts_on_grid(day)
    assert [s.load.ovens[0].hold_min for s in on_grid.standing] == [10, 15]
    assert [at.load_start for at in searched(on_grid).standing] == [95, 105]


def test_what_is_in_one_oven_already_is_not_kept_apart_by_its_heat():
    # 240 and 210 °C side by side, as somebody has put them: both stay. A third waits until both
    # are out and the oven has changed: 40 min from 10 on, and 30 K at 1 K/min.
    oven = OvenPlaces("o", 3, 0, heats_k_per_min=5.0, cools_k_per_min=1.0)
    hot, mild = in_oven("s", 0, 40, 240), in_oven("t", 10, 40, 210)
    load = replace(plain_load("a.1"), bake_c=180)
    job = plain_job("a", loads=(load,), options=options(proof=(0, 200)), latest_start=0)
    day = plain_day(job, standing=(hot, mild), ovens=(oven,))
    schedule = searched(day)
    assert [at.load_start for at in schedule.standing] == [0, 10]
    # 60 K from the first: 40 + 60; 30 K from the second: 10 + 40 + 30.
    assert schedule.jobs[0].loads[0].load_start == 100


def test_work_that_has_begun_and_finds_no_hands_is_named_and_stays():
    # Ann alone divides a from 40 to 50; b, begun at 5, is folded 30 min after its mixing, from 45
    # to 50. It is minute 42: nobody folds it. c is to come, and scaled when she is free, at 50.
    a = begun("a", 0, divide_from=40, divide_by=40)
    b = begun("b", 5, folds_min=(30,), options=options((60,)))
    c = plain_job("c", scale_min=10, earliest_start=55, latest_start=80)
    day = with_hands_for_facts(plain_day(a, b, c, workers=ALONE), 42)
    assert [w.person_id for w in day.workers] == ["ann", f"{NOBODY}later 1"]
    assert day.workers[1].hours == ((45, 50),)
    schedule = searched(day)
    assert starts(schedule) == [0, 5, 60]
    assert [(u.code, u.minutes) for u in schedule.unmet] == [("nobody", 5)]
    done = {(t.kind, t.subject): t.person_id for t in schedule.hands_on}
    assert sorted([done["divide", "a"], done["fold", "b"]]) == ["ann", f"{NOBODY}later 1"]


def test_what_lies_before_now_was_done_by_somebody():
    # As above, seen at 60: nothing is said of it.
    a = begun("a", 0, divide_from=40, divide_by=40)
    b = begun("b", 5, folds_min=(30,), options=options((60,)))
    day = with_hands_for_facts(plain_day(a, b, workers=ALONE), 60)
    schedule = listed(day)
    assert schedule.unmet == ()
    assert starts(schedule) == [0, 5]


def test_who_has_their_break_already_is_missing_from_what_has_begun():
    # Ann has her break from 35 to 55, as the night went; a is divided at 40 all the same.
    ann = Worker("ann", ((0, 300),), rests=(Rest(20, 35, 35),))
    a = begun("a", 0, divide_from=40, divide_by=40)
    day = with_hands_for_facts(plain_day(a, workers=(ann,)), 45)
    assert [w.hours for w in day.workers[1:]] == [((40, 45),), ((45, 50),)]
    schedule = listed(day)
    assert [r.start for r in schedule.rests] == [35]
    assert check(day, schedule) == []


def test_a_night_that_fits_has_nobody_more():
    day = plain_day(begun("a", 0), plain_job("b"), workers=ALONE)
    assert with_hands_for_facts(day, 20) == day


def test_a_ripe_load_leaves_the_hands_that_what_has_begun_needs():
    # Ann alone: a, begun at 0, is folded from 40 to 45. s is ripe until 40, and is loaded at 45.
    a = begun("a", 0, folds_min=(30,), options=options((60,)))
    item = StandingLoad(plain_load("s"), 40, 40, 300)
    schedule = listed(plain_day(a, standing=(item,), workers=ALONE))
    assert [at.load_start for at in schedule.standing] == [45]
    assert starts(schedule) == [0]

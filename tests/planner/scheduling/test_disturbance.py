"""Rules of a night that is replanned, and of pinned orders: each solved by hand.

A mix runs 10 min, bulks 30, is divided in 10; without the rule the answer would be the one in
brackets.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.scheduling.check import check
from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import Closed, OvenPlaces, StandingLoad, Weights
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import listed, searched, starts

NEAR = Weights(moved_per_slot=1, other_mixer=3)
PROOF_30 = options(proof=(30, 60))


def rules(day, schedule):
    """Names of the rules that the check finds broken."""
    return {finding.rule for finding in check(day, schedule)}


def test_a_mix_stays_where_the_plan_in_force_has_it():
    # It was at 60 and nothing is in its way: 60. (0)
    day = plain_day(plain_job(was_start=60), weights=NEAR)
    assert starts(searched(day)) == [60]


def test_a_mix_whose_place_is_taken_moves_as_little_as_it_can():
    # The other is fixed from 55 to 65; it was at 60 (12 slots): 65 is one slot off, 45 three. (0)
    fixed = plain_job("a", earliest_start=55, latest_start=55)
    day = plain_day(fixed, plain_job("b", was_start=60), weights=NEAR)
    schedule = searched(day)
    assert {j.job_id: j.start for j in schedule.jobs} == {"a": 55, "b": 65}
    assert schedule.points.moved == 1


def test_a_slot_moved_counts_less_than_another_mixer():
    # On m it could start at 30, two slots later (2 points); on n at its hour (3 points). (n at 20)
    fixed = plain_job("a", earliest_start=20, latest_start=20)
    other = plain_job("b", mixer_ids=("m", "n"), was_start=20, was_mixer_id="m")
    schedule = searched(plain_day(fixed, other, weights=NEAR))
    placed = next(j for j in schedule.jobs if j.job_id == "b")
    assert (placed.mixer_id, schedule.points.moved) == ("m", 2)
    assert placed.start in {10, 30}


def test_four_slots_moved_count_more_than_another_mixer():
    # The fixed mix runs 40 min from 0: on m it could start at 40, four slots off (4); n costs 3.
    fixed = plain_job("a", mix_min=40, latest_start=0)
    other = plain_job("b", mixer_ids=("m", "n"), was_start=20, was_mixer_id="m")
    schedule = searched(plain_day(fixed, other, weights=NEAR))
    placed = next(j for j in schedule.jobs if j.job_id == "b")
    assert (placed.mixer_id, placed.start, schedule.points.moved) == ("n", 20, 3)


def test_a_load_stays_at_its_hour():
    # Divided at 40, shaped by 50, ripe from 80 to 110; it was loaded at 95. (80)
    load = replace(plain_load(), was_start=95)
    job = plain_job(loads=(load,), options=PROOF_30, latest_start=0)
    schedule = searched(plain_day(job, weights=NEAR))
    assert [at.load_start for at in schedule.jobs[0].loads] == [95]


def test_an_inherited_load_stays_at_its_hour():
    load = replace(plain_load("s"), was_start=65)
    day = plain_day(standing=(StandingLoad(load, 30, 90, 300),), weights=NEAR)
    assert searched(day).standing[0].load_start == 65


def test_a_move_never_costs_a_window_or_lateness():
    # It was loaded at 150, ripe until 110: past its window costs 400 a slot, moving 1 a slot.
    load = replace(plain_load(), was_start=150)
    job = plain_job(loads=(load,), options=PROOF_30, latest_start=0)
    schedule = searched(plain_day(job, weights=NEAR))
    assert [at.load_start for at in schedule.jobs[0].loads] == [110]


def test_a_mixer_that_is_out_of_order_for_a_while_is_waited_for():
    # Out from 0 to 35: the mix starts at 35. (0)
    day = plain_day(plain_job(), closed=(Closed("m", 0, 35),))
    schedule = searched(day)
    assert starts(schedule) == [35]
    early = replace(schedule.jobs[0], start=30, mix_end=40, divide_start=70, divide_end=80)
    assert "nothing_runs_out_of_order" in rules(day, replace(schedule, jobs=(early,)))


def test_a_mix_that_has_begun_stays_in_a_mixer_that_stopped():
    day = plain_day(plain_job(held=True, latest_start=0), closed=(Closed("m", 5, 300),))
    assert starts(searched(day)) == [0]


def test_an_oven_that_is_out_of_order_takes_nothing_and_lets_nothing_burn():
    # Ripe from 80 to 140, 30 in the oven, which is out from 100 to 115: 115. (80 to 110 would be
    # in it when it stops, so would every start after 70.)
    job = plain_job(loads=(plain_load(),), options=options(proof=(30, 90)), latest_start=0)
    day = plain_day(job, closed=(Closed("o", 100, 115),))
    schedule = searched(day)
    assert schedule.jobs[0].loads[0].load_start == 115
    placed = schedule.jobs[0]
    load = replace(placed.loads[0], load_start=90, out=120)
    assert "nothing_runs_out_of_order" in rules(
        day, replace(schedule, jobs=(replace(placed, loads=(load,)),))
    )


def test_what_is_in_the_oven_stays_in_it():
    load = replace(plain_load("s"), held=True)
    day = plain_day(standing=(StandingLoad(load, 0, 0, 300),), closed=(Closed("o", 10, 300),))
    assert searched(day).standing[0].load_start == 0


def test_a_build_waits_for_its_mixer():
    # Out until 60, ready an hour after its start: the build at 60, the mix at 120. (0 and 60)
    build = Preparation("l", tuple(Lag(k, 60, 300) for k in range(10)), 0, ("n",), 10)
    job = plain_job(preparation_ids=("l",))
    day = plain_day(job, preparations=(build,), closed=(Closed("n", 0, 60),))
    schedule = searched(day)
    assert (schedule.builds[0].start, starts(schedule)) == (60, [120])


def test_of_two_mixes_the_one_with_priority_keeps_its_place():
    # One mixer, both must start at 0: only one can. (either)
    first, second = (plain_job(i, latest_start=0, priority=p) for i, p in (("a", 1), ("b", 2)))
    schedule = searched(plain_day(first, second))
    assert schedule.unplaced == ("a",)
    assert schedule.points.unplaced == 60_000


def test_keep_pinned_order():
    # a after b, each on its own mixer, 10 min: b at 0, a at 10. (0 and 0)
    jobs = plain_job("a", after_ids=("b",)), plain_job("b", mixer_ids=("n",))
    day = plain_day(*jobs)
    schedule = searched(day)
    assert {j.job_id: j.start for j in schedule.jobs} == {"b": 0, "a": 10}
    swapped = [replace(j, start=0, mix_end=10, divide_start=40, divide_end=50) for j in
               schedule.jobs]  # fmt: skip
    assert "pins_kept" in rules(day, replace(schedule, jobs=tuple(swapped)))


def test_an_order_that_cannot_be_kept_is_named_and_priced():
    # a must start at 0, b cannot before 60, yet a should come after b.
    jobs = (
        plain_job("a", after_ids=("b",), latest_start=0),
        plain_job("b", mixer_ids=("n",), earliest_start=60),
    )
    schedule = searched(plain_day(*jobs))
    assert [(u.code, u.subject, u.minutes) for u in schedule.unmet] == [("pin", "a", 70)]
    assert schedule.points.windows == plain_day().weights.pin


@pytest.mark.parametrize("first", ["a", "b"])
def test_the_list_pass_keeps_an_order_whichever_it_places_first(first):
    jobs = [plain_job("a", after_ids=("b",)), plain_job("b", mixer_ids=("n",))]
    priorities = {"a": 1, "b": 1} | {first: 9}
    day = plain_day(*(replace(j, priority=priorities[j.id]) for j in jobs))
    assert listed(day).unmet == ()


def test_two_ovens_when_one_stops():
    # Loaded at 80 in o by the plan in force; o is out from 70 on: to the other at the same hour.
    load = replace(plain_load(), ovens=(*plain_load().ovens, replace(plain_load().ovens[0],
                   oven_id="p")), was_start=80)  # fmt: skip
    job = plain_job(loads=(load,), options=PROOF_30, latest_start=0)
    day = plain_day(
        job,
        ovens=(OvenPlaces("o", 1, 0), OvenPlaces("p", 1, 0)),
        closed=(Closed("o", 70, 300),),
        weights=NEAR,
    )
    at = searched(day).jobs[0].loads[0]
    assert (at.oven_id, at.load_start) == ("p", 80)

"""Heat of ovens: one small day per rule, solved by hand, and the fault that is found.

A load goes in 80 after the start of its mix and bakes for 30; in brackets the answer without the
rule.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.scheduling.check import check
from planner.scheduling.heat import least_between
from planner.scheduling.problem import Load, OvenChoice, OvenPlaces, Problem
from planner.scheduling.schedule import Schedule
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import listed, searched, starts

HEATS_FAST = OvenPlaces("o", 2, 0, heats_k_per_min=3.0, cools_k_per_min=1.0)
COOLS_FAST = OvenPlaces("o", 2, 0, heats_k_per_min=1.0, cools_k_per_min=3.0)
BELT = OvenPlaces("o", 1, 0, gap_min=15)


def broken(day: Problem, schedule: Schedule) -> set[str]:
    return {finding.rule for finding in check(day, schedule)}


def baked(one_id: str, mixer_id: str, bake_c: int | None, **choice: object):
    load = plain_load(f"{one_id}.1")
    load = replace(load, bake_c=bake_c, ovens=(replace(load.ovens[0], **choice),))
    return plain_job(one_id, mixer_ids=(mixer_id,), options=options(proof=(30, 30)), loads=(load,))


def two(oven: OvenPlaces, *bake_c: int | None, **choice: object) -> Problem:
    """Two mixes of one oven load each, on mixers of their own."""
    jobs = (baked(i, m, c, **choice) for i, m, c in zip("ab", "mn", bake_c, strict=True))
    return plain_day(*jobs, ovens=(oven,))


def by_job(schedule: Schedule) -> dict[str, int]:
    return {job.job_id: job.start for job in schedule.jobs}


def test_an_oven_that_heats_fast_takes_the_cooler_bread_first():
    # 30 K up take 10 min: 30 + 10 after the cooler one. Down they would take 30: 0 and 60. (0, 0)
    assert by_job(searched(two(HEATS_FAST, 240, 210))) == {"b": 0, "a": 40}


def test_an_oven_that_cools_fast_takes_the_hotter_bread_first():
    assert by_job(searched(two(COOLS_FAST, 240, 210))) == {"a": 0, "b": 40}


@pytest.mark.parametrize("bake_c", [(240, 240), (240, 235), (240, None)])
def test_bread_of_like_heat_shares_an_oven(bake_c):
    assert starts(searched(two(HEATS_FAST, *bake_c))) == [0, 0]


def test_change_and_recovery_go_on_together():
    # Held for 45, and ready for the other heat after 30 + 10: 45. (0 and 40)
    assert by_job(searched(two(HEATS_FAST, 240, 210, hold_min=45))) == {"b": 0, "a": 45}


def test_a_load_keeps_its_places_as_long_as_they_recover_from_it():
    # One place, 30 of baking and 15 of recovery from so heavy a load: 45. (30)
    day = two(OvenPlaces("o", 1, 0), None, None, hold_min=45)
    assert starts(searched(day)) == [0, 45]


def test_an_oven_that_cools_takes_each_bread_while_it_is_hot_enough():
    # As hot as b wants it from 90 to 100 only, as a from 130 on: 10 and 50. (0 and 0)
    day = plain_day(
        baked("a", "m", 210, hot_from=130),
        baked("b", "n", 240, hot_from=90, hot_by=100),
        ovens=(OvenPlaces("o", 2, 0),),
    )
    assert by_job(searched(day)) == {"b": 10, "a": 50}


def test_bread_is_not_put_off_until_its_oven_is_too_cool():
    # Not before 10, and hot enough until 100: in at 90. Bread that leaves late would rather go in
    # at 170, as near to leaving as it can. (a start of 90)
    job = replace(baked("a", "m", 240, hot_by=100), earliest_start=10, leave_by=200)
    day = plain_day(job, ovens=(OvenPlaces("o", 2, 0),))
    for schedule in (listed(day), searched(day)):
        (load,) = schedule.jobs[0].loads
        assert load.load_start <= 100
    assert starts(searched(day)) == [20]


def test_a_belt_takes_like_loads_one_behind_the_other():
    # 10 min until the last piece is on it. (30)
    assert starts(searched(two(BELT, 240, 240, hold_min=10))) == [0, 10]


def test_a_belt_is_left_empty_where_its_heat_changes():
    assert starts(searched(two(BELT, 240, 200, hold_min=10))) == [0, 25]


def test_a_belt_is_left_empty_where_its_speed_changes():
    # One takes 20 min on the belt, the other 25: after 10 of loading, 15 empty.
    day = two(BELT, 240, 240, hold_min=10)
    slow = replace(day.jobs[1].loads[0], bake_min=35)
    day = replace(day, jobs=(day.jobs[0], replace(day.jobs[1], loads=(slow,))))
    assert starts(searched(day)) == [0, 25]


def test_the_way_up_and_down_again_is_never_shorter_than_none():
    """What holds between neighbours holds between all: no triangle is shorter than its side."""
    loads = [Load(str(c), 0, (), (OvenChoice("o", 1),), 30, 0, c) for c in (250, 230, 190)]
    for one in loads:
        for middle in loads:
            for other in loads:
                direct = least_between(HEATS_FAST, one, other)
                legs = (
                    least_between(HEATS_FAST, one, middle),
                    least_between(HEATS_FAST, middle, other),
                )
                if direct is not None and None not in legs:
                    assert direct <= sum(leg for leg in legs if leg is not None)


def test_check_finds_unlike_bread_in_one_oven():
    sound = listed(two(HEATS_FAST, 240, 240))
    assert broken(two(HEATS_FAST, 240, 210), sound) == {"ovens_change_heat"}
    sound = listed(two(HEATS_FAST, 210, 240))
    assert broken(two(COOLS_FAST, 210, 240), sound) == {"ovens_change_heat"}


def test_check_finds_a_belt_without_its_gap():
    sound = listed(two(BELT, 240, 240, hold_min=10))
    assert broken(two(BELT, 240, 200, hold_min=10), sound) == {"ovens_change_heat"}


def test_check_finds_bread_in_an_oven_that_is_too_hot_or_not_hot_enough():
    sound = listed(two(OvenPlaces("o", 2, 0), 240, 240))
    for window in ({"hot_from": 85}, {"hot_by": 75}):
        assert broken(two(OvenPlaces("o", 2, 0), 240, 240, **window), sound) == {"ovens_hot_enough"}


def test_check_finds_a_place_that_has_not_recovered():
    sound = listed(two(OvenPlaces("o", 1, 0), None, None))
    assert broken(two(OvenPlaces("o", 1, 0), None, None, hold_min=31), sound) == {"ovens_hold"}

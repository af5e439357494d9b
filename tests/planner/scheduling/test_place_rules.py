"""Bench, tubs, room racks and chambers' weight: one small day each, and the fault that is found.

A mix runs 10 min, bulks 30, is divided in 10; in brackets the answer without the rule.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.scheduling.check import check
from planner.scheduling.problem import BENCH, TUBS, WEIGHT, OvenPlaces, Problem, Route
from planner.scheduling.schedule import Schedule
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import listed, searched, starts

PROOF_30 = options(proof=(30, 30))
LARGE, SMALL = f"{TUBS}large", f"{TUBS}small"
HEAVY = f"{WEIGHT}c"


def on(mixer_id: str, one_id: str, **changes: object):
    return plain_job(one_id, mixer_ids=(mixer_id,), **changes)


def with_bench():
    return plain_day(on("m", "a", bench=1), on("n", "b", bench=1), racks={BENCH: 1})


def test_one_bench_place_takes_one_divide_at_once():
    # Divides from 40 to 50 and from 50 to 60: 0 and 10. (0 and 0)
    assert starts(searched(with_bench())) == [0, 10]


def test_a_second_bench_place_takes_the_second_divide():
    assert starts(searched(replace(with_bench(), racks={BENCH: 2}))) == [0, 0]


def with_tubs(**there: int):
    """Each mix takes one large tub or two small ones."""
    either = (((LARGE, 1),), ((SMALL, 2),))
    racks = {f"{TUBS}{name}": count for name, count in there.items()}
    return plain_day(on("m", "a", tubs=either), on("n", "b", tubs=either), racks=racks)


def test_a_tub_is_kept_from_the_end_of_mixing_to_the_divide():
    # One large tub: from 10 to 40, then from 40 on: 0 and 30. (0 and 0)
    assert starts(searched(with_tubs(large=1, small=1))) == [0, 30]


def test_small_tubs_take_what_the_large_one_does_not():
    schedule = searched(with_tubs(large=1, small=2))
    assert starts(schedule) == [0, 0]
    assert {job.tubs for job in schedule.jobs} == {0, 1}


def test_a_dough_for_which_there_are_no_tubs_is_named():
    schedule = searched(with_tubs(large=0, small=1))
    assert {(u.subject, u.code, u.detail) for u in schedule.unmet} == {
        (i, "no_place", "there are not tubs enough for it") for i in "ab"
    }


def with_room_racks(racks: int):
    """Pieces proof in the room on one rack each, from 50 to 80 after their start."""
    loads = {i: replace(plain_load(f"{i}.1"), routes=(Route("room", 1),)) for i in "ab"}
    jobs = [on(m, i, options=PROOF_30, loads=(loads[i],)) for i, m in ("am", "bn")]
    return plain_day(*jobs, ovens=(OvenPlaces("o", 2, 0),), racks={"room": racks})


@pytest.mark.parametrize(("racks", "second"), [(1, 30), (2, 0)])
def test_racks_of_a_room_are_counted_where_they_are_entered(racks, second):
    # One rack: proofs from 50 to 80 and from 80 to 110. (both from 50)
    assert starts(searched(with_room_racks(racks))) == [0, second]


def with_weight(most_g: int):
    """A bulk of 20 kg in the chamber, from 30 on; pieces of 15 kg stand there from 50 to 80."""
    bulk = on("m", "a", tubs=(((HEAVY, 20_000),),), earliest_start=20)
    load = replace(plain_load("b.1"), routes=(Route("c", 1, holds=((HEAVY, 15_000),)),))
    pieces = on("n", "b", options=PROOF_30, loads=(load,), latest_start=0)
    return plain_day(bulk, pieces, racks={"c": 9, HEAVY: most_g})


@pytest.mark.parametrize(("most_g", "start"), [(35_000, 20), (34_000, 70)])
def test_a_chamber_bears_bulks_and_loads_up_to_its_weight(most_g, start):
    # Both weigh 35 kg. If that is too much, the bulk goes in when the pieces are out: mixed to 80.
    assert starts(searched(with_weight(most_g))) == [0, start]


def test_check_finds_too_many_divides():
    sound = listed(with_bench())
    assert broken(replace(with_bench(), racks={BENCH: 0}), sound) == {"bench_and_tubs_hold"}


def test_check_finds_too_few_tubs_and_unknown_ones():
    day = with_tubs(large=1, small=2)
    sound = listed(day)
    fewer = replace(day, racks={LARGE: 1, SMALL: 1})
    assert broken(fewer, sound) == {"bench_and_tubs_hold"}
    unknown = replace(sound, jobs=(replace(sound.jobs[0], tubs=2), *sound.jobs[1:]))
    assert broken(day, unknown) == {"bench_and_tubs_hold"}


def test_check_finds_too_heavy_a_chamber():
    sound = listed(with_weight(35_000))
    assert broken(with_weight(34_000), sound) == {"chambers_bear"}


def test_check_finds_too_few_racks_in_a_room():
    assert broken(with_room_racks(1), listed(with_room_racks(2))) == {"chambers_hold"}


def broken(day: Problem, schedule: Schedule) -> set[str]:
    return {finding.rule for finding in check(day, schedule)}

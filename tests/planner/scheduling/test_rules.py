"""One small day per rule, solved by hand; without the rule the answer would be the one in brackets.

A mix runs 10 min, bulks 30, is divided in 10. Nothing leaves at a given time, so the search
makes the sum of the starts small once the points are.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import OvenPlaces, Route, StandingLoad, Store, Worker
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import searched, starts

ALONE = (Worker("ann", ((0, 300),)),)
PROOF_30 = options(proof=(30, 30))


def on(mixer_id: str, one_id: str, **changes: object):
    return plain_job(one_id, mixer_ids=(mixer_id,), **changes)


def test_keep_one_mix_per_mixer():
    # One mixer, 10 min each: 0 and 10. (0 and 0)
    assert starts(searched(plain_day(plain_job("a"), plain_job("b")))) == [0, 10]


def test_second_mixer_takes_the_second_mix():
    # Two mixers that both fit: nothing is in the way.
    jobs = [plain_job(i, mixer_ids=("m", "n")) for i in "ab"]
    assert starts(searched(plain_day(*jobs))) == [0, 0]


def test_keep_clean_down_between_colours():
    # Rye and white differ both ways: 10 min mix and 20 min cleaning. (0 and 10)
    jobs = plain_job("a", colour_class="rye"), plain_job("b", colour_class="white")
    day = plain_day(*jobs, clean_down_min={"m": 20})
    assert starts(searched(day)) == [0, 30]


def test_adding_an_allergen_needs_no_cleaning():
    # Nuts after plain needs none: plain first at 0, nuts at 10; the other order would be 0 and 30.
    nuts = plain_job("a", allergens=frozenset({"nuts"}))
    day = plain_day(nuts, plain_job("b"), clean_down_min={"m": 20})
    assert {j.job_id: j.start for j in searched(day).jobs} == {"b": 0, "a": 10}


def test_keep_people_within_hours_of_work():
    # Ann comes at 60 and scales for 10: 70. (10)
    day = plain_day(plain_job(scale_min=10), workers=(Worker("ann", ((60, 300),)),))
    assert starts(searched(day)) == [70]


def test_nobody_divides_outside_their_hours():
    # Away from 20 to 100; the divide is 40 after the start, so the start is 60. (0)
    day = plain_day(plain_job(), workers=(Worker("ann", ((0, 20), (100, 300))),))
    assert starts(searched(day)) == [60]


def test_scaling_takes_a_person():
    # One person, two mixers: scaling from 0 to 10 and from 10 to 20. (10 and 10; divides, 50 to
    # 60 and 60 to 70, would then be together, so a second person comes at 45)
    day = plain_day(
        on("m", "a", scale_min=10),
        on("n", "b", scale_min=10),
        workers=(*ALONE, Worker("bob", ((45, 300),))),
    )
    assert starts(searched(day)) == [10, 20]


def test_mixing_by_hand_takes_a_person():
    # One person until 35: mixing by hand from 0 and from 10. (0 and 0)
    day = plain_day(
        on("m", "a", attended=True),
        on("n", "b", attended=True),
        workers=(*ALONE, Worker("bob", ((35, 300),))),
    )
    assert starts(searched(day)) == [0, 10]


def test_folds_take_a_person():
    # A fold from 20 to 25 of each, one person until 30: the second starts 5 later. (0 and 0)
    day = plain_day(
        on("m", "a", folds_min=(10,)),
        on("n", "b", folds_min=(10,)),
        workers=(*ALONE, Worker("bob", ((30, 300),))),
    )
    assert starts(searched(day)) == [0, 5]


def test_fold_after_the_divide_is_left_out():
    # The fold would be due at 35 of a bulk of 30: nobody needs to be there for it.
    day = plain_day(plain_job(folds_min=(35,)), workers=ALONE)
    schedule = searched(day)
    assert [task.kind for task in schedule.hands_on] == ["divide"]


def test_keep_folds_inside_bulk():
    # Divided from 40 on: bulk 30 from a start at 0, with a fold from 30 to 35, or bulk 20 from a
    # start at 10, which has none. Ann is alone until 38: 0 and 5, with both folds. (0 and 0;
    # without the fold of one it would be 0 and 10)
    day = plain_day(
        on("m", "a", options=options((20, 30)), folds_min=(20,), divide_from=40),
        on("n", "b", options=options((20, 30)), folds_min=(20,), divide_from=40),
        workers=(*ALONE, Worker("bob", ((38, 300),))),
    )
    schedule = searched(day)
    assert starts(schedule) == [0, 5]
    assert [task.kind for task in schedule.hands_on].count("fold") == 2


def test_dividing_takes_a_person():
    # One person divides from 40 to 50 and from 50 to 60: 0 and 10. (0 and 0)
    assert starts(searched(plain_day(on("m", "a"), on("n", "b"), workers=ALONE))) == [0, 10]


def baked(one_id: str, mixer_id: str, **changes: object):
    """Into the oven 80 after its start (10 + 30 + 10 + proof 30), bakes 30."""
    changes = {"options": PROOF_30, "loads": (plain_load(f"{one_id}.1"),)} | changes
    return on(mixer_id, one_id, **changes)


def test_keep_loads_within_oven():
    # One place: loads at 80 and 110, so 0 and 30. (0 and 0)
    assert starts(searched(plain_day(baked("a", "m"), baked("b", "n")))) == [0, 30]


def test_oven_recovers_between_loads():
    # 30 min of baking and 10 of recovery: 0 and 40. (0 and 30)
    day = plain_day(baked("a", "m"), baked("b", "n"), ovens=(OvenPlaces("o", 1, 10),))
    assert starts(searched(day)) == [0, 40]


def test_second_place_takes_the_second_load():
    day = plain_day(baked("a", "m"), baked("b", "n"), ovens=(OvenPlaces("o", 2, 10),))
    assert starts(searched(day)) == [0, 0]


def test_keep_racks_within_chamber():
    # One rack, held from 50 to 80: the next from 80 on, so 0 and 30. (0 and 0)
    jobs = [baked(i, m, loads=(plain_load(f"{i}.1", racks=1),)) for i, m in ("am", "bn")]
    assert starts(searched(plain_day(*jobs, ovens=(OvenPlaces("o", 2, 0),)))) == [0, 30]


def test_inherited_load_holds_its_rack_until_it_is_loaded():
    # Loaded from 100 on, baked for 30, leaves at 130: loaded at 100. The new load wants the rack
    # 50 after its start: 50. (0)
    standing = StandingLoad(plain_load("s", racks=1), 100, 150, 130)
    day = plain_day(
        baked("a", "m", loads=(plain_load("a.1", racks=1),)),
        standing=(standing,),
        ovens=(OvenPlaces("o", 2, 0),),
    )
    schedule = searched(day)
    assert starts(schedule) == [50]
    assert schedule.standing[0].load_start == 100


def moved_on(one_id: str):
    """A load that proofs in the room and goes on to the chamber after 10 min."""
    return replace(plain_load(f"{one_id}.1"), routes=(Route("room", 1, ("c",), (10,)),))


def test_a_rack_is_kept_for_a_load_that_comes_to_it():
    # One rack, for both loads from the start of their proofs, 50: so 0 and 30. (0 and 0)
    jobs = [baked(i, m, loads=(moved_on(i),)) for i, m in ("am", "bn")]
    assert starts(searched(plain_day(*jobs, ovens=(OvenPlaces("o", 2, 0),)))) == [0, 30]


def test_moving_a_load_takes_a_person():
    # Ann is away from 60 to 66; the move is due 60 after the start: the start is 10, divided from
    # 50 to 60. (0)
    day = plain_day(
        baked("a", "m", loads=(moved_on("a"),)),
        workers=(Worker("ann", ((0, 60), (66, 300))),),
    )
    schedule = searched(day)
    assert starts(schedule) == [10]
    assert [(t.kind, t.start) for t in schedule.hands_on if t.kind == "move"] == [("move", 70)]


def test_moving_a_bulk_takes_a_person_and_is_called_a_move():
    # As with a fold: from 20 to 25 of each, one person until 30. (0 and 0)
    day = plain_day(
        on("m", "a", folds_min=(10,), moves_min=(10,)),
        on("n", "b", folds_min=(10,), moves_min=(10,)),
        workers=(*ALONE, Worker("bob", ((30, 300),))),
    )
    schedule = searched(day)
    assert starts(schedule) == [0, 5]
    assert {t.kind for t in schedule.hands_on} == {"move", "divide"}


def test_keep_loading_in_proof_window():
    # Loaded at 120 as pinned; 50 to its proof, proof 30 to 40: the start is 30 to 40. (0)
    job = baked("a", "m", options=options(proof=(30, 40)), load_at=120)
    schedule = searched(plain_day(job))
    assert starts(schedule) == [30]
    assert schedule.jobs[0].loads[0].load_start == 120


def test_keep_ice_within_store():
    # 600 g there, 600 g made each half hour, 600 g each: the second in the second half hour,
    # which begins with the 600 g made in the first. (0 and 0)
    jobs = [on(m, i, options=options(ice_g=600)) for i, m in ("am", "bn")]
    assert starts(searched(plain_day(*jobs, ice=Store(600, 1200, 600)))) == [0, 60]


def test_ice_that_is_not_made_goes_to_one_mix_only():
    # 1 kg for two mixes of 600 g: one goes without, at its 50 points; the other pays 4 for
    # 600 g of ice at 6 a kilo. (4 + 4)
    ways = options(ice_g=600) + options(cost=50)
    jobs = [on(m, i, options=ways) for i, m in ("am", "bn")]
    points = searched(plain_day(*jobs, ice=Store(1000, 0, 1000))).points
    assert (points.windows, points.ice) == (50, 4)


def test_keep_chilled_water_within_store():
    # 20 kg there, 10 kg each half hour, 15 kg each: 5 kg are left, 15 at the next half hour,
    # so that the second starts there. (0 and 0)
    jobs = [on(m, i, options=options(chilled_g=15_000)) for i, m in ("am", "bn")]
    day = plain_day(*jobs, chiller=Store(20_000, 20_000, 40_000))
    assert starts(searched(day)) == [0, 30]


def levain(**changes: object) -> Preparation:
    """Ready 60 to 65 after its start."""
    lags = tuple(Lag(k, 60, 65) for k in range(10))
    return replace(Preparation("levain", lags, 10), **changes)  # type: ignore[arg-type]


def test_keep_preparation_ahead_of_mix():
    # Begun at 0 and ready at 60. (0)
    day = plain_day(plain_job(preparation_ids=("levain",)), preparations=(levain(),))
    schedule = searched(day)
    assert starts(schedule) == [60]
    assert schedule.points.builds == 5


def test_one_build_feeds_both_mixes_inside_its_lag():
    # Two mixers: both at 60, from one build.
    jobs = [on(m, i, preparation_ids=("levain",)) for i, m in ("am", "bn")]
    schedule = searched(plain_day(*jobs, preparations=(levain(max_builds=2),)))
    assert starts(schedule) == [60, 60]
    assert len(schedule.builds) == 1


def test_mixes_too_far_apart_take_two_builds():
    # One mixer, so 10 apart, but a build is ready for 5 only: two builds, 10 points. (5)
    jobs = [plain_job(i, preparation_ids=("levain",)) for i in "ab"]
    schedule = searched(plain_day(*jobs, preparations=(levain(max_builds=2),)))
    assert starts(schedule) == [60, 70]
    assert schedule.points.builds == 10


def test_preparation_is_begun_only_in_buckets_that_have_a_lag():
    # No lag before 60: begun at 60, ready at 120. (60)
    lags = tuple(Lag(k, 60, 65) for k in range(2, 10))
    day = plain_day(plain_job(preparation_ids=("levain",)), preparations=(levain(lags=lags),))
    assert starts(searched(day)) == [120]


def test_preparation_takes_a_person():
    # Ann comes at 30: begun at 30, ready at 90. (60)
    day = plain_day(
        plain_job(preparation_ids=("levain",)),
        preparations=(levain(),),
        workers=(Worker("ann", ((30, 300),)),),
    )
    assert starts(searched(day)) == [90]


def test_preparation_takes_its_mixer():
    # The mix is pinned to 60 and wants the mixer then; the other, at 70, has its own levain that
    # is mixed from 10 to 20 on the same mixer, and so on: 10 min each, none at once.
    day = plain_day(
        plain_job("a", latest_start=0),
        plain_job("b", preparation_ids=("levain",)),
        preparations=(levain(mixer_ids=("m",), mix_min=10),),
    )
    schedule = searched(day)
    # a holds the mixer from 0 to 10, the levain from 10 on, b 60 later. (0 and 60)
    assert starts(schedule) == [0, 70]


def test_keep_divide_in_given_hours():
    # The divide is 40 after the start and not before 100: 60. (0)
    assert starts(searched(plain_day(plain_job(divide_from=100)))) == [60]


def test_divide_past_its_bulk_costs_by_the_slot():
    # Starts at 0 at the latest, divided at 60 at the soonest, bulk over at 40: 20 min are 4
    # slots of 400. (0)
    schedule = searched(plain_day(plain_job(latest_start=0, divide_from=60)))
    assert schedule.points.windows == 1600
    assert [(u.code, u.minutes) for u in schedule.unmet] == [("bulk_window", 20)]


def test_keep_first_on_mixer():
    # The short mix costs 10 from the second half hour on, so it would go first (0 and 10, no
    # points); the pinned long one must: 0 and 30, 10 points.
    ways = options(buckets=range(1)) + options(cost=10, buckets=range(1, 8))
    day = plain_day(plain_job("a", mix_min=30, first_on_mixer=True), plain_job("b", options=ways))
    schedule = searched(day)
    assert {j.job_id: j.start for j in schedule.jobs} == {"a": 0, "b": 30}
    assert schedule.points.windows == 10


def test_the_less_urgent_load_is_late():
    # One oven place: ready at 110 and 140, both leave at 110. 30 min late are 6 slots of 1000,
    # for the one of priority 1; the other way round it would be 18 000.
    day = plain_day(
        baked("a", "m", leave_by=110, priority=1),
        baked("b", "n", leave_by=110, priority=3),
    )
    schedule = searched(day)
    assert schedule.points.late == 6000
    assert [(u.code, u.subject, u.minutes) for u in schedule.unmet] == [("late", "a.1", 30)]


def test_count_early_mixes():
    # Before 60 a mix costs 3; an option of the third half hour costs nothing: 60. (0)
    schedule = searched(plain_day(plain_job(), early_before=60))
    assert starts(schedule) == [60]
    assert schedule.points.early == 0


@pytest.mark.parametrize(("cost", "start"), [(2, 0), (4, 60)])
def test_an_option_is_taken_when_it_is_cheaper_than_starting_early(cost, start):
    # The early bucket costs `cost` less than the later ones, but 3 for being early.
    ways = options(buckets=range(1)) + options(cost=5 - cost, buckets=range(2, 8))
    expected = 60 if 5 - cost < 3 else 0
    schedule = searched(plain_day(plain_job(options=ways), early_before=60))
    assert starts(schedule) == [expected] == [start]

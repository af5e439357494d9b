"""What binds a mix, found by moving it: each instance is solved by hand.

A mix runs 10 min, bulks 30, is divided in 10; a load bakes 30.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.reasons import BINDS
from planner.scheduling import list_pass
from planner.scheduling.bindings import NOTHING_RIPENS, SEVERAL, Beside, starts_of
from planner.scheduling.causes import RESOURCES
from planner.scheduling.problem import (
    BENCH,
    TUBS,
    WEIGHT,
    OvenPlaces,
    Rest,
    StandingLoad,
    Store,
    Worker,
)
from planner.scheduling.schedule import ScheduledJob
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load, random_day


def beside(day, one_id="a"):
    """The mix beside the list pass's schedule of a day."""
    return Beside(day, list_pass.build(day, seed=7), one_id, starts_of(day))


def test_a_free_mix_may_move():
    there = beside(plain_day(plain_job(earliest_start=60, latest_start=60)))
    assert (there.at(50).binds, there.at(70).binds) == ("", "")


def test_its_mixer_is_taken_by_the_next_mix():
    # b holds the mixer from 70 to 80; a at 60 may not start at 65, but at 50.
    day = plain_day(
        plain_job("a", earliest_start=60, latest_start=60),
        plain_job("b", earliest_start=70, latest_start=70),
    )
    assert (beside(day).at(65).binds, beside(day).at(50).binds) == ("mixers", "")


def test_nobody_is_there_sooner():
    # Ann comes at 50 and scales for 10: the start at 60 is the first.
    day = plain_day(
        plain_job(scale_min=10, earliest_start=60, latest_start=60),
        workers=(Worker("ann", ((50, 300),)),),
    )
    assert (beside(day).at(50).binds, beside(day).at(70).binds) == ("people", "")


def test_the_oven_is_full_sooner():
    # Another load is in the oven from 80 to 110; a is divided at 70, ripe at 110 exactly. Ten
    # minutes sooner it is ripe at 100 exactly.
    other = plain_job(
        "b", mixer_ids=("n",), loads=(plain_load("b.1"),), options=options(proof=(30, 30)),
        latest_start=0,
    )  # fmt: skip
    mine = plain_job(
        "a", loads=(plain_load("a.1"),), options=options(proof=(30, 30)), earliest_start=30,
        latest_start=30,
    )  # fmt: skip
    there = beside(plain_day(mine, other))
    assert there.at(20).binds == ""  # it may wait past its window, at a price
    assert there.at(20).window_min == 10
    assert there.at(40).window_min == 0


def test_somebody_has_their_break():
    # Ann has her break from 70 to 90; a is divided at 60 to 70. Ten minutes later it would be
    # divided in her break; ten sooner nothing is in its way.
    ann = Worker("ann", ((0, 300),), rests=(Rest(20, 70, 70),))
    there = beside(plain_day(plain_job(earliest_start=20, latest_start=20), workers=(ann,)))
    assert there.at(10).binds == ""
    assert (there.at(30).window_min, there.at(30).because) == (20, "breaks")


def test_bench_tubs_and_weight_bind():
    # b holds all there is from 40 on: it is mixed by then, or divided from then to 50. a, begun at
    # 60 with 20 min of bulk, has a place; begun at 20 it meets b.
    def with_b(name: str, **own: object):
        mine = plain_job("a", options=options((20,)), earliest_start=60, latest_start=60, **own)
        other = plain_job("b", mixer_ids=("n",), latest_start=0, **own)
        return beside(plain_day(mine, other, racks={name: 1})).at(10)

    bench = with_b(BENCH, bench=1)
    assert (bench.window_min, bench.because) == (10, "bench")
    tub = f"{TUBS}t"
    assert with_b(tub, tubs=(((tub, 1),),)).binds == "tubs"
    weight = f"{WEIGHT}c"
    assert with_b(weight, tubs=(((weight, 1),),)).binds == "weight"


def test_each_load_of_a_mix_is_judged_by_the_window_of_its_own_product():
    # A load of the second product proofs from 70 on and is ripe from 60 to 90 min later; another
    # is in the oven from 100 to 130. Ten minutes sooner it proofs 70 min, which is in its window,
    # though not in that of the first product.
    own = replace(plain_load("a.1"), first_route=1)
    both = tuple(replace(o, proofs_min=((30, 30), (60, 90))) for o in options())
    job = plain_job(loads=(own,), options=both, earliest_start=20, latest_start=20)
    day = plain_day(job, standing=(StandingLoad(plain_load("s"), 100, 100, 300),))
    assert beside(day).at(10).window_min == 0


def test_no_ice_left_for_it():
    # Four kilos in the bin, three taken by b in its half hour; a needs two from the second on.
    cold = tuple(o for o in (*options(ice_g=2000, buckets=range(1)), *options(buckets=range(1, 3))))
    day = plain_day(
        plain_job("a", options=cold, earliest_start=30, latest_start=30),
        plain_job("b", mixer_ids=("n",), options=options(ice_g=3000), latest_start=0),
        ice=Store(4000, 0, 4000),
    )
    assert beside(day).at(20).binds == "ice"


def test_no_option_there():
    day = plain_day(
        plain_job(options=options(buckets=range(2, 3)), earliest_start=60, latest_start=60)
    )
    assert beside(day).at(50).binds == "options"


def test_later_it_leaves_late_by_as_much():
    # 110 min from the start to the door: from 40 it leaves at 150, ten later ten late.
    job = plain_job(
        loads=(plain_load(),), options=options(proof=(30, 30)), leave_by=150, earliest_start=40,
        latest_start=40,
    )  # fmt: skip
    there = beside(plain_day(job))
    assert (there.at(50).late_min, there.at(40).late_min) == (10, 0)
    assert there.at(50).points >= 2000


def test_the_bench_is_full_sooner():
    # b, mixed from 45 to 55, has the bench from 85 to 95; a at 60 has it at 100. At 50 a would be
    # ripe at 90 and wait for 5.
    mine = plain_job("a", bench=1, earliest_start=60, latest_start=60)
    other = plain_job("b", mixer_ids=("n",), bench=1, earliest_start=45, latest_start=45)
    there = beside(plain_day(mine, other, racks={BENCH: 1})).at(50)
    assert (there.binds, there.window_min, there.because) == ("", 5, "bench")


def test_nobody_works_in_their_break():
    # Ann scales from 50 to 60 and rests from 30 to 50: at 50 the mix would be scaled from 40 on.
    ann = Worker("ann", ((0, 300),), rests=(Rest(20, 30, 30),))
    mine = plain_job(scale_min=10, earliest_start=60, latest_start=60)
    day = plain_day(mine, workers=(ann,))
    assert (beside(day).at(50).binds, beside(day).at(70).binds) == ("breaks", "")


def test_everything_that_can_bind_has_its_words():
    assert set(BINDS) == {*RESOURCES, NOTHING_RIPENS, SEVERAL}


def test_only_some_options():
    # The second option takes 20 of bulk at 7 points; at the same start it is divided at 30.
    both = (*options(), *options(bulks=(20,), cost=7))
    there = beside(plain_day(plain_job(options=both, earliest_start=0, latest_start=0)))
    dear = [i for i, o in enumerate(both) if o.bulk_min == 20]
    assert there.at(0, dear).points == 7
    assert there.at(0, []).binds == "options"


def test_a_try_leaves_no_trace():
    there = beside(plain_day(plain_job(earliest_start=60, latest_start=60)))
    assert [there.at(70) for _ in range(3)] == [there.at(70)] * 3


@pytest.mark.parametrize("seed", range(3))
def test_where_it_is_it_has_a_place_at_no_more_points(seed):
    """Put back at its own start and options, every mix of a crowded night fits again."""
    day = random_day(16, seed, 0.8)
    schedule = list_pass.build(day, seed=7)
    tables = starts_of(day)
    for job in schedule.jobs:
        again = Beside(day, schedule, job.job_id, tables).at(job.start)
        assert again.binds == ""
        assert again.points <= 0
        assert isinstance(job, ScheduledJob)


def test_two_ovens_one_full():
    # The other oven takes it: nothing binds.
    load = plain_load("a.1")
    either = replace(load, ovens=(*load.ovens, replace(load.ovens[0], oven_id="p")))
    mine = plain_job(
        "a", loads=(either,), options=options(proof=(30, 30)), earliest_start=30, latest_start=30
    )
    other = plain_job(
        "b", mixer_ids=("n",), loads=(plain_load("b.1"),), options=options(proof=(30, 30)),
        latest_start=0,
    )  # fmt: skip
    day = plain_day(mine, other, ovens=(OvenPlaces("o", 1, 0), OvenPlaces("p", 1, 0)))
    assert beside(day).at(20).window_min == 0


def test_whatever_binds_has_words():
    assert RESOURCES.keys() <= BINDS.keys()

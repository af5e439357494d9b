"""What cannot be is found by arithmetic: each cause on a day whose sum is done by hand.

A mix runs 10 min, bulks 30, is divided in 10; a load bakes 30 in one of the places of one oven.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.scheduling import list_pass
from planner.scheduling.contradictions import contradictions
from planner.scheduling.preparation import Lag, Preparation, Way
from planner.scheduling.problem import Closed, OvenPlaces, Route, StandingLoad, Store, Worker
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load, random_day

PROOF_30 = options(proof=(30, 60))
ANN = (Worker("ann", ((0, 300),)),)


def only(day):
    """The one contradiction of a day."""
    (found,) = contradictions(day)
    return found


def ways(found):
    return {w.code: (w.amount, w.subjects, w.points) for w in found.ways_out}


def baked(one_id, **changes):
    """A mix with one load that leaves from the oven."""
    values = {"loads": (plain_load(f"{one_id}.1"),), "options": PROOF_30} | changes
    return plain_job(one_id, **values)


def test_a_day_that_fits_has_none():
    assert contradictions(plain_day(baked("a", leave_by=200), plain_job("b"))) == ()


def test_too_short_from_the_first_start_to_the_door():
    # 10 mix, 30 bulk, 10 to the proof, 30 proof, 30 bake: 110 from a start at 0. Leaves at 90.
    found = only(plain_day(baked("a", leave_by=90)))
    assert (found.code, found.job_ids) == ("too_short", ("a",))
    assert (found.from_min, found.by_min, found.needed, found.there) == (0, 90, 110, 90)
    # 20 min late are four slots at 1000; leaving it out costs 60000.
    assert ways(found) == {
        "leave_later": (20, ("a",), 4000),
        "leave_out": (0, ("a",), 60_000),
        "start_sooner": (20, ("a",), None),
    }
    assert [w.code for w in found.ways_out] == ["leave_later", "leave_out", "start_sooner"]


def test_a_mix_that_no_mixer_takes():
    found = only(plain_day(plain_job("a", mixer_ids=())))
    assert (found.code, found.job_ids, found.unit) == ("no_mixer", ("a",), "mixers")
    assert ways(found)["leave_out"] == (0, ("a",), 60_000)


def test_a_load_larger_than_every_oven():
    found = only(plain_day(baked("a", loads=(plain_load("a.1", places=2),))))
    assert (found.code, found.resource_ids, found.needed, found.there) == ("no_oven", ("o",), 2, 1)


def test_more_oven_than_there_is_before_the_leave_by_hour():
    # Loads are ripe from 80 at the soonest and leave at 130: 50 min of one place, one load of 30
    # fits; two ask for 60.
    found = only(plain_day(baked("a", leave_by=130), baked("b", leave_by=130)))
    assert (found.code, found.resource_ids, found.unit) == ("ovens", ("o",), "place min")
    assert (found.from_min, found.by_min) == (80, 130)
    assert (found.needed, found.there) == (60, 50)
    assert set(found.job_ids) == {"a", "b"}
    # Ten minutes later for one of them, two slots; or one of the two left out.
    assert ways(found)["leave_later"] == (10, ("a", "b"), 2000)
    assert ways(found)["leave_out"] == (0, ("a",), 60_000)
    assert ways(found)["more"] == (10, ("a", "b"), None)


def test_recovery_counts_between_two_loads_and_not_after_the_last():
    # 60 min of baking and 10 of recovery between them from 80 to 150: just fits; to 145 not.
    ovens = (OvenPlaces("o", 1, 10),)
    fits = plain_day(baked("a", leave_by=150), baked("b", leave_by=150), ovens=ovens)
    assert contradictions(fits) == ()
    assert list_pass.build(fits, seed=7).unmet == ()
    short = only(plain_day(baked("a", leave_by=145), baked("b", leave_by=145), ovens=ovens))
    assert short.code == "ovens"
    assert short.needed - short.there == 5


def test_of_two_mixes_the_one_that_is_wanted_less_is_left_out():
    jobs = baked("a", leave_by=130, priority=2), baked("b", leave_by=130)
    assert ways(only(plain_day(*jobs)))["leave_out"] == (0, ("b",), 60_000)


def test_what_is_inherited_takes_oven_too():
    # It must go in from 80 to 100 and bakes 30 until 130 at the latest; so must the mix.
    load = replace(plain_load("s"))
    item = StandingLoad(load, 80, 100, 130)
    found = only(plain_day(baked("a", leave_by=130), standing=(item,)))
    assert set(found.job_ids) == {"a", "s"}


def test_an_oven_that_is_out_of_order_bakes_nothing():
    # From 80 to 130 there are 50 min, 25 of them closed: 25 for a load of 30.
    found = only(plain_day(baked("a", leave_by=130), closed=(Closed("o", 90, 115),)))
    assert (found.code, found.needed, found.there) == ("ovens", 30, 25)


def test_more_mixing_than_there_is_before_the_last_start():
    # In time from 0 to 20 (divide at 60 at the latest): three mixes of 10 in 30 min is full; a
    # fourth is 10 too many.
    jobs = [plain_job(i, divide_by=60, latest_start=20) for i in "abc"]
    assert contradictions(plain_day(*jobs)) == ()
    found = only(plain_day(*jobs, plain_job("d", divide_by=60, latest_start=20)))
    assert (found.code, found.resource_ids) == ("mixers", ("m",))
    assert (found.from_min, found.by_min, found.needed, found.there) == (0, 30, 40, 30)


def test_a_second_mixer_makes_room():
    jobs = [plain_job(i, mixer_ids=("m", "n"), divide_by=60, latest_start=20) for i in "abcd"]
    assert contradictions(plain_day(*jobs)) == ()


def test_hands_needed_in_an_hour_with_nobody():
    # The divide is at 40 exactly; Ann is away from 30 to 60 and comes back for 10 min from 60.
    day = plain_day(plain_job(latest_start=0), workers=(Worker("ann", ((0, 30), (60, 300))),))
    found = only(day)
    assert (found.code, found.from_min, found.by_min) == ("nobody", 40, 50)
    assert found.job_ids == ("a",)
    # Twenty minutes later somebody divides it, four slots past its window at 400.
    assert ways(found)["divide_later"][0] == 20
    assert ways(found)["more"] == (10, ("a",), None)


def test_nobody_is_there_to_scale():
    day = plain_day(
        plain_job(scale_min=10, earliest_start=20, latest_start=30),
        workers=(Worker("ann", ((60, 300),)),),
    )
    found = only(day)
    assert (found.code, found.from_min, found.by_min) == ("nobody", 10, 30)


def test_a_start_without_any_option_names_who_is_missing():
    # No option at all for a mix fixed to 20: nobody works before 60.
    day = plain_day(
        plain_job(scale_min=10, options=(), earliest_start=20, latest_start=20),
        workers=(Worker("ann", ((60, 300),)),),
    )
    assert only(day).code == "nobody"


def test_a_start_from_which_no_dough_ripens():
    assert only(plain_day(plain_job(options=()))).code == "no_start"


def test_more_work_than_hands():
    # Three divides of 10 between 40 and 60, two mixers more: Ann can do two.
    jobs = [plain_job(i, mixer_ids=(i,), divide_by=50, latest_start=10) for i in "abc"]
    found = only(plain_day(*jobs, workers=ANN))
    assert (found.code, found.resource_ids) == ("hands", ("ann",))
    assert (found.from_min, found.by_min, found.needed, found.there) == (40, 60, 30, 20)
    assert ways(found)["more"] == (10, ("a", "b", "c"), None)
    assert contradictions(plain_day(*jobs)) == ()  # four people


def test_more_racks_than_the_chamber_has():
    # Each load must proof 60 in the chamber of one rack from 50 on and be loaded by 150: 100 rack
    # minutes for two of 60.
    jobs = [
        plain_job(
            i,
            mixer_ids=(i,),
            loads=(plain_load(f"{i}.1", racks=1),),
            options=options(proof=(60, 90)),
            leave_by=180,
        )
        for i in "ab"
    ]
    ovens = (OvenPlaces("o", 2, 0),)
    found = only(plain_day(*jobs, ovens=ovens))
    assert (found.code, found.resource_ids, found.unit) == ("racks", ("c",), "rack min")
    assert (found.from_min, found.by_min, found.needed, found.there) == (50, 150, 120, 100)
    assert contradictions(plain_day(*jobs, ovens=ovens, racks={"c": 2})) == ()


def test_a_retarder_fuller_at_the_start_than_it_holds():
    items = [
        StandingLoad(replace(plain_load(i, racks=2), routes=(Route("c", 2),)), 30 * n, 250, 300)
        for n, i in enumerate("st")
    ]
    found = only(plain_day(standing=tuple(items), racks={"c": 3}))
    assert (found.code, found.resource_ids, found.needed, found.there) == ("overfull", ("c",), 4, 3)
    assert set(found.job_ids) == {"s", "t"}
    assert ways(found)["more"] == (1, ("s", "t"), None)


def levain(**changes):
    """Ripe from 60 to 90 min after its start, whatever the start; one build."""
    build = Preparation("l", tuple(Lag(k, 60, 90) for k in range(10)), 5)
    return replace(build, **changes)


def test_one_build_that_is_asked_to_serve_two_times_too_far_apart():
    # Ripe for 30 min; used at 70 and at 200.
    jobs = [
        plain_job("a", earliest_start=70, latest_start=70, preparation_ids=("l",)),
        plain_job("b", earliest_start=200, latest_start=200, preparation_ids=("l",)),
    ]
    found = only(plain_day(*jobs, preparations=(levain(),)))
    assert (found.code, found.resource_ids) == ("builds", ("l",))
    assert (found.needed, found.there, found.job_ids) == (2, 1, ("a", "b"))
    assert ways(found)["another_build"] == (1, ("b",), 5)
    assert ways(found)["leave_out"] == (0, ("b",), 60_000)
    assert contradictions(plain_day(*jobs, preparations=(levain(max_builds=2),))) == ()


def test_a_build_that_is_set_is_over_before_its_mix():
    # Set at 0: ripe until 90. The mix cannot start before 120.
    set_at_0 = levain(latest_start=0)
    job = plain_job("a", earliest_start=120, preparation_ids=("l",))
    found = only(plain_day(job, preparations=(set_at_0,)))
    assert (found.code, found.from_min, found.by_min) == ("builds", 60, 90)


def test_less_ice_than_every_way_takes():
    # 3 kg at least for each of two mixes; 1 kg in the bin and 0.5 kg an hour for five hours.
    jobs = [plain_job(i, options=options(ice_g=3000)) for i in "ab"]
    found = only(plain_day(*jobs, ice=Store(1000, 500, 9000)))
    assert (found.code, found.resource_ids, found.unit) == ("store", ("ice",), "g")
    assert (found.needed, found.there) == (6000, 3500)


def test_less_boiling_water_than_the_scalds_take():
    way = Way(hot_g=9000)
    scald = Preparation("s", tuple(Lag(k, 30, 200) for k in range(10)), 5, ways=(way,))
    job = plain_job("a", earliest_start=60, preparation_ids=("s",))
    day = plain_day(job, preparations=(scald,), kettle=Store(2000, 1000, 2000))
    # 2 kg and five hours of 1 kg.
    assert (only(day).needed, only(day).there) == (9000, 7000)


def test_two_mixes_pinned_to_one_mixer_at_once():
    jobs = [plain_job(i, earliest_start=s, latest_start=s) for i, s in (("a", 20), ("b", 25))]
    found = contradictions(plain_day(*jobs))
    assert [c.code for c in found] == ["pins", "mixers"]
    assert (found[0].from_min, found[0].by_min) == (25, 30)
    assert ways(found[0])["unpin"] == (5, ("b",), 0)


def test_a_loading_pinned_before_the_dough_can_be_ripe():
    found = only(plain_day(baked("a", load_at=60)))
    assert (found.code, found.from_min, found.by_min) == ("pins", 60, 80)


def test_an_order_that_goes_round_in_a_circle():
    jobs = plain_job("a", after_ids=("b",)), plain_job("b", after_ids=("a",))
    found = only(plain_day(*jobs))
    assert (found.code, found.job_ids) == ("order", ("a", "b"))


def test_an_order_that_the_hours_forbid():
    # a must start by 20, b not before 60 and is off its mixer at 70.
    jobs = (
        plain_job("a", after_ids=("b",), latest_start=20),
        plain_job("b", mixer_ids=("n",), earliest_start=60),
    )
    found = only(plain_day(*jobs))
    assert (found.code, found.needed, found.there) == ("order", 70, 20)


def test_what_is_hopeless_by_itself_does_not_hide_what_else_is_short():
    jobs = baked("a", leave_by=130), baked("b", leave_by=130), plain_job("c", mixer_ids=())
    assert [c.code for c in contradictions(plain_day(*jobs))] == ["no_mixer", "ovens"]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("load", "hot"), [(0.62, False), (0.9, True)])
def test_a_day_for_which_there_is_a_plan_has_none(seed, load, hot):
    """A sum that forbids what a checked plan does would be wrong."""
    day = random_day(14, seed, load, hot=hot)
    if list_pass.build(day, seed=7).unmet == ():
        assert contradictions(day) == ()


@pytest.mark.parametrize("seed", range(6))
def test_what_is_found_is_unmet_in_the_nearest_plan(seed):
    """Two places of each oven for a night of thirty mixes that needs several times as many."""
    day = random_day(30, seed)
    day = replace(day, ovens=(OvenPlaces("deck", 2, 5), OvenPlaces("rack", 2, 10)))
    assert {c.code for c in contradictions(day)} >= {"ovens"}
    assert list_pass.build(day, seed=7).unmet != ()

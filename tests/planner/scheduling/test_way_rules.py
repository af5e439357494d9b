"""Ways to make a preparation, chosen with its time: one small day per rule, solved by hand.

A mix runs 10 min, bulks 30, is divided in 10. A build costs 5 points. Its usual way costs nothing
more and takes what the rule is about; the other costs 3 and takes nothing. In brackets the points
without the rule. `searched` also solves each day without a list to begin with.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.scheduling.check import check
from planner.scheduling.cpsat.solve import solve
from planner.scheduling.preparation import Lag, Preparation, Way
from planner.scheduling.problem import VESSELS, StandingLoad, Store, Worker
from tests.planner.scheduling.days import plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import listed, nothing, searched

OTHER = Way(cost=3)
VESSEL = f"{VESSELS}v"
ENOUGH = Store(1000, 0, 1000)


def scald(one_id: str, *ways: Way, lag: int = 30, **changes: object) -> Preparation:
    """A scald that can be used so long after its start, up to an hour later, by each way."""
    lags = tuple(Lag(k, lag, lag + 60, way) for k in range(8) for way in range(len(ways)))
    return replace(Preparation(one_id, lags, 0, ways=ways), **changes)


def user(one_id: str, mixer_id: str = "m", latest: int = 45, **changes: object):
    return plain_job(
        one_id, mixer_ids=(mixer_id,), preparation_ids=(f"scald {one_id}",), latest_start=latest,
        **changes,
    )  # fmt: skip


def ways_of(schedule) -> list[int]:
    return sorted(build.way for build in schedule.builds)


def two_that_share(usual: Way, **changes: object):
    """Two mixes on two mixers, each with its scald, both from 30 to 45."""
    scalds = tuple(scald(f"scald {i}", usual, OTHER) for i in "ab")
    return plain_day(user("a"), user("b", "n"), preparations=scalds, **changes)


@pytest.mark.parametrize(("latest", "way", "points"), [(60, 1, 8), (100, 0, 5)])
def test_a_dearer_way_is_taken_where_the_usual_one_is_not_ready(latest, way, points):
    # Ready after 80 as usual, after 40 the other way; the mix starts by 60, or by 100.
    one = scald("scald a", Way(), OTHER)
    lags = tuple(Lag(k, 80 - 40 * w, 140, w) for k in range(8) for w in (0, 1))
    day = plain_day(user("a", latest=latest), preparations=(replace(one, lags=lags),))
    schedule = searched(day)
    assert ways_of(schedule) == [way]
    assert schedule.points.first_stage == points


def test_each_way_takes_hands_when_it_is_seen_to():
    # Set at 0 or 5, seen to from 35 to 45 or 40 to 50; Ann alone divides b from 40 to 50. (5)
    one = scald("scald a", Way(visits=((35, 10),)), OTHER, lag=60, latest_start=5)
    day = plain_day(
        user("a", latest=100),
        plain_job("b", mixer_ids=("n",), latest_start=0),
        preparations=(one,),
        workers=(Worker("ann", ((0, 300),)),),
    )
    schedule = searched(day)
    assert ways_of(schedule) == [1]
    assert schedule.points.first_stage == 8


def test_each_way_takes_its_own_work():
    # The usual way takes 20 min of Ann, who divides b from 40 to 50 and comes at 25. (5)
    one = scald("scald a", Way(work_min=20), OTHER, earliest_start=25, latest_start=45)
    day = plain_day(
        user("a", latest=80),
        plain_job("b", mixer_ids=("n",), latest_start=0),
        preparations=(one,),
        workers=(Worker("ann", ((25, 300),)),),
    )
    schedule = searched(day)
    assert ways_of(schedule) == [1]
    assert schedule.points.first_stage == 8


def test_a_way_keeps_racks_until_its_last_use():
    # The one rack is taken until 100; the mix starts by 45. (5)
    item = StandingLoad(plain_load("s", racks=1), 100, 100, 300)
    one = scald("scald a", Way(holds=(("c", 1),)), OTHER)
    day = plain_day(user("a"), preparations=(one,), standing=(item,))
    schedule = searched(day)
    assert ways_of(schedule) == [1]
    assert schedule.points.first_stage == 8


def test_a_way_keeps_its_vessel_until_its_last_use():
    # One vessel: a second scald could be set at 30 and used at 60, but its mix starts by 45. (10)
    day = two_that_share(Way(holds=((VESSEL, 1),)), racks={"c": 1, VESSEL: 1})
    schedule = searched(day)
    assert ways_of(schedule) == [0, 1]
    assert schedule.points.first_stage == 13


def test_one_vessel_does_for_two_where_there_is_time():
    # As above, with a mix that may start at 60: both as usual, one after the other.
    day = two_that_share(Way(holds=((VESSEL, 1),)), racks={"c": 1, VESSEL: 1})
    later = replace(day.jobs[1], latest_start=60)
    schedule = searched(replace(day, jobs=(day.jobs[0], later)))
    assert ways_of(schedule) == [0, 0]
    assert schedule.points.first_stage == 10
    assert sorted(build.start for build in schedule.builds) == [0, 30]


@pytest.mark.parametrize(
    ("usual", "store"),
    [
        (Way(ice_g=600), {"ice": ENOUGH}),
        (Way(chilled_g=600), {"chiller": ENOUGH}),
        (Way(hot_g=600), {"kettle": ENOUGH}),
    ],
)
def test_ways_share_ice_chilled_and_boiling_water(usual, store):
    # 600 g each of 1000 g that are not made again. (10)
    schedule = searched(two_that_share(usual, **store))
    assert ways_of(schedule) == [0, 1]
    assert schedule.points.first_stage == 13


def test_a_mix_and_a_scald_share_the_ice():
    # a's dough takes 600 g of 1000, its scald as usual 600 too. (5 and the ice)
    options = tuple(replace(o, ice_g=600) for o in plain_job().options)
    one = scald("scald a", Way(ice_g=600), OTHER)
    day = plain_day(user("a", options=options), preparations=(one,), ice=ENOUGH)
    schedule = searched(day)
    assert ways_of(schedule) == [1]
    assert schedule.points.first_stage == 8 + schedule.points.ice


def test_the_second_scald_waits_until_the_kettle_has_boiled_again():
    # A kettle of 600 g boils as much in half an hour, but stands full at the beginning of the
    # first, so that what it boils counts from 60 on: the second scald is set then, and its mix,
    # that may start until 105, from 90 on. (both in the first half hour)
    day = two_that_share(Way(hot_g=600), kettle=Store(600, 1200, 600))
    later = replace(day.jobs[1], latest_start=105)
    schedule = searched(replace(day, jobs=(day.jobs[0], later)))
    assert ways_of(schedule) == [0, 0]
    assert [build.start // 30 for build in schedule.builds] == [0, 2]
    assert schedule.points.first_stage == 10


def test_a_build_that_is_set_keeps_its_way_and_its_minute():
    # Set at 3 by the other way, the only one its lags still know: ready at 33, so at 35.
    one = scald("scald a", Way(), OTHER, earliest_start=3, latest_start=3)
    only = tuple(lag for lag in one.lags if lag.way == 1)
    day = plain_day(user("a"), preparations=(replace(one, lags=only),))
    schedule = searched(day)
    assert [(b.start, b.way) for b in schedule.builds] == [(3, 1)]
    assert schedule.jobs[0].start == 35


def test_the_search_takes_another_way_than_the_list_where_that_is_better():
    # Told by hand that the dear way was taken: the search comes back to the usual one.
    day = plain_day(user("a"), preparations=(scald("scald a", Way(), OTHER),))
    dear = replace(day, preparations=(scald("scald a", Way(cost=9), OTHER),))
    known = listed(dear)
    assert ways_of(known) == [1]
    again = replace(known, points=replace(known.points, builds=8))
    found = solve(day, again, solve_s=60, deterministic_s=2.0, workers=1, seed=1, on_progress=None)
    assert check(day, found) == []
    assert (ways_of(found), found.points.first_stage) == ([0], 5)


def test_a_day_of_nothing_is_solved_with_its_ways_too():
    day = two_that_share(Way(ice_g=600), ice=ENOUGH)
    found = solve(
        day, nothing(day), solve_s=60, deterministic_s=2.0, workers=1, seed=1, on_progress=None
    )
    assert check(day, found) == []
    assert found.points.first_stage == found.bound == 13

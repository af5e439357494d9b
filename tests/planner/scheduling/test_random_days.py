"""Random days: sound lists, searches that never worsen them, the same plan twice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.scheduling import list_pass
from planner.scheduling.check import check
from planner.scheduling.cpsat.solve import solve
from planner.scheduling.preparation import Way
from planner.scheduling.problem import Store, Worker
from planner.scheduling.schedule import Schedule, SearchStatus
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load, random_day
from tests.planner.scheduling.solving import listed, searched


@pytest.mark.parametrize("count", [5, 9, 14, 20])
@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("hot", [False, True])
def test_list_is_sound_and_places_nearly_all(count, seed, hot):
    schedule = listed(random_day(count, seed, 0.8 if hot else 0.62, hot=hot))
    assert len(schedule.unplaced) <= count // 10
    assert schedule.status is SearchStatus.LISTED


@pytest.mark.parametrize("seed", [4, 5])
def test_search_proves_its_points_on_an_ordinary_day(seed):
    schedule = searched(random_day(10, seed), deterministic_s=3)
    assert schedule.status is SearchStatus.OPTIMAL
    assert schedule.points.first_stage == schedule.bound


def test_search_on_a_crowded_hot_day_is_sound():
    searched(random_day(12, 3, 0.95, hot=True), deterministic_s=1.5)


def test_list_is_the_same_twice():
    day = random_day(14, 2)
    assert list_pass.build(day, seed=3) == list_pass.build(day, seed=3)


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_search_is_the_same_twice(workers):
    day = random_day(6, 6, 0.8, hot=True)
    one, two = (searched(day, workers=workers, deterministic_s=0.3) for _ in range(2))
    assert replace(one, search_s=0.0) == replace(two, search_s=0.0)


def stopped_at_once() -> tuple[Schedule, Schedule, list[str]]:
    day = random_day(8, 1)
    first = list_pass.build(day, seed=1)
    told: list[str] = []

    def stop(stage: str, *_: object) -> bool:
        told.append(stage)
        return False

    found = solve(day, first, solve_s=20, deterministic_s=5, workers=1, seed=1, on_progress=stop)
    return first, found, told


def test_search_stops_when_told_to():
    first, found, told = stopped_at_once()
    assert len(told) == 1
    assert found.points.first_stage <= first.points.first_stage


CONTRADICTIONS = {
    "no options": ({"options": ()}, {}, "no_option", "no start gives a dough"),
    "no mixer": ({"mixer_ids": ()}, {}, "no_place", "no mixer"),
    "bounds crossed": ({"earliest_start": 200, "latest_start": 100}, {}, "no_option", "must by"),
    "nobody there": ({}, {"workers": ()}, "no_place", "nobody is free"),
    "never long enough": (
        {"divide_min": 60},
        {"workers": (Worker("ann", ((0, 50),)),)},
        "no_place",
        "nobody is free",
    ),
    "oven too small": (
        {"loads": (plain_load(places=3),), "options": options(proof=(30, 30))},
        {},
        "no_place",
        "no oven",
    ),
    "no racks": (
        {"loads": (plain_load(racks=2),), "options": options(proof=(30, 30))},
        {},
        "no_place",
        "no chamber",
    ),
    "no ice": ({"options": options(ice_g=500)}, {}, "no_place", "the ice"),
    "no chilled water": (
        {"options": options(chilled_g=500)},
        {"ice": Store(9, 9, 9)},
        "no_place",
        "the chilled water",
    ),
    "no such preparation": ({"preparation_ids": ("x",)}, {}, "no_preparation", "x"),
}


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_contradiction_is_named_and_the_rest_is_planned(name):
    job, changes, code, words = CONTRADICTIONS[name]
    day = plain_day(plain_job("bad", **job), plain_job("good"), **changes)
    schedule = searched(day)
    causes = [u for u in schedule.unmet if u.subject == "bad"]
    assert "bad" in schedule.unplaced
    assert [u.code for u in causes] == [code]
    assert words in causes[0].detail
    assert ("good" in schedule.unplaced) == (name == "nobody there")


def test_overfull_chamber_at_the_beginning_is_named():
    """Two racks stand where one fits: a fact, not a wish; the day is planned all the same."""
    loads = [random_day(10, 1).standing[i].load for i in (0, 1)]
    standing = tuple(
        replace(random_day(10, 1).standing[i], load=replace(ld, routes=plain_load(racks=1).routes))
        for i, ld in enumerate(loads)
    )
    day = replace(random_day(10, 1), standing=standing, racks={"c": 1}, jobs=())
    schedule = searched(day)
    assert [(u.code, u.subject) for u in schedule.unmet] == [("no_place", "c")]
    assert len(schedule.standing) == 2


def test_pins_that_clash_are_named_with_their_price():
    """Both are pinned to be first on one mixer: one is, the other costs 20 000 points."""
    day = plain_day(*(plain_job(i, first_on_mixer=True) for i in "ab"))
    schedule = searched(day)
    assert [u.code for u in schedule.unmet] == ["pin"]
    assert schedule.points.windows == 20_000


def ways_day(seed):
    return with_ways(random_day(9, seed, 0.75, hot=True), seed)


def with_ways(day, seed):
    """The day with three ways for each preparation: plain, with ice and hot water, on racks."""
    rng = np.random.default_rng(seed)
    ways = (
        Way(),
        Way(25, None, 2000, 500, 4000),
        Way(15, 20, 0, 0, 4000, (("cellar", 1), ("trays", 3))),
    )
    first = int(rng.choice([0, 1]))  # with 1 nothing is ready as it is usually made
    quick = [
        replace(
            one,
            lags=tuple(
                replace(lag, from_min=max(30, lag.from_min - sooner), way=number)
                for lag in one.lags
                for number, sooner in list(enumerate((0, 100, 60)))[first:]
            ),
            ways=ways,
        )
        for one in day.preparations
    ]
    return replace(
        day,
        preparations=tuple(quick),
        kettle=Store(8000, 6000, 8000),
        racks={**day.racks, "cellar": 1, "trays": 5},
        ice=Store(40_000, 2000, 60_000),
        chiller=Store(60_000, 10_000, 60_000),
    )


def test_other_ways_are_taken_where_the_usual_one_is_late():
    ways = [b.way for seed in range(1, 7) for b in listed(ways_day(seed)).builds]
    assert 0 in ways
    assert any(ways)


@pytest.mark.parametrize("seed", [1, 4, 7])
def test_days_with_ways_are_sound_and_never_worse_when_searched(seed):
    day = ways_day(seed)
    assert any(not one.is_plain for one in day.preparations)
    first = listed(day)
    found = solve(day, first, solve_s=60, deterministic_s=1.0, workers=1, seed=7, on_progress=None)
    assert check(day, found) == []
    assert found.points.first_stage <= first.points.first_stage

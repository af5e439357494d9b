"""Fuller days worked by hand, with every resource on, and a count of all possibilities."""

from __future__ import annotations

from itertools import pairwise, permutations, product

from planner.scheduling.points import rest_minutes
from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import Job, OvenPlaces, Store, Weights, Worker
from planner.scheduling.schedule import SearchStatus
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import searched

ALONE = (Worker("ann", ((0, 300),)),)


def test_one_baker_one_levain_one_oven():
    """Two mixes of one levain, one person, one oven place; both leave at 215.

    A chain from its start s: scaling before it, divide s+40, proof s+50, loaded s+80 to s+90,
    30 in the oven. The last load goes in by 185, the one before by 155. One build: 5 points, and
    nothing else need cost any. Second stage: loads at 155 and 185 lie 30 + 0 min, which weigh 4
    each. Loaded at 155 means a start of 65 to 75, at 185 of 95 to 105. The levain, ready 60 after
    its start, stands least when it is just ready for the first: it waits as long as the starts are
    apart, at least 95 - 75 = 20. Together 4 * 30 + 20 = 140.
    """
    levain = Preparation("levain", tuple(Lag(k, 60, 120) for k in range(10)), 10)
    jobs = [
        plain_job(
            i,
            scale_min=10,
            options=options(proof=(30, 40)),
            loads=(plain_load(f"{i}.1"),),
            leave_by=215,
            preparation_ids=("levain",),
        )
        for i in "ab"
    ]
    day = plain_day(*jobs, preparations=(levain,), workers=ALONE)
    schedule = searched(day)
    assert schedule.status is SearchStatus.OPTIMAL
    assert (schedule.points.first_stage, schedule.bound) == (5, 5)
    assert sorted(at.load_start for j in schedule.jobs for at in j.loads) == [155, 185]
    assert sorted(j.start for j in schedule.jobs) == [75, 95]
    assert rest_minutes(day, schedule.jobs, schedule.builds, schedule.standing) == 140


def test_hot_day_with_one_oven_and_little_ice():
    """Two mixes leave at 150; ice for one; the oven takes one load and recovers for 10.

    Scaling takes 10, so the first load goes in at 10 + 80 = 90 at the soonest and the second at
    130, out at 160: 10 min are 2 slots late, at 1000 times the priority, which is 1 for b and 2
    for a. Ice of 600 g costs 4, a mix without costs 50, and the store holds 1 kg: 4 + 50. Together
    2054.
    """
    ways = options(ice_g=600, proof=(30, 30)) + options(cost=50, proof=(30, 30))
    jobs = [
        plain_job(
            i,
            mixer_ids=(m,),
            scale_min=10,
            options=ways,
            loads=(plain_load(f"{i}.1"),),
            leave_by=150,
            priority=p,
        )
        for i, m, p in (("a", "m", 2), ("b", "n", 1))
    ]
    day = plain_day(*jobs, ovens=(OvenPlaces("o", 1, 10),), ice=Store(1000, 0, 1000))
    schedule = searched(day)
    assert schedule.status is SearchStatus.OPTIMAL
    points = schedule.points
    assert (points.late, points.windows, points.ice) == (2000, 50, 4)
    assert schedule.bound == 2054


def best_by_counting(jobs: list[Job], chains: list[int], bake_min: int) -> int:
    """Least lateness of all starts on the grid and all orders, one mixer and one oven place."""
    best = 10**9
    for order in permutations(range(len(jobs))):
        for starts in product(range(0, 90, 5), repeat=len(jobs)):
            mixed = [starts[i] for i in order]
            loaded = [starts[i] + chains[i] for i in range(len(jobs))]
            if any(b - a < 10 for a, b in pairwise(mixed)):
                continue
            into = sorted(loaded)
            if any(b - a < bake_min for a, b in pairwise(into)):
                continue
            late = sum(
                1000 * job.priority * max(0, -(-(at + bake_min - (job.leave_by or 0)) // 5))
                for job, at in zip(jobs, loaded, strict=True)
            )
            best = min(best, late)
    return best


def test_search_finds_what_counting_all_possibilities_finds():
    """Three mixes with fixed bulks of 30, 45 and 20, proof 30, one mixer, one oven place.

    Windows are too dear to be passed, since the count knows no such slack.
    """
    bulks, leaves, priorities = (30, 45, 20), (120, 120, 125), (1, 2, 1)
    jobs = [
        plain_job(
            i,
            options=options((bulk,), proof=(30, 30)),
            loads=(plain_load(f"{i}.1", bake_min=20),),
            leave_by=leave,
            priority=priority,
            latest_start=85,
        )
        for i, bulk, leave, priority in zip("abc", bulks, leaves, priorities, strict=True)
    ]
    chains = [10 + bulk + 10 + 30 for bulk in bulks]
    counted = best_by_counting(jobs, chains, 20)
    assert counted > 0
    schedule = searched(plain_day(*jobs, weights=Weights(window_per_slot=50_000)))
    assert schedule.points.first_stage == schedule.points.late == counted == schedule.bound

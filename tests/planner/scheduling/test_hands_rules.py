"""Skills, crews and breaks: one small day each, solved by hand, and the fault that is found.

A mix runs 10 min, bulks 30, is divided in 10; in brackets the answer without the rule.
"""

from __future__ import annotations

from dataclasses import replace

from planner.scheduling.assemble import assemble
from planner.scheduling.check import check
from planner.scheduling.people import assign
from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import Problem, Rest, Weights, Worker
from planner.scheduling.schedule import HandsOn, Schedule, ScheduledBuild, ScheduledRest
from tests.planner.scheduling.days import options, plain_day, plain_job
from tests.planner.scheduling.solving import listed, searched, starts

ALL_DAY = ((0, 300),)
FIRM = Weights(window_per_slot=50_000)
"""Windows so dear that a break is rather missed."""


def on(mixer_id: str, one_id: str, **changes: object):
    return plain_job(one_id, mixer_ids=(mixer_id,), **changes)


def broken(day: Problem, schedule: Schedule) -> set[str]:
    return {finding.rule for finding in check(day, schedule)}


def with_skills():
    """Two divides at once, Bob alone can divide, Ann does everything else."""
    workers = Worker("ann", ALL_DAY, frozenset({"scale", "load"})), Worker("bob", ALL_DAY)
    return plain_day(on("m", "a"), on("n", "b"), workers=workers)


def test_work_waits_for_somebody_who_can_do_it():
    # Bob divides from 40 to 50 and from 50 to 60: 0 and 10. (0 and 0)
    schedule = searched(with_skills())
    assert starts(schedule) == [0, 10]
    assert {t.person_id for t in schedule.hands_on} == {"bob"}


def test_two_kinds_of_work_that_one_person_alone_can_do_do_not_meet():
    # Only Bob folds and divides: the divide of a takes him from 40 to 50, and b, begun at s, is
    # folded from s + 40 to s + 45, so s is 10. (0)
    able = frozenset({"scale", "load", "move"})
    workers = Worker("ann", ALL_DAY, able), Worker("bob", ALL_DAY), Worker("cid", ALL_DAY, able)
    long = {"folds_min": (30,), "latest_start": 100}
    b = on("n", "b", options=options((60,)), **long)
    assert starts(searched(plain_day(on("m", "a", latest_start=0), b, workers=workers))) == [0, 10]


def test_those_who_share_two_kinds_of_work_suffice_for_both_together():
    # Ann and Bob fold, Bob and Cid divide: two each, but three together. At 40 c and d are folded
    # and a is divided; b waits until the folds are over at 45, begun at 5. (0)
    workers = (
        Worker("ann", ALL_DAY, frozenset({"fold"})),
        Worker("bob", ALL_DAY, frozenset({"fold", "divide"})),
        Worker("cid", ALL_DAY, frozenset({"divide"})),
        Worker("dan", ALL_DAY, frozenset({"scale"})),
    )
    folded = {"options": options((60,)), "folds_min": (30,), "latest_start": 0}
    jobs = (
        on("m", "a", latest_start=0),
        on("n", "b"),
        on("k", "c", **folded),
        on("l", "d", **folded),
    )
    schedule = searched(plain_day(*jobs, workers=workers))
    assert {job.job_id: job.start for job in schedule.jobs} == {"a": 0, "b": 5, "c": 0, "d": 0}


def test_a_missed_break_is_not_missed_for_a_little_bulk():
    # Begun from 35 to 45, the break would meet the divide from 40 to 50; with the divide at 55 its
    # bulk is 15 min over, three slots of 400: dear, but not as dear as the break at 20 000.
    day = with_break(on("m", "a", latest_start=0), from_min=35, by_min=45)
    schedule = searched(day)
    assert schedule.points.first_stage == 1200
    assert [r.start for r in schedule.rests] == [35]


def test_what_nobody_can_do_is_named():
    able = frozenset({"scale", "load"})
    day = plain_day(plain_job("a"), workers=(Worker("ann", ALL_DAY, able),))
    schedule = searched(day)
    assert [(u.code, u.detail) for u in schedule.unmet] == [("no_place", "nobody here can divide")]


def with_crew(people: int):
    workers = tuple(Worker(f"p{i}", ALL_DAY) for i in range(people))
    return plain_day(on("m", "a", crew=2), on("n", "b", crew=2), workers=workers)


def test_a_crew_divides_together():
    # Two each, three are there: 0 and 10. Four are there: 0 and 0.
    schedule = searched(with_crew(3))
    assert starts(schedule) == [0, 10]
    assert [t.kind for t in schedule.hands_on] == ["divide"] * 4
    assert starts(searched(with_crew(4))) == [0, 0]


def with_break(*jobs, from_min: int = 40, by_min: int = 50, **changes: object):
    """Ann alone, with a break of 20 min."""
    ann = Worker("ann", ALL_DAY, rests=(Rest(20, from_min, by_min),))
    return plain_day(*jobs, workers=(ann,), **changes)


def test_work_leaves_room_for_a_break():
    # Divided from 40 to 50, then the break from 50 to 70: the next divide from 70, begun at 30;
    # without it at 10.
    day = with_break(on("m", "a", latest_start=0), on("n", "b"))
    schedule = searched(day)
    assert starts(schedule) == [0, 30]
    assert schedule.rests == (ScheduledRest("ann", 0, 50, 70),)
    assert schedule.points.first_stage == 0


def test_a_break_nobody_can_have_is_named_with_what_stands_in_its_way():
    # Divided from 40 to 50; 20 min begun from 35 to 45 always meet it, those from 45 for 5 only.
    day = with_break(on("m", "a", latest_start=0), from_min=35, by_min=45, weights=FIRM)
    schedule = searched(day)
    assert schedule.points.first_stage == schedule.points.windows == 20_000
    assert [(u.code, u.subject, u.minutes, u.detail) for u in schedule.unmet] == [
        ("rest", "ann", 15, "move divide a")
    ]


def test_a_colleague_takes_over_so_that_a_break_can_be_had():
    # As above, but Bob is there: nothing is missed.
    day = with_break(on("m", "a", latest_start=0), from_min=35, by_min=45, weights=FIRM)
    schedule = searched(replace(day, workers=(*day.workers, Worker("bob", ALL_DAY))))
    assert schedule.points.first_stage == 0
    assert [(t.kind, t.person_id) for t in schedule.hands_on] == [("divide", "bob")]


def test_people_change_tasks_where_only_one_can_do_what_comes():
    """Ann divides and alone can fold: Bob takes her divide over at 10."""
    workers = Worker("ann", ((0, 60),)), Worker("bob", ((0, 90),), frozenset({"divide"}))
    tasks = HandsOn("divide", "a", 0, 40, None), HandsOn("fold", "b", 10, 15, None)
    named = assign(plain_day(workers=workers), tasks)
    assert [(t.kind, t.start, t.end, t.person_id) for t in named] == [
        ("divide", 0, 10, "ann"),
        ("fold", 10, 15, "ann"),
        ("divide", 10, 40, "bob"),
    ]


def test_check_finds_work_given_to_somebody_who_cannot_do_it():
    day = with_skills()
    sound = listed(day)
    to_ann = tuple(replace(t, person_id="ann") for t in sound.hands_on)
    assert broken(day, replace(sound, hands_on=to_ann)) == {"people_can_do_it"}


def test_check_finds_a_crew_of_one():
    day = with_crew(3)
    sound = listed(day)
    assert broken(day, replace(sound, hands_on=sound.hands_on[1:])) == {"hands_for_all_work"}


def test_check_finds_breaks_that_are_missing_short_or_worked_through():
    day = with_break(on("m", "a", latest_start=0), on("n", "b"))
    sound = searched(day)
    (had,) = sound.rests
    for rests in ((), (replace(had, end=had.end - 5),), (replace(had, start=40, end=60),)):
        assert broken(day, replace(sound, rests=rests)) == {"breaks_are_had"}


def test_two_builds_that_begin_together_are_each_made_by_somebody():
    """Both mixes start at 60 and the levain is ripe for 5 min: two builds at 0, two people."""
    jobs = [on(m, one, preparation_ids=("levain",)) for m, one in (("m", "a"), ("n", "b"))]
    levain = Preparation("levain", (Lag(0, 60, 60),), 10, max_builds=2)
    build = ScheduledBuild("levain", 0, 0, None, ("a",))
    builds = (build, replace(build, build=1, job_ids=("b",)))
    day = plain_day(*jobs, preparations=(levain,))
    placed = (
        replace(j, start=60, mix_end=70, divide_start=100, divide_end=110, option=2)
        for j in listed(day).jobs
    )
    jobs = tuple(replace(j, builds={"levain": n}) for n, j in enumerate(placed))
    sound = assemble(day, jobs, builds, (), ())
    assert check(day, sound) == []
    alone = tuple(t for t in sound.hands_on if (t.kind, t.person_id) != ("prepare", "p1"))
    assert broken(day, replace(sound, hands_on=alone)) == {"hands_for_all_work"}

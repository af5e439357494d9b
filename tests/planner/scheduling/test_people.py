"""Names for hands-on work."""

from __future__ import annotations

from planner.scheduling.people import assign
from planner.scheduling.problem import Worker
from planner.scheduling.schedule import HandsOn
from tests.planner.scheduling.days import plain_day


def crew(**hours: tuple[tuple[int, int], ...]):
    return plain_day(workers=tuple(Worker(name, times) for name, times in hours.items()))


def task(start: int, end: int, subject: str = "a") -> HandsOn:
    return HandsOn("divide", subject, start, end, None)


def named(day, *tasks: HandsOn) -> list[tuple[str, int, int, str | None]]:
    return [(t.subject, t.start, t.end, t.person_id) for t in assign(day, tasks)]


def test_two_tasks_at_once_take_two_people():
    day = crew(ann=((0, 60),), bob=((0, 60),))
    assert {p for *_, p in named(day, task(0, 20), task(10, 30, "b"))} == {"ann", "bob"}


def test_who_leaves_soonest_takes_what_fits():
    """Ann leaves at 20 and takes the short task, so that Bob has time for the long one."""
    day = crew(bob=((0, 60),), ann=((0, 20),))
    assert named(day, task(0, 15, "short"), task(0, 40, "long")) == [
        ("short", 0, 15, "ann"),
        ("long", 0, 40, "bob"),
    ]


def test_work_across_a_change_of_shift_is_handed_over():
    day = crew(ann=((0, 20),), bob=((20, 60),))
    assert named(day, task(10, 30)) == [("a", 10, 20, "ann"), ("a", 20, 30, "bob")]


def test_touching_hours_of_one_person_are_one_stretch():
    day = crew(ann=((0, 20), (20, 60)))
    assert named(day, task(10, 30)) == [("a", 10, 30, "ann")]


def test_work_without_anybody_stays_without_a_name():
    assert named(crew(ann=((0, 20),)), task(30, 40)) == [("a", 30, 40, None)]

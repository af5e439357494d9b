"""What a judge of schedules finds, and how it reads one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planner.scheduling.preparation import Preparation, Way
from planner.scheduling.problem import Job, Load, Problem, StandingLoad
from planner.scheduling.schedule import Schedule, ScheduledBuild, ScheduledJob, ScheduledLoad


@dataclass(frozen=True, slots=True)
class Finding:
    """Something in a schedule that breaks a rule.

    Attributes
    ----------
    rule
        Name of the rule.
    subject
        Job, load, preparation, person or resource.
    detail
        What was found, in plain words.
    """

    rule: str
    subject: str
    detail: str


def placed_jobs(problem: Problem, schedule: Schedule) -> Iterator[tuple[Job, ScheduledJob]]:
    """Yield every job that has a place, with it."""
    for placed in schedule.jobs:
        yield problem.job(placed.job_id), placed


def inherited_loads(
    problem: Problem, schedule: Schedule
) -> Iterator[tuple[StandingLoad, ScheduledLoad]]:
    """Yield every inherited load that has a place, with it."""
    items = {item.load.id: item for item in problem.standing}
    for at in schedule.standing:
        yield items[at.load_id], at


def all_loads(problem: Problem, schedule: Schedule) -> Iterator[tuple[Load, ScheduledLoad]]:
    """Yield the loads of all jobs and the inherited ones, each with its place."""
    for job, placed in placed_jobs(problem, schedule):
        loads = {load.id: load for load in job.loads}
        for at in placed.loads:
            yield loads[at.load_id], at
    for item, at in inherited_loads(problem, schedule):
        yield item.load, at


def preparation_of(problem: Problem, one_id: str) -> Preparation:
    """Return the preparation of an id."""
    return next(p for p in problem.preparations if p.id == one_id)


def ways_taken(problem: Problem, schedule: Schedule) -> list[tuple[ScheduledBuild, Way]]:
    """Return every build with the way by which it is made."""
    return [(b, preparation_of(problem, b.preparation_id).ways[b.way]) for b in schedule.builds]


def named(schedule: Schedule, code: str, subject: str, minutes: int = 0) -> bool:
    """Return whether the schedule itself says so, and by no less than it is."""
    return any(
        u.code == code and u.subject == subject and u.minutes >= minutes for u in schedule.unmet
    )

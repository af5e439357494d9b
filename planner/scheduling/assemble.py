"""From places to a finished schedule: work with names, what is unmet, points."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from planner.scheduling.grid import standing_racks
from planner.scheduling.people import assign
from planner.scheduling.points import lateness, past_window, points_of
from planner.scheduling.problem import NOBODY, WEIGHT, Problem
from planner.scheduling.resting import missed_rests
from planner.scheduling.schedule import (
    HandsOn,
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    ScheduledRest,
    SearchStatus,
    Unmet,
)
from planner.scheduling.work import hands_on


def assemble(
    problem: Problem,
    jobs: Sequence[ScheduledJob],
    builds: Sequence[ScheduledBuild],
    standing: Sequence[ScheduledLoad],
    causes: Sequence[Unmet],
    rests: Sequence[ScheduledRest] = (),
) -> Schedule:
    """Return the schedule of what has a place.

    Parameters
    ----------
    problem
        The day.
    jobs, builds, standing
        What was scheduled.
    causes
        Why each of the others found no place.
    rests
        Breaks that people have.
    """
    in_order = tuple(sorted(jobs, key=lambda j: (j.start, j.job_id)))
    builds = tuple(sorted(builds, key=lambda b: (b.start, b.preparation_id, b.build)))
    loads = tuple(sorted(standing, key=lambda at: (at.load_start, at.load_id)))
    broken = broken_pins(problem, in_order)
    rests = tuple(sorted(rests, key=lambda r: (r.start, r.person_id)))
    work = assign(problem, hands_on(problem, in_order, builds, loads), rests)
    placed = {j.job_id for j in in_order} | {at.load_id for at in loads}
    everything = problem.wanted(placed) + [s.load.id for s in problem.standing]
    return Schedule(
        status=SearchStatus.LISTED,
        jobs=in_order,
        builds=builds,
        standing=loads,
        hands_on=work,
        unplaced=tuple(one for one in everything if one not in placed),
        unmet=(
            *causes,
            *broken,
            *_late(problem, in_order, loads),
            *_past_windows(problem, in_order, loads),
            *overfull_chambers(problem),
            *missed_rests(problem, rests, work),
            *_without_hands(work),
        ),
        points=points_of(
            problem, in_order, builds, loads, pins_broken=len(broken), rests=len(rests)
        ),
        bound=None,
        search_s=0.0,
        rests=rests,
    )


def _without_hands(work: Iterable[HandsOn]) -> list[Unmet]:
    """Return the work, from now on, of what has begun for which nobody is there."""
    return [
        Unmet("nobody", task.subject, task.end - task.start, task.kind)
        for task in work
        if (task.person_id or "").startswith(f"{NOBODY}later")
    ]


def broken_pins(problem: Problem, jobs: Sequence[ScheduledJob]) -> list[Unmet]:
    """Return the pins that are not kept."""
    grid, found = problem.grid_min, []
    ends = {j.job_id: j.mix_end for j in jobs}
    for placed in jobs:
        job = problem.job(placed.job_id)
        if job.load_at is not None and placed.loads:
            off = placed.loads[0].load_start - round(job.load_at / grid) * grid
            if off:
                found.append(Unmet("pin", job.id, abs(off), "loading at the pinned time"))
        others = [j.start for j in jobs if j.mixer_id == placed.mixer_id]
        if job.first_on_mixer and min(others) < placed.start:
            detail = f"another mix comes before it on {placed.mixer_id}"
            found.append(Unmet("pin", job.id, 0, detail))
        found += [
            Unmet("pin", job.id, ends[one] - placed.start, f"it starts before {one} is mixed")
            for one in job.after_ids
            if one in ends and placed.start < ends[one]
        ]
    return found


def _late(
    problem: Problem, jobs: Sequence[ScheduledJob], standing: Sequence[ScheduledLoad]
) -> list[Unmet]:
    return [
        Unmet("late", load_id, minutes, "ready after it must leave")
        for load_id, minutes, _ in lateness(problem, jobs, standing)
        if minutes > 0
    ]


def _past_windows(
    problem: Problem, jobs: Sequence[ScheduledJob], standing: Sequence[ScheduledLoad]
) -> list[Unmet]:
    found = []
    for placed in jobs:
        job = problem.job(placed.job_id)
        past = max(
            placed.bulk_over_min,
            0 if job.divide_by is None else placed.divide_start - job.divide_by,
        )
        if past > 0:
            found.append(Unmet("bulk_window", job.id, past, "divided past its window"))
        for load in placed.loads:
            minutes = past_window(job, placed, load)
            if minutes > 0:
                found.append(Unmet("load_window", load.load_id, minutes, "loaded past its window"))
    by = {s.load.id: s.load_by for s in problem.standing}
    found += [
        Unmet("load_window", at.load_id, at.load_start - by[at.load_id], "loaded past its window")
        for at in standing
        if at.load_start > by[at.load_id]
    ]
    return found


def overfull_chambers(problem: Problem) -> list[Unmet]:
    """Return the chambers in which more stands at the beginning than they hold."""
    standing = standing_racks(problem.standing)
    return [
        Unmet("no_place", name, 0, _too_full(name, standing[name], most))
        for name, most in problem.racks.items()
        if standing.get(name, 0) > most
    ]


def _too_full(name: str, there: int, most: int) -> str:
    place = name.removeprefix(WEIGHT)
    if place == name:
        return f"{there} racks stand in {place}, which holds {most}"
    return f"{there / 1000:g} kg stand in {place}, which holds {most / 1000:g} kg"

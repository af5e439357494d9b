"""Why a job finds no place: which single resource, taken away, would give it one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from planner.scheduling.bulk_room import hold_bulk
from planner.scheduling.grid import Grid, Work, tub_ways
from planner.scheduling.occupancy import Build, Held, Occupancy
from planner.scheduling.placing import Style, feasible_places
from planner.scheduling.problem import Job, Problem, StandingLoad
from planner.scheduling.schedule import (
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    ScheduledRest,
    Unmet,
)
from planner.scheduling.tables import PreparationTable, job_table
from planner.scheduling.taking import job_work, move_work, place_job, place_standing

RESOURCES = {
    "breaks": "somebody has their break when it needs hands",
    "people": "nobody is free when it needs hands",
    "mixers": "no mixer is free",
    "ovens": "no oven has places in its window",
    "racks": "no chamber has racks free while it proofs",
    "vessels": "the vessels of its scald are still in use",
    "bench": "no bench place is free when it is divided",
    "tubs": "no tubs are free for its bulk",
    "weight": "no chamber on its way takes so much more weight",
    "ice": "the ice does not suffice",
    "chilled water": "the chilled water does not suffice",
    "kettle": "the kettle has not boiled water enough",
    "gluten": "wheat flour is handled in its room before it, so it could not be kept free of it",
}


Scheduled = tuple[
    tuple[ScheduledJob, ...],
    tuple[ScheduledBuild, ...],
    tuple[ScheduledLoad, ...],
    tuple[ScheduledRest, ...],
]
"""Mixes, builds, inherited loads and breaks that have a place."""


def cause_of(
    problem: Problem,
    job: Job,
    preparations: dict[str, PreparationTable],
    jobs: Iterable[ScheduledJob],
    builds: Iterable[ScheduledBuild],
    standing: Iterable[ScheduledLoad],
    rests: Iterable[ScheduledRest] = (),
) -> Unmet:
    """Return why a job has no place beside what was scheduled.

    Parameters
    ----------
    problem
        The day.
    job
        The job without a place.
    preparations
        Starts of the preparations.
    jobs, builds, standing, rests
        What was scheduled.
    """
    return (
        _plain_cause(problem, job)
        or _skill_cause(problem, job)
        or _preparation_cause(problem, job, preparations)
        or _resource_cause(
            problem, job, preparations, (tuple(jobs), tuple(builds), tuple(standing), tuple(rests))
        )
    )


def _plain_cause(problem: Problem, job: Job) -> Unmet | None:
    """Look at the job alone, without any resource."""
    grid = Grid(problem)
    first, last = grid.start_bounds(job)
    if not job.options:
        return Unmet("no_option", job.id, 0, "no start gives a dough that ripens in the span")
    if first > last:
        detail = (
            f"it could start from minute {first * grid.step} on, but must by {job.latest_start}"
        )
        return Unmet("no_option", job.id, (first - last) * grid.step, detail)
    detail = _bowl_cause(problem, job)
    if detail:
        return Unmet("no_place", job.id, 0, detail)
    ovens = {o.oven_id: o.places for o in problem.ovens}
    for load in job.loads:
        if not any(ovens.get(o.oven_id, 0) >= o.places for o in load.ovens):
            return Unmet("no_place", job.id, 0, f"no oven takes load {load.id}")
    if len(job_table(grid, job).pair_row) == 0:
        return Unmet("no_option", job.id, 0, "none of its options begins inside its bounds")
    return None


def _bowl_cause(problem: Problem, job: Job) -> str:
    """Return why no mixer or tub can take a job; empty when one can."""
    if not job.mixer_ids:
        return "no mixer takes it"
    if set(job.mixer_ids) <= job.warm_only and all(option.cold for option in job.options):
        return "with ice, cold water or chilled flour it is more than any mixer takes"
    return "" if tub_ways(problem, job) else "there are not tubs enough for it"


def _skill_cause(problem: Problem, job: Job) -> Unmet | None:
    """Look whether the hands of a job could be found among all people together."""
    needed = {"scale": 1, "divide": job.crew}
    needed |= {"mix": 1} if job.attended else {}
    needed |= {"load": 1} if job.loads else {}
    for skill, people in needed.items():
        able = sum(worker.can(skill) for worker in problem.workers)
        if problem.workers and able < people:
            who = "nobody" if able == 0 else f"only {able}"
            return Unmet("no_place", job.id, 0, f"{who} here can {skill}")
    return None


def _preparation_cause(
    problem: Problem, job: Job, preparations: dict[str, PreparationTable]
) -> Unmet | None:
    """Look whether each preparation could be ready at some start, with all resources free."""
    day = Occupancy(problem, frozenset(RESOURCES))
    for one_id in job.preparation_ids:
        table = preparations.get(one_id)
        if table is None or len(table.start_min) == 0:
            return Unmet("no_preparation", job.id, 0, f"{one_id} cannot be started in its time")
        bare = job_table(Grid(problem), job)
        alone = {p: preparations[p] for p in job.preparation_ids if p in preparations}
        if len(feasible_places(day, bare, alone, Style(past=True, keep_pins=False)).row) == 0:
            return Unmet("no_preparation", job.id, 0, f"{one_id} is not ready at any of its starts")
    return None


def _resource_cause(
    problem: Problem,
    job: Job,
    preparations: dict[str, PreparationTable],
    scheduled: Scheduled,
) -> Unmet:
    """Take away one resource after the other until the job fits."""
    table, style = job_table(Grid(problem), job), Style(past=True, keep_pins=False)
    nothing: Scheduled = ((), (), (), ())
    for (jobs, builds, standing, rests), when in (
        (nothing, "even on an empty day "),
        (scheduled, ""),
    ):
        taken = (jobs, builds, standing)
        day = filled(problem, *taken, rests=rests)
        if place_job(day, table, preparations, style) is not None:
            continue
        for kind, words in RESOURCES.items():
            day = filled(problem, *taken, ignore=frozenset({kind}), rests=rests)
            if place_job(day, table, preparations, style) is not None:
                return Unmet("no_place", job.id, 0, when + words)
        bare = job_table(Grid(problem), replace(job, preparation_ids=()))
        if place_job(filled(problem, *taken, rests=rests), bare, {}, style) is not None:
            names = ", ".join(job.preparation_ids)
            return Unmet("no_preparation", job.id, 0, f"{when}{names} is not ready in time")
        return Unmet("no_place", job.id, 0, f"{when}several things stand in its way")
    return Unmet("no_place", job.id, 0, "the search found no place for it in time")


def standing_cause(item: StandingLoad) -> Unmet:
    """Return why an inherited load has no place."""
    detail = "no oven and person are free for it"
    if not item.load.ovens:
        detail = "no oven takes it"
    return Unmet("no_place", item.load.id, 0, detail)


def filled(
    problem: Problem,
    jobs: Iterable[ScheduledJob],
    builds: Iterable[ScheduledBuild],
    standing: Iterable[ScheduledLoad],
    ignore: frozenset[str] = frozenset(),
    rests: Iterable[ScheduledRest] = (),
) -> Occupancy:
    """Return the occupancy of a schedule."""
    day, jobs = Occupancy(problem, ignore), tuple(jobs)
    for rest in () if "breaks" in ignore else rests:
        day.take_rest(rest.person_id, day.grid.down(rest.start), day.grid.up(rest.end))
    for at in standing:
        item = next(s for s in problem.standing if s.load.id == at.load_id)
        _fill_load(day, item, at)
    for placed in jobs:
        _fill_job(day, problem.job(placed.job_id), placed)
    works = {p.id: p for p in problem.preparations}
    starts = {placed.job_id: placed.start for placed in jobs}
    for build in builds:
        one = works[build.preparation_id]
        way = one.ways[build.way]
        hands = one.hands_of(build.way, build.start)
        day.take_people([day.grid.work(a, b, one.skill) for a, b in hands])
        bucket = build.start // problem.bucket_min
        day.take_water(bucket, way.ice_g, way.chilled_g, known=True)
        day.take_hot(bucket, way.hot_g)
        if build.mixer_id is not None:
            slots = day.grid.work(build.start, build.start + one.mix_min)
            day.hold_mixer(build.mixer_id, Held(slots.first, slots.end, None))
        kept = Build(build.start, build.mixer_id, [], build.way, build.start)
        day.add_build(one.id, kept)
        for job_id in build.job_ids:
            day.use_build(kept, job_id, way, starts.get(job_id, build.start))
    return day


def _fill_job(day: Occupancy, job: Job, placed: ScheduledJob) -> None:
    grid, option = day.grid, job.options[placed.option]
    start, divide = placed.start // grid.step, placed.divide_start // grid.step
    day.take_people(job_work(grid, job, start, divide))
    day.hold_mixer(placed.mixer_id, Held(start, start + grid.up(job.mix_min), job))
    hold_bulk(day, job, placed.tubs, start, divide)
    handled = Held(start - grid.up(job.scale_min), divide + grid.up(job.divide_min), job)
    day.handle(placed.mixer_id, handled)
    day.take_water(option.bucket, option.ice_g, option.chilled_g, known=True)
    loads = {load.id: load for load in job.loads}
    for at in placed.loads:
        _fill_load(day, StandingLoad(loads[at.load_id], 0, 0, 0), at)


def _fill_load(day: Occupancy, item: StandingLoad, at: ScheduledLoad) -> None:
    grid, load = day.grid, item.load
    first = at.load_start // grid.step
    day.take_people([Work(first, first + grid.up(day.problem.load_work_min), "load")])
    day.take_oven(load, load.oven(at.oven_id), first)
    if load.routes:
        way, proof = load.routes[at.route], at.proof_start // grid.step
        day.take_racks(way, proof, first)
        day.take_people(move_work(day, way, proof, first))


def place_rest(
    day: Occupancy, items: Iterable[StandingLoad]
) -> tuple[list[ScheduledLoad], list[Unmet]]:
    """Give inherited loads their ovens, in order of their latest loading."""
    placed: list[ScheduledLoad] = []
    causes: list[Unmet] = []
    for item in sorted(items, key=lambda s: (s.load_by, s.load.id)):
        at = place_standing(day, item, past=False) or place_standing(day, item, past=True)
        if at is None:
            causes.append(standing_cause(item))
        else:
            placed.append(at)
    return placed, causes

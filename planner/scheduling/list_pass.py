"""A first plan at once: every mix in turn takes the cheapest place that is still free.

Several orders are tried, and what went badly in one goes first in the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.scheduling.assemble import assemble, broken_pins
from planner.scheduling.causes import cause_of, filled, place_rest
from planner.scheduling.facts import work_begun
from planner.scheduling.grid import Grid
from planner.scheduling.occupancy import Occupancy
from planner.scheduling.placing import Style
from planner.scheduling.points import lateness, points_of, rest_minutes
from planner.scheduling.problem import Job, Problem
from planner.scheduling.resting import place_rests
from planner.scheduling.schedule import (
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    ScheduledRest,
    SearchPoints,
    Unmet,
)
from planner.scheduling.tables import (
    JobTable,
    PreparationTable,
    cheapest,
    job_table,
    least_points,
    preparation_table,
)
from planner.scheduling.taking import place_job

MOST_TRIES = 12
"""Orders tried at most (12 removed single late mixes in measurements)."""

LEAST_TRIES = 3
"""Orders tried even on the largest day, unless one of them cannot be bettered."""

PLACINGS = 320
"""About how many places are looked for in all, so that a large day is listed in time too."""

ROUNDS = 400
"""How often a few mixes are taken out and placed anew while something is missed, at most."""

PATIENCE = 100
"""After so many of these rounds without a better day no more are tried."""

FRESH_ROUNDS = 120
"""How often that is done for fresher bread, where freshness may be traded, at most."""

FRESH_MIXES = 2400
"""About how many mixes there are in all those rounds together, so that a large day is listed in
time too."""

NEIGHBOURS = 9
"""Out of how many mixes that start near each other they are chosen."""

OTHER_OVEN_MIN = 60
"""How much further a load in another oven is from being in the way (our guess) [min]."""

MOST_IN_WAY = 8
"""While something is missed: how many mixes that are in one's way are taken out with it."""

WORSE_SHARE = 0.03
"""By what share of its points a day may be worse to go on from, at first, while something is
missed (of ten crowded days of 40 mixes, measured against none and against a wider choice)."""

MADE_OTHERWISE = 0.3
"""Share of those rounds in which one set of alternatives is made another way (our guess)."""

STYLES = (
    {"past": False, "keep_pins": True},
    {"past": True, "keep_pins": True},
    {"past": True, "keep_pins": False},
)
"""What is given up in turn for a job that finds no place."""

LEANS = (0.5, 0.1, 0.9)
"""Where in its ripe time a new build is used first, and a break begins, by try."""

LATER_RESTS = 0.9
"""From this lean on breaks are looked for beside the work, otherwise work beside the breaks."""


@dataclass(frozen=True)
class _Tables:
    problem: Problem
    jobs: dict[str, JobTable]
    preparations: dict[str, PreparationTable]


@dataclass(frozen=True)
class _Try:
    """One order worked through; of each set of alternatives one group was made."""

    jobs: tuple[ScheduledJob, ...]
    builds: tuple[ScheduledBuild, ...]
    standing: tuple[ScheduledLoad, ...]
    causes: tuple[Unmet, ...]
    points: SearchPoints
    rest: int
    blame: dict[str, float]
    made: tuple[int, ...]
    rests: tuple[ScheduledRest, ...] = ()


def build(problem: Problem, *, seed: int) -> Schedule:
    """Return a usable schedule quickly.

    Parameters
    ----------
    problem
        The day.
    seed
        Of the orders that are tried.

    Returns
    -------
    Schedule
        With every job that finds a place; the others are named with the reason.

    Notes
    -----
    A job that finds no place inside its windows is tried past them, then without its pins. One
    that still finds none goes first in the next try.

    Examples
    --------
    >>> from planner.scheduling.problem import Store
    >>> store = Store(0, 0, 0)
    >>> build(Problem(60, 5, 30, (), (), (), (), (), {}, {}, store, store), seed=1).jobs
    ()
    """
    grid = Grid(problem)
    tables = _Tables(
        problem,
        {job.id: job_table(grid, job) for job in problem.jobs},
        {p.id: preparation_table(grid, p) for p in problem.preparations},
    )
    best = _best_try(tables, np.random.default_rng(seed))
    best = _improved(tables, best, np.random.default_rng(seed))
    placed = {j.job_id for j in best.jobs}
    causes = [
        cause_of(
            problem,
            tables.jobs[one].job,
            tables.preparations,
            best.jobs,
            best.builds,
            best.standing,
            best.rests,
        )
        for one in problem.wanted(placed)
        if one not in placed
    ]
    causes = [*best.causes, *causes]
    return assemble(problem, best.jobs, best.builds, best.standing, causes, best.rests)


def _best_try(tables: _Tables, rng: np.random.Generator) -> _Try:
    problem = tables.problem
    floor = least_points(problem, {one: cheapest(t) for one, t in tables.jobs.items()})
    order, made = first_order(problem), (0,) * len(problem.alternatives)
    best = _work_through(tables, order, LEANS[0], made)
    tries = min(MOST_TRIES, max(LEAST_TRIES, PLACINGS // max(1, len(order))))
    last = best
    for number in range(1, tries):
        if best.points.first_stage <= floor:
            break
        order = next_order(order, last.blame, rng)
        made = tuple(int(rng.integers(len(groups))) for groups in problem.alternatives)
        last = _work_through(tables, order, LEANS[number % len(LEANS)], made)
        best = min(best, last, key=lambda t: _worth(problem, t))
    return best


def _not_made(problem: Problem, made: Sequence[int]) -> set[str]:
    """Return the jobs of the groups of alternatives that are not made."""
    return {
        one
        for groups, index in zip(problem.alternatives, made, strict=True)
        for other, group in enumerate(groups)
        if other != index
        for one in group
    }


def _worth(problem: Problem, one: _Try) -> tuple[int, int]:
    points = one.points.first_stage
    return (60 * points + one.rest, 0) if problem.weights.fresh_trade else (points, one.rest)


def _improved(tables: _Tables, best: _Try, rng: np.random.Generator) -> _Try:
    """Take a few mixes out again and again and place them anew; keep what is better.

    While something is late, past its window or without a place, and for fresher bread where
    freshness may be traded; the rest is for the search.
    """
    problem = tables.problem
    fresh = min(FRESH_ROUNDS, FRESH_MIXES // max(1, len(problem.jobs)))
    fresh = fresh if problem.weights.fresh_trade else 0
    heavy = problem.weights.window_per_slot
    heavy += least_points(problem, {one: cheapest(t) for one, t in tables.jobs.items()})
    if len(best.jobs) < 2 and not problem.alternatives:
        return best
    now, last = best, 0
    for number in range(max(ROUNDS, fresh)):
        missed = best.points.first_stage - best.points.builds >= heavy
        if number >= fresh and (not missed or number - last >= PATIENCE):
            break
        if not missed:
            now = best
        out, made = _taken_out(now, rng) if now.jobs else list(now.blame), now.made
        if missed and now.jobs:
            out = _tangled(problem, now, rng)
        if problem.alternatives and rng.random() < MADE_OTHERWISE:
            out, made = _made_otherwise(problem, now, out, rng)
        order = [tables.jobs[one].job for one in dict.fromkeys(out)]
        lean = LEANS[int(rng.integers(len(LEANS)))]
        other = _placed_anew(tables, now, order, lean, made)
        worse = 1 + (WORSE_SHARE * (1 - number / ROUNDS) if missed else 0.0)
        if _worth(problem, other)[0] <= worse * _worth(problem, now)[0]:
            now = other
        if _worth(problem, other) < _worth(problem, best):
            best, last = other, number
    return best


def _made_otherwise(
    problem: Problem, best: _Try, out: list[str], rng: np.random.Generator
) -> tuple[list[str], tuple[int, ...]]:
    """Return the mixes to place, and the groups made, with one set of alternatives another way."""
    one = int(rng.integers(len(problem.alternatives)))
    groups = problem.alternatives[one]
    index = (best.made[one] + int(rng.integers(1, len(groups)))) % len(groups)
    made = (*best.made[:one], index, *best.made[one + 1 :])
    left_out = set(groups[best.made[one]])
    return [*groups[index], *(o for o in out if o not in left_out)], made


def _costly(now: _Try, rng: np.random.Generator) -> str:
    """Return a mix, rather one that costs something."""
    ids = sorted(job.job_id for job in now.jobs)
    excess = np.array([now.blame[one] for one in ids])
    chance = (excess + 0.02 * max(1.0, float(excess.max()))) ** 0.5
    return ids[int(rng.choice(len(ids), p=chance / chance.sum()))]


def _taken_out(best: _Try, rng: np.random.Generator) -> list[str]:
    """Return a mix that costs something, those without a place, and some that start near it."""
    placed = {job.job_id: job for job in best.jobs}
    first, ids = _costly(best, rng), sorted(placed)
    near = sorted(ids, key=lambda one: abs(placed[one].start - placed[first].start))
    pool = [one for one in near if one != first][:NEIGHBOURS]
    count = min(len(pool), int(rng.integers(1, 5)))
    out = [pool[int(i)] for i in rng.choice(len(pool), size=count, replace=False)]
    missing = [one for one in best.blame if one not in placed]
    return [*missing, first, *out]


def _tangled(problem: Problem, now: _Try, rng: np.random.Generator) -> list[str]:
    """Return a mix that costs something, those without a place, and some that are in their way.

    In its way are those that start, are divided or are loaded near it, or near where it would be if
    it were less late, and those that use the same preparation; they are placed anew in any order.
    """
    placed = {job.job_id: job for job in now.jobs}
    first, here = _costly(now, rng), sorted(placed)
    mine, own = placed[first], set(problem.job(first).preparation_ids)
    late = max((minutes for _, minutes, _ in lateness(problem, (mine,), ())), default=0)
    sooner = round(max(0, late) * float(rng.random()))

    def apart(one: str) -> float:
        other = placed[one]
        gaps = [
            abs(other.start - mine.start + sooner),
            abs(other.divide_start - mine.divide_start + sooner),
        ]
        gaps += [
            abs(a.load_start - b.load_start + sooner)
            + (0 if a.oven_id == b.oven_id else OTHER_OVEN_MIN)
            for a in other.loads
            for b in mine.loads
        ]
        shared = own & set(problem.job(one).preparation_ids)
        return min(gaps) - (OTHER_OVEN_MIN if shared else 0)

    count = min(len(here) - 1, int(rng.integers(2, MOST_IN_WAY + 1)))
    pool = sorted((one for one in here if one != first), key=apart)[: 2 * count]
    out = [pool[int(i)] for i in rng.choice(len(pool), size=count, replace=False)]
    missing = [one for one in now.blame if one not in placed]
    return [*missing, first, *out]


def _placed_anew(
    tables: _Tables, best: _Try, order: Sequence[Job], lean: float, made: tuple[int, ...]
) -> _Try:
    """Return the try with some mixes placed anew."""
    out = {job.id for job in order} | _not_made(tables.problem, made)
    kept = [job for job in best.jobs if job.job_id not in out]
    builds = [replace(b, job_ids=tuple(j for j in b.job_ids if j not in out)) for b in best.builds]
    day = filled(tables.problem, kept, [b for b in builds if b.job_ids], best.standing)
    rests = place_rests(day, lean) if lean < LATER_RESTS else []
    blame = {one: points for one, points in best.blame.items() if one not in out}
    before = (kept, best.standing, best.causes, blame)
    return _finished(tables, day, order, lean, before, made, rests)


def first_order(problem: Problem) -> list[Job]:
    """Return the jobs: begun and pinned ones first, then those with the fewest ways to go.

    What no gluten may come near goes before all that has some.
    """
    last = problem.span_min

    def rank(job: Job) -> tuple[int, int, int, str]:
        freedom = job.latest_start - job.earliest_start
        pinned = freedom <= problem.grid_min or job.load_at is not None or job.first_on_mixer
        pinned = pinned or job.gluten_free
        pinned |= bool(job.after_ids) or any(job.id in other.after_ids for other in problem.jobs)
        leaves = last if job.leave_by is None else job.leave_by
        return (0 if pinned else 1, -job.priority, leaves, job.id)

    return sorted(problem.jobs, key=rank)


def next_order(
    order: Sequence[Job], blame: dict[str, float], rng: np.random.Generator
) -> list[Job]:
    """Return another order: what cost most comes forward, the rest is shuffled a little."""
    most = max(blame.values(), default=0.0) or 1.0
    at = {
        job.id: index / len(order) - 0.8 * blame.get(job.id, 0.0) / most + 0.3 * rng.random()
        for index, job in enumerate(order)
    }
    return sorted(order, key=lambda job: (at[job.id], job.id))


def _work_through(
    tables: _Tables, order: Sequence[Job], lean: float, made: tuple[int, ...]
) -> _Try:
    """Place every job of an order in turn, but for those of alternatives that are not made."""
    day = Occupancy(tables.problem)
    begun_work = [w for job in order if job.held for w in work_begun(day.grid, job)]
    kept = [work for work in begun_work if day.take_people([work])]
    standing, causes = place_rest(day, tables.problem.standing)
    day.give_people(kept)
    begun, blame = _begun(tables, day, order, lean)
    rests = place_rests(day, lean) if lean < LATER_RESTS else []
    left_out = _not_made(tables.problem, made) | blame.keys()
    here = [job for job in order if job.id not in left_out]
    before = (begun, standing, causes, blame)
    return _finished(tables, day, here, lean, before, made, rests)


def _begun(
    tables: _Tables, day: Occupancy, order: Sequence[Job], lean: float
) -> tuple[list[ScheduledJob], dict[str, float]]:
    """Place what has begun before anything that can still be chosen; return it, and its blame."""
    placed: list[ScheduledJob] = []
    blame: dict[str, float] = {}
    for job in order:
        if job.held:
            found = _place(tables, day, job, lean)
            placed += [] if found is None else [found]
            blame[job.id] = _blame(tables.problem, tables.jobs[job.id], found)
    return placed, blame


def _finished(
    tables: _Tables,
    day: Occupancy,
    order: Sequence[Job],
    lean: float,
    before: tuple[
        Sequence[ScheduledJob], Sequence[ScheduledLoad], Sequence[Unmet], dict[str, float]
    ],
    made: tuple[int, ...],
    rests: Sequence[ScheduledRest] = (),
) -> _Try:
    """Place jobs in turn beside what is there: mixes, inherited loads, causes, blame."""
    kept, standing, causes, blame = before
    problem, placed, blame = tables.problem, list(kept), dict(blame)
    for job in order:
        found = _place(tables, day, job, lean)
        if found is not None:
            placed.append(found)
        blame[job.id] = _blame(problem, tables.jobs[job.id], found)
    rests = place_rests(day, lean, rests)
    builds = _builds(day)
    jobs = tuple(replace(job, builds=_numbers(builds, job.job_id)) for job in placed)
    broken = len(broken_pins(problem, jobs))
    points = points_of(problem, jobs, builds, standing, pins_broken=broken, rests=len(rests))
    rest = rest_minutes(problem, jobs, builds, standing)
    had = tuple(rests)
    return _Try(jobs, builds, tuple(standing), tuple(causes), points, rest, blame, made, had)


def _numbers(builds: Sequence[ScheduledBuild], job_id: str) -> dict[str, int]:
    return {b.preparation_id: b.build for b in builds if job_id in b.job_ids}


def _place(tables: _Tables, day: Occupancy, job: Job, lean: float) -> ScheduledJob | None:
    if any(one_id not in tables.preparations for one_id in job.preparation_ids):
        return None
    for given_up in STYLES:
        style = Style(lean=lean, **given_up)
        placed = place_job(day, tables.jobs[job.id], tables.preparations, style)
        if placed is not None:
            return placed
    return None


def _blame(problem: Problem, table: JobTable, placed: ScheduledJob | None) -> float:
    """Return what a job cost beyond its cheapest option."""
    if placed is None:
        return float(problem.weights.unplaced)
    points = points_of(problem, (placed,), (), (), pins_broken=0)
    own = points.first_stage - points.unplaced
    if problem.weights.fresh_trade:
        own += points.freshness
    return float(np.log1p(max(0, own - cheapest(table)))) / 12 * problem.weights.unplaced


def _builds(day: Occupancy) -> tuple[ScheduledBuild, ...]:
    return tuple(
        ScheduledBuild(one_id, number, made.start, made.mixer_id, tuple(made.job_ids), made.way)
        for one_id, builds in day.builds.items()
        for number, made in enumerate(builds)
    )

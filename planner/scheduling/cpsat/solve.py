"""The search: two stages of CP-SAT that start from a schedule already known."""

from __future__ import annotations

from dataclasses import replace

from planner.scheduling.cpsat.model import Model
from planner.scheduling.cpsat.objective import first_stage, second_stage
from planner.scheduling.cpsat.running import Found, Limits, OnFound, model_of, run
from planner.scheduling.points import worth
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule, SearchStatus

SECOND_SHARE = 1.2
"""Half of it is kept for the second stage, whatever the first one uses."""

NARROW = (0, 2, 6, 14, 30)
"""Small budgets that are looked at first, in points beyond the floor."""

NARROW_SHARE = 0.2
"""Share of the first stage's time that the search within one small budget may take at most."""

FIRST, SECOND = "searching", "keeping bread fresh"


def solve(
    problem: Problem,
    hint: Schedule,
    *,
    solve_s: float,
    deterministic_s: float,
    workers: int,
    seed: int,
    on_progress: OnFound | None,
) -> Schedule:
    """Better a schedule as far as time allows.

    Parameters
    ----------
    problem
        The day.
    hint
        A schedule already known; never worsened.
    solve_s, deterministic_s
        Wall time and deterministic work at most [s]. When the second ends the search, the same
        input gives the same schedule, whatever the machine.
    workers, seed
        Of the solver.
    on_progress
        Told stage, best points, bound and seconds; returning False stops the search.

    Returns
    -------
    Schedule
        ``OPTIMAL`` when its first-stage points are proved least, ``FEASIBLE`` when the search
        bettered the hint without that proof, ``LISTED`` when it is the hint's. Its bound is
        that of the first stage.

    Notes
    -----
    First stage: all points but freshness. Second stage: freshness, at no higher first-stage
    points but for what `Weights.fresh_trade` allows; its proof is not needed and not reported.
    """
    limits = Limits(solve_s, deterministic_s, workers, seed)
    first = better_first_stage(problem, hint, limits, on_progress)
    left = limits.less(first, SECOND_SHARE / 2)
    second = first if first.stopped else _second(problem, first.schedule, left, on_progress)
    best = min((hint, first.schedule, second.schedule), key=lambda s: worth(problem, s))
    status = SearchStatus.FEASIBLE if best is not hint else hint.status
    if first.proved and best.points.first_stage <= first.schedule.points.first_stage:
        status = SearchStatus.OPTIMAL
    search_s = first.search_s + (0.0 if second is first else second.search_s)
    return replace(best, status=status, bound=first.bound, search_s=search_s)


def better_first_stage(
    problem: Problem, hint: Schedule, limits: Limits, on_progress: OnFound | None
) -> Found:
    """Look within small budgets first, then within that of the schedule that is known.

    Parameters
    ----------
    problem, hint
        The day, and a schedule of it that is known.
    limits
        Time of both stages together; this one takes two fifths of it.
    on_progress
        As in `solve`.

    Notes
    -----
    The best schedule mostly costs little more than the cheapest option of every mix, and a small
    budget leaves a small model: on random days of 20 mixes, 0.2 to 2 s against 2 to 5 s for the
    wide model alone (one worker, two seeds).
    """
    share = 1 - SECOND_SHARE / 2
    floor = Model(problem, hint).floor
    found = Found(hint, hint.points.first_stage <= floor, float(floor), 0.0, 0.0, False)
    for extra in narrow_budgets(hint.points.first_stage - floor):
        step = replace(limits.times(share * NARROW_SHARE), workers=1)
        found = found.then(_narrow(problem, found, extra, step, on_progress))
        if found.proved or found.stopped:
            return found
    if found.proved:
        return found
    left = limits.times(share).less(found)
    model = model_of(problem, found.schedule)
    return found.then(run(model, first_stage(model), left, on_progress, FIRST, None))


def narrow_budgets(budget: int) -> list[int]:
    """Return the small budgets that are looked at before the whole one.

    Examples
    --------
    >>> narrow_budgets(20)
    [0, 2, 6, 14]
    """
    return [b for b in NARROW if b < budget]


def _narrow(
    problem: Problem, known: Found, extra: int, limits: Limits, on_progress: OnFound | None
) -> Found:
    """Look within one small budget."""
    points = known.schedule.points.first_stage
    told = on_progress is not None and on_progress(FIRST, points, known.bound, known.search_s)
    if told is False and on_progress is not None:
        return replace(known, search_s=0.0, deterministic_s=0.0, stopped=True)
    model = model_of(problem, known.schedule, extra)
    model.cp.add(first_stage(model) <= model.floor + extra)
    found = run(model, first_stage(model), limits, on_progress, FIRST, None)
    if found.none_exists:
        return replace(
            found, proved=points <= model.floor + extra + 1, bound=model.floor + extra + 1
        )
    return replace(found, bound=float(model.floor) if not found.proved else found.bound)


def _second(
    problem: Problem, known: Schedule, limits: Limits, on_progress: OnFound | None
) -> Found:
    """Make bread fresher, at the first-stage points that may be traded for it."""
    trade, points = problem.weights.fresh_trade, known.points.first_stage
    most = points + trade - Model(problem, known).floor if trade else None
    model = model_of(problem, known, most)
    model.cp.add(first_stage(model) <= points + trade)
    objective = second_stage(model)
    if trade:
        objective = problem.grid_min * objective + 60 * first_stage(model)
    return run(model, objective, limits, on_progress, SECOND, float(points))

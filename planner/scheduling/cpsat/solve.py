"""The search: two stages of CP-SAT that start from a schedule already known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from planner.scheduling.cpsat import resources, rules
from planner.scheduling.cpsat.model import Expr, Model, floor_points
from planner.scheduling.cpsat.objective import first_stage, second_stage
from planner.scheduling.cpsat.reading import read_schedule
from planner.scheduling.cpsat.variables import add_variables
from planner.scheduling.points import worth
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule, SearchStatus

OnFound = Callable[[str, float | None, float | None, float], bool | None]

SECOND_SHARE = 0.4
"""Half of it is kept for the second stage, whatever the first one uses."""

NARROW = (0, 2, 6, 14, 30)
"""Small budgets that are looked at first, in points beyond the floor."""

NARROW_SHARE = 0.2
"""Share of the first stage's time that the search within one small budget may take at most."""

FIRST, SECOND = "searching", "keeping bread fresh"

RULES = (
    rules.keep_one_option_per_job,
    rules.keep_start_in_bucket,
    rules.keep_divide_after_bulk,
    rules.keep_divide_in_given_hours,
    rules.keep_loading_in_proof_window,
    rules.count_lateness,
    rules.count_early_mixes,
    rules.keep_pinned_loading,
    rules.keep_first_on_mixer,
    rules.keep_clean_down,
    resources.place_hands_on_work,
    resources.keep_folds_inside_bulk,
    resources.keep_people_within_hours,
    resources.keep_one_mix_per_mixer,
    resources.keep_loads_within_oven,
    resources.keep_racks_within_chamber,
    resources.keep_ice_within_store,
    resources.keep_chilled_water_within_store,
    resources.keep_preparation_ahead_of_mix,
)
"""Every rule of a day, in the order in which it is told."""


@dataclass(frozen=True)
class Limits:
    """How long and how the solver may think.

    Attributes
    ----------
    wall_s, deterministic_s
        Wall time and deterministic work at most [s].
    """

    wall_s: float
    deterministic_s: float
    workers: int
    seed: int

    def times(self, share: float) -> Limits:
        """Return a share of the time."""
        return replace(
            self, wall_s=share * self.wall_s, deterministic_s=share * self.deterministic_s
        )

    def less(self, used: Found, least: float = 0.1) -> Limits:
        """Return the time that is left, at least a share of it."""
        return replace(
            self,
            wall_s=max(self.wall_s - used.search_s, least * self.wall_s),
            deterministic_s=max(
                self.deterministic_s - used.deterministic_s, least * self.deterministic_s
            ),
        )


@dataclass
class Found:
    """What a stage came to.

    Attributes
    ----------
    schedule
        The best schedule known, the given one if none better was found.
    proved
        Whether nothing better exists for this stage.
    bound
        Points below which no schedule comes.
    search_s, deterministic_s
        Wall time and deterministic work used [s].
    stopped
        Whether the caller asked to stop.
    none_exists
        Whether no schedule exists within the budget that was looked at.
    """

    schedule: Schedule
    proved: bool
    bound: float
    search_s: float
    deterministic_s: float
    stopped: bool
    none_exists: bool = False

    def then(self, later: Found) -> Found:
        """Return what both searches came to, one after the other."""
        better = later.schedule.points.first_stage < self.schedule.points.first_stage
        return Found(
            schedule=later.schedule if better else self.schedule,
            proved=later.proved,
            bound=max(self.bound, later.bound),
            search_s=self.search_s + later.search_s,
            deterministic_s=self.deterministic_s + later.deterministic_s,
            stopped=later.stopped,
        )


class _Listener(cp_model.CpSolverSolutionCallback):
    """Tells the caller of every better schedule, and stops when told to."""

    def __init__(self, tell: OnFound, stage: str, points: float | None) -> None:
        super().__init__()
        self._tell, self._stage, self._points = tell, stage, points
        self.stopped = False

    def on_solution_callback(self) -> None:
        """Pass on one solution."""
        best = self.objective_value if self._points is None else self._points
        bound = self.best_objective_bound if self._points is None else None
        if self._tell(self._stage, best, bound, self.wall_time) is False:
            self.stopped = True
            self.stop_search()


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
    points; its proof is not needed and not reported.
    """
    limits = Limits(solve_s, deterministic_s, workers, seed)
    first = _first(problem, hint, limits, on_progress)
    left = limits.less(first, SECOND_SHARE / 2)
    second = first if first.stopped else _second(problem, first.schedule, left, on_progress)
    best = min((hint, first.schedule, second.schedule), key=lambda s: worth(problem, s))
    status = SearchStatus.FEASIBLE if best is not hint else hint.status
    if first.proved:
        status = SearchStatus.OPTIMAL
    search_s = first.search_s + (0.0 if second is first else second.search_s)
    return replace(best, status=status, bound=first.bound, search_s=search_s)


def model_of(problem: Problem, known: Schedule, most: int | None = None) -> Model:
    """Return the model of a day with all its rules, around a schedule that is known."""
    model = Model(problem, known, most)
    add_variables(model)
    for rule in RULES:
        rule(model)
    return model


def _first(problem: Problem, hint: Schedule, limits: Limits, on_progress: OnFound | None) -> Found:
    """Look within small budgets first, then within that of the schedule that is known.

    Notes
    -----
    The best schedule mostly costs little more than the cheapest option of every mix, and a small
    budget leaves a small model: on random days of 20 mixes, 0.2 to 2 s against 2 to 5 s for the
    wide model alone (one worker, two seeds).
    """
    share = 1 - SECOND_SHARE / 2
    floor = floor_points(problem, Model(problem, hint).tables)
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
    return found.then(_run(model, first_stage(model), left, on_progress, FIRST, None))


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
    found = _run(model, first_stage(model), limits, on_progress, FIRST, None)
    if found.none_exists:
        return replace(
            found, proved=points <= model.floor + extra + 1, bound=model.floor + extra + 1
        )
    return replace(found, bound=float(model.floor) if not found.proved else found.bound)


def _second(
    problem: Problem, known: Schedule, limits: Limits, on_progress: OnFound | None
) -> Found:
    model = model_of(problem, known)
    points = known.points.first_stage
    model.cp.add(first_stage(model) <= points)
    return _run(model, second_stage(model), limits, on_progress, SECOND, float(points))


def _run(
    model: Model,
    objective: Expr,
    limits: Limits,
    on_progress: OnFound | None,
    stage: str,
    points: float | None,
) -> Found:
    """Let the solver make an objective small."""
    model.cp.minimize(objective)
    solver = cp_model.CpSolver()
    _set_parameters(solver, limits)
    listener = None if on_progress is None else _Listener(on_progress, stage, points)
    status = solver.solve(model.cp, listener)
    schedule = model.known
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        schedule = read_schedule(model, lambda e: int(solver.value(e)))
    return Found(
        schedule=schedule,
        proved=status == cp_model.OPTIMAL,
        bound=solver.best_objective_bound,
        search_s=solver.wall_time,
        deterministic_s=solver.response_proto.deterministic_time,
        stopped=listener is not None and listener.stopped,
        none_exists=status == cp_model.INFEASIBLE,
    )


def _set_parameters(solver: cp_model.CpSolver, limits: Limits) -> None:
    parameters = solver.parameters
    parameters.max_time_in_seconds = limits.wall_s
    parameters.max_deterministic_time = limits.deterministic_s
    parameters.num_workers = limits.workers
    parameters.interleave_search = limits.workers > 1
    parameters.random_seed = limits.seed
    parameters.cp_model_probing_level = 0

"""Running a model: its rules, its time, what came of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from planner.scheduling.cpsat import builds, bulk_room, ovens, resources, resting, rules, stores
from planner.scheduling.cpsat.model import Expr, Model
from planner.scheduling.cpsat.reading import read_schedule
from planner.scheduling.cpsat.variables import add_variables
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule

OnFound = Callable[[str, float | None, float | None, float], bool | None]

FEW_WORKERS = 2
"""Up to so many workers are run as one: two that take turns, as a repeatable search with several
must, were slower than one on every day measured (9 first and second stages of 14 to 20 mixes)."""

RULES = (
    rules.keep_one_option_per_job,
    rules.keep_start_in_bucket,
    rules.keep_divide_after_bulk,
    rules.keep_divide_in_given_hours,
    rules.keep_loading_in_proof_window,
    rules.count_slots_off_wanted_proof,
    rules.count_lateness,
    rules.count_early_mixes,
    rules.keep_pinned_loading,
    rules.keep_first_on_mixer,
    rules.keep_pinned_order,
    rules.count_moves,
    rules.keep_clean_down,
    rules.keep_cold_mixes_light,
    rules.keep_gluten_out,
    resources.place_hands_on_work,
    resting.place_breaks,
    resources.keep_folds_inside_bulk,
    resources.keep_people_within_hours,
    resources.keep_one_mix_per_mixer,
    resources.keep_loads_within_oven,
    ovens.keep_loading_while_hot,
    ovens.keep_heat_between_loads,
    bulk_room.place_bulk_in_tubs,
    bulk_room.place_divide_on_bench,
    resources.keep_out_of_order_empty,
    resources.keep_racks_within_chamber,
    stores.keep_ice_within_store,
    stores.keep_chilled_water_within_store,
    stores.keep_boiling_water_within_kettle,
    builds.keep_preparation_ahead_of_mix,
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


def model_of(problem: Problem, known: Schedule, most: int | None = None) -> Model:
    """Return the model of a day with all its rules, around a schedule that is known."""
    model = Model(problem, known, most)
    add_variables(model)
    for rule in RULES:
        rule(model)
    return model


def run(
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
    set_parameters(solver, limits)
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


def set_parameters(solver: cp_model.CpSolver, limits: Limits) -> None:
    """Set time, workers, seed and what was found to work best."""
    parameters = solver.parameters
    parameters.max_time_in_seconds = limits.wall_s
    parameters.max_deterministic_time = limits.deterministic_s
    parameters.num_workers = limits.workers if limits.workers > FEW_WORKERS else 1
    parameters.interleave_search = parameters.num_workers > 1
    parameters.random_seed = limits.seed
    parameters.cp_model_probing_level = 0
    # Without the linear relaxation: its bound adds nothing to that of the small budgets, and on
    # crowded days of 20 mixes plans were found that it had not found in 5 s.
    parameters.linearization_level = 0

"""The solver's model of a day while it is built; every variable is born with its hint.

A model looks only at schedules within a budget: so many points beyond the cheapest option of
every mix. Dear options, long delays and further builds that the budget does not pay for are
left out from the start; nothing within the budget is lost. The points of a schedule that is
already known are such a budget.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeVar

from ortools.sat.python import cp_model

from planner.scheduling.grid import PAST_SLOTS, Grid, tub_ways
from planner.scheduling.problem import Job, Load, Problem
from planner.scheduling.schedule import Schedule
from planner.scheduling.tables import (
    JobTable,
    PreparationTable,
    cheapest,
    job_table,
    least_points,
    preparation_table,
)

Var = cp_model.IntVar
Expr = cp_model.LinearExpr | int
Interval = cp_model.IntervalVar
Name = TypeVar("Name", str, int)


@dataclass(frozen=True)
class LoadVars:
    """A load: its slot, its way of proofing, its oven; what it costs to be late or past ripe.

    Attributes
    ----------
    proof
        Slot at which it begins to proof.
    ways, ovens
        One literal per route, and per oven that takes it.
    past, late, rest
        Slots past its window, slots late, slots that the bread lies before it leaves.
    moved
        Slots off the plan in force; None when there is none.
    off
        Slots between its proof and that wanted; None where none is.
    in_time
        Last slot of loading from which it leaves in time.
    """

    load: Load
    placed: Var
    at: Var
    proof: Expr
    ways: dict[int, Var]
    ovens: dict[str, Var]
    past: Var
    late: Var | None
    rest: Var | None
    in_time: int | None
    priority: int
    optional: bool = True
    moved: Var | None = None
    off: Var | None = None


@dataclass(frozen=True)
class JobVars:
    """A mix.

    Attributes
    ----------
    rows
        Options that are left, as indices.
    proof_from, proof_by, proof_ripe
        Bounds of the proof, and that wanted, by route; no more of the last where none is.
    over, behind
        Slots of the divide past its bulk, and past the clock time given for it.
    early
        Whether it starts before the crew should; None when it cannot.
    folds
        Whether each fold falls into the bulk, for those of which that depends on its length.
    load_kept, first_kept
        Whether its pins are kept: loading, first on the mixer.
    tubs
        One literal per way to keep its bulk for which there are tubs.
    cold
        Whether its option is a cold one; None where that matters to no mixer.
    optional
        Whether it may be absent: the budget pays for that, or its dough is made as other mixes.
    after_kept
        Whether it comes after each mix that is pinned to come before it.
    moved
        Slots off the plan in force; None when there is none.
    """

    job: Job
    table: JobTable
    rows: tuple[int, ...]
    placed: Var
    bucket: Var
    bulk: Var
    points: Var
    ice: Var
    chilled: Var
    proof_from: tuple[Var, ...]
    proof_by: tuple[Var, ...]
    proof_ripe: tuple[Var, ...]
    start: Var
    divide: Var
    over: Var
    behind: Var | None
    early: Var | None
    on: dict[str, Var]
    folds: dict[int, Var]
    loads: tuple[LoadVars, ...]
    load_kept: Var | None
    first_kept: Var | None
    tubs: dict[int, Var]
    cold: Var | None = None
    optional: bool = True
    after_kept: dict[str, Var] = field(default_factory=dict)
    moved: Var | None = None


@dataclass(frozen=True)
class BuildVars:
    """A build of a preparation: when, by which way, between when it can be used, by whom.

    Attributes
    ----------
    ways
        One literal per way, exactly one of which holds for a build that is used.
    hinted, hinted_way, hinted_users
        Row of the table, way and users in the known schedule; no users when it is not in it.
    inside
        One literal per bucket of its start, once some store asks for them.
    """

    table: PreparationTable
    ways: dict[int, Var]
    hinted: int
    hinted_way: int
    hinted_users: frozenset[str]
    used: Var
    start: Var
    ready: Var
    ripe_by: Var
    on: dict[str, Var]
    users: dict[str, Var]
    holds: dict[str, Var]
    inside: dict[int, Var] = field(default_factory=dict)


@dataclass(frozen=True)
class RestVars:
    """A break: whose, which of theirs, when it begins, whether they have it."""

    person_id: str
    rest: int
    start: Var
    had: Var
    interval: Interval


@dataclass
class Model:
    """The model of a day.

    Attributes
    ----------
    known
        The schedule that is to be bettered.
    most
        Points beyond the floor that are looked at; None for those of the known schedule.
    hands
        Intervals of hands-on work, each with its kind and the people it takes.
    rests
        Breaks that people are to have.
    on_mixer, in_oven, in_chamber
        Intervals by resource; with demands where more than one fits.
    made
        For jobs of alternatives, whether their group is the one that is made.
    """

    problem: Problem
    known: Schedule
    most: int | None = None
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    jobs: list[JobVars] = field(default_factory=list)
    standing: list[LoadVars] = field(default_factory=list)
    builds: dict[str, list[BuildVars]] = field(default_factory=dict)
    hands: list[tuple[Interval, str, int]] = field(default_factory=list)
    rests: list[RestVars] = field(default_factory=list)
    on_mixer: dict[str, list[Interval]] = field(default_factory=dict)
    in_oven: dict[str, list[tuple[Interval, int]]] = field(default_factory=dict)
    in_chamber: dict[str, list[tuple[Interval, int]]] = field(default_factory=dict)
    made: dict[str, Var] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Work out the tables and the budget."""
        self.grid = Grid(self.problem)
        self.weights = self.problem.weights
        self.tables = {job.id: job_table(self.grid, job) for job in self.problem.jobs}
        self.starts = {p.id: preparation_table(self.grid, p) for p in self.problem.preparations}
        self.floor = floor_points(self.grid, self.tables, self.starts)
        known = max(0, self.known.points.first_stage - self.floor)
        self.budget = known if self.most is None else self.most

    def affordable(self, points_each: int, most: int) -> int:
        """Return how many the budget can pay for, at most so many."""
        return most if points_each <= 0 else min(most, self.budget // points_each)

    def past_most(self, hint: int) -> int:
        """Return by how many slots a window may be passed."""
        return self.affordable(self.weights.window_per_slot, max(PAST_SLOTS, hint))

    def number(self, low: int, high: int, hint: int) -> Var:
        """Return a whole number with its hint."""
        var = self.cp.new_int_var(low, max(low, high), "")
        self.cp.add_hint(var, min(max(hint, low), max(low, high)))
        return var

    def one_of(self, values: Iterable[int], hint: int) -> Var:
        """Return a number out of some with its hint."""
        domain = cp_model.Domain.from_values(sorted(set(values)))
        var = self.cp.new_int_var_from_domain(domain, "")
        self.cp.add_hint(var, hint)
        return var

    def truth(self, *, hint: bool) -> Var:
        """Return a yes-or-no with its hint."""
        var = self.cp.new_bool_var("")
        self.cp.add_hint(var, hint)
        return var

    def fixed(self, value: int) -> Var:
        """Return a constant."""
        return self.cp.new_constant(value)

    @property
    def all_placed(self) -> bool:
        """Whether the budget pays for no absence, so that everything has a place."""
        return self.affordable(self.weights.unplaced, 1) == 0

    def placed(self, *, hint: bool) -> Var:
        """Return whether something has a place."""
        return self.fixed(1) if self.all_placed else self.truth(hint=hint)

    def add_alternatives(self) -> None:
        """Say that of each set of alternatives exactly one group is made."""
        wanted = set(self.problem.wanted({job.job_id for job in self.known.jobs}))
        for groups in self.problem.alternatives:
            literals = [self.truth(hint=group[0] in wanted) for group in groups]
            self.cp.add_exactly_one(literals)
            for group, literal in zip(groups, literals, strict=True):
                self.made |= dict.fromkeys(group, literal)

    def job_placed(self, job_id: str, *, hint: bool) -> Var:
        """Return whether a job has a place; one of alternatives only when its group is made."""
        made = self.made.get(job_id)
        if made is None:
            return self.placed(hint=hint)
        if self.all_placed:
            return made
        placed = self.truth(hint=hint)
        self.cp.add_implication(placed, made)
        return placed

    def choice(self, placed: Var, names: list[Name], hint: Name | None) -> dict[Name, Var]:
        """Return one literal per name, exactly one of which holds for what has a place."""
        if len(names) == 1:
            return {names[0]: placed}
        chosen = {name: self.truth(hint=name == hint) for name in names}
        self.cp.add(sum(chosen.values()) == placed)
        return chosen


def floor_points(
    grid: Grid, tables: dict[str, JobTable], starts: dict[str, PreparationTable]
) -> int:
    """Return points below which no schedule can come.

    The cheapest option of every mix, one build of each preparation by its cheapest way, and what
    cannot have a place at all.
    """
    problem, weights = grid.problem, grid.problem.weights
    possible = {j.id for j in problem.jobs if can_be_placed(grid, j, tables[j.id], starts)}
    absent = {job.id: weights.unplaced * job.priority for job in problem.jobs}
    least = {
        one: min(cheapest(table), absent[one]) if one in possible else absent[one]
        for one, table in tables.items()
    }
    hopeless = sum(s.priority for s in problem.standing if not fitting_ovens(problem, s.load))
    either = {one for groups in problem.alternatives for group in groups for one in group}
    used = {p for j in problem.jobs if j.id in possible - either for p in j.preparation_ids}
    builds = sum(min(weights.build + least_cost(starts[p]), weights.unplaced) for p in used)
    builds += weights.rest * _no_time(grid)
    return least_points(problem, least) + builds + weights.unplaced * hopeless


def least_cost(table: PreparationTable) -> int:
    """Return the points of the cheapest way by which a preparation can be made at all."""
    ways = table.preparation.ways
    return min((ways[way].cost for way in set(table.way.tolist())), default=0)


def _no_time(grid: Grid) -> int:
    """Return the breaks that begin at no slot of their window."""
    rests = [rest for worker in grid.problem.workers for rest in worker.rests]
    return sum(grid.up(rest.from_min) > grid.down(rest.by_min) for rest in rests)


def can_be_placed(
    grid: Grid, job: Job, table: JobTable, starts: dict[str, PreparationTable]
) -> bool:
    """Return whether a job has a start, a mixer, an oven for every load and its preparations."""
    return (
        len(table.pair_row) > 0
        and bool(job.mixer_ids)
        and bool(tub_ways(grid.problem, job))
        and all(fitting_ovens(grid.problem, load) and load.routes for load in job.loads)
        and all(p in starts and len(starts[p].start_min) for p in job.preparation_ids)
    )


def fitting_ovens(problem: Problem, load: Load) -> list[str]:
    """Return the ovens that have places enough for a load."""
    places = {o.oven_id: o.places for o in problem.ovens}
    return [o.oven_id for o in load.ovens if places.get(o.oven_id, 0) >= o.places]

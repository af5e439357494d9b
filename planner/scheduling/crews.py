"""How many people are there for which work: the crew as a whole, and those who alone can do it.

Work finds hands at a minute when, for every group of people, no more is asked of what only they
can do than there are of them (Hall's theorem). With no skills entered that is one group.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.scheduling.grid import Grid, Ints
from planner.scheduling.problem import Problem, Worker

HANDS = ("scale", "mix", "fold", "move", "divide", "load")
"""Kinds of work at doughs and loads; those at preparations are told by the preparations."""


@dataclass(frozen=True)
class Crew:
    """Some people, the kinds of work that nobody else does, and how many are there by slot."""

    person_ids: frozenset[str]
    skills: frozenset[str]
    people: Ints


def crews_of(grid: Grid) -> tuple[Crew, ...]:
    """Return the groups that must each suffice; the first is everybody.

    Parameters
    ----------
    grid
        The day with its workers.
    """
    problem = grid.problem
    able = {skill: frozenset(_able(problem, skill)) for skill in skills_of(problem)}
    groups = {frozenset(w.person_id for w in problem.workers)}
    for people in sorted(set(able.values()), key=sorted):
        groups |= {people | group for group in groups} | {people}
    found = [
        Crew(
            group,
            frozenset(skill for skill, people in able.items() if people <= group),
            people_by_slot(grid, [w for w in problem.workers if w.person_id in group]),
        )
        for group in sorted(groups, key=lambda g: (-len(g), sorted(g)))
    ]
    return tuple(crew for i, crew in enumerate(found) if i == 0 or crew.skills)


def skills_of(problem: Problem) -> tuple[str, ...]:
    """Return every kind of work that the day may ask for."""
    return (*HANDS, *dict.fromkeys(p.skill for p in problem.preparations))


def _able(problem: Problem, skill: str) -> list[str]:
    return [w.person_id for w in problem.workers if w.can(skill)]


def people_by_slot(grid: Grid, workers: Sequence[Worker]) -> Ints:
    """Return how many of some persons work through the whole of each slot."""
    worked = np.zeros(grid.slots, dtype=np.int64)
    for worker in workers:
        there = np.zeros(grid.slots * grid.step, dtype=bool)
        for start, end in worker.hours:
            there[max(0, start) : max(0, end)] = True
        worked += there.reshape(grid.slots, grid.step).all(axis=1)
    return worked

"""Disturbing a plan in force as little as can be: what lies off it costs points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

from planner.scheduling.problem import Job, Load, Problem, StandingLoad, Weights

SHARE = 2
"""What hurts counts double beside slots moved, so that moving is never cheaper than a real gain."""

MOVED_PER_SLOT, OTHER_MIXER = 1, 3


def kept_near(
    problem: Problem, mixes: Mapping[str, tuple[int, str]], loads: Mapping[str, int]
) -> Problem:
    """Return the problem of a day that stays near a plan in force.

    Parameters
    ----------
    problem
        The day as it would be planned from new.
    mixes
        Start [min] and mixer of each mix in force, by job id.
    loads
        Minute of loading of each load in force, by its id.

    Notes
    -----
    Points are ``2 P + slots moved + 3 for each mixer changed``, where ``P`` are the points of a
    new plan. Loads count like mixes.
    """
    weights = replace(
        _scaled(problem.weights), moved_per_slot=MOVED_PER_SLOT, other_mixer=OTHER_MIXER
    )
    return replace(
        problem,
        weights=weights,
        jobs=tuple(_near(job, mixes.get(job.id), loads) for job in problem.jobs),
        standing=tuple(_standing_near(item, loads) for item in problem.standing),
        preparations=tuple(
            replace(one, ways=tuple(replace(way, cost=SHARE * way.cost) for way in one.ways))
            for one in problem.preparations
        ),
    )


def _scaled(weights: Weights) -> Weights:
    values = {field.name: SHARE * getattr(weights, field.name) for field in fields(weights)}
    return Weights(**values)


def _near(job: Job, was: tuple[int, str] | None, loads: Mapping[str, int]) -> Job:
    return replace(
        job,
        was_start=None if was is None else was[0],
        was_mixer_id=None if was is None else was[1],
        options=tuple(replace(option, cost=SHARE * option.cost) for option in job.options),
        loads=tuple(_load_near(load, loads) for load in job.loads),
    )


def _standing_near(item: StandingLoad, loads: Mapping[str, int]) -> StandingLoad:
    return replace(item, load=_load_near(item.load, loads))


def _load_near(load: Load, loads: Mapping[str, int]) -> Load:
    return replace(load, was_start=loads.get(load.id))

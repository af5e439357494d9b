"""From one dough to the next on a mixer: cleaning, what must be kept apart, and runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from planner.scheduling.problem import Job, Problem
from planner.scheduling.schedule import ScheduledJob


def clean_min(problem: Problem, mixer_id: str, before: Job, after: Job) -> int:
    """Return the minutes for which a mixer is cleaned between two jobs [min].

    Adding an allergen needs no cleaning; losing one does, and so does another colour class.
    """
    return clean_minutes(
        problem.clean_down_min.get(mixer_id, 0),
        problem.colour_clean_min.get(mixer_id, {}),
        (before.allergens, before.colour_class),
        (after.allergens, after.colour_class),
    )


def clean_minutes(
    usual_min: int,
    colours_min: Mapping[tuple[str, str], int],
    before: tuple[frozenset[str], str],
    after: tuple[frozenset[str], str],
) -> int:
    """Return the minutes of cleaning between two doughs, each with its allergens and colour [min].

    Parameters
    ----------
    usual_min
        Of the mixer when an allergen goes or the colour changes.
    colours_min
        From one colour class to another, where that is not the usual.

    Examples
    --------
    >>> plain, nuts = (frozenset(), ""), (frozenset({"nuts"}), "")
    >>> clean_minutes(15, {}, plain, nuts), clean_minutes(15, {}, nuts, plain)
    (0, 15)
    """
    minutes = usual_min if before[0] - after[0] else 0
    if before[1] != after[1]:
        minutes = max(minutes, colours_min.get((before[1], after[1]), usual_min))
    return minutes


GLUTEN = "gluten"
"""The word by which gluten stands among allergens."""


def keeps_apart(one: Job, other: Job) -> bool:
    """Return whether the first must be out of the way before the second comes into its room."""
    return one.gluten_free and GLUTEN in other.allergens


def change_minutes(problem: Problem, jobs: Sequence[ScheduledJob]) -> int:
    """Return weighted minutes of cleaning, and of changes of dough, between mixes of a mixer."""
    weights, cleaned, changes = problem.weights, 0, 0
    by_mixer: dict[str, list[ScheduledJob]] = {}
    for placed in sorted(jobs, key=lambda j: (j.start, j.job_id)):
        by_mixer.setdefault(placed.mixer_id, []).append(placed)
    for mixer_id, sequence in by_mixer.items():
        doughs = [problem.job(placed.job_id) for placed in sequence]
        for before, after in pairwise(doughs):
            cleaned += clean_min(problem, mixer_id, before, after)
            changes += before.dough != after.dough
    return weights.clean_per_hour * cleaned + 60 * weights.change_each * changes

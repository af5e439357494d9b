"""When a load goes in: the best slot inside its window that ovens and hands leave free."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.grid import PAST_SLOTS, Flags, Ints
from planner.scheduling.occupancy import Occupancy
from planner.scheduling.points import was_slot
from planner.scheduling.problem import Load, Weights

Points = NDArray[np.floating]

TIE_SHARE = 0.01
"""Weight of the second stage beside the first where it may only break ties."""


def rest_share(weights: Weights) -> float:
    """Return the weight of the second stage beside the first: whole where it may trade."""
    return 1.0 if weights.fresh_trade else TIE_SHARE


def loading_slots(day: Occupancy, load: Load) -> Flags:
    """Return the slots at which some oven and somebody are free for a load."""
    grid = day.grid
    able = np.zeros(grid.slots, dtype=bool)
    for choice in load.ovens:
        if choice.oven_id in day.recovery:
            able |= day.oven_free(load, choice) & day.oven_runs(choice.oven_id, load)
    return able & day.people_free(grid.up(day.problem.load_work_min), "load")


def best_loading(
    day: Occupancy,
    able: Flags,
    window: tuple[Ints, Ints, Ints],
    in_time: int | None,
    priority: int,
    *,
    past: bool,
    was: int | None = None,
    ripe: Ints | None = None,
) -> tuple[Ints, Points]:
    """Return the best slot of loading inside each window, and its points.

    The latest in time; where a proof is wanted, the nearest to it that is in time; where the plan
    in force had one, that or the nearest to it if it costs less.
    """
    grid, weights = day.grid, day.problem.weights
    low, high, last = window
    before, after = _nearest(able)
    end = np.minimum(high, last)
    chosen = _choose(before, after, low, end, in_time)
    if ripe is not None:
        chosen = _nearer(chosen, (before, after), (low, end, ripe), in_time)
    there = None if was is None or not weights.moved_per_slot else was_slot(was, grid.step)
    if there is not None:
        goal = np.clip(there, low, np.maximum(low, end))
        near = _at(after, goal)
        near = np.where(near <= end, near, before[np.clip(goal, 0, len(before) - 1)])
        usable = (near >= low) & (near <= end)
        other = np.where(usable, near, -1)
        better = usable & (
            _loading_points(day, other, high, in_time, priority, there, ripe)
            < _loading_points(day, chosen, high, in_time, priority, there, ripe)
        )
        chosen = np.where(better, other, chosen)
    if past:
        stretched = _at(after, np.maximum(low, end + 1))
        usable = (chosen < 0) & (stretched <= np.minimum(high + PAST_SLOTS, last))
        chosen = np.where(usable & (stretched < grid.slots), stretched, chosen)
    return chosen, _loading_points(day, chosen, high, in_time, priority, there, ripe)


def _loading_points(
    day: Occupancy,
    chosen: Ints,
    high: Ints,
    in_time: int | None,
    priority: int,
    there: int | None,
    ripe: Ints | None,
) -> Points:
    """Return the points of loadings; infinite where there is none (-1)."""
    weights = day.problem.weights
    points = weights.window_per_slot * np.maximum(0, chosen - high).astype(np.float64)
    if ripe is not None:
        points += weights.proof_per_slot * np.abs(chosen - ripe)
    if in_time is not None:
        points += weights.late_per_slot * priority * np.maximum(0, chosen - in_time)
        rest = rest_share(weights) * weights.fresh_per_hour / 60 * day.grid.step
        points += rest * np.maximum(0, in_time - chosen)
    if there is not None:
        points += weights.moved_per_slot * np.abs(chosen - there)
    return np.where(chosen >= 0, points, np.inf)


def _nearest(able: Flags) -> tuple[Ints, Ints]:
    """Return for each slot the nearest able slot up to it (or -1) and from it on (or the end)."""
    slots = np.arange(len(able))
    before = np.maximum.accumulate(np.where(able, slots, -1))
    after = np.minimum.accumulate(np.where(able, slots, len(able))[::-1])[::-1]
    return before, after


def _at(array: Ints, index: Ints) -> Ints:
    """Return the entries, and the length of the array for what lies beyond it."""
    inside = np.clip(index, 0, len(array) - 1)
    return np.where(index < len(array), array[inside], len(array))


def _nearer(
    chosen: Ints, near: tuple[Ints, Ints], window: tuple[Ints, Ints, Ints], in_time: int | None
) -> Ints:
    """Return the slot nearest to the wanted proof for what is loaded in time."""
    (before, after), (low, end, ripe) = near, window
    last = end if in_time is None else np.minimum(end, in_time)
    goal = np.clip(np.minimum(ripe, last), 0, len(before) - 1)
    sooner, later = before[goal], after[goal]
    found = np.where(
        (later <= last) & ((sooner < low) | (later - ripe < ripe - sooner)), later, sooner
    )
    inside = (found >= low) & (found <= last) & (chosen >= 0)
    return np.where(inside & (chosen <= last), found, chosen)


def _choose(before: Ints, after: Ints, low: Ints, end: Ints, in_time: int | None) -> Ints:
    """Return the latest slot in time, else the soonest late one; -1 where there is none."""
    goal = np.minimum(end, -1 if in_time is None else in_time)
    early = np.where(goal >= 0, before[np.clip(goal, 0, len(before) - 1)], -1)
    late = _at(after, np.maximum(low, 0 if in_time is None else in_time + 1))
    chosen = np.where(early >= low, early, np.where(late <= end, late, -1))
    return np.where(chosen < len(after), chosen, -1)

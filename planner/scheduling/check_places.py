"""The first judge's rules about places: ovens, chambers, bench and tubs, minute by minute."""

from __future__ import annotations

from collections.abc import Set as AbstractSet

import numpy as np

from planner.scheduling.findings import Finding, all_loads, named, placed_jobs, ways_taken
from planner.scheduling.problem import BENCH, TUBS, WEIGHT, Load, OvenPlaces, Problem
from planner.scheduling.schedule import Schedule

Use = tuple[int, int, int]
"""From which minute to which, and how many."""


def ovens_hold(problem: Problem, schedule: Schedule) -> list[Finding]:
    """No oven is fuller than its places, recovery included, in any minute."""
    ovens = {o.oven_id: o for o in problem.ovens}
    uses: dict[str, list[Use]] = {o: [] for o in ovens}
    found = []
    for load, at in all_loads(problem, schedule):
        if at.oven_id not in ovens:
            found.append(Finding("ovens_hold", at.oven_id, "no such oven"))
            continue
        end = at.load_start + _held_min(ovens[at.oven_id], load)
        uses[at.oven_id].append((at.load_start, end, at.places))
    for oven_id, used in uses.items():
        found += _overfull("ovens_hold", oven_id, used, ovens[oven_id].places)
    return found


def _held_min(oven: OvenPlaces, load: Load) -> int:
    """Return how long a load keeps its places."""
    told = [c.hold_min for c in load.ovens if c.oven_id == oven.oven_id and c.hold_min is not None]
    return told[0] if told else load.bake_min + oven.recovery_min


def ovens_hot_enough(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A load goes into an oven while that is as hot as the load wants it."""
    found = []
    for load, at in all_loads(problem, schedule):
        for choice in load.ovens:
            if choice.oven_id != at.oven_id:
                continue
            early = choice.hot_from is not None and at.load_start < choice.hot_from
            late = choice.hot_by is not None and at.load_start > choice.hot_by
            if early or late:
                detail = f"loaded at {at.load_start}, {'too hot' if early else 'not hot enough'}"
                found.append(Finding("ovens_hot_enough", at.load_id, detail))
    return found


def ovens_change_heat(problem: Problem, schedule: Schedule) -> list[Finding]:
    """An oven has time to heat up, cool down or empty its belt between unlike loads."""
    found = []
    for oven in problem.ovens:
        mine = sorted(
            (
                (at.load_start, load)
                for load, at in all_loads(problem, schedule)
                if at.oven_id == oven.oven_id
            ),
            key=lambda pair: (pair[0], pair[1].id),
        )
        for i, (start, one) in enumerate(mine):
            for later, other in mine[i + 1 :]:
                free = start + _unlike_min(oven, one, other)
                if later < free and not (one.held and other.held):
                    detail = f"{other.id} goes in at {later}, free for it from {free} on"
                    found.append(Finding("ovens_change_heat", oven.oven_id, detail))
    return found


def _unlike_min(oven: OvenPlaces, one: Load, other: Load) -> int:
    """Return how long after one load an unlike one may follow; 0 for a like one."""
    known = one.bake_c is not None and other.bake_c is not None
    up_k = (other.bake_c or 0) - (one.bake_c or 0) if known else 0
    held = _held_min(oven, one)
    if oven.gap_min is not None:
        speed = one.bake_min - held != other.bake_min - _held_min(oven, other)
        return held + oven.gap_min if speed or abs(up_k) > 5 else 0
    if abs(up_k) <= 5 or oven.heats_k_per_min + oven.cools_k_per_min == 0:
        return 0
    rate = oven.heats_k_per_min if up_k > 0 else oven.cools_k_per_min
    change = -(-abs(up_k) // rate) if rate > 0 else 0
    return max(held, one.bake_min + int(change))


def _overfull(rule: str, subject: str, uses: list[Use], most: int) -> list[Finding]:
    """Count a resource in every minute and report the first in which it is overfull."""
    if not uses:
        return []
    level = np.zeros(max(end for _, end, _ in uses) + 1, dtype=np.int64)
    for start, end, count in uses:
        level[max(0, start) : end] += count
    over = np.flatnonzero(level > most)
    if len(over) == 0:
        return []
    minute = int(over[0])
    return [Finding(rule, subject, f"{level[minute]} instead of {most} in minute {minute}")]


def chambers_hold(problem: Problem, schedule: Schedule) -> list[Finding]:
    """No place holds more racks, or vessels, than it has; too many at first are named."""
    others = {name for name in problem.racks if name == BENCH or name.startswith((TUBS, WEIGHT))}
    return _counted("chambers_hold", problem, schedule, problem.racks.keys() - others)


def chambers_bear(problem: Problem, schedule: Schedule) -> list[Finding]:
    """No chamber holds more grams than it may, of bulks and of loads together."""
    weighed = {name for name in problem.racks if name.startswith(WEIGHT)}
    return _counted("chambers_bear", problem, schedule, weighed)


def bench_and_tubs_hold(problem: Problem, schedule: Schedule) -> list[Finding]:
    """There are bench places for all divides at once, and tubs for all bulks at once."""
    names = {name for name in problem.racks if name == BENCH or name.startswith(TUBS)}
    found = _counted("bench_and_tubs_hold", problem, schedule, names)
    return found + [
        Finding("bench_and_tubs_hold", job.id, f"lies in tubs of way {placed.tubs}")
        for job, placed in placed_jobs(problem, schedule)
        if not 0 <= placed.tubs < len(job.tubs)
    ]


def _counted(
    rule: str, problem: Problem, schedule: Schedule, names: AbstractSet[str]
) -> list[Finding]:
    """Count some resources in every minute; one that is too full at first may be named so."""
    uses, found = _uses(problem, schedule), []
    standing = [r for s in problem.standing for r in s.load.routes[:1]]
    for name in sorted(names):
        most = problem.racks[name]
        if named(schedule, "no_place", name):
            there = sum(r.racks for r in standing if name in (r.place_id, *r.later_ids))
            there += sum(n for r in standing for one, n in r.holds if one == name)
            most = max(most, there)
        found += _overfull(rule, name, uses.get(name, []), most)
    return found


def _uses(problem: Problem, schedule: Schedule) -> dict[str, list[Use]]:
    """Return who takes what from which minute to which: loads, scalds, bulks, divides."""
    uses: dict[str, list[Use]] = {}
    for load, at in all_loads(problem, schedule):
        for route in load.routes[at.route : at.route + 1] if at.route >= 0 else ():
            for place_id in {route.place_id, *route.later_ids}:
                uses.setdefault(place_id, []).append((at.proof_start, at.load_start, route.racks))
            for name, count in route.holds:
                uses.setdefault(name, []).append((at.proof_start, at.load_start, count))
    starts = {p.job_id: p.start for p in schedule.jobs}
    for build, way in ways_taken(problem, schedule):
        until = max((starts.get(one, build.start) for one in build.job_ids), default=0)
        for name, count in way.holds:
            uses.setdefault(name, []).append((build.start, until, count))
    for job, placed in placed_jobs(problem, schedule):
        uses.setdefault(BENCH, []).append((placed.divide_start, placed.divide_end, job.bench))
        for way_of_bulk in job.tubs[placed.tubs : placed.tubs + 1]:
            for name, count in way_of_bulk:
                uses.setdefault(name, []).append((placed.mix_end, placed.divide_start, count))
    return uses

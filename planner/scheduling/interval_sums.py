"""Sums over an interval: what must happen inside it wholly, against what there is in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from planner.scheduling.crews import crews_of
from planner.scheduling.grid import Ints, chamber_racks, shut_slots
from planner.scheduling.heat import hold_min
from planner.scheduling.impossible import Contradiction, DaySums, WayOut, cheapest_first
from planner.scheduling.problem import Job, Load

NEVER = 10**6
"""Stands for a slot that does not come."""


@dataclass(frozen=True)
class Task:
    """Work that must lie inside an interval: slots from and by, amount in slots of the resource."""

    subject: str
    first: int
    end: int
    amount: int
    priority: int


def most_excess(
    tasks: Sequence[Task], capacity: Ints, extra: int = 0
) -> tuple[int, int, int, list[Task]] | None:
    """Return the interval that is overfull by most: from, by, excess, its tasks.

    ``capacity`` is what there is in each slot; ``extra`` what an interval has beside it.
    """
    tasks = [t for t in tasks if t.amount > 0 and t.first < t.end < NEVER]
    if not tasks:
        return None
    upto = np.concatenate(([0], np.cumsum(capacity)))
    most = len(capacity)
    ordered = sorted(tasks, key=lambda t: t.end)
    first = np.array([t.first for t in ordered])
    end = np.minimum([t.end for t in ordered], most)
    amount = np.array([t.amount for t in ordered])
    best: tuple[int, int, int] | None = None
    for start in np.unique(np.clip(first, 0, most)):
        needed = np.cumsum(np.where(first >= start, amount, 0))
        over = needed - (upto[np.maximum(end, start)] - upto[start]) - extra
        at = int(np.argmax(over))
        if over[at] > 0 and (best is None or over[at] > best[2]):
            best = (int(start), int(end[at]), int(over[at]))
    if best is None:
        return None
    start_at, by, excess = best
    return start_at, by, excess, [t for t in ordered if t.first >= start_at and t.end <= by]


def too_little(
    day: DaySums,
    code: str,
    resources: tuple[str, ...],
    unit: str,
    found: tuple[int, int, int, list[Task]] | None,
    capacity: Ints,
    extra: int = 0,
) -> Iterator[Contradiction]:
    """Yield the contradiction of an overfull interval."""
    if found is None:
        return
    first, by, excess, tasks = found
    step, weights = day.grid.step, day.problem.weights
    there = int(capacity[first:by].sum()) + extra
    needed = sum(t.amount for t in tasks)
    later = np.cumsum(capacity[by:])
    slots = int(np.searchsorted(later, excess)) + 1 if len(later) and later[-1] >= excess else None
    subjects = tuple(dict.fromkeys(t.subject for t in tasks))
    least = min(t.priority for t in tasks)
    out = [WayOut("more", excess * step, subjects, None)]
    if slots is not None:
        price = weights.late_per_slot * least * slots
        out.append(WayOut("leave_later", slots * step, subjects, price))
    left_out = _least_left_out(tasks, excess)
    prices = {t.subject: t.priority for t in tasks}
    out.append(
        WayOut("leave_out", 0, left_out, weights.unplaced * sum(prices[s] for s in left_out))
    )
    yield Contradiction(
        code,
        resources,
        day.minute(first),
        day.minute(by),
        subjects,
        needed * step,
        there * step,
        unit,
        cheapest_first(out),
    )


def _least_left_out(tasks: Sequence[Task], excess: int) -> tuple[str, ...]:
    """Return the mixes whose absence makes room: one if one will do, of those the least wanted."""
    amounts: dict[str, int] = {}
    for task in tasks:
        amounts[task.subject] = amounts.get(task.subject, 0) + task.amount
    priority = {t.subject: t.priority for t in tasks}
    alone = [s for s, amount in amounts.items() if amount >= excess]
    if alone:
        return (min(alone, key=lambda s: (priority[s], amounts[s], s)),)
    chosen: list[str] = []
    for subject in sorted(amounts, key=lambda s: (priority[s], -amounts[s], s)):
        chosen.append(subject)
        excess -= amounts[subject]
        if excess <= 0:
            break
    return tuple(chosen)


def too_few_oven_minutes(day: DaySums) -> Iterator[Contradiction]:
    """Loads that must be out by an hour ask for more oven than there is before it."""
    grid, problem = day.grid, day.problem
    ovens = {o.oven_id: o for o in problem.ovens}
    shut = shut_slots(grid)
    loads = loads_in_time(day)
    seen: set[tuple[str, ...]] = set()
    for _, load, *_ in loads:
        group = tuple(sorted(o.oven_id for o in load.ovens if o.oven_id in ovens))
        if not group or group in seen:
            continue
        seen.add(group)
        capacity = sum(
            (
                np.where(shut.get(o, np.zeros(grid.slots, dtype=bool)), 0, ovens[o].places)
                for o in group
            ),
            start=np.zeros(grid.slots, dtype=np.int64),
        )
        tasks, after = [], dict.fromkeys(group, 0)
        for subject, one, first, last, priority in loads:
            mine = {o.oven_id: o.places for o in one.ovens if o.oven_id in ovens}
            if mine and set(mine) <= set(group):
                held = {o: grid.up(hold_min(ovens[o], one)) for o in mine}
                span = min(grid.bake_slots(one), *held.values())
                after |= {o: max(after[o], held[o] - span) for o in mine}
                amount = min(mine[o] * held[o] for o in mine)
                tasks.append(Task(subject, first, last + span, amount, priority))
        # After its last load a place need not recover any more inside the interval.
        extra = sum(ovens[o].places * slots for o, slots in after.items())
        found = most_excess(tasks, capacity, extra)
        yield from too_little(day, "ovens", group, "place min", found, capacity, extra)


def loads_in_time(day: DaySums) -> list[tuple[str, Load, int, int, int]]:
    """Return every load: whose, itself, first and last slot of loading in time, priority."""
    grid = day.grid
    found = [
        (job.id, load, *day.bounds[job.id].loads[load.id], job.priority)
        for job in day.jobs
        if job.id in day.bounds and job.mixer_ids
        for load in job.loads
    ]
    for item in day.problem.standing:
        last = min(grid.down(item.load_by), grid.in_time(item.load, item.leave_by) or 0)
        found.append((item.load.id, item.load, grid.up(item.load_from), last, item.priority))
    # What cannot be loaded in time at all is another rule's.
    return [one for one in found if one[2] <= one[3]]


def too_few_mixer_minutes(day: DaySums) -> Iterator[Contradiction]:
    """Mixes that must be started by an hour ask for more of their mixers than there is."""
    grid = day.grid
    shut = shut_slots(grid)
    seen: set[tuple[str, ...]] = set()
    jobs = [job for job in day.jobs if job.mixer_ids and in_time(day, job)]
    for job in jobs:
        group = tuple(sorted(job.mixer_ids))
        if group in seen:
            continue
        seen.add(group)
        none = np.zeros(grid.slots, dtype=bool)
        capacity = sum(
            (1 - shut.get(m, none).astype(np.int64) for m in group),
            start=np.zeros(grid.slots, dtype=np.int64),
        )
        tasks = [
            Task(
                one.id,
                day.bounds[one.id].start[0],
                day.bounds[one.id].start[1] + grid.up(one.mix_min),
                grid.up(one.mix_min),
                one.priority,
            )
            for one in jobs
            if set(one.mixer_ids) <= set(group) and not one.held
        ]
        found = most_excess(tasks, capacity)
        yield from too_little(day, "mixers", group, "min", found, capacity)


def in_time(day: DaySums, job: Job) -> bool:
    """Return whether a mix by itself could be in time."""
    bound = day.bounds.get(job.id)
    return bound is not None and bound.start[0] <= bound.start[1]


def too_few_hands(day: DaySums) -> Iterator[Contradiction]:
    """Work that must be done by an hour asks for more hands that can do it than there are."""
    grid = day.grid
    tasks: list[tuple[str, Task]] = []
    for job in day.jobs:
        if not job.mixer_ids or not in_time(day, job) or job.held:
            continue
        bound = day.bounds[job.id]
        scale, mix = grid.up(job.scale_min), grid.up(job.mix_min) if job.attended else 0
        first, last = bound.start
        tasks.append(("scale", Task(job.id, first - scale, last, scale, job.priority)))
        if mix:
            tasks.append(("mix", Task(job.id, first, last + mix, mix, job.priority)))
        divide = grid.up(job.divide_min)
        first, last = bound.divide
        whole = divide * job.crew
        tasks.append(("divide", Task(job.id, first, last + divide, whole, job.priority)))
    work = grid.up(day.problem.load_work_min)
    tasks += [
        ("load", Task(subject, first, last + work, work, priority))
        for subject, load, first, last, priority in loads_in_time(day)
        if not load.held
    ]
    for crew in crews_of(grid):
        theirs = [task for skill, task in tasks if skill in crew.skills]
        found = most_excess(theirs, crew.people)
        people = tuple(sorted(crew.person_ids))
        yield from too_little(day, "hands", people, "min", found, crew.people)


def too_few_rack_minutes(day: DaySums) -> Iterator[Contradiction]:
    """Loads that must proof in a chamber by an hour ask for more racks than it has."""
    grid = day.grid
    for chamber, racks in chamber_racks(day.problem).items():
        capacity = np.full(grid.slots, racks, dtype=np.int64)
        tasks = []
        for job in day.jobs:
            if not in_time(day, job) or not job.mixer_ids:
                continue
            table, bound = day.tables[job.id], day.bounds[job.id]
            for load in job.loads:
                through = [chamber in way.place_ids for way in load.routes]
                if not through or not all(through):
                    continue
                proof = int(table.proof_from[table.pair_row].min())
                count = min(way.racks for way in load.routes)
                begins = bound.divide[0] + grid.up(load.proof_offset_min)
                ends = bound.loads[load.id][1]
                if begins + proof <= ends:
                    tasks.append(Task(job.id, begins, ends, count * proof, job.priority))
        found = most_excess(tasks, capacity)
        yield from too_little(day, "racks", (chamber,), "rack min", found, capacity)

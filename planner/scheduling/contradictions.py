"""What cannot be, by arithmetic alone: found before the search, with the cheapest ways out.

Each rule relaxes the day until a sum decides it: if more is needed between two minutes than there
is, no search can place it all in time and inside its windows. So what is found here is sure; what
is not found may still not fit. The search then gives the nearest plan.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from planner.scheduling.grid import Flags, Ints, free_runs, standing_racks
from planner.scheduling.impossible import Contradiction, DaySums, WayOut, cheapest_first
from planner.scheduling.interval_sums import (
    in_time,
    too_few_hands,
    too_few_mixer_minutes,
    too_few_oven_minutes,
    too_few_rack_minutes,
)
from planner.scheduling.problem import Job, Problem, Store


def contradictions(problem: Problem) -> tuple[Contradiction, ...]:
    """Return what no search can bring about, however long it looks.

    Parameters
    ----------
    problem
        The day.

    Returns
    -------
    tuple of Contradiction
        In the order of the rules; empty when the sums leave room.

    Notes
    -----
    A mix that is hopeless by itself is named once and left out of the sums that follow, so that
    these name what else is short. Sums over an interval count what must happen inside it wholly.
    """
    day = DaySums(problem)
    alone = [*no_mixer(day), *no_oven(day), *too_short(day), *nobody_there(day)]
    hopeless = frozenset(j for one in alone for j in one.job_ids)
    day = DaySums(problem, hopeless)
    return (
        *overfull_at_start(day),
        *alone,
        *pins_that_clash(day),
        *orders_in_a_circle(day),
        *too_few_oven_minutes(day),
        *too_few_mixer_minutes(day),
        *too_few_hands(day),
        *too_few_rack_minutes(day),
        *builds_too_far_apart(day),
        *stores_too_small(day),
    )


# ---- one mix by itself --------------------------------------------------------------------------


def no_mixer(day: DaySums) -> Iterator[Contradiction]:
    """A mix that no mixer takes."""
    for job in day.jobs:
        if not job.mixer_ids:
            price = day.problem.weights.unplaced * job.priority
            out = (WayOut("leave_out", 0, (job.id,), price), WayOut("more", 1, (job.id,), None))
            yield Contradiction(
                "no_mixer", (), job.earliest_start, job.latest_start, (job.id,), 1, 0, "mixers", out
            )


def no_oven(day: DaySums) -> Iterator[Contradiction]:
    """A load that is larger than every oven it may use."""
    places = {o.oven_id: o.places for o in day.problem.ovens}
    for job in day.jobs:
        for load in job.loads:
            if any(places.get(o.oven_id, 0) >= o.places for o in load.ovens):
                continue
            needed = min((o.places for o in load.ovens), default=1)
            there = max((places.get(o.oven_id, 0) for o in load.ovens), default=0)
            ovens = tuple(o.oven_id for o in load.ovens)
            price = day.problem.weights.unplaced * job.priority
            out = (WayOut("leave_out", 0, (job.id,), price),)
            first, last = job.earliest_start, job.latest_start
            yield Contradiction(
                "no_oven", ovens, first, last, (job.id,), needed, there, "places", out
            )
            break


def too_short(day: DaySums) -> Iterator[Contradiction]:
    """Leaves before it could be ready, even if everything were free for it."""
    weights, step = day.problem.weights, day.grid.step
    for job in day.jobs:
        bound = day.bounds.get(job.id)
        if bound is None or bound.ready_min is None or job.leave_by is None or not job.mixer_ids:
            continue
        late_min = bound.ready_min - job.leave_by
        if late_min <= 0:
            continue
        first = day.minute(bound.start[0])
        price = weights.late_per_slot * job.priority * -(-late_min // step)
        out = [
            WayOut("leave_later", late_min, (job.id,), price),
            WayOut("leave_out", 0, (job.id,), weights.unplaced * job.priority),
            WayOut("start_sooner", late_min, (job.id,), None),
        ]
        yield Contradiction(
            "too_short",
            (),
            first,
            job.leave_by,
            (job.id,),
            bound.ready_min - first,
            job.leave_by - first,
            "min",
            cheapest_first(out),
        )


def nobody_there(day: DaySums) -> Iterator[Contradiction]:
    """Nobody works at any minute at which a mix can be scaled, or divided."""
    grid, people = day.grid, day.people
    price = day.problem.weights.unplaced
    for job in day.jobs:
        table = day.tables[job.id]
        if not job.mixer_ids or job.held:
            continue
        if not len(table.pair_row):
            yield no_start(day, job)
            continue
        scale = grid.up(job.scale_min)
        length = scale + (grid.up(job.mix_min) if job.attended else 0)
        starts = table.pair_start - scale
        divides = table.pair_start + grid.up(job.mix_min) + table.bulk[table.pair_row]
        for at, slots in ((starts, length), (divides, grid.up(job.divide_min))):
            there = _somebody(people, slots)
            inside = at[(at >= 0) & (at < len(there))]
            if slots == 0 or (len(inside) and bool(there[inside].any())):
                continue
            first, last = int(at.min()), int(at.max()) + slots
            if at is divides:  # a divide may come later than its window, at a price
                later = np.flatnonzero(there[min(max(0, last), len(there)) :])
                late_min = (int(later[0]) + slots) * grid.step if len(later) else 0
            else:
                late_min = 0
            out = [
                WayOut("more", slots * grid.step, (job.id,), None),
                WayOut("leave_out", 0, (job.id,), price * job.priority),
            ]
            if late_min:
                window = day.problem.weights.window_per_slot * -(-late_min // grid.step)
                out.append(WayOut("divide_later", late_min, (job.id,), window))
            yield Contradiction(
                "nobody",
                (),
                day.minute(first),
                day.minute(last),
                (job.id,),
                slots * grid.step,
                0,
                "min",
                cheapest_first(out),
            )
            break


def no_start(day: DaySums, job: Job) -> Contradiction:
    """Return why a mix has no start at all: nobody works then, or no dough ripens from there."""
    first = max(0, job.earliest_start - job.scale_min)
    last = job.latest_start + job.mix_min
    there = day.people[first // day.grid.step : -(-last // day.grid.step)]
    price = day.problem.weights.unplaced * job.priority
    out = [WayOut("leave_out", 0, (job.id,), price)]
    if bool((there > 0).any()):
        return Contradiction("no_start", (), first, last, (job.id,), 1, 0, "starts", tuple(out))
    needed = job.scale_min + (job.mix_min if job.attended else 0)
    out.append(WayOut("more", needed, (job.id,), None))
    return Contradiction(
        "nobody", (), first, last, (job.id,), needed, 0, "min", cheapest_first(out)
    )


def _somebody(people: Ints, slots: int) -> Flags:
    return free_runs(people > 0, max(1, slots))


# ---- chambers, builds, stores, pins -------------------------------------------------------------


def overfull_at_start(day: DaySums) -> Iterator[Contradiction]:
    """More stands in a chamber when the day begins than it holds."""
    for place, count in standing_racks(day.problem.standing).items():
        racks = day.problem.racks.get(place)
        if racks is None or count <= racks:
            continue
        inside = tuple(
            item.load.id
            for item in day.problem.standing
            if any(place in way.place_ids for way in item.load.routes[:1])
        )
        out = (WayOut("more", count - racks, inside, None),)
        yield Contradiction("overfull", (place,), 0, 0, inside, count, racks, "racks", out)


def builds_too_far_apart(day: DaySums) -> Iterator[Contradiction]:
    """One preparation is asked to serve mixes further apart than it stays ripe.

    Mixes are taken in the order of their latest start in time; each build serves all that it can
    reach from the first. What is left over after its last build is too far from it.
    """
    for one in day.problem.preparations:
        table = day.starts[one.id]
        users = [j for j in day.jobs if one.id in j.preparation_ids and in_time(day, j)]
        users = [j for j in users if j.mixer_ids]
        if not users:
            continue
        if not len(table.start_min):
            continue
        longest = int((table.by_min - table.from_min).max())
        windows = {j.id: tuple(day.minute(s) for s in day.bounds[j.id].start) for j in users}
        soonest, latest = int(table.from_min.min()), int(table.by_min.max())
        outside = [j.id for j in users if windows[j.id][1] < soonest or windows[j.id][0] > latest]
        served: list[int] = []
        left: list[str] = []
        for job in sorted(users, key=lambda j: (windows[j.id][1], j.id)):
            low, high = windows[job.id]
            if job.id in outside or any(low <= at + longest and at <= high for at in served):
                continue
            if len(served) < one.max_builds:
                served.append(high)
            else:
                left.append(job.id)
        missed = (*outside, *left)
        if not missed:
            continue
        count = len(served) + len(left)
        price = day.problem.weights.unplaced * sum(
            day.problem.job(job_id).priority for job_id in missed
        )
        out = [
            WayOut("another_build", max(1, len(missed)), missed, day.problem.weights.build),
            WayOut("leave_out", 0, missed, price),
        ]
        yield Contradiction(
            "builds",
            (one.id,),
            soonest,
            latest,
            tuple(j.id for j in users),
            max(count, one.max_builds + 1),
            one.max_builds,
            "builds",
            cheapest_first(out),
        )


def stores_too_small(day: DaySums) -> Iterator[Contradiction]:
    """The least ice, chilled and boiling water that every way takes is more than there ever is."""
    problem = day.problem
    hours = problem.span_min / 60
    kettle = problem.kettle
    stores: list[tuple[str, Store | None, str]] = [
        ("ice", problem.ice, "ice_g"),
        ("chilled water", problem.chiller, "chilled_g"),
        ("kettle", kettle, "hot_g"),
    ]
    for name, store, field in stores:
        if store is None:
            continue
        least: dict[str, int] = {}
        if field != "hot_g":
            for job in day.jobs:
                rows = day.tables[job.id].pair_row
                if len(rows):
                    options = [job.options[int(r)] for r in np.unique(rows)]
                    least[job.id] = min(int(getattr(o, field)) for o in options)
        for one in problem.preparations:
            users = [j.id for j in day.jobs if one.id in j.preparation_ids]
            if users:
                least[one.id] = min(int(getattr(way, field)) for way in one.ways)
        there = min(store.start_g, store.room_g) + store.rate_g_per_h * hours
        needed = sum(least.values())
        if needed > there:
            takers = tuple(one for one, grams in least.items() if grams)
            out = (WayOut("more", needed - there, takers, None),)
            yield Contradiction(
                "store", (name,), 0, problem.span_min, takers, needed, there, "g", out
            )


def pins_that_clash(day: DaySums) -> Iterator[Contradiction]:
    """Two mixes are fixed to one mixer at a time, or a loading before its dough can be ripe."""
    grid, weights = day.grid, day.problem.weights
    fixed = [
        j
        for j in day.jobs
        if len(j.mixer_ids) == 1 and j.id in day.bounds and not j.held and _is_fixed(day, j)
    ]
    for i, one in enumerate(fixed):
        for other in fixed[i + 1 :]:
            a, b = sorted((one, other), key=lambda j: day.bounds[j.id].start[0])
            end = day.minute(day.bounds[a.id].start[0]) + a.mix_min
            start = day.minute(day.bounds[b.id].start[0])
            if a.mixer_ids == b.mixer_ids and start < end:
                both = (a.id, b.id)
                price = weights.unplaced * min(a.priority, b.priority)
                out = (
                    WayOut("unpin", end - start, (b.id,), 0),
                    WayOut("leave_out", 0, (min((a, b), key=lambda j: j.priority).id,), price),
                )
                yield Contradiction(
                    "pins", a.mixer_ids, start, end, both, a.mix_min + b.mix_min,
                    max(end, start + b.mix_min) - day.minute(day.bounds[a.id].start[0]), "min", out,
                )  # fmt: skip
    for job in day.jobs:
        bound = day.bounds.get(job.id)
        if job.load_at is None or bound is None or not job.loads:
            continue
        first = day.minute(bound.loads[job.loads[0].id][0])
        if job.load_at + grid.step / 2 < first:
            unpin = (WayOut("unpin", first - job.load_at, (job.id,), weights.pin),)
            yield Contradiction(
                "pins", (), job.load_at, first, (job.id,), first, job.load_at, "min", unpin
            )


def _is_fixed(day: DaySums, job: Job) -> bool:
    starts = day.tables[job.id].pair_start
    return bool(starts.min() == starts.max())


def orders_in_a_circle(day: DaySums) -> Iterator[Contradiction]:
    """Mixes that are pinned to come after each other, or after one that starts too late."""
    after = {j.id: set(j.after_ids) for j in day.jobs}
    left = dict(after)
    while True:
        free = [one for one, before in left.items() if not before & left.keys()]
        if not free:
            break
        for one in free:
            del left[one]
    price = day.problem.weights.pin
    if left:
        circle = tuple(sorted(left))
        out = (WayOut("unpin", 0, circle, price),)
        first = min(day.problem.job(j).earliest_start for j in circle)
        last = max(day.problem.job(j).latest_start for j in circle)
        yield Contradiction("order", (), first, last, circle, len(circle), 0, "mixes", out)
    for job in day.jobs:
        for before_id in job.after_ids:
            before = day.bounds.get(before_id)
            mine = day.bounds.get(job.id)
            if before is None or mine is None or {job.id, before_id} <= left.keys():
                continue
            soonest = day.minute(before.start[0]) + day.problem.job(before_id).mix_min
            latest = day.minute(int(day.tables[job.id].pair_start.max()))
            if soonest > latest:
                out = (WayOut("unpin", soonest - latest, (job.id, before_id), price),)
                yield Contradiction(
                    "order", (), latest, soonest, (job.id, before_id), soonest, latest, "min", out
                )

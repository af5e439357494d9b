"""The first judge: a schedule against its problem, minute by minute, without the solver.

Nothing here is shared with the search but the problem itself and the clean-down rule's words:
every use of a resource is worked out again from the times that the schedule states.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from planner.scheduling.check_hands import (
    breaks_are_had,
    hands_for_all_work,
    one_task_per_person,
    people_can_do_it,
    people_within_hours,
)
from planner.scheduling.check_places import (
    bench_and_tubs_hold,
    chambers_bear,
    chambers_hold,
    ovens_change_heat,
    ovens_hold,
    ovens_hot_enough,
)
from planner.scheduling.findings import (
    Finding,
    all_loads,
    inherited_loads,
    named,
    placed_jobs,
    preparation_of,
    ways_taken,
)
from planner.scheduling.preparation import Preparation
from planner.scheduling.problem import Problem, Store
from planner.scheduling.schedule import (
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
)


def check(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Judge a schedule.

    Parameters
    ----------
    problem
        The day.
    schedule
        What is claimed for it.

    Returns
    -------
    list of Finding
        Empty when every rule is kept, but for slack that the schedule itself names.
    """
    rules = (
        everything_has_a_place,
        starts_inside_bounds,
        options_hold,
        divides_inside_window,
        loads_follow_their_divide,
        loads_inside_window,
        leaves_in_time,
        pins_kept,
        everything_inside_span,
        one_mix_per_mixer,
        cleaned_between_doughs,
        gluten_kept_out,
        ovens_hold,
        nothing_runs_out_of_order,
        ovens_hot_enough,
        ovens_change_heat,
        chambers_hold,
        chambers_bear,
        bench_and_tubs_hold,
        ice_suffices,
        chilled_water_suffices,
        kettle_suffices,
        preparations_ready,
        hands_for_all_work,
        people_within_hours,
        one_task_per_person,
        people_can_do_it,
        breaks_are_had,
    )
    return [finding for rule in rules for finding in rule(problem, schedule)]


def everything_has_a_place(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Every mix and inherited load is planned once, or named as unplaced with a reason."""
    rule, found = "everything_has_a_place", []
    planned = [j.job_id for j in schedule.jobs] + [at.load_id for at in schedule.standing]
    instead, more = _made_otherwise(problem, schedule)
    found += more
    for one in [j.id for j in problem.jobs] + [s.load.id for s in problem.standing]:
        count = planned.count(one) + schedule.unplaced.count(one)
        if count != (0 if one in instead else 1):
            found.append(Finding(rule, one, f"is planned or named {count} times"))
        reasons = {u.code for u in schedule.unmet if u.subject == one}
        if one in schedule.unplaced and not reasons & {"no_option", "no_place", "no_preparation"}:
            found.append(Finding(rule, one, "has no place, and no reason is given"))
    for job, placed in placed_jobs(problem, schedule):
        if [at.load_id for at in placed.loads] != [load.id for load in job.loads]:
            found.append(Finding(rule, job.id, "its loads are not those of its mix"))
    return found


def _made_otherwise(problem: Problem, schedule: Schedule) -> tuple[set[str], list[Finding]]:
    """Return jobs whose dough is made as other mixes, and where it is made in two ways or none."""
    seen = {j.job_id for j in schedule.jobs} | set(schedule.unplaced)
    instead: set[str] = set()
    found = []
    for groups in problem.alternatives:
        made = [group for group in groups if seen & set(group)]
        if len(made) != 1:
            detail = f"is made in {len(made)} ways instead of one"
            found.append(Finding("everything_has_a_place", groups[0][0], detail))
        for group in groups:
            instead |= set() if group in made else set(group)
    return instead, found


def starts_inside_bounds(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A mix starts between its bounds, on a mixer that fits it."""
    found = []
    for job, placed in placed_jobs(problem, schedule):
        if not job.earliest_start <= placed.start <= job.latest_start:
            found.append(Finding("starts_inside_bounds", job.id, f"starts at {placed.start}"))
        if placed.mixer_id not in job.mixer_ids:
            found.append(Finding("starts_inside_bounds", job.id, f"is on {placed.mixer_id}"))
        if placed.mixer_id in job.warm_only and job.options[placed.option].cold:
            detail = f"is too much for {placed.mixer_id} when it is cold"
            found.append(Finding("starts_inside_bounds", job.id, detail))
        if placed.mix_end != placed.start + job.mix_min:
            found.append(Finding("starts_inside_bounds", job.id, "is not mixed for its minutes"))
    return found


def options_hold(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A mix starts inside the bucket of its option and is divided when the option says."""
    found = []
    for job, placed in placed_jobs(problem, schedule):
        option = job.options[placed.option]
        if placed.start // problem.bucket_min != option.bucket:
            found.append(Finding("options_hold", job.id, f"starts outside bucket {option.bucket}"))
        due = placed.mix_end + option.bulk_min + placed.bulk_over_min
        if placed.divide_start != due or placed.bulk_over_min < 0:
            detail = f"is divided at {placed.divide_start}, due at {due}"
            found.append(Finding("options_hold", job.id, detail))
        if placed.divide_end != placed.divide_start + job.divide_min:
            found.append(Finding("options_hold", job.id, "is not divided for its minutes"))
    return found


def divides_inside_window(problem: Problem, schedule: Schedule) -> list[Finding]:
    """The divide lies in its option's window and in the hours of the mix list."""
    found = []
    for job, placed in placed_jobs(problem, schedule):
        past = placed.bulk_over_min
        if job.divide_by is not None:
            past = max(past, placed.divide_start - job.divide_by)
        if past > 0 and not named(schedule, "bulk_window", job.id, past):
            found.append(Finding("divides_inside_window", job.id, f"{past} min past its window"))
        if job.divide_from is not None and placed.divide_start < job.divide_from:
            found.append(Finding("divides_inside_window", job.id, "before its hours"))
    return found


def loads_follow_their_divide(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A load proofs from its offset after the divide, and bakes for its minutes in a fit oven."""
    rule, found = "loads_follow_their_divide", []
    for job, placed in placed_jobs(problem, schedule):
        for load, at in zip(job.loads, placed.loads, strict=False):
            if at.proof_start != placed.divide_start + load.proof_offset_min:
                found.append(Finding(rule, at.load_id, f"proofs from {at.proof_start}"))
            if not 0 <= at.route < len(load.routes):
                found.append(Finding(rule, at.load_id, "proofs nowhere"))
    for load, at in all_loads(problem, schedule):
        if at.out != at.load_start + load.bake_min:
            found.append(Finding(rule, at.load_id, "is not baked for its minutes"))
        if (at.oven_id, at.places) not in [(o.oven_id, o.places) for o in load.ovens]:
            found.append(Finding(rule, at.load_id, f"is not for {at.oven_id}"))
    return found


def loads_inside_window(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A load goes into the oven while it is ripe."""
    found = []
    windows: list[tuple[ScheduledLoad, int, int]] = []
    for job, placed in placed_jobs(problem, schedule):
        proofs = job.options[placed.option].proofs_min
        for load, at in zip(job.loads, placed.loads, strict=False):
            if 0 <= at.route < len(load.routes):
                low, high = proofs[load.first_route + at.route]
                windows.append((at, at.proof_start + low, at.proof_start + high))
    windows += [(at, i.load_from, i.load_by) for i, at in inherited_loads(problem, schedule)]
    for at, low, high in windows:
        past = at.load_start - high
        if at.load_start < low:
            found.append(Finding("loads_inside_window", at.load_id, "is loaded before it is ripe"))
        if past > 0 and not named(schedule, "load_window", at.load_id, past):
            found.append(Finding("loads_inside_window", at.load_id, f"{past} min past its window"))
    return found


def leaves_in_time(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Bread is ready when it must leave."""
    due = {
        load.id: leave_by
        for job in problem.jobs
        for load in job.loads
        for leave_by in (job.leave_by if load.leave_by is None else load.leave_by,)
        if leave_by is not None
    }
    due |= {item.load.id: item.leave_by for item in problem.standing}
    found = []
    for load, at in all_loads(problem, schedule):
        late = at.out + load.cool_min - due.get(load.id, at.out + load.cool_min)
        if late > 0 and not named(schedule, "late", load.id, late):
            found.append(Finding("leaves_in_time", load.id, f"{late} min late"))
    return found


def pins_kept(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A pinned loading and a pinned first place on a mixer are kept, to the grid."""
    found = []
    for job, placed in placed_jobs(problem, schedule):
        excused = named(schedule, "pin", job.id)
        if job.load_at is not None and placed.loads and not excused:
            off = abs(placed.loads[0].load_start - job.load_at)
            if off > problem.grid_min / 2:
                found.append(Finding("pins_kept", job.id, f"loaded {off} min off its pin"))
        sooner = [
            j.job_id
            for j in schedule.jobs
            if j.mixer_id == placed.mixer_id and j.start < placed.start
        ]
        if job.first_on_mixer and sooner and not excused:
            found.append(Finding("pins_kept", job.id, f"comes after {sooner[0]}"))
        running = [j.job_id for j in schedule.jobs if j.mix_end > placed.start]
        found += [
            Finding("pins_kept", job.id, f"starts before {one} is off its mixer")
            for one in job.after_ids
            if one in running and not excused
        ]
    return found


def nothing_runs_out_of_order(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Nothing is mixed or baked where it is out of order, but what was in there already."""
    uses = [
        (placed.mixer_id, placed.start, placed.mix_end, job.id)
        for job, placed in placed_jobs(problem, schedule)
        if not job.held
    ]
    uses += [
        (at.oven_id, at.load_start, at.out, at.load_id)
        for load, at in all_loads(problem, schedule)
        if not load.held
    ]
    for build in schedule.builds:
        if build.mixer_id is not None:
            end = build.start + preparation_of(problem, build.preparation_id).mix_min
            uses.append((build.mixer_id, build.start, end, build.preparation_id))
    return [
        Finding("nothing_runs_out_of_order", subject, f"is in {closed.resource_id} at {start}")
        for closed in problem.closed
        for where, start, end, subject in uses
        if where == closed.resource_id and start < closed.end and end > closed.start
    ]


def everything_inside_span(problem: Problem, schedule: Schedule) -> list[Finding]:
    """No task begins before the span or ends after it."""
    tasks = [(t.subject, t.start, t.end) for t in schedule.hands_on]
    tasks += [(p.job_id, p.start, max(p.mix_end, p.divide_end)) for p in schedule.jobs]
    tasks += [(at.load_id, at.load_start, at.out) for _, at in all_loads(problem, schedule)]
    return [
        Finding("everything_inside_span", subject, f"from {start} to {end}")
        for subject, start, end in tasks
        if start < 0 or end > problem.span_min
    ]


def one_mix_per_mixer(problem: Problem, schedule: Schedule) -> list[Finding]:
    """A mixer does one thing at a time."""
    held: dict[str, list[tuple[int, int, str]]] = {}
    for placed in schedule.jobs:
        held.setdefault(placed.mixer_id, []).append((placed.start, placed.mix_end, placed.job_id))
    for build in schedule.builds:
        one = preparation_of(problem, build.preparation_id)
        if build.mixer_id is not None:
            end = build.start + one.mix_min
            held.setdefault(build.mixer_id, []).append((build.start, end, one.id))
    found = []
    for mixer_id, times in held.items():
        for (_, end, one_id), (start, _, other_id) in pairwise(sorted(times)):
            if start < end:
                found.append(Finding("one_mix_per_mixer", mixer_id, f"{one_id} and {other_id}"))
    return found


def cleaned_between_doughs(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Where an allergen leaves or the colour class changes, there is time to clean."""
    by_mixer: dict[str, list[ScheduledJob]] = {}
    for placed in sorted(schedule.jobs, key=lambda p: p.start):
        by_mixer.setdefault(placed.mixer_id, []).append(placed)
    found = []
    for mixer_id, mixes in by_mixer.items():
        for one, other in pairwise(mixes):
            before, after = problem.job(one.job_id), problem.job(other.job_id)
            usual = problem.clean_down_min.get(mixer_id, 0)
            needed = usual if before.allergens - after.allergens else 0
            if before.colour_class != after.colour_class:
                colours = (before.colour_class, after.colour_class)
                of_colours = problem.colour_clean_min.get(mixer_id, {})
                needed = max(needed, of_colours.get(colours, usual))
            gap = other.start - one.mix_end
            if needed > 0 and gap < needed:
                detail = f"{gap} min between {one.job_id} and {other.job_id}"
                found.append(Finding("cleaned_between_doughs", mixer_id, detail))
    return found


def gluten_kept_out(problem: Problem, schedule: Schedule) -> list[Finding]:
    """No dough with gluten is handled in a room before those without are divided there."""
    found = []
    here = list(placed_jobs(problem, schedule))
    for job, placed in here:
        room = problem.mixer_room.get(placed.mixer_id)
        for other, at in here if job.gluten_free else ():
            same = problem.mixer_room.get(at.mixer_id) == room
            if same and "gluten" in other.allergens:
                begun = at.start - other.scale_min
                if begun < placed.divide_end:
                    detail = f"{other.id} is handled from {begun} in its room"
                    found.append(Finding("gluten_kept_out", job.id, detail))
    return found


def ice_suffices(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Ice taken never exceeds what is there, at any minute."""
    taken = [(p.start, job.options[p.option].ice_g) for job, p in placed_jobs(problem, schedule)]
    taken += [(build.start, way.ice_g) for build, way in ways_taken(problem, schedule)]
    return _store_lasts("ice_suffices", problem.ice, taken)


def kettle_suffices(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Boiling water poured never exceeds what the kettle has, at any minute."""
    if problem.kettle is None:
        return []
    taken = [(build.start, way.hot_g) for build, way in ways_taken(problem, schedule)]
    return _store_lasts("kettle_suffices", problem.kettle, taken)


def chilled_water_suffices(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Chilled water drawn never exceeds what is there, at any minute."""
    taken = [
        (p.start, job.options[p.option].chilled_g) for job, p in placed_jobs(problem, schedule)
    ]
    taken += [(build.start, way.chilled_g) for build, way in ways_taken(problem, schedule)]
    return _store_lasts("chilled_water_suffices", problem.chiller, taken)


def _store_lasts(rule: str, store: Store, taken: Iterable[tuple[int, int]]) -> list[Finding]:
    """Follow a store from one taking to the next: it fills at its rate, up to its room."""
    level, clock, found = float(min(store.start_g, store.room_g)), 0, []
    for minute, grams in sorted(taken):
        level = min(store.room_g, level + store.rate_g_per_h / 60 * (minute - clock)) - grams
        clock = minute
        if level < -0.5:
            found.append(Finding(rule, "store", f"short by {-level:.0f} g in minute {minute}"))
    return found


def preparations_ready(problem: Problem, schedule: Schedule) -> list[Finding]:
    """Every mix has one build of each of its preparations, used while it is ready."""
    rule, found = "preparations_ready", []
    starts = {p.job_id: p for p in schedule.jobs}
    for build in schedule.builds:
        one = preparation_of(problem, build.preparation_id)
        found += _build_findings(problem, one, build)
        bucket = build.start // problem.bucket_min
        its = (lag for lag in one.lags if (lag.bucket, lag.way) == (bucket, build.way))
        lag = next(its, None)
        for job_id in build.job_ids:
            after = starts[job_id].start - build.start if job_id in starts else None
            if lag is None or after is None or not lag.from_min <= after <= lag.by_min:
                found.append(Finding(rule, one.id, f"used by {job_id} {after} min after its start"))
    for job, placed in placed_jobs(problem, schedule):
        for one_id in job.preparation_ids:
            number = placed.builds.get(one_id)
            mine = [
                b.build
                for b in schedule.builds
                if b.preparation_id == one_id and job.id in b.job_ids
            ]
            if number is None or mine != [number]:
                found.append(Finding(rule, job.id, f"draws on {one_id} {len(mine)} times"))
    for one in problem.preparations:
        count = sum(b.preparation_id == one.id for b in schedule.builds)
        if count > one.max_builds:
            found.append(Finding(rule, one.id, f"{count} builds instead of {one.max_builds}"))
    return found


def _build_findings(problem: Problem, one: Preparation, build: ScheduledBuild) -> list[Finding]:
    rule, found = "preparations_ready", []
    last = problem.span_min if one.latest_start is None else one.latest_start
    if not one.earliest_start <= build.start <= last:
        found.append(Finding(rule, one.id, f"starts at {build.start}, outside its bounds"))
    fits = build.mixer_id in one.mixer_ids if one.mixer_ids else build.mixer_id is None
    if not fits:
        found.append(Finding(rule, one.id, f"is made on {build.mixer_id}"))
    return found

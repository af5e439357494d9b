"""What stays in order when a schedule is timed anew: who comes before whom on everything shared.

Two tasks of one resource that do not overlap in a schedule keep their order; tasks that overlap
may go on doing so. Stretches of time of which every two overlap have a moment in common, so that
no resource is asked for more at once than it was before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planner.scheduling.changeovers import clean_min, keeps_apart
from planner.scheduling.heat import hold_min, least_between, may_differ
from planner.scheduling.people import joined_hours
from planner.scheduling.preparation import Preparation
from planner.scheduling.problem import BENCH, Job, Load, Problem
from planner.scheduling.schedule import (
    HandsOn,
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
)
from planner.scheduling.work import bulk_work, proof_moves


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment that goes with one of a schedule's times.

    Attributes
    ----------
    of
        ``start`` and ``divide`` of a mix, ``load`` of a load; empty for a fixed minute.
    subject
        Id of the mix or load.
    plus
        Minutes after it; the minute itself where it is fixed.
    """

    of: str
    subject: str
    plus: int = 0

    def later(self, minutes: int) -> Moment:
        """Return a moment some minutes later."""
        return Moment(self.of, self.subject, self.plus + minutes)


@dataclass(frozen=True, slots=True)
class Before:
    """One moment comes at least so many minutes before another."""

    first: Moment
    then: Moment
    gap: int = 0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch in which something is used, and where it lies in the schedule."""

    begin: Moment
    end: Moment
    was: tuple[int, int]


def fixed(minute: int) -> Moment:
    """Return a moment that does not move."""
    return Moment("", "", minute)


def start_of(job_id: str) -> Moment:
    """Return the moment at which a mix starts."""
    return Moment("start", job_id)


def divide_of(job_id: str) -> Moment:
    """Return the moment at which a dough is divided."""
    return Moment("divide", job_id)


def loading_of(load_id: str) -> Moment:
    """Return the moment at which a load goes into its oven."""
    return Moment("load", load_id)


def kept_orders(
    problem: Problem, schedule: Schedule, *, takers_stay: bool = False
) -> tuple[Before, ...]:
    """Return every order that a schedule keeps when it is timed anew.

    Parameters
    ----------
    problem
        The day.
    schedule
        A schedule that keeps all its rules; its minutes of work, its machines, its builds, its
        breaks and its ways stay.
    takers_stay
        Whether what takes ice or chilled water starts when it did.

    Returns
    -------
    tuple of Before
        Whatever times keep them, people, mixers, ovens and racks are asked for no more than
        before. Stores of ice and water are not among them: who takes of them is held to its own
        order and starts no sooner. That suffices but where a store stands full for a while, and
        makes less when something is taken later.
    """
    return (
        *_mixers(problem, schedule),
        *(one for uses in _ovens(problem, schedule).values() for one in orders_of(uses)),
        *_heat(problem, schedule),
        *(one for uses in _racks(problem, schedule).values() for one in orders_of(uses)),
        *_people(problem, schedule),
        *_folds(problem, schedule),
        *_preparations(problem, schedule),
        *_takers(problem, schedule, stay=takers_stay),
        *_out_of_order(problem, schedule),
        *_kept_apart(problem, schedule),
    )


def orders_of(uses: Sequence[Stretch]) -> list[Before]:
    """Return who must stay before whom on one resource, without what follows from the others.

    Examples
    --------
    >>> a, b, c = (Stretch(start_of(j), start_of(j).later(10), (t, t + 10))
    ...            for j, t in (("a", 0), ("b", 10), ("c", 20)))
    >>> [(one.first.subject, one.then.subject) for one in orders_of([a, b, c])]
    [('a', 'b'), ('b', 'c')]
    """
    found = []
    for then in uses:
        before = [one for one in uses if one is not then and one.was[1] <= then.was[0]]
        last_begun = max((one.was[0] for one in before), default=0)
        found += [
            Before(one.end, then.begin)
            for one in before
            if one.was[1] > last_begun or one.was[0] == last_begun
        ]
    return [one for one in found if one.first.of or one.then.of]


def machine_uses(
    problem: Problem, schedule: Schedule
) -> tuple[dict[str, list[Stretch]], dict[str, list[Stretch]]]:
    """Return when each mixer and each oven is used."""
    return _mixer_uses(problem, schedule), _ovens(problem, schedule)


def _mixer_uses(problem: Problem, schedule: Schedule) -> dict[str, list[Stretch]]:
    uses: dict[str, list[Stretch]] = {}
    for placed in schedule.jobs:
        length = problem.job(placed.job_id).mix_min
        stretch = _from(start_of(placed.job_id), placed.start, length)
        uses.setdefault(placed.mixer_id, []).append(stretch)
    for build, made in _builds(problem, schedule):
        if build.mixer_id is not None:
            stretch = _from(fixed(build.start), build.start, made.mix_min)
            uses.setdefault(build.mixer_id, []).append(stretch)
    return uses


def _mixers(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    for uses in _mixer_uses(problem, schedule).values():
        yield from orders_of(uses)
    on: dict[str, list[Job]] = {}
    for placed in sorted(schedule.jobs, key=lambda p: p.start):
        on.setdefault(placed.mixer_id, []).append(problem.job(placed.job_id))
    for mixer_id, jobs in on.items():
        for job, following in pairwise(jobs):
            clean = clean_min(problem, mixer_id, job, following)
            if clean:
                end = start_of(job.id).later(job.mix_min)
                yield Before(end, start_of(following.id), clean)


def _builds(problem: Problem, schedule: Schedule) -> list[tuple[ScheduledBuild, Preparation]]:
    made = {one.id: one for one in problem.preparations}
    return [(build, made[build.preparation_id]) for build in schedule.builds]


def _loads(problem: Problem, schedule: Schedule) -> list[tuple[Load, ScheduledLoad, Moment, int]]:
    """Return every load with its place, when its proof begins, and that minute in the schedule.

    What stands from the beginning is counted from minute 0.
    """
    found: list[tuple[Load, ScheduledLoad, Moment, int]] = []
    for placed in schedule.jobs:
        for load, at in zip(problem.job(placed.job_id).loads, placed.loads, strict=True):
            begin = divide_of(placed.job_id).later(load.proof_offset_min)
            found.append((load, at, begin, at.proof_start))
    inherited = {one.load.id: one.load for one in problem.standing}
    found += [(inherited[at.load_id], at, fixed(0), 0) for at in schedule.standing]
    return found


def _ovens(problem: Problem, schedule: Schedule) -> dict[str, list[Stretch]]:
    ovens = {oven.oven_id: oven for oven in problem.ovens}
    uses: dict[str, list[Stretch]] = {}
    for load, at, _, _ in _loads(problem, schedule):
        begin = loading_of(load.id)
        stretch = _from(begin, at.load_start, hold_min(ovens[at.oven_id], load))
        uses.setdefault(at.oven_id, []).append(stretch)
    return uses


def _heat(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    """An oven that cools is as hot as a load wants it, and unlike loads leave time to change."""
    loads = sorted(_loads(problem, schedule), key=lambda one: (one[1].load_start, one[0].id))
    ovens = {oven.oven_id: oven for oven in problem.ovens}
    for number, (load, at, _, _) in enumerate(loads):
        choice = load.oven(at.oven_id)
        if choice.hot_from is not None:
            yield Before(fixed(choice.hot_from), loading_of(load.id))
        if choice.hot_by is not None:
            yield Before(loading_of(load.id), fixed(choice.hot_by))
        oven = ovens[at.oven_id]
        for other, later, _, _ in loads[number + 1 :] if may_differ(oven) else ():
            apart = least_between(oven, load, other) if later.oven_id == at.oven_id else None
            if apart is not None:
                yield Before(loading_of(load.id), loading_of(other.id), apart)


def _racks(problem: Problem, schedule: Schedule) -> dict[str, list[Stretch]]:
    uses: dict[str, list[Stretch]] = {}
    for load, at, begin, was in _loads(problem, schedule):
        takes = load.routes[at.route].takes if load.routes else ()
        for name, count in takes:
            if count and name in problem.racks:
                stretch = Stretch(begin, loading_of(load.id), (was, at.load_start))
                uses.setdefault(name, []).append(stretch)
    for placed in schedule.jobs:
        job = problem.job(placed.job_id)
        end, divide = start_of(job.id).later(job.mix_min), divide_of(job.id)
        for name, _ in job.tubs[placed.tubs]:
            bulk = Stretch(end, divide, (placed.mix_end, placed.divide_start))
            uses.setdefault(name, []).append(bulk)
        if job.bench and BENCH in problem.racks:
            uses.setdefault(BENCH, []).append(_from(divide, placed.divide_start, job.divide_min))
    starts = {placed.job_id: placed.start for placed in schedule.jobs}
    for build, made in _builds(problem, schedule):
        for name, _ in made.ways[build.way].holds:
            uses.setdefault(name, []).extend(
                Stretch(fixed(build.start), start_of(job_id), (build.start, starts[job_id]))
                for job_id in build.job_ids
            )
    return uses


def _people(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    """Everybody keeps their work, in its order and inside their hours; breaks stay."""
    hours = {worker.person_id: joined_hours(worker) for worker in problem.workers}
    by_person: dict[str, list[Stretch]] = {}
    for rest in schedule.rests:
        stretch = _from(fixed(rest.start), rest.start, rest.end - rest.start)
        by_person.setdefault(rest.person_id, []).append(stretch)
    for kind, subject, stretch in _hands(problem, schedule):
        pieces = [
            t
            for t in schedule.hands_on
            if (t.kind, t.subject) == (kind, subject)
            and stretch.was[0] <= t.start
            and t.end <= stretch.was[1]
        ]
        whole = [t for t in pieces if (t.start, t.end) == stretch.was]
        inside = [_stay(hours, t) for t in whole]
        if len(whole) < len(pieces) or None in inside:  # it is handed over, and stays
            yield from _held(stretch)
        for stay in inside:
            if stay is not None:
                yield Before(fixed(stay[0]), stretch.begin)
                yield Before(stretch.end, fixed(stay[1]))
        for piece in pieces:
            if piece.person_id is not None:
                uses = by_person.setdefault(piece.person_id, [])
                part = _from(fixed(piece.start), piece.start, piece.end - piece.start)
                uses.append(stretch if piece in whole else part)
    for work in by_person.values():
        yield from orders_of(work)


def _stay(hours: dict[str, tuple[tuple[int, int], ...]], piece: HandsOn) -> tuple[int, int] | None:
    """Return the hours in which somebody does a task; None where nobody does."""
    own = hours.get(piece.person_id or "", ())
    return next((h for h in own if h[0] <= piece.start and piece.end <= h[1]), None)


def _held(stretch: Stretch) -> list[Before]:
    """Return that a stretch stays where it is."""
    if not stretch.begin.of:
        return []
    at = fixed(stretch.was[0])
    return [Before(at, stretch.begin), Before(stretch.begin, at)]


def _hands(problem: Problem, schedule: Schedule) -> Iterable[tuple[str, str, Stretch]]:
    """Return kind, subject and stretch of all hands-on work, as `work.hands_on` tells it."""
    for placed in schedule.jobs:
        yield from _hands_of(problem.job(placed.job_id), placed)
    for load, at, begin, was in _loads(problem, schedule):
        for due in proof_moves(problem, load, at):
            move = begin.later(due - was)
            yield "move", load.id, _from(move, due, problem.load_work_min)
        yield "load", load.id, _from(loading_of(load.id), at.load_start, problem.load_work_min)
    for build, made in _builds(problem, schedule):
        for number, (first, end) in enumerate(made.hands_of(build.way, build.start)):
            stretch = _from(fixed(first), first, end - first)
            yield "see to" if number else "prepare", build.preparation_id, stretch


def _hands_of(job: Job, placed: ScheduledJob) -> Iterable[tuple[str, str, Stretch]]:
    start, divide = start_of(job.id), divide_of(job.id)
    if job.scale_min:
        begin = start.later(-job.scale_min)
        yield "scale", job.id, _from(begin, placed.start - job.scale_min, job.scale_min)
    if job.attended:
        yield "attend", job.id, _from(start, placed.start, job.mix_min)
    for kind, due in bulk_work(job, placed):
        yield kind, job.id, _from(start.later(due - placed.start), due, job.fold_min)
    yield "divide", job.id, _from(divide, placed.divide_start, job.divide_min)


def _from(begin: Moment, was: int, length: int) -> Stretch:
    return Stretch(begin, begin.later(length), (was, was + length))


def _folds(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    """A fold or move that is done goes on being done, and one that is not is not."""
    for placed in schedule.jobs:
        job = problem.job(placed.job_id)
        for fold in job.folds_min:
            over = start_of(job.id).later(job.mix_min + fold + job.fold_min)
            if placed.mix_end + fold + job.fold_min <= placed.divide_start:
                yield Before(over, divide_of(job.id))
            else:
                yield Before(divide_of(job.id), over, 1)
    for load, at, begin, was in _loads(problem, schedule):
        done = proof_moves(problem, load, at)
        for move in load.routes[at.route].moves_min if load.routes else ():
            moved = begin.later(move + problem.load_work_min)
            if was + move in done:
                yield Before(moved, loading_of(load.id))
            else:
                yield Before(loading_of(load.id), moved, 1)


def _out_of_order(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    """What runs before something is out of order ends by then; what runs after waits for it."""
    uses = [
        (placed.mixer_id, _from(start_of(job.id), placed.start, job.mix_min))
        for placed in schedule.jobs
        for job in (problem.job(placed.job_id),)
        if not job.held
    ]
    uses += [
        (at.oven_id, _from(loading_of(load.id), at.load_start, load.bake_min))
        for load, at, _, _ in _loads(problem, schedule)
        if not load.held
    ]
    for closed in problem.closed:
        for where, stretch in uses:
            if where == closed.resource_id and stretch.was[1] <= closed.start:
                yield Before(stretch.end, fixed(closed.start))
            elif where == closed.resource_id and stretch.was[0] >= closed.end:
                yield Before(fixed(closed.end), stretch.begin)


def _kept_apart(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    """Pinned orders stay, and gluten stays out until what must be free of it is divided."""
    placed = {at.job_id: at for at in schedule.jobs}
    jobs = [problem.job(one) for one in placed]
    for job in jobs:
        for one_id in job.after_ids:
            if one_id in placed and placed[one_id].mix_end <= placed[job.id].start:
                off = start_of(one_id).later(problem.job(one_id).mix_min)
                yield Before(off, start_of(job.id))
        room = problem.mixer_room.get(placed[job.id].mixer_id)
        for other in jobs:
            same = problem.mixer_room.get(placed[other.id].mixer_id) == room
            if same and keeps_apart(job, other):
                handled = start_of(other.id).later(-other.scale_min)
                yield Before(divide_of(job.id).later(job.divide_min), handled)


def _preparations(problem: Problem, schedule: Schedule) -> Iterable[Before]:
    """A mix uses its build while it is ready; builds stay where they are."""
    for build, made in _builds(problem, schedule):
        bucket = build.start // problem.bucket_min
        lag = next(x for x in made.lags if (x.bucket, x.way) == (bucket, build.way))
        for job_id in build.job_ids:
            yield Before(fixed(build.start + lag.from_min), start_of(job_id))
            yield Before(start_of(job_id), fixed(build.start + lag.by_min))


def _takers(problem: Problem, schedule: Schedule, *, stay: bool) -> Iterable[Before]:
    """What takes ice or chilled water starts no sooner, and keeps its order, or stays."""
    for name in ("ice_g", "chilled_g"):
        takers = [
            placed
            for placed in schedule.jobs
            if getattr(problem.job(placed.job_id).options[placed.option], name)
        ]
        for placed in takers:
            yield Before(fixed(placed.start), start_of(placed.job_id))
            if stay:
                yield Before(start_of(placed.job_id), fixed(placed.start))
        for one, other in pairwise(sorted(takers, key=lambda p: (p.start, p.job_id))):
            yield Before(start_of(one.job_id), start_of(other.job_id))

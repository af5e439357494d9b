"""A schedule at the minute: windows at its exact times, and what its times may be worth.

The search works on a grid, with windows that hold for every start of half an hour. Timing anew
takes the schedule's order for given and moves its times by minutes, inside windows that hold at
these times.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from planner.scheduling.assemble import assemble
from planner.scheduling.orders import Before, Moment, Stretch
from planner.scheduling.preparation import Preparation
from planner.scheduling.problem import Job, Option, Problem, Weights
from planner.scheduling.schedule import Schedule, ScheduledJob, ScheduledLoad

FINE_MIN = 1
"""Grid of the times that are published [min]."""

UNPLACED = frozenset({"no_option", "no_place", "no_preparation"})


@dataclass(frozen=True, slots=True)
class Window:
    """Between how many minutes of a bulk or a proof a dough is ripe, at its exact times.

    Attributes
    ----------
    low, high
        From and by [min]; where nothing is ripe the nearest that is offered.
    ideal
        Where it is ripest; None where no length is better than another.
    margin
        How far from both ends it had better be: the uncertainty of its ripe time, at most half
        of the window [min].
    """

    low: int
    high: int
    ideal: int | None
    margin: int

    def missed(self, minutes: int) -> int:
        """Return by how many minutes a length lies outside.

        Examples
        --------
        >>> Window(50, 60, None, 5).missed(63)
        3
        """
        return max(0, self.low - minutes, minutes - self.high)


@dataclass(frozen=True, slots=True)
class Windows:
    """All windows of a schedule: of bulks by mix, counted from the end of mixing; of loads by load.

    Attributes
    ----------
    pins
        Minutes at which a mix should start or a load go in, as the baker fixed them.
    """

    bulks: Mapping[str, Window]
    proofs: Mapping[str, Window]
    pins: Mapping[Moment, int]


@dataclass(frozen=True, slots=True)
class Times:
    """Start and divide of every mix, loading of every load."""

    starts: Mapping[str, int]
    divides: Mapping[str, int]
    loads: Mapping[str, int]

    @classmethod
    def of(cls, schedule: Schedule) -> Times:
        """Return the times of a schedule."""
        loads = [at for placed in schedule.jobs for at in placed.loads] + list(schedule.standing)
        return cls(
            {placed.job_id: placed.start for placed in schedule.jobs},
            {placed.job_id: placed.divide_start for placed in schedule.jobs},
            {at.load_id: at.load_start for at in loads},
        )

    def minute(self, moment: Moment) -> int:
        """Return the minute of a moment."""
        known = {"start": self.starts, "divide": self.divides, "load": self.loads}
        return moment.plus + (known[moment.of][moment.subject] if moment.of else 0)


@dataclass(frozen=True, slots=True)
class PerMinute:
    """Sixtieths of a point that a minute costs, so that all are whole.

    Attributes
    ----------
    move
        Of a time off the one it had: so that nothing is moved for nothing.
    """

    late: int
    window: int
    pin: int
    ideal: int
    edge: int
    gap: int
    fresh: int
    hold: int
    move: int = 1

    @classmethod
    def of(cls, weights: Weights, grid_min: int) -> PerMinute:
        """Return what weights come to, those by the slot of a grid shared out over its minutes."""
        return cls(
            late=weights.late_per_slot * 60 // grid_min,
            window=weights.window_per_slot * 60 // grid_min,
            pin=weights.pin * 60 // grid_min,
            ideal=weights.ideal_per_slot * 60 // grid_min,
            edge=weights.edge_per_slot * 60 // grid_min,
            gap=weights.gap_per_slot * 60 // grid_min,
            fresh=weights.fresh_per_hour,
            hold=weights.hold_per_hour,
        )


@dataclass(frozen=True, slots=True)
class Retiming:
    """All that timing a schedule anew has to go by.

    Attributes
    ----------
    before
        Orders that stay.
    gaps
        Pairs on the busiest mixer and oven between which time had better be left.
    wanted
        Times that are kept where nothing is gained: those of the schedule, or of an earlier one.
    from_min
        The minute from which times can still be changed.
    """

    problem: Problem
    schedule: Schedule
    before: Sequence[Before]
    gaps: Sequence[Before]
    wanted: Times
    from_min: int = 0


def busiest(uses: Mapping[str, Sequence[Stretch]], places: Mapping[str, int]) -> str | None:
    """Return the machine that is busy for the largest share of its own working time.

    Examples
    --------
    >>> from planner.scheduling.orders import fixed
    >>> at = lambda a, b: Stretch(fixed(a), fixed(b), (a, b))
    >>> busiest({"one": [at(0, 10), at(50, 60)], "two": [at(0, 10), at(15, 20)]}, {})
    'two'
    """
    shares = {
        name: sum(s.was[1] - s.was[0] for s in stretches)
        / max(1, max(s.was[1] for s in stretches) - min(s.was[0] for s in stretches))
        / places.get(name, 1)
        for name, stretches in sorted(uses.items())
        if len(stretches) > 1
    }
    return max(shares, key=lambda name: shares[name]) if shares else None


def exact_problem(
    problem: Problem, options: Mapping[str, Option], starts: Mapping[str, int]
) -> Problem:
    """Return the day on a grid of a minute, with one option per mix: that of its exact start.

    Parameters
    ----------
    problem
        The day as it was searched.
    options, starts
        The option of each mix that has a place, and its start.
    """
    per = problem.weights
    share = problem.grid_min // FINE_MIN
    return replace(
        problem,
        grid_min=FINE_MIN,
        bucket_min=FINE_MIN,
        jobs=tuple(_exact_job(job, options.get(job.id), starts) for job in problem.jobs),
        preparations=tuple(_exact_lags(one, problem.bucket_min) for one in problem.preparations),
        weights=replace(
            per,
            late_per_slot=per.late_per_slot // share,
            window_per_slot=per.window_per_slot // share,
        ),
    )


def _exact_job(job: Job, option: Option | None, starts: Mapping[str, int]) -> Job:
    if option is None:
        return replace(job, options=())
    start = starts[job.id]
    here = replace(job, options=(replace(option, bucket=start),))
    if job.earliest_start == job.latest_start:  # pinned: to its minute, not to the grid
        return replace(here, earliest_start=start, latest_start=start)
    return here


def _exact_lags(one: Preparation, bucket_min: int) -> Preparation:
    """Return a preparation whose lags stand at every minute of their bucket."""
    lags = tuple(
        replace(lag, bucket=lag.bucket * bucket_min + minute)
        for lag in one.lags
        for minute in range(bucket_min)
    )
    return replace(one, lags=lags)


def at_times(problem: Problem, schedule: Schedule, times: Times) -> Schedule:
    """Return a schedule on the grid of a minute at other times, judged and named afresh.

    Parameters
    ----------
    problem
        The day of `exact_problem`.
    schedule
        As it was searched; machines, ways, builds and breaks are kept.
    times
        The times.
    """
    causes = [one for one in schedule.unmet if one.code in UNPLACED]
    fresh = assemble(
        problem,
        [_job_at(problem.job(placed.job_id), placed, times) for placed in schedule.jobs],
        schedule.builds,
        [_load_at(at, at.proof_start, times) for at in schedule.standing],
        [one for one in causes if one.subject not in problem.racks],
        schedule.rests,
    )
    return replace(fresh, status=schedule.status, bound=schedule.bound, search_s=schedule.search_s)


def _job_at(job: Job, placed: ScheduledJob, times: Times) -> ScheduledJob:
    start, divide = times.starts[job.id], times.divides[job.id]
    proofs = {load.id: divide + load.proof_offset_min for load in job.loads}
    return replace(
        placed,
        start=start,
        mix_end=start + job.mix_min,
        option=0,
        divide_start=divide,
        divide_end=divide + job.divide_min,
        loads=tuple(_load_at(at, proofs[at.load_id], times) for at in placed.loads),
        bulk_over_min=divide - start - job.mix_min - job.options[0].bulk_min,
    )


def _load_at(at: ScheduledLoad, proof_start: int, times: Times) -> ScheduledLoad:
    start = times.loads[at.load_id]
    length = at.out - at.load_start
    return replace(at, proof_start=proof_start, load_start=start, out=start + length)

"""What binds a mix where it is: it is really moved, all else held, and the day is judged again."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from planner.scheduling.causes import RESOURCES, filled
from planner.scheduling.grid import Grid
from planner.scheduling.occupancy import Occupancy
from planner.scheduling.placing import Style
from planner.scheduling.points import lateness, past_window, points_of
from planner.scheduling.problem import Job, Problem
from planner.scheduling.schedule import Schedule, ScheduledJob, SearchPoints
from planner.scheduling.tables import PreparationTable, job_table, preparation_table
from planner.scheduling.taking import place_job

NOTHING_RIPENS, SEVERAL, IN_PLACE = "options", "several", ""
"""What binds beside the resources: no option there, more than one resource, or nothing."""

STYLE = Style(past=True, keep_pins=True)


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A mix somewhere else, with all other mixes as they are.

    Attributes
    ----------
    binds
        The resource that leaves it no place, as `planner.scheduling.causes.RESOURCES` names them,
        or ``options`` or ``several``; empty when it has a place.
    points
        Points more than where it is; 0 when it has no place.
    late_min, window_min
        Minutes more by which it leaves late, and by which it lies past its windows.
    ice_g
        Ice more [g].
    because
        The resource without which it would not leave later or lie past its windows; empty when
        there is none, or nothing of that sort.
    """

    binds: str
    points: int = 0
    late_min: int = 0
    window_min: int = 0
    ice_g: int = 0
    because: str = ""


class Beside:
    """A schedule with one mix taken out, to try it elsewhere.

    Parameters
    ----------
    problem, schedule
        The day and its schedule.
    job_id
        The mix.
    tables
        Starts of the preparations; see `starts_of`.
    """

    def __init__(
        self,
        problem: Problem,
        schedule: Schedule,
        job_id: str,
        tables: dict[str, PreparationTable],
    ) -> None:
        self.problem, self.job, self.tables = problem, problem.job(job_id), tables
        self.grid = Grid(problem)
        self.placed = next(j for j in schedule.jobs if j.job_id == job_id)
        self.schedule = schedule
        self._kept = [j for j in schedule.jobs if j.job_id != job_id]
        builds = [
            replace(b, job_ids=tuple(j for j in b.job_ids if j != job_id)) for b in schedule.builds
        ]
        self._builds = [b for b in builds if b.job_ids]
        self._day = self._filled(frozenset())
        self._was = self._own(self.placed)

    def _filled(self, ignore: frozenset[str]) -> Occupancy:
        there = self._kept, self._builds, self.schedule.standing
        return filled(self.problem, *there, ignore, self.schedule.rests)

    def at(self, start: int, rows: Collection[int] | None = None) -> Neighbour:
        """Return what becomes of the mix when it starts at a minute, with some of its options.

        Parameters
        ----------
        start
            Start, on the grid [min].
        rows
            Indices of the options it may take; None for all.
        """
        options = self.job.options
        if rows is not None:
            options = tuple(options[r] for r in sorted(rows))
        job = replace(self.job, options=options, earliest_start=start, latest_start=start)
        table = job_table(self.grid, job)
        if start < 0 or not len(table.pair_row):
            return Neighbour(NOTHING_RIPENS)
        mark = self._day.mark()
        placed = place_job(self._day, table, self.tables, STYLE)
        self._day.back_to(mark)
        if placed is None:
            return Neighbour(self._binding(job))
        found = self._compared(job, placed)
        if found.late_min > 0 or found.window_min > 0:
            return replace(found, because=self._hurting(job, found))
        return found

    def _hurting(self, job: Job, found: Neighbour) -> str:
        """Return the one resource without which it would be less late and less past its windows."""
        table = job_table(self.grid, job)
        for kind in RESOURCES:
            placed = place_job(self._filled(frozenset({kind})), table, self.tables, STYLE)
            if placed is None:
                continue
            other = self._compared(job, placed)
            hurts = max(0, other.late_min) + max(0, other.window_min)
            if hurts < max(0, found.late_min) + max(0, found.window_min):
                return kind
        return ""

    def _binding(self, job: Job) -> str:
        """Return the one resource without which it would have a place."""
        table = job_table(self.grid, job)
        for kind in RESOURCES:
            if place_job(self._filled(frozenset({kind})), table, self.tables, STYLE) is not None:
                return kind
        return SEVERAL

    def _compared(self, job: Job, placed: ScheduledJob) -> Neighbour:
        was, now_is = self._was, self._own(placed, job)
        late, window = now_is[1] - was[1], now_is[2] - was[2]
        points = now_is[0].first_stage - now_is[0].unplaced
        points -= was[0].first_stage - was[0].unplaced
        ice = job.options[placed.option].ice_g - self.job.options[self.placed.option].ice_g
        if self.problem.weights.fresh_trade:
            points += now_is[0].freshness - was[0].freshness
        return Neighbour(IN_PLACE, points, late, window, ice)

    def _own(self, placed: ScheduledJob, job: Job | None = None) -> tuple[SearchPoints, int, int]:
        """Return points, minutes late and minutes past its windows of the mix alone."""
        one = self.job if job is None else job
        alone = replace(self.problem, jobs=(one,), standing=())
        points = points_of(alone, (placed,), (), (), pins_broken=0)
        late = sum(max(0, minutes) for _, minutes, _ in lateness(alone, (placed,), ()))
        past = placed.bulk_over_min
        past += sum(max(0, past_window(one, placed, load)) for load in placed.loads)
        return points, late, max(0, past)


def starts_of(problem: Problem) -> dict[str, PreparationTable]:
    """Return the starts of every preparation of a day."""
    grid = Grid(problem)
    return {p.id: preparation_table(grid, p) for p in problem.preparations}

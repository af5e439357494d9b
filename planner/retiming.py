"""A searched schedule timed anew to the minute, on windows that hold at its exact times.

The search thinks on a grid, with windows that hold for every start of half an hour. Here its order
stays, and so do its machines, its ways and its builds; its times move by minutes to where a dough
is ripest, bread freshest, and where slack is needed most. The windows are read off the true curves
at the times found, and the times are sought again in them, until nothing moves any more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor

import numpy as np

from planner.day import BulkWindow
from planner.evaluation import STEP_MIN
from planner.offers import REACHED_WITHIN_K
from planner.option_rows import near_end_min
from planner.options import Offer
from planner.physics.ripening_path import RipeningPath, progress_after, temperature_after
from planner.pins import Limits, Pin, merged_pins
from planner.planned import Plan, PlannedMix
from planner.prices import Prices, prices_of
from planner.publishing import Worked, planned_mixes, planned_preparations
from planner.rises import Divided, off_the_bench
from planner.scheduling.check import check
from planner.scheduling.exact import (
    FINE_MIN,
    PerMinute,
    Retiming,
    Times,
    Window,
    Windows,
    at_times,
    busiest,
    exact_problem,
)
from planner.scheduling.orders import (
    Before,
    Moment,
    kept_orders,
    loading_of,
    machine_uses,
    orders_of,
    start_of,
)
from planner.scheduling.problem import Option, Problem
from planner.scheduling.schedule import Schedule, ScheduledJob

ROUNDS = 3
"""How often windows are read off and times sought: the third round moves nothing in practice."""

MOST_LOAD_MARGIN = 0.10
"""Uncertainty of the ripe time of pieces, as a share of their proof (judgement)."""


@dataclass(frozen=True)
class Retimed:
    """A schedule at the minute.

    Attributes
    ----------
    worked
        What is to be published: the schedule with the options of the offers.
    problem, schedule
        The day on a grid of a minute and the schedule in it, for the schedule's own check.
    """

    worked: Worked
    problem: Problem
    schedule: Schedule


def retimed(
    worked: Worked,
    pins: Sequence[Pin],
    limits: Limits,
    *,
    before: Plan | None = None,
    from_min: int = 0,
    share: int = 1,
) -> Retimed:
    """Return a searched schedule at the minute, or as it was where that gains nothing.

    Parameters
    ----------
    worked
        Night, offers, problem and schedule.
    pins
        What the baker fixed; a start or a loading is kept to its minute where that can be.
    limits
        Seed, and whether times are sought at all.
    before
        The plan in force, whose times are kept where nothing is gained; None for those of the
        schedule.
    from_min
        The minute from which times can still be changed.
    share
        How often the weights of the problem count everything, beside what lies off a plan.
    """
    known = Retimed(worked, worked.problem, worked.schedule)
    if not limits.to_the_minute or worked.problem.grid_min == FINE_MIN or not worked.schedule.jobs:
        return known
    curves, pinned = _Curves.of(worked, share), _pins(worked, pins)
    for takers_stay in (False, True):
        asked = _retiming(worked, before, from_min, takers_stay=takers_stay)
        found = _timed(asked, curves, pinned, limits.seed)
        if found is None:
            return known
        accepted = _accepted(known, curves, *found)
        if accepted is not None:
            return accepted
    return known


def _timed(
    asked: Retiming, curves: _Curves, pinned: Mapping[Moment, int], seed: int
) -> tuple[Times, Windows] | None:
    """Return times and the windows that hold at them; None where no more is ripe than before."""
    from planner.scheduling.cpsat.retime import retime  # noqa: PLC0415  loads the solver

    worked = curves.worked
    per = PerMinute.of(asked.problem.weights, asked.problem.grid_min)
    times = Times.of(asked.schedule)
    windows = curves.windows(times, pinned)
    missed = _missed_min(worked, times, windows)
    for _ in range(ROUNDS):
        found = retime(asked, windows, per, times, seed)
        if found is None:
            return None
        still = found == times
        times, windows = found, curves.windows(found, pinned)
        if still:
            break
    return None if _missed_min(worked, times, windows) > missed else (times, windows)


def _retiming(worked: Worked, before: Plan | None, from_min: int, *, takers_stay: bool) -> Retiming:
    problem, schedule = worked.problem, worked.schedule
    mixers, ovens = machine_uses(problem, schedule)
    places = {oven.oven_id: oven.places for oven in problem.ovens}
    gaps: list[Before] = []
    for uses in (mixers, ovens):
        name = busiest(uses, places)
        gaps += [] if name is None else orders_of(uses[name])
    wanted = _near(Times.of(schedule), before, problem.grid_min)
    orders = kept_orders(problem, schedule, takers_stay=takers_stay)
    return Retiming(problem, schedule, orders, gaps, wanted, from_min)


def _near(times: Times, before: Plan | None, grid_min: int) -> Times:
    """Return the times of a plan in force that a schedule kept to the grid, else its own."""
    if before is None:
        return times
    minute = before.day.minute
    starts = {m.id: minute(m.start_utc) for m in before.mixes}
    divides = {m.id: minute(m.divide_utc) for m in before.mixes}
    loads = {load.id: minute(load.load_utc) for m in before.mixes for load in m.loads}
    loads |= {load.id: minute(load.load_utc) for load in before.inherited_loads}
    own = (times.starts, times.divides, times.loads)
    return Times(
        *(
            {
                one: round(were[one]) if abs(were.get(one, -1e9) - at) < grid_min else at
                for one, at in now.items()
            }
            for now, were in zip(own, (starts, divides, loads), strict=True)
        )
    )


def _pins(worked: Worked, pins: Sequence[Pin]) -> dict[Moment, int]:
    """Return the minutes to which pinned starts and loadings are held."""
    minute, jobs = worked.night.day.minute, {j.job_id: j for j in worked.schedule.jobs}
    found: dict[Moment, int] = {}
    for pin in merged_pins(pins):
        job = jobs.get(pin.mix_id)
        if job is not None and pin.start_utc is not None:
            found[start_of(pin.mix_id)] = round(minute(pin.start_utc))
        if job is not None and pin.load_utc is not None and job.loads:
            found[loading_of(job.loads[0].load_id)] = round(minute(pin.load_utc))
    return found


@dataclass(frozen=True)
class _Curves:
    """The true curves of a schedule's mixes, whose doughs come off as their tickets say."""

    worked: Worked
    mixes: Mapping[str, PlannedMix]
    prices: Prices
    known: dict[tuple[str, int, int], tuple[Window, dict[str, Window]]] = field(
        default_factory=dict
    )

    @classmethod
    def of(cls, worked: Worked, share: int) -> _Curves:
        """Return the curves of a schedule; tickets are worked out once, at its own times."""
        offers = {o.batch.id: o for o in worked.offers}
        preparations = planned_preparations(worked, offers)
        mixes = planned_mixes(worked, offers, preparations)
        prices = prices_of(worked.problem.weights, share)
        return cls(worked, {mix.id: mix for mix in mixes}, prices)

    def offer(self, mix_id: str) -> Offer:
        """Return the offer of a mix."""
        return next(o for o in self.worked.offers if o.batch.id == mix_id)

    def windows(self, times: Times, pins: Mapping[Moment, int]) -> Windows:
        """Return the windows of every mix and load at some times."""
        bulks: dict[str, Window] = {}
        proofs: dict[str, Window] = {}
        for job in self.worked.schedule.jobs:
            if self.offer(job.job_id).settled is not None:
                proofs |= self._offered_proofs(job)  # what has begun stays, but for its loads
                continue
            at = (job.job_id, times.starts[job.job_id], times.divides[job.job_id])
            if at not in self.known:
                self.known[at] = self._windows_of(job, *at[1:])
            bulks[job.job_id], own = self.known[at]
            proofs |= own
        return Windows(bulks, proofs, pins)

    def _offered_proofs(self, job: ScheduledJob) -> dict[str, Window]:
        """Return the windows of the loads of a mix as its option has them, and no more of it.

        They hold for half an hour, so they are narrow already.
        """
        option, begins = self.offer(job.job_id).options[job.option], self.first_routes(job.job_id)
        found: dict[str, Window] = {}
        for at in job.loads:
            low, high = option.proofs_min[begins[at.load_id] + at.route]
            found[at.load_id] = _window(low, high, None, 0.0)
        return found

    def _windows_of(
        self, job: ScheduledJob, start: int, divide: int
    ) -> tuple[Window, dict[str, Window]]:
        """Return the windows of one mix at its start and its divide."""
        offered, rise = self.offer(job.job_id), self.offer(job.job_id).bulk
        mixed = start + offered.batch.formula.mix_min
        path = rise.path(
            mixed,
            self.mixes[job.job_id].ticket.expected_c,
            span_min=max(rise.longest_min, divide - mixed + 10),
            step_min=STEP_MIN,
        )
        low, ripe, high = (float(minutes) for minutes in rise.window(path))
        if isinstance(offered.batch.window, BulkWindow):  # the mix list's own for the day
            low, high = offered.batch.window.from_min, offered.batch.window.by_min
        last = float(path.minutes[-1])
        low, ripe, high = (m if np.isfinite(m) else last for m in (low, ripe, high))
        ripe = min(max(ripe, low), high)
        # The grid counts the bulk from the end of its slots of mixing, the dough from its own.
        slack = start + job.mix_end - job.start - mixed
        bulk = _window(low - slack, high - slack, ripe - slack, near_end_min(ripe, low, high))
        return bulk, self._proof_windows(job, divide, path, divide - mixed)

    def _proof_windows(
        self, job: ScheduledJob, divide: int, path: RipeningPath, elapsed: float
    ) -> dict[str, Window]:
        """Return the windows of a mix's loads; those that go one way share the narrowest."""
        night, offered = self.worked.night, self.offer(job.job_id)
        room_id = night.day.bakery.mixer(job.mixer_id).room_id
        pieces_kg = {
            at.load_id: lot.product.piece_kg
            for at, lot in zip(job.loads, offered.batch.loads, strict=True)
        }
        found: dict[str, Window] = {}
        begins = self.first_routes(job.job_id)
        for route in {begins[at.load_id] + at.route for at in job.loads}:
            loads = [at for at in job.loads if begins[at.load_id] + at.route == route]
            offsets = np.array(
                [at.proof_start - job.divide_start for at in loads], dtype=np.float64
            )
            rise = offered.proofs[route]
            divided = Divided(
                room_id,
                pieces_kg[loads[0].load_id],
                divide,
                temperature_after(path, elapsed),
                progress_after(path, elapsed),
            )
            piece_c, progress = off_the_bench(night, divided, rise, offsets)
            proof = rise.path(
                divide + offsets,
                piece_c,
                step_min=STEP_MIN,
                progress=progress,
                until_window_ends=True,
            )
            low, _, high = rise.window(proof)
            last = float(proof.minutes[-1])
            first = float(np.where(np.isfinite(low), low, last).max())
            end = float(np.where(np.isfinite(high), high, last).min())
            margin = min(MOST_LOAD_MARGIN * (first + end) / 2, (end - first) / 2)
            window = _window(first, end, None, max(0.0, margin))
            found |= {at.load_id: window for at in loads}
        return found

    def first_routes(self, job_id: str) -> dict[str, int]:
        """Return where the routes of each load of a mix begin in its options."""
        return {load.id: load.first_route for load in self.worked.problem.job(job_id).loads}

    def option(self, job: ScheduledJob, times: Times, windows: Windows) -> Option:
        """Return the one option of a mix at its exact start: what its lengths may be, its price."""
        offered, mix_id = self.offer(job.job_id), job.job_id
        was = offered.options[job.option]
        if mix_id not in windows.bulks:
            return was
        bulk = windows.bulks[mix_id]
        slots = times.starts[mix_id] + job.mix_end - job.start
        length = times.divides[mix_id] - slots
        bounds = [(0, 0)] * len(was.proofs_min)
        tight = int(bulk.missed(min(length, bulk.high)) > 0)
        begins = self.first_routes(mix_id)
        for at in job.loads:
            window = windows.proofs[at.load_id]
            proof = times.loads[at.load_id] - times.divides[mix_id]
            proof -= at.proof_start - job.divide_start
            tight += int(proof < window.low)
            route = begins[at.load_id] + at.route
            bounds[route] = (min(window.low, proof), max(window.low, window.high))
        return replace(
            was,
            bulk_min=min(length, max(bulk.high, min(length, bulk.low))),
            cost=round(self._cost(job, length, bulk) + self.prices.narrow_window * tight),
            proofs_min=tuple(bounds),
        )

    def _cost(self, job: ScheduledJob, length: int, bulk: Window) -> float:
        """Return the points of a bulk and of a dough temperature, as the search counts them."""
        prices, batch = self.prices, self.offer(job.job_id).batch
        formula = batch.formula
        off_k = abs(self.mixes[job.job_id].ticket.expected_c - formula.dough_c)
        missed_k = max(0.0, off_k - formula.band_k - REACHED_WITHIN_K)
        ideal = bulk.ideal if bulk.ideal is not None else length
        near = max(0, bulk.low + bulk.margin - length, length + bulk.margin - bulk.high)
        minutes = prices.per_slot_off_ideal * abs(length - ideal)
        minutes += prices.per_slot_near_end * min(near, bulk.margin)
        points = prices.per_k_off_number * off_k + prices.per_k_missed * missed_k
        points += prices.further_mix * batch.further_mixes / batch.batches
        return points + minutes / self.worked.problem.grid_min


def _window(low: float, high: float, ideal: float | None, margin: float) -> Window:
    """Return a window in whole minutes inside the exact one; an empty one is its middle minute."""
    first, last = ceil(low - 1e-9), floor(high + 1e-9)
    if last < first:
        first = last = round((low + high) / 2)
    best = None if ideal is None else min(max(round(ideal), first), last)
    return Window(first, last, best, int(min(margin, (last - first) // 2)))


def _missed_min(worked: Worked, times: Times, windows: Windows) -> int:
    """Return by how many minutes divides and loads lie outside their windows, all together."""
    missed = 0
    for job in worked.schedule.jobs:
        if job.job_id not in windows.bulks:
            continue
        mixed = times.starts[job.job_id] + job.mix_end - job.start
        missed += windows.bulks[job.job_id].missed(times.divides[job.job_id] - mixed)
        for at in job.loads:
            begins = times.divides[job.job_id] + at.proof_start - job.divide_start
            missed += windows.proofs[at.load_id].missed(times.loads[at.load_id] - begins)
    return missed


def _accepted(known: Retimed, curves: _Curves, times: Times, windows: Windows) -> Retimed | None:
    """Return the schedule at other times; None if its check finds anything in it."""
    worked = known.worked
    jobs = {job.job_id: job for job in worked.schedule.jobs}
    options = {one: curves.option(job, times, windows) for one, job in jobs.items()}
    problem = exact_problem(worked.problem, options, times.starts)
    schedule = at_times(problem, worked.schedule, times)
    if check(problem, schedule):
        return None
    published = replace(
        schedule,
        jobs=tuple(replace(job, option=jobs[job.job_id].option) for job in schedule.jobs),
    )
    return Retimed(replace(worked, schedule=published), problem, schedule)

"""The core model of a random day: what is proved, judged and compared.

Its first stage is lateness, minutes off the ideal bulk and proof, ice and early starts, at fixed
weights. Options, lags and windows are the product's own physics, posed as the product poses them.
Left out beside the full model: the wish for the baker's own number within the band, points for
separate builds, trading for freshness, other ways to cool a scald. On top: a bulk by the clock
between 0.78 and 1.25 of its hours at 25 °C.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from time import process_time

from planner.batches import Batch, batches_of
from planner.corrections import Corrections
from planner.night import Night
from planner.offers import Prices, offer
from planner.options import Offer
from planner.posing import pose
from planner.preparations import Offered, preparations_of
from planner.ripening import HoursAt
from planner.scheduling.problem import Job, Problem, Weights
from planner.start_times import start_buckets
from tests.benchmarks.random_days import EARLY_BEFORE_MIN, Kind, RandomDay, random_day

GRID_MIN = 5

WEIGHTS = Weights(
    late_per_slot=1000,
    window_per_slot=400,
    proof_per_slot=4,
    ice_per_kg=6,
    early_per_mix=3,
    build=0,
    fresh_trade=0,
)
"""Three points per half kilo of ice, four per slot off the ideal bulk (`PRICES`) or proof."""

PRICES = Prices(per_slot_off_ideal=4, per_k_off_number=0, proofs_wanted=True)

BY_THE_CLOCK = (0.78, 1.25)
"""Between which shares of its hours at 25 °C a bulk is divided, whatever its temperature."""


@dataclass(frozen=True)
class Posed:
    """A random day as a core problem, with what it was made of.

    Attributes
    ----------
    tables_cpu_s
        Processor time of all options, levains and scalds [s].
    """

    made: RandomDay
    night: Night
    batches: tuple[Batch, ...]
    preparations: tuple[Offered, ...]
    offers: tuple[Offer, ...]
    problem: Problem
    tables_cpu_s: float


def posed(kind: Kind) -> Posed:
    """Return the core problem of a random day."""
    made = random_day(kind)
    began = process_time()
    night = Night(made.day, made.conditions, Corrections())
    batches = batches_of(made.day)
    preparations = preparations_of(night, batches, GRID_MIN)
    offers = tuple(
        offer(
            night,
            batch,
            None,
            GRID_MIN,
            start_buckets(night, batch, None),
            {p.part.id: p.curve for p in preparations if p.feeds(batch.id)},
            prices=PRICES,
        )
        for batch in batches
    )
    tables_cpu_s = process_time() - began
    needs = [(p.problem, frozenset(b.id for b in p.users)) for p in preparations]
    problem = pose(night, offers, needs, (), GRID_MIN)
    jobs = tuple(
        _within_clock(job, batch) for job, batch in zip(problem.jobs, batches, strict=True)
    )
    problem = replace(problem, jobs=jobs, weights=WEIGHTS, early_before=EARLY_BEFORE_MIN)
    return Posed(made, night, batches, preparations, offers, problem, tables_cpu_s)


def _within_clock(job: Job, batch: Batch) -> Job:
    """Return a job with the options whose bulk the clock allows."""
    reference = batch.formula.bulk.reference
    if not isinstance(reference, HoursAt):
        raise TypeError(f"_within_clock: {job.id} has no hours at a dough temperature")
    low, high = (share * 60 * reference.hours for share in BY_THE_CLOCK)
    return replace(job, options=tuple(o for o in job.options if low <= o.bulk_min <= high))

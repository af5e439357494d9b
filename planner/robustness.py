"""How a plan fares on nights that turn out otherwise than foreseen.

The plan's clock times are kept, as by a crew that works by the sheet and looks at no dough. The
night is drawn anew many times: every room warmer or cooler by one and the same amount, every mix
quicker or slower, work longer or shorter. The share of doughs that meet their bench or their oven
outside their window is then a number of the plan, with the number of doughs it was counted on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.batches import Batch, batches_of
from planner.day import BulkWindow
from planner.night import Night
from planner.other_nights import Robustness
from planner.physics.ripening_path import RipeningPath
from planner.planned import Plan, PlannedLoad, PlannedMix
from planner.rises import Divided, Rise, dough_rise, in_rooms_off_by, off_the_bench, piece_rise

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]

NIGHTS = 200
"""Nights drawn; with 40 doughs in a plan a share of 10 % is then known to about a point."""

SEED = 20
"""Of the nights drawn: the same plan gets the same share."""

STEP_MIN = 2.5
"""Step of the paths, as of the plan's own [min]."""

EDGE = 1e-9
"""A progress this near to its window counts as inside."""


@dataclass(frozen=True, slots=True)
class Scatter:
    """How far a night may lie off: half widths of even distributions.

    Attributes
    ----------
    room_k
        All rooms together warmer or cooler [K]; chambers keep what they are set to.
    rate
        Speed of a mix's fermentation, bulk and proof alike, as a share.
    work
        Minutes of a mix's mixing, and of its dividing and resting, each as a share.
    """

    room_k: float = 1.5
    rate: float = 0.10
    work: float = 0.10


USUAL = Scatter()


@dataclass(frozen=True)
class _Nights:
    """Nights drawn for one mix: what its rooms, its speed and its work are off by, shape (N,)."""

    room_k: Numbers
    rate: Numbers
    mixing: Numbers
    dividing: Numbers


def robustness_of(
    plan: Plan, scatter: Scatter = USUAL, *, nights: int = NIGHTS, seed: int = SEED
) -> Robustness:
    """Return the share of a plan's doughs outside their windows on nights that turn out otherwise.

    Parameters
    ----------
    plan
        The plan; only what can still be chosen in it is judged.
    scatter
        How far the nights lie off.
    nights, seed
        How many nights are drawn, and the seed they are drawn with.

    Returns
    -------
    Robustness
        With counts of bulks and proofs judged, and of those outside.

    Notes
    -----
    A dough is taken to come off the mixer as its ticket says. Each divide and each load is judged
    on its own, at the plan's clock time, on the true curves. A proof starts from the dough as the
    drawn night left it.
    """
    night = Night(plan.day, plan.conditions, plan.corrections)
    batches = {batch.id: batch for batch in batches_of(plan.day)}
    rng = np.random.default_rng(seed)
    room_k = scatter.room_k * rng.uniform(-1.0, 1.0, nights)
    counts = np.zeros(4, dtype=np.int64)
    for mix in plan.mixes:
        rate, mixing, dividing = (
            1.0 + share * rng.uniform(-1.0, 1.0, nights)
            for share in (scatter.rate, scatter.work, scatter.work)
        )
        counts += _of_mix(
            night, plan, batches[mix.id], mix, _Nights(room_k, rate, mixing, dividing)
        )
    return Robustness(nights, *(int(n) for n in counts))


def _of_mix(
    night: Night, plan: Plan, batch: Batch, mix: PlannedMix, drawn: _Nights
) -> NDArray[np.int64]:
    """Return bulks judged and outside, proofs judged and outside, of one mix."""
    loads = [load for load in mix.loads if _to_come(plan, load)]
    bulk_to_come = plan.as_of_utc is None or mix.divide_utc > plan.as_of_utc
    counts = np.zeros(4, dtype=np.int64)
    if not bulk_to_come and not loads:
        return counts
    minute = plan.day.minute
    mixed_min = minute(mix.mix_end_utc) - minute(mix.start_utc)
    mix_end = minute(mix.start_utc) + mixed_min * drawn.mixing
    elapsed = minute(mix.divide_utc) - mix_end
    own = dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c)
    rise = in_rooms_off_by(night, own, drawn.room_k)
    path = rise.path(
        mix_end,
        mix.ticket.expected_c,
        span_min=float(elapsed.max()) + 10.0,
        step_min=STEP_MIN,
        rate=drawn.rate,
    )
    ends_c, progress = _at(path, elapsed)
    if bulk_to_come:
        counts[:2] = len(elapsed), int(_bulk_outside(batch, own, elapsed, progress).sum())
    room_id, divide = plan.day.bakery.mixer(mix.mixer_id).room_id, minute(mix.divide_utc)
    for load in loads:
        product = plan.day.product(load.product_id)
        divided = Divided(room_id, product.piece_kg, divide, ends_c, progress, drawn.room_k)
        proof = piece_rise(night, product, load.route, batch.formula.dough_c, own)
        counts[2] += len(elapsed)
        counts[3] += int(_proof_outside(night, plan, proof, load, divided, drawn).sum())
    return counts


def _to_come(plan: Plan, load: PlannedLoad) -> bool:
    return plan.as_of_utc is None or load.load_utc > plan.as_of_utc


def _bulk_outside(batch: Batch, rise: Rise, elapsed: Numbers, progress: Numbers) -> Flags:
    if isinstance(batch.window, BulkWindow):  # the mix list's own minutes for the day
        return _outside(elapsed, batch.window.from_min, batch.window.by_min)
    return _outside(progress, rise.ripening.from_progress, rise.ripening.by_progress)


def _proof_outside(
    night: Night, plan: Plan, proof: Rise, load: PlannedLoad, divided: Divided, drawn: _Nights
) -> Flags:
    divide = float(np.asarray(divided.minute))
    offset = (plan.day.minute(load.proof_start_utc) - divide) * drawn.dividing
    piece_c, progress = off_the_bench(night, divided, proof, offset, drawn.rate)
    start = divide + offset
    elapsed = plan.day.minute(load.load_utc) - start
    path = in_rooms_off_by(night, proof, drawn.room_k).path(
        start,
        piece_c,
        span_min=float(elapsed.max()) + 10.0,
        step_min=STEP_MIN,
        rate=drawn.rate,
        progress=progress,
    )
    _, reached = _at(path, elapsed)
    return _outside(reached, proof.ripening.from_progress, proof.ripening.by_progress)


def _outside(value: Numbers, low: float, high: float) -> Flags:
    return np.asarray((value < low - EDGE) | (value > high + EDGE))


def _at(path: RipeningPath, elapsed: Numbers) -> tuple[Numbers, Numbers]:
    """Return temperature [°C] and progress after some minutes, each night after its own."""
    steps = np.clip(elapsed / path.minutes[1], 0, len(path.minutes) - 1)
    before = np.minimum(steps.astype(np.intp), len(path.minutes) - 2)
    share, column = steps - before, np.arange(len(elapsed))
    found = [
        values[before, column] + share * (values[before + 1, column] - values[before, column])
        for values in (path.temperature_c, path.progress)
    ]
    return found[0], found[1]


def with_robustness(plan: Plan) -> Plan:
    """Return the plan with its share of doughs outside their windows on other nights."""
    return replace(plan, robustness=robustness_of(plan))


def pooled(found: Sequence[Robustness]) -> Robustness:
    """Return what several plans, judged on equally many nights, come to together."""
    return Robustness(
        found[0].nights,
        sum(one.bulks for one in found),
        sum(one.bulks_outside for one in found),
        sum(one.proofs for one in found),
        sum(one.proofs_outside for one in found),
    )

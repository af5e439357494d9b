"""When a mix may start: late enough that somebody works, early enough that its bread leaves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from planner.baking import baking_of
from planner.batches import Batch
from planner.day import BulkWindow, ReadyWindow
from planner.night import Night
from planner.options import BUCKET_MIN, divide_minutes, proof_rises
from planner.pins import Pin
from planner.rises import dough_rise
from planner.wanted import Lot

SCALE_MIN = 10
"""Hands-on minutes of scaling a mix (our guess; trade planning figure)."""


EARLY_SLACK_MIN = 300
"""How long before its latest start a mix may be tried, beyond its own length [min]."""


LATE_SLACK_MIN = 120
"""How long after its latest start a mix may be tried, so that a late plan can be found [min]."""


def start_buckets(night: Night, batch: Batch, pin: Pin | None) -> NDArray[np.int_]:
    """Return the start buckets worth looking at: somebody works, and the bread can leave in time.

    Parameters
    ----------
    night
        Temperatures of the night.
    batch
        The bowl of dough.
    pin
        What the baker fixed about it.
    """
    day = night.day
    low, high = start_bounds(night, batch, pin)
    first, last = low // BUCKET_MIN, min(high, day.span_min - 1) // BUCKET_MIN
    hours = [(day.minute(s.start_utc), day.minute(s.end_utc)) for s in day.shifts]
    return np.array(
        [
            k
            for k in range(first, last + 1)
            if any(a < (k + 1) * BUCKET_MIN + SCALE_MIN and k * BUCKET_MIN < b for a, b in hours)
        ],
        dtype=np.int_,
    )


def start_bounds(night: Night, batch: Batch, pin: Pin | None) -> tuple[int, int]:
    """Return the earliest and latest mix start worth looking at [min]."""
    day = night.day
    low, high = 0.0, float(day.span_min)
    timed = [(day.minute(c.leave_by), c) for c in _chains(night, batch) if c.leave_by is not None]
    if timed:
        low = min(leave - chain.longest_min for leave, chain in timed) - EARLY_SLACK_MIN
        high = min(leave - chain.shortest_min for leave, chain in timed) + LATE_SLACK_MIN
        # The oven cools: what must go in early is mixed early.
        hot = [chain.hot_by - chain.longest_min for _, chain in timed if chain.hot_by is not None]
        low = min([low, *hot])
    if isinstance(batch.window, ReadyWindow):
        bulk_min = _bulk_min(night, batch)
        low = day.minute(batch.window.from_utc) - 1.6 * bulk_min - batch.formula.mix_min
        high = day.minute(batch.window.by_utc) - 0.5 * bulk_min
    if pin is not None and pin.start_utc is not None:
        low = high = day.minute(pin.start_utc)
    if pin is not None and pin.not_before_utc is not None:
        earliest = day.minute(pin.not_before_utc)
        low = max(low, earliest)
        if pin.start_utc is None and low + LATE_SLACK_MIN > high:
            high = low + LATE_SLACK_MIN  # late rather than not at all
    return max(0, floor(low)), max(0, min(ceil(high), day.span_min))


def _last_heat(night: Night, batch: Batch, lot: Lot) -> int | None:
    """Return until when some oven is as hot as a load wants it; None where one always is."""
    pieces = next((load.pieces for load in batch.loads if load.line_id == lot.line_id), 0)
    if not pieces:
        return None
    ovens = baking_of(night.day, night.conditions, lot.product, pieces).ovens
    ends = [choice.hot_by for choice in ovens]
    return max((end for end in ends if end is not None), default=None) if None not in ends else None


def in_time_min(night: Night, batch: Batch) -> tuple[float, float]:
    """Return the earliest and latest start of a mix that is usual, for its order or window [min].

    Unlike `start_bounds` it leaves no slack for a plan that is late.
    """
    low, high = 0.0, float(night.day.span_min)
    for chain in _chains(night, batch):
        if chain.leave_by is not None:
            high = min(high, night.day.minute(chain.leave_by) - chain.usual_min)
    if isinstance(batch.window, ReadyWindow):
        ripe_min = batch.formula.mix_min + _bulk_min(night, batch)
        low = night.day.minute(batch.window.from_utc) - ripe_min
        high = night.day.minute(batch.window.by_utc) - ripe_min
    return low, high


@dataclass(frozen=True, slots=True)
class _Chain:
    """What lies between the start of a mix and the door, for one of its lots [min].

    Attributes
    ----------
    head_min, tail_min
        To the end of dividing, and from the proof on.
    proofs_min
        A short and a usual proof for each way to proof.
    hot_by
        Until when some oven is hot enough for it; None where one always is.
    """

    head_min: float
    proofs_min: tuple[tuple[float, float], ...]
    tail_min: float
    leave_by: datetime | None
    hot_by: int | None = None

    @property
    def shortest_min(self) -> float:
        return 0.75 * (self.head_min + min(q for q, _ in self.proofs_min)) + self.tail_min

    @property
    def longest_min(self) -> float:
        return 1.3 * (self.head_min + max(u for _, u in self.proofs_min)) + self.tail_min

    @property
    def usual_min(self) -> float:
        return self.head_min + min(u for _, u in self.proofs_min) + self.tail_min


def _chains(night: Night, batch: Batch) -> list[_Chain]:
    """Return the chain of each order in a mix; one without products ends at the divide."""
    head = batch.formula.mix_min + _bulk_min(night, batch) + divide_minutes(batch, 5)
    if batch.product is None:
        return [_Chain(head, ((0.0, 0.0),), 0.0, batch.leave_by)]
    proofs = _proofs_min(night, batch)
    found = []
    for lot in batch.lots:
        product, first = lot.product, batch.first_route(lot.product)
        tail = product.bench_rest_min + product.bake_min + product.cool_min
        own = tuple(proofs[first : first + len(product.routes)])
        found.append(_Chain(head, own, tail, lot.leave_by, _last_heat(night, batch, lot)))
    return found


def _proofs_min(night: Night, batch: Batch) -> list[tuple[float, float]]:
    """Return a short and a usual proof for each way of the product [min].

    A proof that goes on with the clock of its bulk is shortest after the longest bulk.
    """
    formula, middle = batch.formula, night.day.span_min / 2
    bulk = dough_rise(night, formula.bulk, batch.dough_kg, formula.dough_c)
    comes_with = np.array([formula.bulk.by_progress, formula.bulk.wanted_progress])
    found = []
    for rise in proof_rises(night, batch, bulk):
        path = rise.path(np.full(2, middle), np.full(2, formula.dough_c), progress=comes_with)
        low, ripe, _ = rise.window(path)
        quick, usual = (
            float(m) if np.isfinite(m) else rise.longest_min
            for m in (low[0] if rise.ripening.goes_on else ripe[0], ripe[1])
        )
        found.append((quick, usual))
    return found


def _bulk_min(night: Night, batch: Batch) -> float:
    if isinstance(batch.window, BulkWindow):
        return (batch.window.from_min + batch.window.by_min) / 2
    rise = dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c)
    middle = night.day.span_min / 2
    ripe = float(rise.window(rise.path(middle, batch.formula.dough_c))[1])
    return ripe if np.isfinite(ripe) else rise.longest_min

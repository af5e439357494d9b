"""Offers: every way to run a mix, worked out by physics before the search begins.

For a grid of start times and dough temperatures the heat balance gives ice and chilled water,
the fermentation clock gives the window of the bulk, and the piece's own path gives the window
of the proof. Rows are made for start buckets: a row's lengths hold for every start inside its
bucket, because they are the worst of the starts sampled in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.balances import dough_balance
from planner.batches import Batch, holds_cold
from planner.day import BulkWindow
from planner.materials import properties
from planner.mixers import Mixer
from planner.night import Night
from planner.option_rows import bounds_on_grid, near_end_min, on_grid, pruned
from planner.options import (
    BUCKET_MIN,
    Allowance,
    Choice,
    Offer,
    PartCurve,
    Settled,
    aimed,
    bowls_c,
    choices_for,
    divide_minutes,
    draw_with,
    mix_slots_min,
    proof_offsets,
    proof_rises,
    steering_of,
    warmest_mixer,
)
from planner.physics.heat_balance import MixBalance
from planner.physics.ripening_path import FINE_STEP_MIN, RipeningPath
from planner.pins import Pin
from planner.prices import Prices, prices_of
from planner.rises import Divided, Rise, dough_rise, off_the_bench
from planner.scheduling.problem import Option
from planner.stores import chilled_stock
from planner.wishes import weights_for

Numbers = NDArray[np.float64]

SAMPLE_MIN = 15
"""Starts looked at inside a bucket lie so far apart [min]."""

REACHED_WITHIN_K = 0.05
"""A dough this near to its band counts as inside it [K]."""

BOWL_MATTERS_K = 0.05
"""From this difference on a mix is looked at after a cool bowl as well as after a warm one [K]."""

COARSE_MARGIN_MIN = 5.0
"""Taken off both ends of a retard's window, whose path is followed in coarse steps [min]."""


def offer(
    night: Night,
    batch: Batch,
    pin: Pin | None,
    grid_min: int,
    buckets: NDArray[np.int_],
    part_c: Mapping[str, PartCurve],
    was_min: float | None = None,
    prices: Prices | None = None,
) -> Offer:
    """Work out every option of one batch.

    Parameters
    ----------
    night
        Temperatures of the night.
    batch
        The bowl of dough.
    pin
        What the baker fixed about it.
    grid_min
        Grid of the search [min].
    buckets
        Start buckets to look at.
    part_c
        Temperature of each part when used at a minute, by part id.
    was_min
        When it started in an earlier plan [min]; None where there is none.
    prices
        What an option costs; that of what the baker cares for most when left out.

    Returns
    -------
    Offer
        With an empty list of options when no start gives a dough that ripens in the span.
    """
    return _offer(
        night,
        batch,
        warmest_mixer(night, batch, pin),
        grid_min,
        buckets,
        part_c,
        choices_for(night, batch, pin),
        None,
        was_min,
        prices,
    )


def settled_offer(night: Night, batch: Batch, settled: Settled, grid_min: int) -> Offer:
    """Return a mix that has begun, with what can still be chosen: its bulk, if it is not divided.

    Parameters
    ----------
    night, batch, grid_min
        As in `offer`.
    settled
        What is known of it.
    """
    bucket = np.array([int(on_grid(settled.start_min, grid_min)) // BUCKET_MIN], dtype=np.int_)
    choice = Choice(settled.dough_c, use_chilled=False, use_ice=False)
    return _offer(night, batch, batch.mixers[0], grid_min, bucket, {}, (choice,), settled)


def _offer(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    grid_min: int,
    buckets: NDArray[np.int_],
    part_c: Mapping[str, PartCurve],
    choices: tuple[Choice, ...],
    settled: Settled | None,
    was_min: float | None = None,
    prices: Prices | None = None,
) -> Offer:
    bulk = dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c)
    proofs = proof_rises(night, batch, bulk)
    divide_min = divide_minutes(batch, grid_min)
    offsets = proof_offsets(batch, divide_min, grid_min)
    prices = prices or prices_of(weights_for(night.day.bakery.cares_for))
    table = _Table(
        night, batch, mixer, bulk, proofs, offsets, grid_min, buckets, choices, settled, prices,
        was_min,
    )  # fmt: skip
    options = pruned(tuple(table.rows(part_c)))
    return Offer(batch, mixer, bulk, proofs, offsets, divide_min, choices, options, settled)


@dataclass(frozen=True)
class _Cells:
    """What each cell (a choice in a start bucket) comes to; rows are cells, columns samples.

    Attributes
    ----------
    choice, bucket
        Index of the choice, and the start bucket, per cell.
    mix_end
        End of mixing [min].
    reached_c
        Dough temperature off the mixer [°C].
    ice_kg, chilled_kg
        The most that any start of the bucket takes [kg], per cell.
    cold
        Whether any start of the bucket is a cold mix for a mixer that holds it warm only.
    """

    choice: NDArray[np.int_]
    bucket: NDArray[np.int_]
    mix_end: Numbers
    reached_c: Numbers
    ice_kg: Numbers
    chilled_kg: Numbers
    cold: NDArray[np.bool_]


@dataclass(frozen=True)
class _Table:
    """Everything of one batch that its rows share; all choices are worked out in one sweep."""

    night: Night
    batch: Batch
    mixer: Mixer
    bulk: Rise
    proofs: tuple[Rise, ...]
    offsets: tuple[int, ...]
    grid_min: int
    buckets: NDArray[np.int_]
    choices: tuple[Choice, ...]
    settled: Settled | None
    prices: Prices
    was_min: float | None = None

    def rows(self, part_c: Mapping[str, PartCurve]) -> list[Option]:
        """Return the options of all choices."""
        if not len(self.buckets):
            return []
        cells = self._cells(part_c)
        path = self.bulk.path(
            cells.mix_end, cells.reached_c, until_window_ends=self.settled is None
        )
        # The grid counts the bulk from the end of the last slot of mixing, the dough from its own.
        slack = self._slack_min()
        ripe_from, ripe, ripe_by = self._window(*self.bulk.window(path))
        ripe_from, ripe, ripe_by = (minutes - slack for minutes in (ripe_from, ripe, ripe_by))
        lengths = self._lengths(ripe_from, ripe, ripe_by)
        if not lengths:
            return []
        cell = np.array([i for i, _, _ in lengths])
        elapsed = np.array([length + slack for _, length, _ in lengths], dtype=np.float64)
        divide = cells.mix_end[cell] + elapsed[:, None]
        proofs = self._proofs(divide, *self._at_divide(path, cell, elapsed))
        length, narrow = np.array([(length, narrow) for _, length, narrow in lengths]).T
        costs = self._cell_costs(cells)[cell] + self.prices.narrow_window * narrow
        ends = ripe_from.max(axis=1), ripe_by.min(axis=1)
        costs = costs + self._length_costs(cell, length, ripe.mean(axis=1), ends)
        ripens = np.all([np.isfinite(low) for low, _, _ in proofs], axis=0)
        if not np.all(ripens):
            cell, length, costs = cell[ripens], length[ripens], costs[ripens]
            proofs = [(low[ripens], high[ripens], ripe[ripens]) for low, high, ripe in proofs]
        return self._options(cells, cell, length, costs, proofs)

    def _length_costs(
        self,
        cell: NDArray[np.int_],
        length: NDArray[np.int_],
        ripe_min: Numbers,
        window: tuple[Numbers, Numbers],
    ) -> Numbers:
        """Return the points of bulks off their ripe time, and near an end of their window.

        Rows have a cell and a length; ripe times and windows are those of the cells.
        """
        low, high = window
        off = self.prices.per_slot_off_ideal * np.abs(length - ripe_min[cell])
        # what the grid takes is given back to the minute
        margins = np.array(
            [
                max(0.0, near_end_min(*one) - self.grid_min / 2)
                for one in zip(ripe_min.tolist(), low.tolist(), high.tolist(), strict=True)
            ]
        )
        margin = margins[cell]
        near = np.maximum(low[cell] + margin - length, length + margin - high[cell])
        near = np.where(np.isfinite(high[cell]), np.clip(near, 0.0, margin), 0.0)
        return np.asarray((off + self.prices.per_slot_near_end * near) / self.grid_min)

    def _slack_min(self) -> float:
        """Return minutes between the dough off the mixer and the end of its slots on the grid."""
        slots = mix_slots_min(self.batch.formula, self.grid_min)
        if self.settled is None:
            return slots - self.batch.formula.mix_min
        start = on_grid(self.settled.start_min, self.grid_min)
        return start + slots - self.settled.mix_end_min

    def _options(
        self,
        cells: _Cells,
        cell: NDArray[np.int_],
        length: NDArray[np.int_],
        costs: Numbers,
        proofs: list[tuple[Numbers, Numbers, Numbers]],
    ) -> list[Option]:
        """Return the options of some rows, with proofs on the grid."""
        bounds, wanted = [], []
        for low, high, ripe in proofs:
            first, last, tight = bounds_on_grid(low, high, self.grid_min)
            costs = costs + self.prices.narrow_window * tight
            bounds.append(list(zip(first.tolist(), last.tolist(), strict=True)))
            wanted.append((np.rint(ripe / self.grid_min).astype(np.int_) * self.grid_min).tolist())
        none: list[tuple[()]] = [()] * len(cell)
        columns = (
            cells.bucket[cell].tolist(),
            length.tolist(),
            cells.choice[cell].tolist(),
            np.rint(costs).astype(np.int_).tolist(),
            np.ceil(cells.ice_kg * 1000 - 1e-6).astype(np.int_)[cell].tolist(),
            np.ceil(cells.chilled_kg * 1000 - 1e-6).astype(np.int_)[cell].tolist(),
            list(zip(*bounds, strict=True)) if bounds else none,
            cells.cold[cell].tolist(),
            list(zip(*wanted, strict=True)) if wanted and self.prices.proofs_wanted else none,
        )
        return [Option(*row) for row in zip(*columns, strict=True)]

    def _cells(self, part_c: Mapping[str, PartCurve]) -> _Cells:
        if self.settled is not None:
            return self._settled_cells(self.settled)
        inside = np.arange(0, BUCKET_MIN + 1, SAMPLE_MIN, dtype=np.float64)
        start = self.buckets[:, None] * BUCKET_MIN + inside[None, :]
        parts = {part: curve(start) for part, curve in part_c.items()}
        # The ice set aside must also do for a bowl that is warm from the dough before; where water
        # cannot make up for the bowl, the dough must be in its window after either.
        warm, cool = (
            dough_balance(self.night, self.batch, self.mixer, start, parts, bowl_c)
            for bowl_c in bowls_c(self.night, self.batch, self.mixer, start)
        )
        drawn: dict[tuple[bool, bool], tuple[Numbers, ...]] = {}
        for chilled_, iced in sorted({(c.use_chilled, c.use_ice) for c in self.choices})[::-1]:
            # What takes no ice anyway needs no second look without.
            with_ice = drawn.get((chilled_, True))
            if with_ice is None or np.any(with_ice[2] > 0):
                drawn[chilled_, iced] = self._drawn(warm, cool, start.shape, chilled_, iced)
        order = [i for use in drawn for i in self._choices_with(*use)]
        reached, cooler, ice, chilled, liquid = (
            np.concatenate([one[k] for one in drawn.values()]) for k in range(5)
        )
        cold = self._is_cold(start, liquid, ice)
        count = len(reached)
        if np.any(np.abs(reached - cooler) > BOWL_MATTERS_K):
            reached, start = np.concatenate([reached, cooler], axis=2), np.tile(start, (1, 2))
        return _Cells(
            choice=np.repeat(np.array(order, dtype=np.int_), len(self.buckets)),
            bucket=np.tile(self.buckets, count),
            mix_end=np.tile(start, (count, 1)) + self.batch.formula.mix_min,
            reached_c=reached.reshape(-1, start.shape[1]),
            ice_kg=ice.max(axis=2).reshape(-1),
            chilled_kg=chilled.max(axis=2).reshape(-1),
            cold=cold.any(axis=2).reshape(-1),
        )

    def _is_cold(self, start: Numbers, liquid_c: Numbers, ice_kg: Numbers) -> NDArray[np.bool_]:
        """Return whether each mix is a cold one for some mixer that does not hold it so."""
        cold = np.zeros(liquid_c.shape, dtype=bool)
        lines = [x for x in self.batch.formula.lines if properties(x.material).is_flour]
        for mixer in self.batch.mixers:
            if holds_cold(self.batch, mixer):
                continue
            flour_c = [self.night.line_c(line, mixer.room_id, start) for line in lines]
            chilled = np.min(flour_c, axis=0) < mixer.cold_flour_c if flour_c else False
            cold |= (ice_kg > 0) | (liquid_c < mixer.cold_water_c) | chilled
        return cold

    def _settled_cells(self, known: Settled) -> _Cells:
        """Return the one cell of a mix that has begun."""
        return _Cells(
            choice=np.zeros(1, dtype=np.int_),
            bucket=self.buckets,
            mix_end=np.array([[known.mix_end_min]]),
            reached_c=np.array([[known.dough_c]]),
            ice_kg=np.array([known.ice_kg]),
            chilled_kg=np.array([known.chilled_kg]),
            cold=np.zeros(1, dtype=bool),
        )

    def _choices_with(self, chilled: bool, iced: bool) -> list[int]:  # noqa: FBT001  two of a pair
        """Return the indices of the choices that may use chilled water and ice so."""
        return [
            i
            for i, choice in enumerate(self.choices)
            if (choice.use_chilled, choice.use_ice) == (chilled, iced)
        ]

    def _drawn(
        self,
        warm: MixBalance,
        cool: MixBalance,
        shape: tuple[int, ...],
        chilled: bool,  # noqa: FBT001  two of a pair
        iced: bool,  # noqa: FBT001
    ) -> tuple[Numbers, ...]:
        """Return dough after a warm and a cool bowl, ice, chilled and liquid water.

        By choice, bucket and sample.
        """
        dough_c = np.array([self.choices[i].dough_c for i in self._choices_with(chilled, iced)])
        full = (len(dough_c), *shape)
        ways = steering_of(self.night, self.batch, warm)
        # A mix may want more than the tank ever holds: then it takes that, and blends.
        allowed = Allowance(None if iced else 0.0, chilled_stock(self.night).room_kg)
        drawn, after_cool = (
            draw_with(ways, balance, dough_c[:, None, None], allowed, use_chilled=chilled)
            for balance in (warm, cool)
        )
        return tuple(
            np.broadcast_to(np.asarray(value, dtype=np.float64), full)
            for value in (
                drawn.expected_c,
                after_cool.expected_c,
                drawn.ice_kg,
                drawn.chilled_kg,
                np.minimum(drawn.liquid_c, after_cool.liquid_c),
            )
        )

    def _cell_costs(self, cells: _Cells) -> Numbers:
        """Return points for dough off the number, what cannot be reached, further mixes.

        The number is the pinned one, where a pin lies outside the band.
        """
        formula = self.batch.formula
        if self.settled is None:
            formula = aimed(self.batch, self.choices[0]).formula
        off_k = np.abs(cells.reached_c.mean(axis=1) - formula.dough_c)
        missed = np.abs(cells.reached_c - formula.dough_c) - formula.band_k - REACHED_WITHIN_K
        missed_k = np.maximum(missed, 0.0).max(axis=1)
        points = self.prices.per_k_off_number * off_k + self.prices.per_k_missed * missed_k
        points = points + self.prices.further_mix * self.batch.further_mixes / self.batch.batches
        if self.was_min is not None and self.settled is None:
            half_hours = np.abs(cells.bucket - int(self.was_min) // BUCKET_MIN)
            points = points + self.prices.per_half_hour_changed * half_hours
        return np.asarray(points)

    def _window(
        self, ripe_from: Numbers, ripe: Numbers, ripe_by: Numbers
    ) -> tuple[Numbers, Numbers, Numbers]:
        """Return the window of the bulk: the mix list's for the day, else the formula's [min]."""
        window = self.batch.window
        if not isinstance(window, BulkWindow):
            return ripe_from, ripe, ripe_by
        low, high = (np.full_like(ripe, minutes) for minutes in (window.from_min, window.by_min))
        return low, np.clip(ripe, low, high), high

    def _lengths(
        self, ripe_from: Numbers, ripe: Numbers, ripe_by: Numbers
    ) -> list[tuple[int, int, int]]:
        """Return cell, bulk length and whether it is narrow, for all lengths allowed."""
        low, high, middle = ripe_from.max(axis=1), ripe_by.min(axis=1), ripe.mean(axis=1)
        if self.settled is not None and self.settled.divide_min is not None:
            divided = self.settled.divide_min - self.settled.mix_end_min - self._slack_min()
            return [(0, max(self.grid_min, int(on_grid(divided, self.grid_min))), 0)]
        found = []
        for i in range(len(low)):
            if not np.isfinite(low[i]) or not np.isfinite(middle[i]):
                continue
            first = int(np.ceil(low[i] / self.grid_min - 1e-9)) * self.grid_min
            last_min = high[i] if np.isfinite(high[i]) else low[i] + 240
            lengths = range(first, int(last_min + 1e-9) + 1, self._stride(low[i], last_min))
            found += [(i, length, 0) for length in lengths]
            if not lengths:
                nearest = max(1, round(float(middle[i]) / self.grid_min)) * self.grid_min
                found.append((i, nearest, 1))
        return found

    def _stride(self, low_min: float, high_min: float) -> int:
        """Return the step between lengths: the grid, coarser for a window of hours."""
        slots = (high_min - low_min) / self.grid_min
        return self.grid_min * max(1, int(slots // 8))

    def _at_divide(
        self, path: RipeningPath, cell: NDArray[np.int_], elapsed: Numbers
    ) -> tuple[Numbers, Numbers]:
        """Return dough temperature [°C] and progress at the divide, rows by samples."""
        steps = np.clip(elapsed / path.minutes[1], 0, len(path.minutes) - 1)
        before = np.minimum(steps.astype(np.intp), len(path.minutes) - 2)
        share = (steps - before)[:, None]
        temperature_c, progress = (
            values[before, cell] + share * (values[before + 1, cell] - values[before, cell])
            for values in (path.temperature_c, path.progress)
        )
        return temperature_c, progress

    def _proofs(
        self, divide: Numbers, ends_c: Numbers, ripeness: Numbers
    ) -> list[tuple[Numbers, Numbers, Numbers]]:
        """Return shortest, longest and wanted proof per route [min].

        The first two are the worst over samples and loads, the third their mean.
        """
        bounds = []
        ways = [product for product in self.batch.products for _ in product.routes]
        for product, rise in zip(ways, self.proofs, strict=True):
            offsets = [
                offset
                for offset, load in zip(self.offsets, self.batch.loads, strict=True)
                if load.product.id == product.id
            ]
            if not offsets:
                return []
            divided = Divided(self.mixer.room_id, product.piece_kg, divide, ends_c, ripeness)
            low, high = np.zeros(len(divide)), np.full(len(divide), np.inf)
            wanted, ends = np.zeros(len(divide)), sorted({offsets[0], offsets[-1]})
            for offset in ends:
                piece_c, progress = off_the_bench(self.night, divided, rise, offset)
                path = rise.path(
                    divide + offset, piece_c, progress=progress, until_window_ends=True
                )
                ripe_from, ripe, ripe_by = rise.window(path)
                margin = COARSE_MARGIN_MIN if path.minutes[1] > FINE_STEP_MIN else 0.0
                low = np.maximum(low, ripe_from.max(axis=1) + margin)
                high = np.minimum(high, ripe_by.min(axis=1) - margin)
                wanted = wanted + ripe.mean(axis=1) / len(ends)
            high = np.where(np.isfinite(high), high, low + rise.longest_min)
            bounds.append((low, high, np.clip(wanted, low, np.maximum(low, high))))
        return bounds

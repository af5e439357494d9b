"""From the schedule back to physics: every number of the plan on the true curves.

The search worked with buckets and worst cases. Here each mix is computed at its own start, with
the preparations it really gets, and each window is read off its own path in steps of a minute.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, log

import numpy as np

from planner.batches import Batch
from planner.bowl_remarks import is_cold_mix, mixer_remarks, signed_for
from planner.day import BulkWindow, Day
from planner.levers import missed_remarks
from planner.night import Night
from planner.options import NO_ALLOWANCE, Allowance, Choice, Offer, Settled, aimed
from planner.physics.ripening_path import (
    RipeningPath,
    progress_after,
    temperature_after,
)
from planner.planned import PlannedLoad, PlannedMix, PlannedMove, PlannedStep, Steered
from planner.product import Product
from planner.ripening import Move, Ripening
from planner.rises import Divided, Rise, off_the_bench, piece_rise
from planner.scheduling.schedule import ScheduledJob, ScheduledLoad
from planner.tickets import REACHED_K, READ_SD_K, Mixed, make_ticket, scaling_lines
from planner.wanted import Lot

STEP_MIN = 2.5
"""Step of the exact paths [min]; halving it moves no time by a tenth of a minute (tested)."""

SOONEST_MOVE_MIN = 5.0
"""Pieces carried on sooner than this after the start of their proof count as carried then [min]."""

RATE_SD = 0.10
"""Batch scatter of the speed of fermentation, one standard deviation (judgement)."""


@dataclass(frozen=True, slots=True)
class MixTimes:
    """When a mix happens, in minutes of the span.

    Attributes
    ----------
    start, divide, divide_end
        Mixer on, divide begins, divide ends.
    mix_end
        Dough off the mixer; None for the start plus the formula's own minutes.
    """

    start: float
    divide: float
    divide_end: float
    mix_end: float | None = None


@dataclass(frozen=True, slots=True)
class BulkResult:
    """The bulk of one mix on its true curve.

    Attributes
    ----------
    ripe_from, ripe, ripe_by
        Minutes of the span between which it may be divided, and at which it is ripe.
    ripeness, dough_c
        Progress and temperature at the planned divide.
    minutes_per_degree, band_min
        What one degree at the mixer is worth, and half the uncertainty band of the ripe time.
    """

    ripe_from: float
    ripe: float
    ripe_by: float
    ripeness: float
    dough_c: float
    minutes_per_degree: float
    band_min: float


def bulk_result(
    rise: Rise, mix_end: float, dough_c: float, sd_k: float, divide: float, air_sd_k: float = 0.0
) -> BulkResult:
    """Follow one bulk from the mixer to the divide.

    Parameters
    ----------
    rise
        Its rise.
    mix_end, divide
        Off the mixer and at the bench, minutes of the span [min].
    dough_c, sd_k
        Expected temperature off the mixer [°C] and one standard deviation [K].
    air_sd_k
        One standard deviation of the air of its place [K].

    Notes
    -----
    The band is that of four independent errors: the dough's temperature, the air of its place, the
    scatter from batch to batch, and the exponent of the curve, which counts as far as the dough is
    from the temperature at which its hours are known.
    """
    span = max(rise.longest_min, divide - mix_end + 10)
    # As expected, a degree warmer, and in air that is one deviation warmer.
    starts_c = np.array([dough_c, dough_c + 1.0, dough_c])
    offsets_k = np.array([0.0, 0.0, air_sd_k])
    path = rise.path(mix_end, starts_c, span_min=span, step_min=STEP_MIN, air_offset_k=offsets_k)
    low, ripe, high = rise.window(path)
    elapsed = np.full(3, divide - mix_end)
    per_degree, by_air = (
        float(ripe[0] - ripe[n]) if np.all(np.isfinite(ripe)) else 0.0 for n in (1, 2)
    )
    ripe_min = float(ripe[0]) if np.isfinite(ripe[0]) else span
    band = float(
        np.sqrt(
            (per_degree * sd_k) ** 2
            + (RATE_SD * ripe_min) ** 2
            + by_air**2
            + _by_exponent_min(rise, path, ripe_min) ** 2
        )
    )
    return BulkResult(
        ripe_from=mix_end + _bounded(float(low[0]), span),
        ripe=mix_end + ripe_min,
        ripe_by=mix_end + _bounded(float(high[0]), span),
        ripeness=float(np.atleast_1d(progress_after(path, elapsed))[0]),
        dough_c=float(np.atleast_1d(temperature_after(path, elapsed))[0]),
        minutes_per_degree=per_degree,
        band_min=band,
    )


def _by_exponent_min(rise: Rise, path: RipeningPath, ripe_min: float) -> float:
    """Return what one deviation of the exponent does to the ripe time [min].

    Notes
    -----
    ``dP/P = ds ln r`` with ``r`` the rate beside that of the reference, at the mean dough.
    """
    sd = rise.ripening.exponent.sd
    until = path.minutes <= max(ripe_min, path.minutes[1])
    mean_c = float(np.mean(path.temperature_c[until].reshape(int(until.sum()), -1)[:, 0]))
    rate = float(rise.clock().rate(mean_c))
    return ripe_min * sd * abs(log(rate)) if rate > 0 else 0.0


def planned_mix(
    night: Night,
    offered: Offer,
    times: MixTimes,
    mixer_id: str,
    choice: Choice,
    loads: Sequence[ScheduledLoad],
    part_c: Mapping[str, float],
    preparation_ids: Sequence[str],
    *,
    allowed: Allowance = NO_ALLOWANCE,
    bowl_c: float | None = None,
    dough_end_c: float | None = None,
) -> PlannedMix:
    """Return one mix with its ticket, windows and loads.

    Parameters
    ----------
    night, offered
        The night and the mix with its rises.
    times, mixer_id, choice, loads
        What the schedule decided.
    part_c
        Temperature of each part at the mix [°C].
    preparation_ids
        Builds it uses.
    allowed
        Ice and chilled water it may take.
    bowl_c
        Bowl and tool at the start [°C]; None for the temperature of the room.
    dough_end_c
        What a begun mix came off with [°C].
    """
    mixer = night.day.bakery.mixer(mixer_id)

    def ticket_for(one: Choice, may_take: Allowance = allowed) -> Mixed:
        return make_ticket(
            night,
            offered.batch,
            mixer,
            times.start,
            one,
            part_c,
            allowed=may_take,
            bowl_c=bowl_c,
        )

    if not choice.use_ice and offered.settled is None and not is_pinned(offered):
        # Its times are those of the dough as it comes without ice, however much ice is spare.
        as_it_comes = ticket_for(choice, replace(allowed, ice_kg=0.0))
        choice = without_ice(offered.batch, choice, as_it_comes.ticket.expected_c)
    mixed = ticket_for(choice)
    if not choice.use_chilled and mixed.ticket.expected_c > choice.dough_c + REACHED_K:
        # The search left it without chilled water; what is spare of it robs nobody.
        choice = replace(choice, use_chilled=True)
        mixed = ticket_for(choice)
    steered = mixed.steered(choice, allowed)
    # A mix that has begun came off as it did: nobody chose that.
    begun = offered.settled is not None
    aim = offered.batch if begun else aimed(offered.batch, choice)
    mix = mix_of(
        night, offered, times, mixer_id, mixed, steered, loads, part_c, preparation_ids, dough_end_c
    )
    buckets = () if begun else frozenset(option.bucket for option in offered.options)
    missed = missed_remarks(mixed, buckets, aim)
    cold = is_cold_mix(mix, offered.batch.formula, mixer)
    return replace(mix, remarks=(*mixer_remarks(offered.batch, mixer, cold=cold), *missed))


def is_pinned(offered: Offer) -> bool:
    """Return whether a mix had one dough temperature to choose from: it takes ice to reach it."""
    return len({one.dough_c for one in offered.choices}) == 1


def without_ice(batch: Batch, choice: Choice, expected_c: float) -> Choice:
    """Return the choice that a mix without ice comes to: warmer, at most the band's warm end."""
    formula = batch.formula
    warmest_c = formula.dough_c + formula.band_k
    if expected_c <= choice.dough_c + REACHED_K or choice.dough_c > warmest_c:
        return choice
    return replace(choice, dough_c=max(choice.dough_c, min(expected_c, warmest_c)))


def mix_of(
    night: Night,
    offered: Offer,
    times: MixTimes,
    mixer_id: str,
    mixed: Mixed,
    steered: Steered,
    loads: Sequence[ScheduledLoad],
    part_c: Mapping[str, float],
    preparation_ids: Sequence[str],
    dough_end_c: float | None,
) -> PlannedMix:
    """Return a mix whose ticket is made: what follows from it, up to the oven."""
    day, batch = night.day, offered.batch
    mixer, ticket = day.bakery.mixer(mixer_id), mixed.ticket
    mix_end = times.start + batch.formula.mix_min if times.mix_end is None else times.mix_end
    start_c = ticket.expected_c if dough_end_c is None else dough_end_c
    sd_k = ticket.expected_sd_k if dough_end_c is None else READ_SD_K
    air_sd_k = night.air_sd_k(batch.formula.bulk.place_id, mix_end)
    bulk = bulk_result(offered.bulk, mix_end, start_c, sd_k, times.divide, air_sd_k)
    divide_from, divide_by = rounded_window(divide_window(offered, mix_end, bulk))
    return PlannedMix(
        id=batch.id,
        line_id=batch.line_id,
        formula_id=batch.formula.id,
        product_id=None if batch.product is None else batch.product.id,
        batch=batch.batch,
        batches=batch.batches,
        dough_kg=batch.dough_kg,
        flour_kg=batch.flour_kg,
        pieces=batch.pieces,
        mixer_id=mixer_id,
        start_utc=day.moment(times.start),
        mix_end_utc=day.moment(mix_end),
        steps=tuple(PlannedStep(s.speed, s.minutes) for s in batch.formula.steps),
        scaling=scaling_lines(night, batch, mixer, times.start, part_c),
        ticket=ticket,
        divide_from_utc=day.moment(divide_from),
        divide_by_utc=day.moment(divide_by),
        divide_utc=day.moment(times.divide),
        divide_end_utc=day.moment(times.divide_end),
        ripeness=bulk.ripeness,
        minutes_per_degree=bulk.minutes_per_degree,
        band_min=bulk.band_min,
        folds_utc=tuple(day.moment(mix_end + f) for f in batch.formula.bulk.folds_min),
        loads=planned_loads(night, offered, mixer.room_id, times.divide, bulk, loads),
        leave_by_utc=batch.leave_by,
        preparation_ids=tuple(preparation_ids),
        steered=steered,
        moves=moves_until(night, batch.formula.bulk, mix_end, times.divide),
        line_ids=tuple(lot.line_id for lot in batch.lots) or (batch.line_id,),
        overload_signed_by=signed_for(batch, mixer),
    )


def moves_until(
    night: Night, ripening: Ripening, start: float, end: float
) -> tuple[PlannedMove, ...]:
    """Return where something goes on to between two minutes of the span."""
    return tuple(
        PlannedMove(night.day.moment(start + move.after_min), move.place_id)
        for move in ripening.moves
        if start + move.after_min < end
    )


def divide_window(offered: Offer, mix_end: float, bulk: BulkResult) -> tuple[float, float]:
    """Return between which minutes a mix is divided: the mix list's window, else the dough's."""
    window = offered.batch.window
    if isinstance(window, BulkWindow):
        return mix_end + window.from_min, mix_end + window.by_min
    return bulk.ripe_from, bulk.ripe_by


def rounded_window(window: tuple[float, float]) -> tuple[int, int]:
    """Return a window in whole minutes, inside the exact one."""
    return ceil(window[0]), floor(window[1])


def carried_product(day: Day, product: Product, load: PlannedLoad) -> Product:
    """Return a product whose route goes where a load of it was carried beside the plan."""
    if not load.carried:
        return product
    start = day.minute(load.proof_start_utc)
    route = product.routes[load.route]
    after = [max(SOONEST_MOVE_MIN, day.minute(move.at_utc) - start) for move in load.carried]
    own = tuple(move for move in route.moves if move.after_min < after[0])
    more = tuple(
        Move(minutes, move.place_id) for minutes, move in zip(after, load.carried, strict=True)
    )
    routes = [*product.routes]
    routes[load.route] = replace(route, moves=(*own, *more))
    return replace(product, routes=tuple(routes))


def carried_proof(night: Night, offered: Offer, load: PlannedLoad) -> Offer:
    """Return an offer whose proof goes where a load was carried beside the plan."""
    if not load.carried:
        return offered
    product = night.day.product(load.product_id)
    other = carried_product(night.day, product, load)
    proofs = [*offered.proofs]
    proofs[offered.batch.first_route(product) + load.route] = piece_rise(
        night, other, load.route, offered.batch.formula.dough_c, offered.bulk
    )
    return replace(offered, proofs=tuple(proofs))


def planned_loads(
    night: Night,
    offered: Offer,
    room_id: str,
    divide: float,
    bulk: BulkResult,
    loads: Sequence[ScheduledLoad],
) -> tuple[PlannedLoad, ...]:
    """Return the loads of a mix with their proof windows on the true curve."""
    return tuple(
        _planned_load(night, offered, lot, room_id, divide, bulk, load)
        for load, lot in zip(loads, offered.batch.loads, strict=True)
    )


def _planned_load(
    night: Night,
    offered: Offer,
    lot: Lot,
    room_id: str,
    divide: float,
    bulk: BulkResult,
    load: ScheduledLoad,
) -> PlannedLoad:
    day, product = night.day, lot.product
    rise = offered.proofs[offered.batch.first_route(product) + load.route]
    offset = load.proof_start - divide
    divided = Divided(room_id, product.piece_kg, divide, bulk.dough_c, bulk.ripeness)
    piece_c, progress = off_the_bench(night, divided, rise, offset)
    span = max(rise.longest_min, load.load_start - load.proof_start + 10)
    path = rise.path(load.proof_start, piece_c, span_min=span, step_min=STEP_MIN, progress=progress)
    low, _, high = rise.window(path)
    ripeness = progress_after(path, np.asarray(float(load.load_start - load.proof_start)))
    return PlannedLoad(
        id=load.load_id,
        product_id=product.id,
        pieces=lot.pieces,
        proof_place_id=product.routes[load.route].place_id,
        proof_start_utc=day.moment(load.proof_start),
        load_from_utc=day.moment(load.proof_start + np.ceil(_bounded(float(low), span))),
        load_by_utc=day.moment(load.proof_start + np.floor(_bounded(float(high), span))),
        load_utc=day.moment(load.load_start),
        out_utc=day.moment(load.out),
        ready_utc=day.moment(load.out + product.cool_min),
        oven_id=load.oven_id,
        oven_places=load.places,
        ripeness=float(ripeness),
        route=load.route,
        moves=moves_until(night, rise.ripening, load.proof_start, load.load_start),
        leave_by_utc=lot.leave_by if offered.batch.load_lots else None,
    )


def _bounded(minutes: float, span: float) -> float:
    return minutes if np.isfinite(minutes) else span


def times_of(job: ScheduledJob, settled: Settled | None = None) -> MixTimes:
    """Return the times of a scheduled job; of one that has begun, as they were."""
    if settled is None:
        return MixTimes(job.start, job.divide_start, job.divide_end)
    return MixTimes(settled.start_min, job.divide_start, job.divide_end, settled.mix_end_min)

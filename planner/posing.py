"""Posing the day: bakery, offers and preparations become one scheduling problem."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from planner.baking import baking_of, oven_places
from planner.batches import Batch
from planner.breaks import rests_of
from planner.conditions import Inherited, Standing
from planner.day import BulkWindow, Day, ReadyWindow
from planner.mixers import MixerKind
from planner.night import Night
from planner.options import BUCKET_MIN, Offer, divide_minutes, mix_slots_min, proof_rises
from planner.physics.ripening_path import progress_after
from planner.pins import Pin, merged_pins
from planner.places import counted_places, tubs_for, weight_in
from planner.product import Product
from planner.rises import Rise, dough_rise, piece_rise
from planner.scheduling.problem import (
    VESSELS,
    Job,
    Load,
    Preparation,
    Problem,
    Route,
    StandingLoad,
    Store,
    Weights,
    Worker,
)
from planner.water_sources import SupplyKind

SCALE_MIN = 10
"""Hands-on minutes of scaling a mix (our guess; trade planning figure)."""

EARLY_SLACK_MIN = 300
"""How long before its latest start a mix may be tried, beyond its own length [min]."""

FRESH_TRADE = 40
"""Points that fresher bread may cost in minutes off the ideal bulk and in ice, over a whole day."""

LONGEST_STAND_MIN = 2880.0
"""Nothing inherited is thought to stand for longer than two days [min]."""

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
    shortest, longest = chain_min(night, batch)
    if batch.leave_by is not None:
        leave = day.minute(batch.leave_by)
        low = leave - longest - EARLY_SLACK_MIN
        hot_by = _last_heat(night, batch)
        if hot_by is not None:  # the oven cools: what must go in early is mixed early
            low = min(low, hot_by - longest)
        high = leave - shortest + LATE_SLACK_MIN
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


def _last_heat(night: Night, batch: Batch) -> int | None:
    """Return until when some oven is as hot as a batch wants it; None where one always is."""
    if batch.product is None or not batch.loads_pieces:
        return None
    ovens = baking_of(night.day, night.conditions, batch.product, batch.loads_pieces[0]).ovens
    ends = [choice.hot_by for choice in ovens]
    return max((end for end in ends if end is not None), default=None) if None not in ends else None


def in_time_min(night: Night, batch: Batch) -> tuple[float, float]:
    """Return the earliest and latest start of a mix that is usual, for its order or window [min].

    Unlike `start_bounds` it leaves no slack for a plan that is late.
    """
    low, high = 0.0, float(night.day.span_min)
    if batch.leave_by is not None:
        head_min, proofs_min, tail_min = _chain(night, batch)
        usual_min = min(usual for _, usual in proofs_min)
        high = night.day.minute(batch.leave_by) - head_min - usual_min - tail_min
    if isinstance(batch.window, ReadyWindow):
        ripe_min = batch.formula.mix_min + _bulk_min(night, batch)
        low = night.day.minute(batch.window.from_utc) - ripe_min
        high = night.day.minute(batch.window.by_utc) - ripe_min
    return low, high


def chain_min(night: Night, batch: Batch) -> tuple[float, float]:
    """Return a short and a long estimate from mix start to the door [min]."""
    head, proofs, tail = _chain(night, batch)
    quick, usual = min(q for q, _ in proofs), max(u for _, u in proofs)
    return 0.75 * (head + quick) + tail, 1.3 * (head + usual) + tail


def _chain(night: Night, batch: Batch) -> tuple[float, list[tuple[float, float]], float]:
    """Return minutes to the end of dividing, of each way to proof, and from the oven on.

    Of the proofs the shortest and the usual one.
    """
    bulk_min = _bulk_min(night, batch)
    head = batch.formula.mix_min + bulk_min + divide_minutes(batch, 5)
    if batch.product is None:
        return head, [(0.0, 0.0)], 0.0
    tail = batch.product.bench_rest_min + batch.product.bake_min + batch.product.cool_min
    return head, _proofs_min(night, batch), tail


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


def pose(
    night: Night,
    offers: Sequence[Offer],
    preparations: Sequence[tuple[Preparation, frozenset[str]]],
    pins: Sequence[Pin],
    grid_min: int,
) -> Problem:
    """Put a whole day into one problem.

    Parameters
    ----------
    night
        Temperatures of the night.
    offers
        Batches with their options.
    preparations
        Each with the ids of the batches that need it.
    pins
        What the baker fixed.
    grid_min
        Grid of the search [min].
    """
    day = night.day
    by_mix = {pin.mix_id: pin for pin in merged_pins(pins)}
    needs = {
        o.batch.id: tuple(p.id for p, users in preparations if o.batch.id in users) for o in offers
    }
    return Problem(
        span_min=day.span_min // grid_min * grid_min,
        grid_min=grid_min,
        bucket_min=BUCKET_MIN,
        jobs=tuple(
            job_of(night, o, by_mix.get(o.batch.id), needs[o.batch.id], grid_min) for o in offers
        ),
        preparations=tuple(p for p, _ in preparations),
        standing=tuple(standing_load(night, i, grid_min) for i in night.conditions.inherited),
        workers=workers_of(day),
        ovens=oven_places(day),
        racks=counted_places(day) | vessels_of(day, preparations),
        clean_down_min={m.id: m.clean_down_min for m in day.bakery.mixers},
        ice=ice_store(night),
        chiller=chiller_store(night),
        kettle=kettle_store(night),
        weights=Weights(fresh_trade=FRESH_TRADE),
    )


def vessels_of(
    day: Day, preparations: Sequence[tuple[Preparation, frozenset[str]]]
) -> dict[str, int]:
    """Return how many there are of the vessels that scalds may want at once.

    A scald that asks for more of its own vessel than are entered is thought to have them.
    """
    found: dict[str, int] = {}
    for name, count in (h for p, _ in preparations for way in p.ways for h in way.holds):
        if name.startswith(VESSELS):
            there = day.bakery.vessel(name.removeprefix(VESSELS)).count
            found[name] = max(found.get(name, there), count)
    return found


def job_of(
    night: Night, offered: Offer, pin: Pin | None, needs: tuple[str, ...], grid_min: int
) -> Job:
    """Return the job of one batch."""
    day, batch = night.day, offered.batch
    low, high = start_bounds(night, batch, pin)
    ready = batch.window if isinstance(batch.window, ReadyWindow) else None
    mixers = tuple(m.id for m in batch.mixers)
    if pin is not None and pin.mixer_id is not None:
        mixers = (pin.mixer_id,)
    by_hand = any(day.bakery.mixer(m).kind is MixerKind.HAND for m in mixers)
    moves_min = tuple(round(move.after_min) for move in batch.formula.bulk.moves)
    return Job(
        id=batch.id,
        mixer_ids=mixers,
        scale_min=SCALE_MIN,
        mix_min=mix_slots_min(batch.formula, grid_min),
        divide_min=offered.divide_min,
        options=offered.options,
        loads=loads_of(night, offered),
        earliest_start=ceil(low / grid_min) * grid_min,
        latest_start=max(ceil(low / grid_min), floor(high / grid_min)) * grid_min,
        attended=by_hand,
        folds_min=tuple(sorted({*batch.formula.bulk.folds_min, *moves_min})),
        moves_min=moves_min,
        divide_from=None if ready is None else ceil(day.minute(ready.from_utc)),
        divide_by=None if ready is None else floor(day.minute(ready.by_utc)),
        leave_by=None if batch.leave_by is None else floor(day.minute(batch.leave_by)),
        priority=batch.priority,
        preparation_ids=needs,
        allergens=batch.formula.allergens,
        colour_class=batch.formula.colour_class,
        first_on_mixer=bool(pin and pin.first),
        load_at=None if pin is None or pin.load_utc is None else round(day.minute(pin.load_utc)),
        bench=0 if day.bakery.bench_places is None else 1,
        crew=1 if batch.product is None else batch.product.shape_people,
        tubs=tubs_for(day, batch),
    )


def loads_of(night: Night, offered: Offer) -> tuple[Load, ...]:
    """Return the oven loads of one batch."""
    batch, product = offered.batch, offered.batch.product
    if product is None:
        return ()
    return tuple(
        _load(night, batch.id, i, product, pieces, offered.proof_offsets_min[i])
        for i, pieces in enumerate(batch.loads_pieces)
    )


def _load(
    night: Night, batch_id: str, index: int, product: Product, pieces: int, offset_min: int
) -> Load:
    day, baking = night.day, baking_of(night.day, night.conditions, product, pieces)
    return Load(
        id=f"{batch_id}.{index + 1}",
        proof_offset_min=offset_min,
        routes=tuple(
            Route(
                r.place_id,
                baking.places,
                tuple(m.place_id for m in r.moves),
                tuple(round(m.after_min) for m in r.moves),
                weight_in(day, (p for _, p in r.places), pieces * product.piece_kg),
            )
            for r in product.routes
        ),
        ovens=baking.ovens,
        bake_min=baking.bake_min,
        cool_min=product.cool_min,
        bake_c=baking.bake_c,
    )


def standing_load(night: Night, inherited: Inherited, grid_min: int) -> StandingLoad:
    """Return what already stands as a load that needs only an oven.

    A dough still in bulk counts as one whose divide and proof follow at once when it is ripe.
    """
    day = night.day
    product = day.product(inherited.product_id)
    proof, start, dough_c = inherited_proof(night, inherited)
    come_with = _come_with(night, inherited)
    low, _, high = (float(m) for m in proof.window(proof.path(start, dough_c, progress=come_with)))
    baking = baking_of(day, night.conditions, product, inherited.pieces)
    # What never ripens where it stands may be loaded from the start; the plan names its ripeness.
    ripe_from = start + low if np.isfinite(low) else max(0.0, start)
    ripe_by = start + high if np.isfinite(high) else float(day.span_min)
    load_from = ceil(ripe_from / grid_min) * grid_min
    load_by = floor(min(ripe_by, start + LONGEST_STAND_MIN) / grid_min) * grid_min
    weight = weight_in(day, (inherited.place_id,), inherited.pieces * product.piece_kg)
    return StandingLoad(
        Load(
            id=inherited.id,
            proof_offset_min=0,
            routes=(Route(inherited.place_id, baking.places, holds=weight),),
            ovens=baking.ovens,
            bake_min=baking.bake_min,
            cool_min=product.cool_min,
            bake_c=baking.bake_c,
        ),
        load_from=max(0, load_from),
        load_by=max(0, load_from, load_by),
        leave_by=floor(day.minute(inherited.leave_by)),
    )


def inherited_proof(night: Night, inherited: Inherited) -> tuple[Rise, float, float]:
    """Return the proof of what already stands, when it begins [min] and from which dough [°C].

    A dough in bulk is followed where it stands; it is shaped when it is ripe, and proofs by its
    product's usual way. Pieces proof where they stand, as by the product's way for that place, or
    as by its usual way in that air.
    """
    day = night.day
    product = day.product(inherited.product_id)
    formula = day.formula(product.formula_id)
    since, dough_c = day.minute(inherited.since_utc), inherited.dough_c
    if inherited.stage is Standing.BULK:
        bulk_here = formula.bulk.in_place(inherited.place_id)
        bulk = dough_rise(night, bulk_here, inherited.pieces * product.piece_kg, formula.dough_c)
        path = bulk.path(since, dough_c)
        ripe = float(bulk.window(path)[1])
        offset = ripe if np.isfinite(ripe) else bulk.longest_min
        dough_c = float(np.interp(offset, path.minutes, path.temperature_c.reshape(-1)))
        return piece_rise(night, product, 0, formula.dough_c), since + offset, dough_c
    here = [r for r in product.routes if r.place_id == inherited.place_id]
    route = here[0] if here else product.routes[0].in_place(inherited.place_id)
    only = replace(product, routes=(route,))
    return piece_rise(night, only, 0, formula.dough_c), since, dough_c


def _come_with(night: Night, inherited: Inherited) -> float:
    """Return the progress of inherited pieces whose proof goes on with the clock of their bulk."""
    product = night.day.product(inherited.product_id)
    return night.day.formula(product.formula_id).bulk.wanted_progress


def inherited_ripeness(
    night: Night, inherited: Inherited, load_start: float
) -> tuple[int, int, float]:
    """Return between which minutes something inherited is ripe, and how ripe it is when loaded."""
    proof, start, dough_c = inherited_proof(night, inherited)
    span = max(proof.longest_min, load_start - start + 10)
    come_with = _come_with(night, inherited)
    path = proof.path(start, dough_c, span_min=span, step_min=1.0, progress=come_with)
    low, _, high = (float(m) for m in proof.window(path))
    ripeness = progress_after(path, np.asarray(max(0.0, load_start - start)))
    return (
        ceil(start + (low if np.isfinite(low) else span)),
        floor(start + (high if np.isfinite(high) else span)),
        float(ripeness),
    )


def workers_of(day: Day) -> tuple[Worker, ...]:
    """Return who works when, in minutes of the span, at what, and with which breaks."""
    hours = {
        person.id: tuple(
            sorted(
                (max(0, ceil(day.minute(s.start_utc))), floor(day.minute(s.end_utc)))
                for s in day.shifts
                if s.person_id == person.id
            )
        )
        for person in day.bakery.people
    }
    return tuple(
        Worker(
            person.id,
            hours[person.id],
            frozenset(person.skills) or None,
            rests_of(hours[person.id], day.bakery.breaks),
        )
        for person in day.bakery.people
    )


def ice_store(night: Night) -> Store:
    """Return the ice of the house as a store [g]."""
    made = night.day.bakery.ice
    if made is None:
        return Store(0, 0, 0)
    stored_kg = min(night.conditions.ice_stored_kg, made.bin_kg)
    return Store(int(stored_kg * 1000), int(made.make_kg_per_h * 1000), int(made.bin_kg * 1000))


def kettle_store(night: Night) -> Store | None:
    """Return the kettle as a store that is full at the start [g]; None when it never runs short."""
    kettle = night.day.bakery.kettle
    if kettle is None:
        return None
    holds_g = int(kettle.holds_kg * 1000)
    return Store(holds_g, int(kettle.kg_per_h * 1000), holds_g)


def chiller_store(night: Night) -> Store:
    """Return the chiller's tank as a store that is full at the start [g]."""
    chiller = night.supply(SupplyKind.CHILLER)
    if chiller is None:
        return Store(0, 0, 0)
    tank_g = int((chiller.tank_kg or 0) * 1000)
    return Store(tank_g, int((chiller.recovery_kg_per_h or 0) * 1000), tank_g)

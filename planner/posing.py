"""Posing the day: bakery, offers and preparations become one scheduling problem."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil, floor

import numpy as np

from planner.baking import baking_of, oven_places
from planner.batches import Batch, alternatives_of, holds_cold
from planner.breaks import rests_of
from planner.conditions import Inherited, Standing
from planner.day import Day, ReadyWindow
from planner.mixers import MixerKind
from planner.night import Night
from planner.options import BUCKET_MIN, Offer, mix_slots_min
from planner.physics.ripening_path import FINE_STEP_MIN, progress_after
from planner.pins import Pin, merged_pins
from planner.places import counted_places, tubs_for, weight_in
from planner.rises import Rise, dough_rise, piece_rise
from planner.scheduling.preparation import Preparation
from planner.scheduling.problem import (
    VESSELS,
    Job,
    Load,
    Problem,
    Route,
    StandingLoad,
    Store,
    Worker,
)
from planner.start_times import SCALE_MIN, start_bounds
from planner.wanted import Lot
from planner.water_sources import SupplyKind
from planner.wishes import weights_for

LONGEST_STAND_MIN = 2880.0
"""Nothing inherited is thought to stand for longer than two days [min]."""

FINE_STEPS_MIN = 300.0
"""What ripens within so long is followed minute by minute [min]."""


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
    day, early = night.day, night.day.early_before_utc
    by_mix = {pin.mix_id: pin for pin in merged_pins(pins)}
    needs = {
        o.batch.id: tuple(p.id for p, users in preparations if o.batch.id in users) for o in offers
    }
    batches = [o.batch for o in offers]
    return Problem(
        span_min=day.span_min // grid_min * grid_min,
        grid_min=grid_min,
        bucket_min=BUCKET_MIN,
        jobs=tuple(
            _pinned(job_of(night, o, by_mix.get(o.batch.id), needs[o.batch.id], grid_min), by_mix)
            for o in offers
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
        early_before=0 if early is None else ceil(max(0.0, day.minute(early))),
        weights=weights_for(day.bakery.cares_for),
        colour_clean_min={
            m.id: {(c.before, c.after): c.minutes for c in m.colour_cleans}
            for m in day.bakery.mixers
            if m.colour_cleans
        },
        mixer_room={m.id: m.room_id for m in day.bakery.mixers},
        alternatives=alternatives_of(batches),
    )


def _pinned(job: Job, by_mix: Mapping[str, Pin]) -> Job:
    """Return a job in the order, and with the oven, that the baker fixed."""
    after = tuple(pin.mix_id for pin in by_mix.values() if job.id in pin.before_ids)
    pin = by_mix.get(job.id)
    loads = job.loads
    if pin is not None and pin.oven_id is not None:
        loads = tuple(
            replace(ld, ovens=tuple(o for o in ld.ovens if o.oven_id == pin.oven_id))
            for ld in loads
        )
    return replace(job, after_ids=after, loads=loads)


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
    warm_only = (
        m for m in mixers if not offered.settled and not holds_cold(batch, day.bakery.mixer(m))
    )
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
        crew=max((lot.product.shape_people for lot in batch.lots), default=1),
        tubs=tubs_for(day, batch),
        warm_only=frozenset(warm_only),
        gluten_free=batch.formula.gluten_free,
        dough=batch.formula.id,
    )


def loads_of(night: Night, offered: Offer) -> tuple[Load, ...]:
    """Return the oven loads of one batch."""
    batch = offered.batch
    return tuple(
        _load(night, batch, i, lot, offered.proof_offsets_min[i])
        for i, lot in enumerate(batch.loads)
    )


def _load(night: Night, batch: Batch, index: int, lot: Lot, offset_min: int) -> Load:
    day, product = night.day, lot.product
    baking = baking_of(day, night.conditions, product, lot.pieces)
    own = bool(batch.load_lots)  # several orders, each with its own time
    return Load(
        id=f"{batch.id}.{index + 1}",
        proof_offset_min=offset_min,
        routes=tuple(
            Route(
                r.place_id,
                baking.places,
                tuple(m.place_id for m in r.moves),
                tuple(round(m.after_min) for m in r.moves),
                weight_in(day, (p for _, p in r.places), lot.pieces * product.piece_kg),
            )
            for r in product.routes
        ),
        ovens=baking.ovens,
        bake_min=baking.bake_min,
        cool_min=product.cool_min,
        first_route=batch.first_route(product),
        leave_by=floor(day.minute(lot.leave_by)) if own and lot.leave_by else None,
        priority=lot.priority if own else None,
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
    if inherited.moves:
        route = replace(route, moves=inherited.moves)
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
    step_min = 1.0 if span <= FINE_STEPS_MIN else FINE_STEP_MIN
    path = proof.path(start, dough_c, span_min=span, step_min=step_min, progress=come_with)
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

"""What has begun: mixes that were started, divided or loaded, seen at a moment of the night.

A replan may not move them. They keep start, mixer and ticket; their windows follow what was read;
what is divided stays divided, and what is in an oven stays there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from planner.answer import bare_offer, began_and_ended, readings_of
from planner.baking import baking_of
from planner.batches import Batch, batches_of
from planner.evaluation import (
    bulk_result,
    carried_proof,
    divide_window,
    planned_loads,
    rounded_window,
)
from planner.night import Night
from planner.options import Settled
from planner.places import weight_in
from planner.planned import Plan, PlannedLoad, PlannedMix
from planner.readings import ReadingKind
from planner.scheduling.problem import Load, OvenChoice, Route, StandingLoad
from planner.scheduling.schedule import ScheduledLoad
from planner.tickets import READ_SD_K
from planner.water_sources import SupplyKind


@dataclass(frozen=True)
class Begun:
    """One mix that has begun.

    Attributes
    ----------
    mix
        As it was planned, with the ticket it was mixed from.
    batch
        Its bowl of dough; without loads once it is divided, since they stand on their own then.
    start_min, mix_end_min
        Mixer on and dough off it: read, or planned [min].
    came_off_c
        Temperature off the mixer: read, or expected [°C].
    is_divided
        Whether its divide lies in the past.
    """

    mix: PlannedMix
    batch: Batch
    start_min: float
    mix_end_min: float
    came_off_c: float
    is_divided: bool

    def settled(self, plan: Plan) -> Settled:
        """Return what the search may take as given about it."""
        ticket = self.mix.ticket
        return Settled(
            dough_c=self.came_off_c,
            ice_kg=ticket.ice_kg,
            chilled_kg=sum(w.water_kg for w in ticket.water if w.kind is SupplyKind.CHILLER),
            start_min=self.start_min,
            mix_end_min=self.mix_end_min,
            divide_min=plan.day.minute(self.mix.divide_utc) if self.is_divided else None,
        )


def begun_mixes(plan: Plan, now: datetime) -> dict[str, Begun]:
    """Return the mixes of a plan that have begun by a moment, by id."""
    batches = {batch.id: batch for batch in batches_of(plan.day)}
    found = {}
    for mix in plan.mixes:
        read = readings_of(plan.readings, mix.id)
        started = read.get(ReadingKind.MIX_START)
        if mix.start_utc > now and (started is None or started.at_utc > now):
            continue
        batch = batches[mix.id]
        start_min, mix_end_min = began_and_ended(plan, batch, mix, read)
        end = read.get(ReadingKind.DOUGH_END_C)
        came_off_c = mix.ticket.expected_c if end is None or end.value_c is None else end.value_c
        is_divided = mix.divide_utc <= now
        found[mix.id] = Begun(
            mix,
            replace(batch, loads_pieces=()) if is_divided else batch,
            start_min,
            mix_end_min,
            came_off_c,
            is_divided,
        )
    return found


def loads_that_stand(
    night: Night, plan: Plan, begun: Mapping[str, Begun], now: datetime, down: frozenset[str]
) -> tuple[StandingLoad, ...]:
    """Return the loads of divided mixes that still need an oven, those in one held where they are.

    Parameters
    ----------
    night
        Temperatures of the night.
    plan
        The plan in force: a load that found no place in it is in no oven.
    begun, now
        What has begun by this moment.
    down
        Ovens that are out of order: nothing new goes into them.
    """
    found = []
    for one in begun.values():
        if one.is_divided:
            followed = followed_loads(night, one, one.mix.loads)
            found += [
                _standing(night, one, load, now, down, placed=load.id not in plan.unplaced)
                for load in followed
                if load.out_utc > now or load.id in plan.unplaced
            ]
    return tuple(found)


def _standing(
    night: Night,
    one: Begun,
    load: PlannedLoad,
    now: datetime,
    down: frozenset[str],
    *,
    placed: bool,
) -> StandingLoad:
    minute = night.day.minute
    product = night.day.product(load.product_id)
    in_oven = placed and load.load_utc <= now
    baking = baking_of(night.day, night.conditions, product, load.pieces)
    ovens = [choice for choice in baking.ovens if choice.oven_id not in down]
    earliest = ceil(minute(now))
    low = max(earliest, round(minute(load.load_from_utc)))
    high = round(minute(load.load_by_utc))
    if in_oven:
        own = next((c for c in baking.ovens if c.oven_id == load.oven_id), None)
        known = OvenChoice(load.oven_id, load.oven_places)
        ovens = [known if own is None else replace(own, hot_from=None, hot_by=None)]
        low = high = round(minute(load.load_utc))
    leave_by = load.leave_by_utc or one.mix.leave_by_utc
    moves = _moves_to_come(night, load, now) if not in_oven else ()
    places = (_stands_in(load), *(place_id for _, place_id in moves))
    weight = weight_in(night.day, places, load.pieces * product.piece_kg)
    return StandingLoad(
        Load(
            id=load.id,
            proof_offset_min=0,
            routes=(
                Route(places[0], baking.places, places[1:], tuple(at for at, _ in moves), weight),
            ),
            ovens=tuple(ovens),
            bake_min=baking.bake_min,
            cool_min=product.cool_min,
            held=in_oven,
            bake_c=baking.bake_c,
        ),
        load_from=low,
        load_by=max(low, high),
        leave_by=night.day.span_min if leave_by is None else int(minute(leave_by)),
    )


def _stands_in(load: PlannedLoad) -> str:
    return load.carried[-1].place_id if load.carried else load.proof_place_id


def _moves_to_come(night: Night, load: PlannedLoad, now: datetime) -> tuple[tuple[int, str], ...]:
    """Return minute and place of the moves that a divided load still has to make."""
    if load.carried:
        return ()
    moves = night.day.product(load.product_id).routes[load.route].moves
    begins = night.day.minute(load.proof_start_utc)
    due = [(round(begins + move.after_min), move.place_id) for move in moves]
    return tuple((at, place_id) for at, place_id in due if at > night.day.minute(now))


def followed_loads(
    night: Night, one: Begun, loads: Sequence[PlannedLoad]
) -> tuple[PlannedLoad, ...]:
    """Return the loads of a divided mix with windows that follow what it came off with."""
    minute = night.day.minute
    batch = next(b for b in batches_of(night.day) if b.id == one.mix.id)
    offered = bare_offer(night, batch)
    divide = minute(one.mix.divide_utc)
    bulk = bulk_result(offered.bulk, one.mix_end_min, one.came_off_c, READ_SD_K, divide)
    scheduled = [
        ScheduledLoad(
            load_id=load.id,
            route=load.route,
            proof_start=round(minute(load.proof_start_utc)),
            load_start=round(minute(load.load_utc)),
            out=round(minute(load.out_utc)),
            oven_id=load.oven_id,
            places=load.oven_places,
        )
        for load in loads
    ]
    room_id = night.day.bakery.mixer(one.mix.mixer_id).room_id
    return tuple(
        replace(
            planned_loads(
                night, carried_proof(night, offered, load), room_id, divide, bulk, scheduled
            )[i],
            carried=load.carried,
        )
        if load.carried
        else followed
        for i, (load, followed) in enumerate(
            zip(
                loads,
                planned_loads(night, offered, room_id, divide, bulk, scheduled),
                strict=True,
            )
        )
    )


def kept(
    night: Night, one: Begun, fresh: PlannedMix, standing: Mapping[str, ScheduledLoad]
) -> PlannedMix:
    """Return a begun mix in the fresh plan: its ticket and times stay, its loads are rescheduled.

    Parameters
    ----------
    night
        Temperatures of the night.
    one
        The mix that has begun.
    fresh
        The same mix as the search published it.
    standing
        Its loads as the search placed them, by id, when it is divided.
    """
    old, day = one.mix, night.day
    mix = replace(
        fresh,
        ticket=old.ticket,
        scaling=old.scaling,
        steered=old.steered,
        preparation_ids=old.preparation_ids,
        start_utc=day.moment(one.start_min),
        mix_end_utc=day.moment(one.mix_end_min),
        remarks=old.remarks,
        reasons=old.reasons,
        alternatives=old.alternatives,
    )
    if not one.is_divided:
        return mix
    moved = tuple(_rescheduled(night, load, standing.get(load.id)) for load in old.loads)
    divide_from, divide_by = _divide_window(night, one)
    return replace(
        mix,
        divide_from_utc=divide_from,
        divide_by_utc=divide_by,
        divide_utc=old.divide_utc,
        divide_end_utc=old.divide_end_utc,
        loads=followed_loads(night, one, moved),
    )


def _divide_window(night: Night, one: Begun) -> tuple[datetime, datetime]:
    batch = next(b for b in batches_of(night.day) if b.id == one.mix.id)
    offered = bare_offer(night, batch)
    divide = night.day.minute(one.mix.divide_utc)
    bulk = bulk_result(offered.bulk, one.mix_end_min, one.came_off_c, READ_SD_K, divide)
    low, high = rounded_window(divide_window(offered, one.mix_end_min, bulk))
    return night.day.moment(low), night.day.moment(high)


def _rescheduled(night: Night, load: PlannedLoad, placed: ScheduledLoad | None) -> PlannedLoad:
    if placed is None:
        return load
    moment, product = night.day.moment, night.day.product(load.product_id)
    return replace(
        load,
        load_utc=moment(placed.load_start),
        out_utc=moment(placed.out),
        ready_utc=moment(placed.out + product.cool_min),
        oven_id=placed.oven_id,
        oven_places=placed.places,
    )

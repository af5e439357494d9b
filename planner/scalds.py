"""Scalds of this bakery: pour, cool-down in their vessel and place, and what the dough can take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from planner.bakery import ChamberKind, Vessel
from planner.balances import dough_balance, part_specific_heat, steered_water_percent
from planner.batches import Batch
from planner.formula import Preferment, Scald
from planner.materials import Material
from planner.night import Night
from planner.physics.cooling import (
    CoolingBody,
    CoolingPlace,
    usual_vessel,
)
from planner.physics.ferment_constants import POUR_LOSS_FRACTION
from planner.physics.scald import cold_hot_split_kg, pour_temperature_c
from planner.physics.water_solution import part_limit_c
from planner.remarks import Remark, RemarkKind, mass, temperature
from planner.water_sources import SupplyKind

NEAREST_TO_ROOM_K = 3.0
"""No scald is asked to come nearer to the air it cools in than this [K]."""

LIVING_PARTS_C = 40.0
"""No yeast or culture is brought against paste above this (judgement) [°C]."""

STIRRED_EVERY_MIN = 15.0
"""How often a scald is stirred when the baker says that it is [min]."""

WISH_WITHIN_K = 0.5
"""A scald this near to what is wished needs no word [K]."""

ICE_TO_LUKEWARM_KJ_PER_KG = 440.0
"""Heat that a kilo of ice takes until it is water of about 25 °C: 334 + 4.18 · 25 [kJ/kg]."""


@dataclass(frozen=True, slots=True)
class Pour:
    """What is poured on a scald.

    Attributes
    ----------
    dry_kg
        Flour, malt and other dry matter [kg].
    hot_kg, hot_c
        Boiling or hot water [kg, °C].
    cold_kg
        Cold water put on the flour first, so that it lands where its enzymes work [kg].
    start_c
        The paste right after the pour [°C].
    """

    dry_kg: float
    hot_kg: float
    hot_c: float
    cold_kg: float
    start_c: float


def scald_pour(night: Night, part: Scald, mass_kg: float, held_back_kg: float = 0.0) -> Pour:
    """Return the pour of a scald of a mass, some of its water held back.

    Parameters
    ----------
    night, part, mass_kg
        The scald and all it weighs in the end [kg].
    held_back_kg
        Water of its own that goes in later [kg].

    Notes
    -----
    A scald with a window to stand in is not poured hotter than its top: cold water goes on the
    flour first.
    """
    share = mass_kg / sum(line.percent for line in part.lines)
    water = sum(line.percent for line in part.lines if line.material is Material.WATER)
    dry_kg, water_kg = mass_kg - water * share, water * share - held_back_kg
    room_c = float(np.mean(night.air_c(_pour_room(night, part))(night.hours)))
    vessel = scald_vessel(night, part)
    hot_c = night.boiling_c if part.pour_water_c is None else part.pour_water_c
    loss = POUR_LOSS_FRACTION.value if vessel is None else vessel.pour_loss.value
    given = {
        "flour_kg": dry_kg,
        "flour_c": room_c,
        "room_c": room_c,
        "vessel_heat_capacity_kj_per_k": _vessel_heat(vessel, mass_kg - held_back_kg),
        "loss_fraction": loss,
    }
    start_c = float(pour_temperature_c(water_kg=water_kg, water_c=hot_c, **given))
    if part.hold_to_c is None or start_c <= part.hold_to_c:
        return Pour(dry_kg, water_kg, hot_c, 0.0, start_c)
    cold_c = _tap_c(night)
    cold_kg, hot_kg = cold_hot_split_kg(
        water_kg=water_kg, hot_c=hot_c, cold_c=cold_c, target_c=part.hold_to_c, **given
    )
    return Pour(dry_kg, hot_kg, hot_c, cold_kg, part.hold_to_c)


def _tap_c(night: Night) -> float:
    tap = night.supply(SupplyKind.TAP) or night.day.bakery.supplies[0]
    return float(night.supply_c(tap).value)


def _pour_room(night: Night, part: Scald) -> str:
    rooms = [room.id for room in night.day.bakery.rooms]
    return part.place_id if part.place_id in rooms else rooms[0]


def _vessel_heat(vessel: Vessel | None, mass_kg: float) -> float:
    if vessel is None:
        return 0.0
    count = ceil(mass_kg / vessel.capacity_kg - 1e-9)
    return count * vessel.wall_kg * vessel.wall_specific_heat_kj_per_kg_k


def scald_vessel(night: Night, part: Scald) -> Vessel | None:
    """Return the vessel the baker named, or None for a usual one."""
    return None if part.vessel_id is None else night.day.bakery.vessel(part.vessel_id)


def scald_vessel_name(night: Night, part: Scald, mass_kg: float) -> str:
    """Return what the scald stands in, for its card."""
    vessel = scald_vessel(night, part)
    if vessel is None:
        return ""
    count = ceil(mass_kg / vessel.capacity_kg - 1e-9)
    return vessel.name if count == 1 else f"{count} × {vessel.name}"


def scald_body(night: Night, part: Scald, mass_kg: float) -> CoolingBody:
    """Return the paste as one vessel of it cools."""
    vessel = scald_vessel(night, part)
    if vessel is None:
        shape, length_m, width_m = usual_vessel(mass_kg)
        each_kg = mass_kg
    else:
        shape, length_m, width_m = vessel.shape, vessel.length_m, vessel.width_m
        each_kg = mass_kg / ceil(mass_kg / vessel.capacity_kg - 1e-9)
    return CoolingBody(
        mass_kg=each_kg,
        shape=shape,
        length_m=length_m,
        width_m=width_m,
        cover=part.cover,
        place=cooling_place(night, part.place_id),
        specific_heat_kj_per_kg_k=part_specific_heat(part),
        stir_every_min=STIRRED_EVERY_MIN if part.stirred else None,
        surface_factor=1.0 if vessel is None else vessel.cooling_factor.value,
    )


def cooling_place(night: Night, place_id: str) -> CoolingPlace:
    """Return how a place cools: a chamber by its kind, a room as a bench."""
    chamber = night.day.bakery.chamber(place_id)
    if chamber is None:
        return CoolingPlace.BENCH
    cold = chamber.kind is not ChamberKind.PROOFER
    return CoolingPlace.COOLER if cold else CoolingPlace.RACK


def scald_use_at_most_c(night: Night, part: Scald, users: Sequence[Batch]) -> float:
    """Return the warmest that a scald may be when it meets any of its doughs [°C].

    Notes
    -----
    The dough's own heat balance decides: with the coldest water of the house, the dough must
    still come down to the top of its band. What the baker states and what living parts bear cap
    it. It is never nearer to the coolest air of its place than 3 K.
    """
    coolest = float(np.min(night.air_c(part.place_id)(night.hours)))
    return max(scald_wish_c(night, part, users), coolest + NEAREST_TO_ROOM_K)


def scald_wish_c(night: Night, part: Scald, users: Sequence[Batch]) -> float:
    """Return the warmest a scald should be at its doughs, reachable by waiting or not [°C]."""
    limits = [part.use_at_most_c.value, LIVING_PARTS_C]
    return min([*limits, *(_dough_limit_c(night, part, batch) for batch in users)])


def scald_remarks(
    night: Night, part: Scald, users: Sequence[Batch], ready_c: float
) -> tuple[Remark, ...]:
    """Return the unmet wish of a scald that waiting alone does not bring down far enough.

    Parameters
    ----------
    night, part, users
        The scald and the doughs it goes into.
    ready_c
        The temperature at which it is planned to be used [°C].
    """
    wish_c = scald_wish_c(night, part, users)
    if ready_c <= wish_c + WISH_WITHIN_K:
        return ()
    coolest = float(np.min(night.air_c(part.place_id)(night.hours)))
    kg = sum(
        batch.kg(sum(line.percent for line in own.lines))
        for batch in users
        for own in batch.formula.parts
        if own.id == part.id
    )
    ice_kg = kg * part_specific_heat(part) * (ready_c - wish_c) / ICE_TO_LUKEWARM_KJ_PER_KG
    return (
        Remark(
            RemarkKind.UNMET,
            "scald_warm",
            "Should be at {wish} in its dough; in air of {air} waiting brings it to {ready}.",
            (
                temperature("wish", wish_c),
                temperature("air", coolest),
                temperature("ready", ready_c),
            ),
        ),
        Remark(
            RemarkKind.LEVER,
            "scald_cooler_place",
            "A place of {air} or colder would bring it there.",
            (temperature("air", wish_c - NEAREST_TO_ROOM_K),),
        ),
        Remark(
            RemarkKind.LEVER,
            "scald_ice",
            "About {ice} of the dough's water as ice stirred into it would too.",
            (mass("ice", ice_kg),),
        ),
    )


def _dough_limit_c(night: Night, part: Scald, batch: Batch) -> float:
    if steered_water_percent(batch.formula) <= 0:
        return float("inf")
    own = next(p for p in batch.formula.parts if p.id == part.id)
    warmest_minute = float(night.hours[int(np.argmax(night.air_c(part.place_id)(night.hours)))])
    others_c = {
        p.id: p.temperature_c if isinstance(p, Preferment) else part.use_at_most_c.value
        for p in batch.formula.parts
    }
    balance = dough_balance(night, batch, batch.mixers[0], warmest_minute, others_c)
    top_c = batch.formula.dough_c + batch.formula.band_k
    return float(part_limit_c(balance, own.name, top_c, coldest_water_c(night)))


def coldest_water_c(night: Night) -> float:
    """Return the coldest water without ice, which is kept for hot hours [°C]."""
    supplies = (night.supply(SupplyKind.CHILLER), night.supply(SupplyKind.TAP))
    return min(night.supply_c(s).value for s in supplies if s is not None)

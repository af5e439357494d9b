"""Every way to bring a scald down: place, vessel, cover, stirring, and water of its own kept back.

A way never changes what the scald weighs in the end nor what the dough takes: the water that is
kept back, cold or as ice, is the scald's own. So all ways can be offered to the search at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil

from planner.bakery import ChamberKind, Cover, Vessel, VesselShape
from planner.balances import part_specific_heat
from planner.constants import WATER_KJ_PER_KG_K
from planner.formula import HoldPlace, Scald
from planner.materials import Material
from planner.night import Night
from planner.physics.cooling import (
    CoolingBody,
    CoolingLeg,
    CoolingPlace,
    cooling_course,
)
from planner.physics.ferment_constants import GELATINISATION_TO_C, PASTE_KG_PER_M3
from planner.physics.quench import quench_ice_kg, quenched_c
from planner.scalds import (
    Pour,
    coldest_water_c,
    cooling_place,
    scald_body,
    scald_pour,
    scald_vessel,
    scald_vessel_name,
)

TRAY_DEPTH_M, SMEAR_M = 0.06, 0.01
"""A vessel that is no deeper than this when full is a tray; a paste thinner than the second is not
spread on one, but dries up [m]."""

LEAST_POURED_WATER = 1.3
"""Water that is always poured, per flour: a little above what its starch takes up (1.2 to 1.3)."""

SETTLE_MIN = 15.0
"""How long a pour stands before anything else is done to it: starch swells in minutes [min]."""

STIR_EVERY_MIN = 20.0
STIRS_AT_MOST = 9
"""Stirring as a way: every so many minutes, and so many times at most (three hours)."""

DOSED_BELOW_K = 1.0
"""Ice is weighed for a little less than is wanted, so that a warm thermometer does not spoil it."""

VESSELS_PER_RACK = 8
"""Trays on a rack of a chamber; a tub takes half a rack (judgement)."""

TIP_MIN, STIR_MIN, ICE_MIN = 1.0, 2.0, 5.0
"""Hands-on minutes of a tray that is filled, of a stir, of water or ice weighed and stirred in."""

STEP_MIN = 10.0


class Kept(StrEnum):
    """What becomes of the scald's own water that is not poured."""

    NONE = "nothing kept back"
    COLD = "cold water kept back"
    ICE = "ice kept back"


@dataclass(frozen=True, slots=True)
class Stand:
    """In what and where a scald cools.

    Attributes
    ----------
    code
        Short name that holds for any mass.
    words
        As a card says it; empty as the baker does it.
    body
        The paste in one vessel.
    place_id
        Room or chamber.
    vessels, vessel, vessel_id
        How many vessels, their name and id; no id for a usual vessel of no list.
    racks
        Racks of a chamber that they take.
    labour_min
        Hands-on minutes beyond the pour [min].
    tipped
        Whether it is tipped out of the vessel it was poured in.
    stirs
        How many times it is stirred.
    """

    code: str
    words: str
    body: CoolingBody
    place_id: str
    vessels: int = 1
    vessel: str = ""
    racks: int = 0
    labour_min: float = 0.0
    tipped: bool = False
    stirs: int = 0
    vessel_id: str = ""


@dataclass(frozen=True, slots=True)
class ScaldWay:
    """One way to bring a scald down.

    Attributes
    ----------
    stand
        In what and where it cools.
    kept
        What becomes of water that is not poured.
    pour
        What is poured at the start.
    cold_kg, cold_c, ice_kg
        Own water stirred in later, cold and as ice [kg, °C].
    add_min
        When that is done, or when it is tipped or moved: minutes after the pour [min].
    hold
        The paste while its enzymes work; None when it need not stand.
    """

    stand: Stand
    kept: Kept
    pour: Pour
    cold_kg: float
    cold_c: float
    ice_kg: float
    add_min: float
    hold: CoolingBody | None

    @property
    def held_back_kg(self) -> float:
        """Own water that is not poured [kg]."""
        return self.cold_kg + self.ice_kg

    @property
    def labour_min(self) -> float:
        """Hands-on minutes beyond the pour [min]."""
        return self.stand.labour_min + (ICE_MIN if self.held_back_kg > 0 else 0.0)

    @property
    def code(self) -> str:
        """Short name that holds for any mass."""
        return f"{self.stand.code}, {self.kept}"

    @property
    def is_own(self) -> bool:
        """Whether it is the way the baker states."""
        return not self.stand.words and self.kept is Kept.NONE

    @property
    def words(self) -> str:
        """The way in plain words."""
        kept = "" if self.kept is Kept.NONE else str(self.kept)
        return ", ".join(w for w in (self.stand.words, kept) if w) or "as you do it"


def scald_ways(
    night: Night, part: Scald, mass_kg: float, target_c: float, *, every: bool | None = None
) -> tuple[ScaldWay, ...]:
    """Return the ways to bring a scald down in this house, the baker's own first.

    Parameters
    ----------
    night, part
        The scald.
    mass_kg
        What it weighs in the end [kg].
    target_c
        The warmest it may be at its use; ice is dosed for it [°C].
    every
        Whether to look beyond the baker's own; None as the part says.
    """
    own = own_stand(night, part, mass_kg)
    first = _way(part, own, _held(night, part, mass_kg, target_c, Kept.NONE))
    if not (part.other_ways if every is None else every):
        return (first,)
    stands = [own, *_other_stands(night, part, mass_kg, own)]
    ways: list[ScaldWay] = []
    for kept in Kept:
        held = _held(night, part, mass_kg, target_c, kept)
        if held.kept is kept:
            ways += [_way(part, stand, held) for stand in stands]
    return (first, *ways[1:])


def own_stand(night: Night, part: Scald, mass_kg: float) -> Stand:
    """Return what the baker states about where and in what a scald cools."""
    vessel = scald_vessel(night, part)
    count = 1 if vessel is None else _count(vessel, mass_kg)
    return Stand(
        "own",
        "",
        scald_body(night, part, mass_kg),
        part.place_id,
        count,
        scald_vessel_name(night, part, mass_kg),
        _racks(night, part.place_id, count, vessel),
        vessel_id="" if vessel is None else vessel.id,
    )


def _count(vessel: Vessel, mass_kg: float) -> int:
    return ceil(mass_kg / vessel.capacity_kg - 1e-9)


def _racks(night: Night, place_id: str, count: int, vessel: Vessel | None) -> int:
    if night.day.bakery.chamber(place_id) is None:
        return 0
    each = VESSELS_PER_RACK if vessel is not None and is_tray(vessel) else 2
    return ceil(count / each)


def is_tray(vessel: Vessel) -> bool:
    """Return whether a vessel is a tray: shallow even when it is full."""
    return vessel.capacity_kg / PASTE_KG_PER_M3.value / vessel.area_m2 <= TRAY_DEPTH_M


def _other_stands(night: Night, part: Scald, mass_kg: float, own: Stand) -> list[Stand]:
    """Return other places, covers and vessels, and stirring."""
    found: list[Stand] = []
    open_body = replace(own.body, cover=Cover.OPEN)
    if own.body.cover is not Cover.OPEN:
        found.append(replace(own, code="uncovered", words="uncovered", body=open_body))
    if not own.body.is_mixed:
        found.append(
            replace(
                own,
                code="stirred",
                words=f"uncovered, stirred every {STIR_EVERY_MIN:g} min",
                body=replace(open_body, stir_every_min=STIR_EVERY_MIN),
                labour_min=STIRS_AT_MOST * STIR_MIN,
                stirs=STIRS_AT_MOST,
            )
        )
    places = [part.place_id, *(c for c in _coolers(night) if c != part.place_id)]
    for place_id in places:
        name = "" if place_id == part.place_id else f"in the {_place_name(night, place_id)}"
        if name:
            found.append(_moved(night, own, place_id, name))
        found += _on_trays(night, part, mass_kg, place_id, name)
    return found


def _moved(night: Night, own: Stand, place_id: str, words: str) -> Stand:
    body = replace(own.body, place=cooling_place(night, place_id))
    racks = ceil(own.vessels / 2)
    return replace(
        own,
        code=f"in {place_id}",
        words=words,
        body=body,
        place_id=place_id,
        racks=racks,
        labour_min=3.0,
    )


def _on_trays(night: Night, part: Scald, mass_kg: float, place_id: str, where: str) -> list[Stand]:
    found = []
    for vessel in night.day.bakery.vessels:
        count = _count(vessel, mass_kg)
        if not is_tray(vessel) or vessel.id == part.vessel_id or count > vessel.count:
            continue
        body = CoolingBody(
            mass_kg / count,
            vessel.shape,
            vessel.length_m,
            vessel.width_m if vessel.shape is VesselShape.BOX else vessel.length_m,
            Cover.OPEN,
            cooling_place(night, place_id),
            part_specific_heat(part),
            surface_factor=vessel.cooling_factor.value,
        )
        if body.depth_m < SMEAR_M:
            continue
        words = f"on {count} × {vessel.name}, uncovered" + (f", {where}" if where else "")
        racks = _racks(night, place_id, count, vessel)
        found.append(
            Stand(
                f"{vessel.id} in {place_id}",
                words,
                body,
                place_id,
                count,
                f"{count} × {vessel.name}",
                racks,
                count * TIP_MIN,
                tipped=True,
                vessel_id=vessel.id,
            )
        )
    return found


def _coolers(night: Night) -> list[str]:
    cold = (ChamberKind.COOLER, ChamberKind.RETARDER)
    return [c.id for c in night.day.bakery.chambers if c.kind in cold]


def _place_name(night: Night, place_id: str) -> str:
    chamber = night.day.bakery.chamber(place_id)
    return place_id if chamber is None else chamber.name


def spare_water_kg(part: Scald, mass_kg: float) -> float:
    """Return the own water of a scald that need not be poured [kg]."""
    total = sum(line.percent for line in part.lines)
    water = sum(line.percent for line in part.lines if line.material is Material.WATER)
    return max(0.0, mass_kg * (water - LEAST_POURED_WATER * (total - water)) / total)


def _held_back_kg(night: Night, part: Scald, mass_kg: float) -> float:
    """Return the water to hold back: all that is spare, if the pour still gelatinises [kg]."""
    if part.hold_to_c is not None:
        return spare_water_kg(part, mass_kg)
    low, high = 0.0, spare_water_kg(part, mass_kg)
    wanted = GELATINISATION_TO_C.value + 1.0
    if scald_pour(night, part, mass_kg).start_c < wanted:
        return 0.0
    for _ in range(12):
        if scald_pour(night, part, mass_kg, high).start_c >= wanted:
            return high
        high = (low + high) / 2
    return low


@dataclass(frozen=True, slots=True)
class _Held:
    """What is held back of a scald's water, and the paste while it stands hot."""

    kept: Kept
    pour: Pour
    cold_kg: float
    cold_c: float
    ice_kg: float
    body: CoolingBody


def _held(night: Night, part: Scald, mass_kg: float, target_c: float, kept: Kept) -> _Held:
    held_kg = 0.0 if kept is Kept.NONE else _held_back_kg(night, part, mass_kg)
    made = night.day.bakery.ice
    if kept is Kept.ICE and made is None:
        held_kg = 0.0
    pour, cold_c = scald_pour(night, part, mass_kg, held_kg), coldest_water_c(night)
    body = _held_body(part, own_stand(night, part, mass_kg).body, mass_kg, held_kg)
    if kept is not Kept.ICE or held_kg == 0 or made is None:
        return _Held(kept if held_kg > 0 else Kept.NONE, pour, held_kg, cold_c, 0.0, body)
    left_c = _left_c(night, part, pour, body)
    ice_c, true = made.temperature_c.value, made.true_ice_fraction.value
    aim_c = target_c - DOSED_BELOW_K
    ice_kg = _ice_kg(mass_kg, held_kg, left_c, aim_c, cold_c, part, ice_c)
    ice_kg = min(ice_kg / true, held_kg)
    return _Held(kept, pour, held_kg - ice_kg, cold_c, ice_kg, body)


def _left_c(night: Night, part: Scald, pour: Pour, body: CoolingBody) -> float:
    """Return what a scald still has when cold water or ice goes in, in the middle of the night."""
    leg = CoolingLeg(
        body,
        max(float(part.hold_min), SETTLE_MIN),
        night.air_c(part.place_id),
        night.humidity(part.place_id),
    )
    path = cooling_course(
        [leg], start_c=pour.start_c, start_minute=night.day.span_min / 2, step_min=STEP_MIN
    )
    return float(path.mean_c[-1])


def _way(part: Scald, stand: Stand, held: _Held) -> ScaldWay:
    add_min = float(part.hold_min) if part.hold_min else 0.0
    held_kg = held.cold_kg + held.ice_kg
    if held_kg > 0 or stand.tipped:
        add_min = max(add_min, SETTLE_MIN)
    return ScaldWay(
        stand,
        held.kept,
        held.pour,
        held.cold_kg,
        held.cold_c,
        held.ice_kg,
        add_min,
        held.body if add_min > 0 else None,
    )


def _ice_kg(
    mass_kg: float,
    held_kg: float,
    left_c: float,
    target_c: float,
    cold_c: float,
    part: Scald,
    ice_c: float,
) -> float:
    """Return the ice that lands on the target, or all of it [kg]."""
    hot_kg = mass_kg - held_kg
    heat = hot_specific_heat(part, mass_kg, held_kg)
    all_ice_c = quenched_c(
        hot_kg, left_c, water_kg=0.0, water_c=cold_c, ice_kg=held_kg, ice_c=ice_c,
        scald_kj_per_kg_k=heat,
    ) if _melts(hot_kg * heat * left_c, held_kg) else -1.0  # fmt: skip
    if all_ice_c >= target_c:
        return held_kg
    return quench_ice_kg(
        hot_kg,
        left_c,
        target_c,
        held_back_kg=held_kg,
        cold_c=cold_c,
        ice_c=ice_c,
        scald_kj_per_kg_k=heat,
    )


def _melts(heat_kj: float, ice_kg: float) -> bool:
    return heat_kj > 400.0 * ice_kg


def hot_specific_heat(part: Scald, mass_kg: float, held_kg: float) -> float:
    """Return the specific heat of a scald without the water that is held back [kJ/kg K]."""
    heat = part_specific_heat(part) * mass_kg - WATER_KJ_PER_KG_K.value * held_kg
    return heat / (mass_kg - held_kg)


def _held_body(part: Scald, own: CoolingBody, mass_kg: float, held_kg: float) -> CoolingBody:
    """Return the paste as it stands before it is cooled."""
    share = 1 - held_kg / mass_kg
    body = replace(
        own,
        mass_kg=own.mass_kg * share,
        specific_heat_kj_per_kg_k=hot_specific_heat(part, mass_kg, held_kg),
    )
    if part.hold_place is HoldPlace.INSULATED:
        return replace(body, place=CoolingPlace.INSULATED, cover=Cover.LID)
    if part.hold_place is HoldPlace.HEATED:
        return replace(body, place=CoolingPlace.INSULATED, cover=Cover.LID, surface_factor=1e-6)
    return body


def way_of(night: Night, part: Scald, mass_kg: float, target_c: float, code: str) -> ScaldWay:
    """Return the way of a code for a mass; the baker's own if this house has no such way."""
    ways = scald_ways(night, part, mass_kg, target_c, every=True)
    return next((way for way in ways if way.code == code), ways[0])

"""The bakery: rooms, mixers, ovens, chambers, people, water, ice, flour stores, vessels.

Only what a baker knows without a measuring tape is required. The builder `mixer` and the schemas
at the edge fill in the rest with a default that is marked as assumed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from math import pi
from typing import TypeVar

from planner.crew import BreakRule, Skill
from planner.errors import check_name, check_positive, check_within, refuse
from planner.estimate import Estimate
from planner.mixers import Mixer
from planner.water_sources import IceSupply, Kettle, SupplyKind, WaterSupply

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Room:
    """A room with its own air temperature.

    Attributes
    ----------
    racks
        Racks for proofing that fit in it; None when there is always room.
    """

    id: str
    name: str
    racks: int | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        if self.racks is not None:
            check_within("racks", self.racks, 1, 1000, "racks")


class OvenKind(StrEnum):
    """How an oven is loaded."""

    DECK = "deck"
    RACK = "rack"
    HOME = "home"
    CONVEYOR = "conveyor"


@dataclass(frozen=True, slots=True)
class Oven:
    """An oven that takes so many loads at once, or, a belt, piece after piece.

    Attributes
    ----------
    places
        Decks or racks that can be loaded on their own; a belt is one.
    recovery_min
        Minutes a place needs between two loads to regain its heat.
    recovery_min_per_kg
        Minutes more for each kilo of dough on a place [min/kg].
    heats_k_per_min, cools_k_per_min
        How fast its set temperature, one for all places, can be changed [K/min]; None for both
        when bread of any temperature may share it.
    falls_k_per_h
        How fast it cools after its fire [K/h]; None when it keeps its heat.
    gap_min
        Minutes a belt is left empty when its time or temperature changes.
    """

    id: str
    name: str
    kind: OvenKind
    places: int = 1
    recovery_min: int = 5
    recovery_min_per_kg: float = 0.0
    heats_k_per_min: float | None = None
    cools_k_per_min: float | None = None
    falls_k_per_h: float | None = None
    gap_min: int = 5

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("places", self.places, 1, 100, "decks or racks")
        check_within("recovery_min", self.recovery_min, 0, 240, "min")
        check_within("recovery_min_per_kg", self.recovery_min_per_kg, 0, 60, "min/kg")
        check_within("gap_min", self.gap_min, 0, 240, "min")
        rates = ("heats_k_per_min", "cools_k_per_min")
        told = {name: getattr(self, name) for name in rates if getattr(self, name) is not None}
        for name, rate in told.items():
            check_within(name, rate, 0.05, 100, "K/min")
        if len(told) == 1:
            missing = next(name for name in rates if name not in told)
            raise refuse(missing, None, "is missing", "enter both, how fast it heats and cools")
        if self.falls_k_per_h is not None:
            check_within("falls_k_per_h", self.falls_k_per_h, 0.5, 200, "K/h")
            if told:
                raise refuse(
                    "falls_k_per_h",
                    self.falls_k_per_h,
                    "an oven that cools after its fire has no set temperature",
                    "leave out heats_k_per_min and cools_k_per_min",
                )


class ChamberKind(StrEnum):
    """What a chamber is for."""

    RETARDER = "retarder"
    PROOFER = "proofer"
    COOLER = "cooler"
    FREEZER = "freezer"
    FRIDGE = "kitchen fridge"


@dataclass(frozen=True, slots=True)
class Chamber:
    """A cold or warm chamber with its own air temperature.

    Attributes
    ----------
    temperature_c
        Air temperature [°C]; by the hour where it has a programme for the night.
    racks
        Racks it holds; a load of one oven place takes one rack.
    cooling_kw
        Heat it can take from its load at that temperature, walls and doors already served [kW];
        None for more than it is ever asked.
    most_kg
        The most dough that may stand in it at once [kg]; None when its racks are all that counts.
    """

    id: str
    name: str
    kind: ChamberKind
    temperature_c: Estimate
    racks: int
    cooling_kw: Estimate | None = None
    most_kg: float | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("temperature_c", self.temperature_c.value, -25, 60, "°C")
        if self.cooling_kw is not None:
            check_within("cooling_kw", self.cooling_kw.value, 0.01, 500, "kW")
        check_within("racks", self.racks, 1, 1000, "racks")
        if self.most_kg is not None:
            check_positive("most_kg", self.most_kg, "kg")


@dataclass(frozen=True, slots=True)
class Tub:
    """A kind of tub in which doughs rise, and how many there are.

    Attributes
    ----------
    holds_kg
        Dough that rises well in one of them [kg].
    count
        How many there are.
    """

    id: str
    name: str
    holds_kg: float
    count: int

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_positive("holds_kg", self.holds_kg, "kg")
        check_within("count", self.count, 1, 1000, "tubs")


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works; the hours of a day are the day's shifts.

    Attributes
    ----------
    skills
        What they can do; nothing entered means everything.
    """

    id: str
    name: str
    skills: tuple[Skill, ...] = ()

    def __post_init__(self) -> None:
        check_name("id", self.id)


class FlourStoreKind(StrEnum):
    """How flour stands; decides how far it lags behind the room."""

    SACK = "sack"
    STACK = "stack of sacks"
    TUB = "tub"
    PALLET = "pallet"
    SILO = "silo"


@dataclass(frozen=True, slots=True)
class FlourStore:
    """Where flour stands.

    Attributes
    ----------
    place_id
        The room or chamber it stands in.
    moisture_fraction
        Flour moisture, wet basis.
    conveying_offset_k
        Degrees gained on the way to the bowl [K].
    """

    id: str
    name: str
    kind: FlourStoreKind
    place_id: str
    moisture_fraction: Estimate
    conveying_offset_k: float = 0.0

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("moisture_fraction", self.moisture_fraction.value, 0.05, 0.18, "(share)")
        check_within("conveying_offset_k", self.conveying_offset_k, -30, 60, "K")


class Cover(StrEnum):
    """What lies on top of a vessel."""

    OPEN = "open"
    FILM = "film"
    LID = "lid"


class FoodLines(StrEnum):
    """Whose written lines for cooling cooked food a house goes by."""

    NONE = "none"
    UNITED_STATES = "united states"
    AUSTRALIA = "australia"
    NEW_ZEALAND = "new zealand"
    UNITED_KINGDOM = "united kingdom"
    GERMANY = "germany"


class VesselShape(StrEnum):
    """Horizontal section of a vessel."""

    ROUND = "round"
    BOX = "box"


@dataclass(frozen=True, slots=True)
class Vessel:
    """A tub, pan, bowl or tray.

    Attributes
    ----------
    length_m, width_m
        Inner sides [m]; a round vessel has its diameter in both.
    capacity_kg
        The most it takes [kg of dough or paste].
    wall_kg, wall_specific_heat_kj_per_kg_k
        Mass of the vessel [kg] and its specific heat [kJ/kg K]: steel 0.5, plastic 1.9.
    count
        How many there are.
    pour_loss
        Share of the rise over the room that a pour into it loses; one reading right after a pour
        tells it.
    cooling_factor
        How much more it loses than a vessel of the books, once readings have told.
    """

    id: str
    name: str
    shape: VesselShape
    length_m: float
    width_m: float
    capacity_kg: float
    cover: Cover = Cover.FILM
    wall_kg: float = 0.0
    wall_specific_heat_kj_per_kg_k: float = 0.5
    count: int = 1
    pour_loss: Estimate = field(
        default_factory=lambda: Estimate.entered_or(
            None, 0.15, 0.08, "published pours against their balance"
        )
    )
    cooling_factor: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 1.0, 0.3, "still air of a bakehouse")
    )

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("length_m", self.length_m, 0.05, 5, "m")
        check_within("width_m", self.width_m, 0.05, 5, "m")
        check_positive("capacity_kg", self.capacity_kg, "kg")
        check_within("wall_kg", self.wall_kg, 0, 1000, "kg")
        check_within("count", self.count, 1, 1000, "vessels")
        check_within("pour_loss", self.pour_loss.value, 0, 0.6, "(share)")
        check_within("cooling_factor", self.cooling_factor.value, 0.2, 5, "(factor)")

    @property
    def area_m2(self) -> float:
        """Horizontal section [m²]."""
        flat = self.length_m * self.width_m
        return pi / 4 * flat if self.shape is VesselShape.ROUND else flat


class Care(StrEnum):
    """What a baker cares for most, once bread leaves in time and doughs are in their windows."""

    IN_THE_USUAL_ORDER = "the usual order"
    RIPE_DOUGHS = "ripe doughs"
    FRESH_BREAD = "fresh bread"
    LITTLE_ICE = "little ice"
    LATE_START = "a late start"
    FEW_CHANGES = "few changes"


@dataclass(frozen=True, slots=True)
class Bakery:
    """Everything that stays the same from day to day.

    Attributes
    ----------
    zone
        IANA time zone; used at the edges only.
    altitude_m
        Height above the sea [m]; sets the boiling point.
    kettle
        What boils water for scalds; None when there is always enough.
    food_lines
        Whose lines for cooling cooked food are shown.
    tubs
        Tubs for bulk; none entered means always enough.
    bench_places
        How many doughs can be divided at once; None when the bench is never full.
    order_cut_off_h
        So many hours before it leaves an order is taken at the latest [h]; later ones only by
        name. None for any time.
    cares_for
        What is weighed most where not everything can be had.
    merge_within_min
        Orders of one dough that leave within so many minutes of each other are mixed together;
        None for each order its own mixes.
    breaks
        Breaks that people have; none entered means that nobody plans them.
    """

    id: str
    name: str
    zone: str
    rooms: tuple[Room, ...]
    mixers: tuple[Mixer, ...]
    supplies: tuple[WaterSupply, ...]
    flour_stores: tuple[FlourStore, ...]
    people: tuple[Person, ...]
    ovens: tuple[Oven, ...] = ()
    chambers: tuple[Chamber, ...] = ()
    vessels: tuple[Vessel, ...] = ()
    ice: IceSupply | None = None
    altitude_m: float = 0.0
    cold_store_c: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 4.0, 1.5, "usual cold store")
    )
    kettle: Kettle | None = None
    food_lines: FoodLines = FoodLines.NONE
    tubs: tuple[Tub, ...] = ()
    bench_places: int | None = None
    order_cut_off_h: float | None = None
    cares_for: Care = Care.IN_THE_USUAL_ORDER
    merge_within_min: int | None = None
    breaks: tuple[BreakRule, ...] = ()

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_name("zone", self.zone)
        check_within("altitude_m", self.altitude_m, -430, 5500, "m")
        if self.merge_within_min is not None:
            check_within("merge_within_min", self.merge_within_min, 0, 2880, "min")
        for name, things in (
            ("rooms", self.rooms),
            ("mixers", self.mixers),
            ("supplies", self.supplies),
            ("flour_stores", self.flour_stores),
            ("people", self.people),
        ):
            if not things:
                raise refuse(name, (), "is empty", "enter at least one")
        if not any(supply.kind is SupplyKind.TAP for supply in self.supplies):
            raise refuse(
                "supplies",
                ", ".join(supply.id for supply in self.supplies),
                "has no tap",
                "enter the cold tap with its temperature",
            )
        if self.order_cut_off_h is not None:
            check_within("order_cut_off_h", self.order_cut_off_h, 0, 168, "h")
        check_unique("supplies", [s.id for s in self.supplies])
        check_unique("flour_stores", [s.id for s in self.flour_stores])
        check_unique("places", [*(r.id for r in self.rooms), *(c.id for c in self.chambers)])
        check_unique("mixers", [m.id for m in self.mixers])
        check_unique("ovens", [o.id for o in self.ovens])
        check_unique("people", [p.id for p in self.people])
        check_unique("tubs", [t.id for t in self.tubs])
        if self.bench_places is not None:
            check_within("bench_places", self.bench_places, 1, 100, "places")

    def mixer(self, mixer_id: str) -> Mixer:
        """Return the mixer with this id."""
        return _one("mixer", mixer_id, {m.id: m for m in self.mixers})

    def oven(self, oven_id: str) -> Oven:
        """Return the oven with this id."""
        return _one("oven", oven_id, {o.id: o for o in self.ovens})

    def chamber(self, chamber_id: str) -> Chamber | None:
        """Return the chamber with this id, or None when the place is a room."""
        return {c.id: c for c in self.chambers}.get(chamber_id)

    def flour_store(self, store_id: str) -> FlourStore:
        """Return the flour store with this id."""
        return _one("flour store", store_id, {s.id: s for s in self.flour_stores})

    def vessel(self, vessel_id: str) -> Vessel:
        """Return the vessel with this id."""
        return _one("vessel", vessel_id, {v.id: v for v in self.vessels})

    def supply(self, kind: SupplyKind) -> WaterSupply | None:
        """Return the first supply of a kind, or None."""
        return next((s for s in self.supplies if s.kind is kind), None)

    @property
    def place_ids(self) -> frozenset[str]:
        """Ids of all rooms and chambers."""
        return frozenset([*(r.id for r in self.rooms), *(c.id for c in self.chambers)])


def _one(kind: str, wanted: str, by_id: dict[str, T]) -> T:
    if wanted not in by_id:
        known = ", ".join(by_id) or "none"
        raise refuse(kind, wanted, "is not known in this bakery", f"use one of: {known}")
    return by_id[wanted]


def check_unique(field_name: str, ids: list[str]) -> None:
    """Refuse two things of the same id.

    Raises
    ------
    InputError
        If an id stands twice.
    """
    for one in ids:
        if ids.count(one) > 1:
            raise refuse(field_name, one, "is the id of two entries", "give each its own id")

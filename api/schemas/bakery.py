"""The bakery as it is entered: what a baker knows without a measuring tape; the rest is assumed."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, available_timezones

from pydantic import Field, field_validator

from api.schemas.base import Entry, Faults, Named, Number, ReadAsWord, Whole, every
from api.schemas.equipment import (
    USUAL_CHAMBER_C,
    ChamberInput,
    FlourStoreInput,
    MixerInput,
    OvenInput,
    RoomInput,
    TubInput,
    VesselInput,
)
from api.schemas.house import USUAL_ROOM_C, House, all_of, ids_of
from api.schemas.papers import PapersInput
from api.schemas.times import TimeText
from api.schemas.units import wrong
from api.schemas.water import IceInput, KettleInput, WaterInput
from planner import bakery as core
from planner import crew
from planner.estimate import Estimate


@cache
def known_zones() -> frozenset[str]:
    """Return the names of all time zones; looked up once, because it reads many files."""
    return frozenset(available_timezones())


class PersonInput(Named):
    """Somebody who works."""

    from_: Annotated[
        TimeText | None,
        Field(
            alias="from",
            description="Usual start of work by the clock, for days that name no shifts.",
            examples=["22:00"],
        ),
    ] = None
    to: Annotated[
        TimeText | None,
        Field(description="Usual end of work by the clock.", examples=["06:00"]),
    ] = None
    skills: Annotated[
        list[Annotated[crew.Skill, ReadAsWord]],
        Field(
            description="What they can do: scale; mix by hand; fold; move tubs and racks; divide"
            " and shape; load the oven; feed levains and other preferments; pour scalds; soak."
            " Everything when left out.",
            examples=[["scale", "fold", "load"]],
        ),
    ] = Field(default_factory=list)

    def to_core(self) -> core.Person:
        """Return the core's person."""
        return core.Person(self.key, self.name, tuple(dict.fromkeys(self.skills)))


class BreakInput(Entry):
    """A break that is due when somebody works for long."""

    over_min: Annotated[
        Whole,
        Field(
            description="Whoever works for longer than this has the break, and nobody works for"
            " longer without one [min].",
            examples=[360],
        ),
    ]
    break_min: Annotated[Whole, Field(description="How long the break lasts [min].", examples=[20])]

    def to_core(self) -> crew.BreakRule:
        """Return the core's rule."""
        return crew.BreakRule(self.over_min, self.break_min)


class BakeryInput(Named):
    """Everything of a bakery that stays the same from day to day."""

    zone: Annotated[str, Field(description="IANA time zone.", examples=["Europe/Vienna"])]
    mixers: Annotated[
        list[MixerInput],
        Field(
            description="Mixers, bowl and hands included.",
            examples=[[{"name": "spiral", "kind": "spiral", "max_dough_kg": 120}]],
        ),
    ]
    water: Annotated[
        list[WaterInput],
        Field(
            description="Sources of dough water; at least the cold tap.",
            examples=[[{"kind": "tap", "temperature_c": 17}]],
        ),
    ]
    flour_stores: Annotated[
        list[FlourStoreInput],
        Field(
            description="Where flour stands; a line that names none takes the first.",
            examples=[[{"name": "sacks", "kind": "sack"}]],
        ),
    ]
    rooms: Annotated[
        list[RoomInput],
        Field(
            description="Rooms with their own air; one bakehouse when left out.",
            examples=[[{"name": "bakehouse"}]],
        ),
    ] = Field(default_factory=lambda: [RoomInput(name="bakehouse")])
    ovens: Annotated[
        list[OvenInput],
        Field(
            description="Ovens; one with one place when left out.",
            examples=[[{"name": "deck oven", "kind": "deck", "places": 4}]],
        ),
    ] = Field(default_factory=lambda: [OvenInput(name="oven")])
    chambers: Annotated[
        list[ChamberInput],
        Field(
            description="Retarders, proofers, coolers.",
            examples=[[{"name": "retarder", "kind": "retarder", "racks": 8}]],
        ),
    ] = Field(default_factory=list)
    vessels: Annotated[
        list[VesselInput],
        Field(
            description="Tubs, pans and trays; usual ones of their weight when left out.",
            examples=[[{"name": "tray", "shape": "box", "length_m": 0.6, "capacity_kg": 12}]],
        ),
    ] = Field(default_factory=list)
    tubs: Annotated[
        list[TubInput],
        Field(
            description="Tubs for bulk: a mix keeps some of one kind from the end of mixing to its"
            " divide. A formula whose bulk names a vessel of the same id goes into that kind only."
            " Always enough when left out.",
            examples=[[{"name": "large tub", "holds_kg": 40, "count": 6}]],
        ),
    ] = Field(default_factory=list)
    bench_places: Annotated[
        Whole | None,
        Field(
            description="How many doughs can be divided and shaped at once; not limited when left"
            " out.",
            examples=[2],
        ),
    ] = None
    breaks: Annotated[
        list[BreakInput],
        Field(
            description="Rules for breaks without hands-on work. Of the rules that somebody's hours"
            " come under, the longest break counts for the first, the shortest for further ones."
            " Not planned when left out; your labour law may ask for them.",
            examples=[[{"over_min": 360, "break_min": 20}]],
        ),
    ] = Field(default_factory=list)
    people: Annotated[
        list[PersonInput],
        Field(
            description="Who works here; those of the shifts when left out.",
            examples=[[{"name": "Ana", "from": "22:00", "to": "06:00"}]],
        ),
    ] = Field(default_factory=list)
    ice: Annotated[
        IceInput | None,
        Field(description="Ice, if there is any.", examples=[{"kind": "flake", "bin_kg": 80}]),
    ] = None
    kettle: Annotated[
        KettleInput | None,
        Field(
            description="What boils water for scalds; always enough when left out.",
            examples=[{"kg_per_h": 60, "holds_kg": 40}],
        ),
    ] = None
    food_lines: Annotated[
        core.FoodLines,
        ReadAsWord,
        Field(
            description="Whose written lines for cooling cooked food are shown on cards.",
            examples=["germany"],
        ),
    ] = core.FoodLines.NONE
    merge_within_min: Annotated[
        Whole | None,
        Field(
            description="Orders of one dough that leave within so many minutes of each other are"
            " mixed together; each order has its own mixes when left out [min].",
            examples=[120],
        ),
    ] = None
    cares_for: Annotated[
        core.Care,
        ReadAsWord,
        Field(
            description="What is weighed most once bread leaves in time and doughs are in their"
            " windows.",
            examples=["fresh bread"],
        ),
    ] = core.Care.IN_THE_USUAL_ORDER
    early_before: Annotated[
        TimeText | None,
        Field(
            description="A mix that starts before it counts as early, local time; from 12:00 on it"
            " is the evening before. Nobody minds when left out.",
            examples=["00:30"],
        ),
    ] = None
    order_cut_off_h: Annotated[
        Number | None,
        Field(
            description="So many hours before it leaves an order is taken at the latest [h]; later "
            "ones only by name. Any time when left out.",
            examples=[24],
        ),
    ] = None
    units: Annotated[
        Literal["metric", "us"],
        ReadAsWord,
        Field(description="Units on sheets and pages.", examples=["metric"]),
    ] = "metric"
    papers: Annotated[
        PapersInput | None,
        Field(
            description="Language, size, scale steps and own words of the papers.",
            examples=[{"language": "es", "aliases": {"levain": "sour"}}],
        ),
    ] = None
    altitude_m: Annotated[
        Number, Field(description="Height above the sea [m].", examples=[180.0])
    ] = 0.0
    cold_store_c: Annotated[
        Number | None,
        Field(description="Where yeast, butter and eggs stand [°C].", examples=[4.0]),
    ] = None

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, zone: str) -> str:
        if zone not in known_zones():
            raise wrong("", zone, "is not a time zone", "write an IANA name, such as Europe/Vienna")
        return zone

    def house(self, tonight_c: dict[str, float] | None = None) -> House:
        """Return what other entries must know of the bakery.

        Parameters
        ----------
        tonight_c
            Mean air temperature of the night by room id [°C], where it is known.
        """
        rooms_c = {
            room.key: (tonight_c or {}).get(room.key, USUAL_ROOM_C)
            if room.usual_c is None
            else room.usual_c
            for room in self.rooms
        }
        chambers_c = {
            c.key: USUAL_CHAMBER_C[c.kind][0] if c.temperature_c is None else c.temperature_c
            for c in self.chambers
        }
        return House(
            zone=ZoneInfo(self.zone),
            rooms=ids_of(self.rooms),
            chambers=ids_of(self.chambers),
            ovens=ids_of(self.ovens),
            flour_stores=ids_of(self.flour_stores),
            vessels=ids_of(self.vessels),
            usual_c={**rooms_c, **chambers_c},
        )

    def to_core(self, faults: Faults, people: Iterable[core.Person] = ()) -> core.Bakery | None:
        """Return the core's bakery, or None when it cannot be built at all.

        Parameters
        ----------
        faults
            Takes what is wrong.
        people
            Who works when the bakery itself names nobody.
        """
        house = self.house()
        known_people = all_of(faults, "people", self.people, PersonInput.to_core)
        lists: dict[str, Any] = {
            "rooms": all_of(faults, "rooms", self.rooms, RoomInput.to_core),
            "mixers": all_of(faults, "mixers", self.mixers, lambda m: m.to_core(house)),
            "supplies": all_of(faults, "water", self.water, WaterInput.to_core),
            "flour_stores": all_of(
                faults, "flour_stores", self.flour_stores, lambda s: s.to_core(house)
            ),
            "people": known_people or tuple(people),
            "ovens": all_of(faults, "ovens", self.ovens, OvenInput.to_core),
            "chambers": all_of(faults, "chambers", self.chambers, ChamberInput.to_core),
            "vessels": all_of(faults, "vessels", self.vessels, VesselInput.to_core),
            "tubs": all_of(faults, "tubs", self.tubs, TubInput.to_core),
        }
        lists["breaks"] = faults.build(every, "breaks", self.breaks, BreakInput.to_core) or ()
        ice = None if self.ice is None else faults.at("ice").build(self.ice.to_core)
        boils = None if self.kettle is None else faults.at("kettle").build(self.kettle.to_core)
        entered = {
            "rooms": self.rooms,
            "mixers": self.mixers,
            "supplies": self.water,
            "flour_stores": self.flour_stores,
        }
        if any(entries and not lists[name] for name, entries in entered.items()):
            return None
        if not lists["people"] and faults.found:
            return None
        return faults.build(
            lambda: core.Bakery(
                id=self.key,
                name=self.name,
                zone=self.zone,
                ice=ice,
                altitude_m=self.altitude_m,
                cold_store_c=Estimate.entered_or(self.cold_store_c, 4.0, 1.5, "usual cold store"),
                kettle=boils,
                food_lines=self.food_lines,
                bench_places=self.bench_places,
                merge_within_min=self.merge_within_min,
                cares_for=self.cares_for,
                order_cut_off_h=self.order_cut_off_h,
                **lists,
            )
        )

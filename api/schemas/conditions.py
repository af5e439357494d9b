"""Conditions of the night as they are entered: room forecasts, measured temperatures, ice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated

from pydantic import Field, model_validator

from api.schemas.base import Entry, Faults, Id, Number, ReadAsWord, Whole, found_id, slug
from api.schemas.forecasts import RoomForecastInput
from api.schemas.mix_list import Span
from api.schemas.times import TimeText, at_work, on_the_date
from api.schemas.units import wrong
from planner import conditions as core
from planner.bakery import Bakery
from planner.errors import check_within, refuse
from planner.estimate import Estimate, Origin

MEASURED_SD_K = 0.5
"""Spread of a temperature read from a plain thermometer [K] (our guess)."""


class InheritedInput(Entry):
    """A dough that already stands when the plan begins."""

    product: Annotated[str, Field(description="What it becomes.", examples=["country loaf"])]
    pieces: Annotated[Whole, Field(description="How many pieces.", examples=[48])]
    stage: Annotated[
        core.Standing, ReadAsWord, Field(description="In bulk, or in proof.", examples=["proof"])
    ]
    place: Annotated[str, Field(description="Where it stands.", examples=["retarder"])]
    since: Annotated[
        TimeText,
        Field(
            description="Start of that stage, local time; from 12:00 on it is the evening before.",
            examples=["17:00"],
        ),
    ]
    dough_c: Annotated[
        Number, Field(description="Its temperature at that start [°C].", examples=[24.5])
    ]
    leave_by: Annotated[
        TimeText,
        Field(description="When it leaves, local time on the production date.", examples=["05:30"]),
    ]
    id: Id = None

    @property
    def key(self) -> str:
        """The id given, or what it becomes in short."""
        return self.id or f"standing_{slug(self.product)}"

    def to_core(self, span: Span, products: Sequence[str], places: Sequence[str]) -> core.Inherited:
        """Return the core's standing dough."""
        return core.Inherited(
            self.key,
            _known("product", self.product, products),
            self.pieces,
            self.stage,
            _known("place", self.place, places),
            at_work("since", self.since, span.production_date, span.zone),
            self.dough_c,
            on_the_date("leave_by", self.leave_by, span.production_date, span.zone),
        )


def _set_point(point: SetPointInput, span: Span) -> core.SetPoint:
    moment = at_work("at", point.at, span.production_date, span.zone)
    return core.SetPoint(moment, point.temperature_c)


def _known(field: str, named: str, known: Sequence[str]) -> str:
    id = found_id(named, known)
    if id not in known:
        raise refuse(field, named, f"no such {field}", f"use one of: {', '.join(known)}")
    return id


class SetPointInput(Entry):
    """From a time on, a chamber is set to a temperature."""

    at: Annotated[
        TimeText,
        Field(
            description="Local time of the change; from 12:00 on it is the evening before.",
            examples=["03:00"],
        ),
    ]
    temperature_c: Annotated[Number, Field(description="Air it goes to [°C].", examples=[24.0])]


class FireInput(Entry):
    """When an oven that cools after its fire is ready, and how hot it is then."""

    at: Annotated[
        TimeText,
        Field(
            description="Local time from which it is loaded; from 12:00 on it is the evening"
            " before.",
            examples=["02:30"],
        ),
    ]
    temperature_c: Annotated[Number, Field(description="How hot it is then [°C].", examples=[290])]

    def to_core(self, span: Span) -> core.Fire:
        """Return the core's fire."""
        moment = at_work("at", self.at, span.production_date, span.zone)
        return core.Fire(moment, self.temperature_c)


class ConditionsInput(Entry):
    """What the night is like."""

    coolest_c: Annotated[
        Number | None,
        Field(description="Coolest of the night in rooms without an entry [°C].", examples=[21.0]),
    ] = None
    hottest_c: Annotated[
        Number | None,
        Field(description="Hottest of the night in rooms without an entry [°C].", examples=[31.0]),
    ] = None
    rooms: Annotated[
        dict[str, RoomForecastInput],
        Field(
            description="Forecast by room.",
            examples=[{"bakehouse": {"coolest_c": 21, "hottest_c": 31}}],
        ),
    ] = Field(default_factory=dict)
    outdoors: Annotated[
        RoomForecastInput | None,
        Field(
            description="The air outdoors, for rooms that follow it.",
            examples=[{"coolest_c": 17, "hottest_c": 33}],
        ),
    ] = None
    programmes: Annotated[
        dict[str, list[SetPointInput]],
        Field(
            description="Set points of the night by chamber, in the order of time.",
            examples=[{"retarder": [{"at": "03:00", "temperature_c": 24}]}],
        ),
    ] = Field(default_factory=dict)
    water_c: Annotated[
        dict[str, Number],
        Field(
            description="Measured or forecast water by source [°C].",
            examples=[{"tap": 19.5}],
        ),
    ] = Field(default_factory=dict)
    flour_c: Annotated[
        dict[str, Number],
        Field(
            description="Measured flour by store [°C].",
            examples=[{"sacks": 26.0}],
        ),
    ] = Field(default_factory=dict)
    chambers_c: Annotated[
        dict[str, Number],
        Field(
            description="Measured air by chamber [°C].",
            examples=[{"retarder": 5.0}],
        ),
    ] = Field(default_factory=dict)
    fires: Annotated[
        dict[str, FireInput],
        Field(
            description="Fires of the night by oven, for ovens that cool after their fire.",
            examples=[{"stone oven": {"at": "02:30", "temperature_c": 290}}],
        ),
    ] = Field(default_factory=dict)
    ice_stored_kg: Annotated[
        Number | None,
        Field(
            description="Ice in store when the planned time begins [kg]; a full store when left"
            " out.",
            examples=[40.0],
        ),
    ] = None
    inherited: Annotated[
        list[InheritedInput],
        Field(
            description="What already stands in bulk, proof or retard.",
            examples=[[]],
        ),
    ] = Field(default_factory=list)

    def forecast_of(self, room_id: str) -> RoomForecastInput | None:
        """Return what is entered for a room, or for all rooms, or None."""
        for named, forecast in self.rooms.items():
            if found_id(named, [room_id]) == room_id:
                return forecast
        if self.coolest_c is None and self.hottest_c is None:
            return None
        return RoomForecastInput(coolest_c=self.coolest_c, hottest_c=self.hottest_c)

    @model_validator(mode="after")
    def _both_ends(self) -> ConditionsInput:
        if (self.coolest_c is None) != (self.hottest_c is None):
            missing = "hottest_c" if self.hottest_c is None else "coolest_c"
            raise wrong(
                missing, None, "is missing", "enter the coolest and the hottest of the night"
            )
        return self

    def means_c(self, rooms: Sequence[str]) -> dict[str, float]:
        """Return the mean of the night by room id [°C], where it is known."""
        forecasts = {room: self.forecast_of(room) for room in rooms}
        means = {room: one.mean_c() for room, one in forecasts.items() if one is not None}
        return {room: mean for room, mean in means.items() if -5 <= mean <= 60}

    def to_core(
        self, faults: Faults, bakery: Bakery, span: Span, products: Sequence[str]
    ) -> core.Conditions | None:
        """Return the core's conditions, or None when they have faults.

        Parameters
        ----------
        faults
            Takes what is wrong.
        bakery
            Its rooms, supplies, stores and chambers are the ones that may be named.
        span
            The production day.
        products
            Known product ids.
        """
        before = len(faults.found)
        rooms = [room.id for room in bakery.rooms]
        forecasts = {room: self._forecast(faults.at(f"rooms.{room}"), room, span) for room in rooms}
        for named in self.rooms:
            faults.at("rooms").build(_known, "room", named, rooms)
        measured = {
            "supplies_c": _measured(
                faults.at("water_c"), self.water_c, [s.id for s in bakery.supplies], 0, 100
            ),
            "flour_c": _measured(
                faults.at("flour_c"), self.flour_c, [s.id for s in bakery.flour_stores], -5, 60
            ),
            "chambers_c": _measured(
                faults.at("chambers_c"), self.chambers_c, [c.id for c in bakery.chambers], -25, 60
            ),
        }
        programmes = self._programmes(faults.at("programmes"), bakery, span)
        fires = self._fires(faults.at("fires"), bakery, span)
        places = sorted(bakery.place_ids)
        inherited = [
            faults.at(f"inherited[{i}]").build(one.to_core, span, products, places)
            for i, one in enumerate(self.inherited)
        ]
        if len(faults.found) > before:
            return None
        full_kg = 0.0 if bakery.ice is None else bakery.ice.bin_kg
        return faults.build(
            lambda: core.Conditions(
                rooms={room: one for room, one in forecasts.items() if one is not None},
                ice_stored_kg=full_kg if self.ice_stored_kg is None else self.ice_stored_kg,
                inherited=tuple(one for one in inherited if one is not None),
                supplies_c=measured["supplies_c"],
                flour_c=measured["flour_c"],
                chambers_c=measured["chambers_c"],
                programmes=programmes,
                fires=fires,
            )
        )

    def _forecast(self, faults: Faults, room: str, span: Span) -> core.HourlyForecast | None:
        forecast = self.forecast_of(room)
        if forecast is None:
            faults.add(
                "",
                "nothing",
                "this room has no forecast",
                "enter its coolest_c and hottest_c of the night, or hour by hour",
            )
            return None
        return faults.build(forecast.to_core, span, self.outdoors)

    def _fires(self, faults: Faults, bakery: Bakery, span: Span) -> dict[str, core.Fire]:
        known = [o.id for o in bakery.ovens if o.falls_k_per_h is not None]
        found = {}
        for named, fire in self.fires.items():
            oven = faults.build(_known, "oven that cools after its fire", named, known)
            made = faults.at(named).build(fire.to_core, span)
            if oven is not None and made is not None:
                found[oven] = made
        return found

    def _programmes(
        self, faults: Faults, bakery: Bakery, span: Span
    ) -> dict[str, tuple[core.SetPoint, ...]]:
        known = [c.id for c in bakery.chambers]
        found = {}
        for named, points in self.programmes.items():
            chamber = faults.build(_known, "chamber", named, known)
            made = [
                faults.at(f"{named}[{i}]").build(_set_point, p, span) for i, p in enumerate(points)
            ]
            if chamber is not None:
                found[chamber] = tuple(one for one in made if one is not None)
        return found


def _measured(
    faults: Faults,
    entered_c: Mapping[str, float],
    known: Sequence[str],
    low_c: float,
    high_c: float,
) -> dict[str, Estimate]:
    """Return measured temperatures by id, with the spread of a plain thermometer."""
    measured = {}
    for named, value_c in entered_c.items():
        id = found_id(named, known)
        if id not in known:
            choices = ", ".join(known) or "none"
            faults.add(named, named, "is not known in this bakery", f"use one of: {choices}")
        elif faults.build(_within, named, value_c, low_c, high_c):
            measured[id] = Estimate(value_c, MEASURED_SD_K, Origin.MEASURED)
    return measured


def _within(field: str, value_c: float, low_c: float, high_c: float) -> bool:
    check_within(field, value_c, low_c, high_c, "°C")
    return True


class StandingInput(Entry):
    """Doughs that already stand in bulk, proof or retard when a production day begins."""

    standing: Annotated[
        list[InheritedInput],
        Field(
            description="Each dough that stands.",
            max_length=200,
            examples=[
                [
                    {
                        "product": "country loaf",
                        "pieces": 48,
                        "stage": "proof",
                        "place": "retarder",
                        "since": "17:00",
                        "dough_c": 24.5,
                        "leave_by": "05:30",
                    }
                ]
            ],
        ),
    ]

"""Conditions of the night as they are entered: room forecasts, measured temperatures, ice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil
from typing import Annotated
from zoneinfo import ZoneInfo

import numpy as np
from pydantic import Field, model_validator

from api.schemas.base import Entry, Faults, Id, Number, ReadAsWord, Whole, found_id, slug
from api.schemas.mix_list import Span
from api.schemas.times import TimeText, at_work, on_the_date, shown_local
from api.schemas.units import wrong
from planner import conditions as core
from planner.bakery import Bakery
from planner.errors import check_within, refuse
from planner.estimate import Estimate, Origin
from planner.physics.rooms import daily_curve_c

MEASURED_SD_K = 0.5
"""Spread of a temperature read from a plain thermometer [K] (our guess)."""


class HourInput(Entry):
    """One hour of a forecast."""

    at: Annotated[
        TimeText,
        Field(
            description="Full hour, local time; from 12:00 on it is the evening before.",
            examples=["22:00"],
        ),
    ]
    temperature_c: Annotated[Number, Field(description="Air temperature [°C].", examples=[27.5])]


class RoomForecastInput(Entry):
    """The air of one room: its coolest and hottest of the night, or hour by hour."""

    coolest_c: Annotated[
        Number | None, Field(description="Coolest of the night [°C].", examples=[21.0])
    ] = None
    hottest_c: Annotated[
        Number | None, Field(description="Hottest of the night [°C].", examples=[31.0])
    ] = None
    hourly: Annotated[
        list[HourInput] | None,
        Field(
            description="Every full hour once.",
            examples=[[{"at": "22:00", "temperature_c": 27.5}]],
        ),
    ] = None
    hourly_c: Annotated[
        list[Number] | None,
        Field(description="Hour after hour [°C].", examples=[[27.5, 27.0, 26.0]]),
    ] = None
    from_: Annotated[
        TimeText | None,
        Field(
            alias="from",
            description="Local time of the first of the hourly values; from 12:00 on it is the"
            " evening before.",
            examples=["12:00"],
        ),
    ] = None
    sd_k: Annotated[
        Number,
        Field(description="How far it may be off, one standard deviation [K].", examples=[1.5]),
    ] = core.DEFAULT_FORECAST_SD_K
    humidity_fraction: Annotated[
        Number, Field(description="Relative humidity as a share, 0 to 1.", examples=[0.5])
    ] = core.DEFAULT_HUMIDITY

    @model_validator(mode="after")
    def _one_way_of_telling(self) -> RoomForecastInput:
        both = self.coolest_c is not None and self.hottest_c is not None
        ways = [self.coolest_c is not None or self.hottest_c is not None]
        ways += [self.hourly is not None, self.hourly_c is not None]
        if sum(ways) > 1:
            raise wrong(
                "hourly" if self.hourly is not None else "hourly_c",
                "both",
                "says the same as another field",
                "write coolest_c and hottest_c, or the hours, not both",
            )
        if not any(ways) or (ways[0] and not both):
            missing = "hottest_c" if self.coolest_c is not None else "coolest_c"
            raise wrong(
                missing, None, "is missing", "enter the coolest and the hottest of the night"
            )
        if self.hourly_c is not None and self.from_ is None:
            raise wrong("from", None, "is missing", "enter the time of the first hour")
        return self

    def mean_c(self) -> float:
        """Return the mean of the night [°C]."""
        if self.coolest_c is not None and self.hottest_c is not None:
            return (self.coolest_c + self.hottest_c) / 2
        values = self.hourly_c or [hour.temperature_c for hour in self.hourly or []]
        return float(np.mean(values)) if values else 0.0

    def to_core(self, span: Span) -> core.HourlyForecast:
        """Return the core's forecast."""
        check_within("humidity_fraction", self.humidity_fraction, 0, 1, "(share)")
        check_within("sd_k", self.sd_k, 0, 10, "K")
        if self.coolest_c is not None and self.hottest_c is not None:
            points = _curve(self.coolest_c, self.hottest_c, span)
        elif self.hourly is not None:
            points = _points(self.hourly, span)
        else:
            points = self._hour_after_hour(span)
        if len(points) < 2:
            raise refuse(
                "hourly" if self.hourly_c is None else "hourly_c",
                len(points),
                "has fewer than two hours",
                "enter the hours of the whole night",
            )
        return core.HourlyForecast.from_points(
            points, sd_k=self.sd_k, humidity=self.humidity_fraction
        )

    def _hour_after_hour(self, span: Span) -> list[tuple[datetime, float]]:
        start = at_work("from", self.from_ or "12:00", span.production_date, span.zone)
        values = self.hourly_c or []
        for i, value in enumerate(values):
            check_within(f"hourly_c[{i}]", value, -25, 60, "°C")
        return [(start + timedelta(hours=i), value) for i, value in enumerate(values)]


def _points(hourly: Sequence[HourInput], span: Span) -> list[tuple[datetime, float]]:
    for i, hour in enumerate(hourly):
        check_within(f"hourly[{i}].temperature_c", hour.temperature_c, -25, 60, "°C")
    points = sorted(
        (at_work(f"hourly[{i}].at", hour.at, span.production_date, span.zone), hour.temperature_c)
        for i, hour in enumerate(hourly)
    )
    for (before, _), (after, _) in pairwise(points):
        if after - before != timedelta(hours=1):
            raise refuse(
                "hourly",
                shown_local(after, span.zone),
                f"leaves a hole or a double hour after {shown_local(before, span.zone)}",
                "enter every full hour once",
            )
    return points


def _curve(coolest_c: float, hottest_c: float, span: Span) -> list[tuple[datetime, float]]:
    check_within("coolest_c", coolest_c, -25, 60, "°C")
    check_within("hottest_c", hottest_c, -25, 60, "°C")
    if hottest_c < coolest_c:
        raise refuse("hottest_c", hottest_c, f"is below the coolest, {coolest_c:g}", "swap the two")
    hours = ceil((span.end_utc - span.start_utc) / timedelta(hours=1)) + 1
    moments = [span.start_utc + timedelta(hours=i) for i in range(hours)]
    local = np.array([_local_hour(moment, span.zone) for moment in moments])
    curve_c = daily_curve_c(local, coolest_c, hottest_c)
    return [(moment, float(c)) for moment, c in zip(moments, curve_c, strict=True)]


def _local_hour(moment: datetime, zone: ZoneInfo) -> float:
    local = moment.astimezone(zone)
    return local.hour + local.minute / 60


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


def _known(field: str, named: str, known: Sequence[str]) -> str:
    id = found_id(named, known)
    if id not in known:
        raise refuse(field, named, f"no such {field}", f"use one of: {', '.join(known)}")
    return id


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
        return faults.build(forecast.to_core, span)


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

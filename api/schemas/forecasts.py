"""Forecasts of the air as they are entered: coolest and hottest, by the hour, or from outdoors."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil
from typing import Annotated
from zoneinfo import ZoneInfo

import numpy as np
from pydantic import Field, model_validator

from api.schemas.base import Entry, Number
from api.schemas.mix_list import Span
from api.schemas.times import TimeText, after, at_work, shown_local
from api.schemas.units import wrong
from planner import conditions as core
from planner.errors import check_within, refuse
from planner.physics.rooms import daily_curve_c, room_from_outdoor_c

USUAL_ROOM_H = 10.0
"""Time constant of a bakery's room: 4 to 20 h (our guess) [h]."""

USUAL_GAIN_K = 5.0
"""What ovens and people add in the end: 3 to 8 K (our guess) [K]."""


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


class OvensOnInput(Entry):
    """When the ovens heat a room, and by how much in the end."""

    from_: Annotated[
        TimeText,
        Field(
            alias="from",
            description="Ovens on, local time; from 12:00 on it is the evening before.",
            examples=["01:00"],
        ),
    ]
    to: Annotated[
        TimeText, Field(description="Ovens off, local time after that.", examples=["08:00"])
    ]
    gain_k: Annotated[
        Number,
        Field(
            description="How far they would hold the room above the air outdoors in the end [K];"
            " the people with them.",
            examples=[5.0],
        ),
    ] = USUAL_GAIN_K


class RoomByOutdoorsInput(Entry):
    """A room that follows the air outdoors, slowly, and its ovens."""

    now_c: Annotated[
        Number, Field(description="The room when the planned time begins [°C].", examples=[24.0])
    ]
    time_constant_h: Annotated[
        Number,
        Field(
            description="Hours in which it goes 63 % of the way to the air outdoors: 4 with doors"
            " open, 20 behind thick walls [h].",
            examples=[10.0],
        ),
    ] = USUAL_ROOM_H
    ovens: Annotated[
        list[OvensOnInput],
        Field(description="When the ovens are on.", examples=[[{"from": "01:00", "to": "08:00"}]]),
    ] = Field(default_factory=list)

    def indoors(
        self, span: Span, outdoors: Sequence[tuple[datetime, float]]
    ) -> list[tuple[datetime, float]]:
        """Return the room hour by hour [UTC, °C].

        Parameters
        ----------
        span
            The production day.
        outdoors
            The air outdoors by the hour [UTC, °C].
        """
        check_within("now_c", self.now_c, -25, 60, "°C")
        check_within("time_constant_h", self.time_constant_h, 0.5, 200, "h")
        hours = ceil((span.end_utc - span.start_utc) / timedelta(hours=1)) + 1
        moments = [span.start_utc + timedelta(hours=i) for i in range(hours)]
        known = [moment.timestamp() for moment, _ in outdoors]
        outdoor_c = np.interp([m.timestamp() for m in moments], known, [c for _, c in outdoors])
        room_c = room_from_outdoor_c(
            outdoor_c,
            start_c=self.now_c,
            time_constant_h=self.time_constant_h,
            gain_k=np.sum([self._gains_k(on, span, moments) for on in self.ovens], axis=0),
        )
        return [(moment, float(c)) for moment, c in zip(moments, room_c, strict=True)]

    def _gains_k(self, on: OvensOnInput, span: Span, moments: Sequence[datetime]) -> list[float]:
        """Return what the ovens add, the share of each hour in which they are on [K]."""
        check_within("gain_k", on.gain_k, -10, 30, "K")
        start = at_work("ovens.from", on.from_, span.production_date, span.zone)
        end = after("ovens.to", on.to, start, span.zone)
        hour = timedelta(hours=1)
        return [
            on.gain_k * max(0.0, (min(end, moment + hour) - max(start, moment)) / hour)
            for moment in moments
        ]


def _known_outdoors(outdoors: RoomForecastInput | None) -> RoomForecastInput:
    if outdoors is None or outdoors.outdoors is not None:
        raise refuse(
            "outdoors",
            "nothing",
            "there is no forecast of the air outdoors",
            "enter it under conditions.outdoors, hour by hour or as coolest_c and hottest_c",
        )
    return outdoors


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
    outdoors: Annotated[
        RoomByOutdoorsInput | None,
        Field(
            description="The room follows the air outdoors; from this, and from the forecast under"
            " `outdoors`.",
            examples=[{"now_c": 24, "ovens": [{"from": "01:00", "to": "08:00"}]}],
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
        ways += [self.hourly is not None, self.hourly_c is not None, self.outdoors is not None]
        if sum(ways) > 1:
            given = {"hourly": self.hourly, "hourly_c": self.hourly_c, "outdoors": self.outdoors}
            raise wrong(
                next(key for key, told in given.items() if told is not None),
                "both",
                "says the same as another field",
                "write coolest_c and hottest_c, or the hours, or outdoors, only one of them",
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
        if self.outdoors is not None:
            return self.outdoors.now_c
        return float(np.mean(values)) if values else 0.0

    def to_core(self, span: Span, outdoors: RoomForecastInput | None = None) -> core.HourlyForecast:
        """Return the core's forecast.

        Parameters
        ----------
        span
            The production day.
        outdoors
            The air outdoors, for a room that follows it.
        """
        check_within("humidity_fraction", self.humidity_fraction, 0, 1, "(share)")
        check_within("sd_k", self.sd_k, 0, 10, "K")
        return core.HourlyForecast.from_points(
            self._moments(span, outdoors), sd_k=self.sd_k, humidity=self.humidity_fraction
        )

    def _moments(
        self, span: Span, outdoors: RoomForecastInput | None
    ) -> list[tuple[datetime, float]]:
        """Return the hours of the forecast, at least two [UTC, °C]."""
        if self.outdoors is not None:
            return self.outdoors.indoors(span, _known_outdoors(outdoors).moments(span))
        return self.moments(span)

    def moments(self, span: Span) -> list[tuple[datetime, float]]:
        """Return the hours as entered, at least two [UTC, °C]."""
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
        return points

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
    for (before, _), (later, _) in pairwise(points):
        if later - before != timedelta(hours=1):
            raise refuse(
                "hourly",
                shown_local(later, span.zone),
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

"""Forecasts of the air that come from elsewhere: pushed, or pulled from a source of hours."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Annotated, Any
from urllib.parse import urlsplit

from pydantic import AfterValidator, AwareDatetime, Field, model_validator

from api.schemas.base import Entry, Number, ReadAsWord, Whole
from api.schemas.reader import Read, shown
from api.schemas.this_age import InThisAge
from api.schemas.units import wrong
from planner.conditions import DEFAULT_FORECAST_SD_K, DEFAULT_HUMIDITY

OUTDOORS = "outdoors"
"""The place of a forecast of the air outdoors; every other place is a room."""
HOUR = timedelta(hours=1)
MOST_HOURS = 400


class AirHourInput(Entry):
    """The air at one full hour."""

    at_utc: Annotated[
        AwareDatetime,
        InThisAge,
        shown("A full hour; any offset is taken.", "2026-07-15T20:00:00Z"),
    ]
    temperature_c: Annotated[
        Number, Field(description="Air temperature [°C].", ge=-25, le=60, examples=[27.5])
    ]


class ForecastInput(Entry):
    """The air of one place, hour after hour."""

    hours: Annotated[
        list[AirHourInput],
        Field(
            description="Every full hour once, in order.",
            min_length=2,
            max_length=MOST_HOURS,
            examples=[
                [
                    {"at_utc": "2026-07-15T20:00:00Z", "temperature_c": 27.5},
                    {"at_utc": "2026-07-15T21:00:00Z", "temperature_c": 26.8},
                ]
            ],
        ),
    ]
    sd_k: Annotated[
        Number,
        Field(
            description="How far it may be off, one standard deviation [K].",
            ge=0,
            le=10,
            examples=[1.5],
        ),
    ] = DEFAULT_FORECAST_SD_K
    humidity_fraction: Annotated[
        Number,
        Field(description="Relative humidity as a share, 0 to 1.", ge=0, le=1, examples=[0.5]),
    ] = DEFAULT_HUMIDITY

    @model_validator(mode="after")
    def _hour_after_hour(self) -> ForecastInput:
        for i, hour in enumerate(self.hours):
            moment = hour.at_utc.astimezone(UTC)
            if (moment.minute, moment.second, moment.microsecond) != (0, 0, 0):
                raise wrong(
                    f"hours[{i}].at_utc", moment.isoformat(), "is no full hour", "send full hours"
                )
            if i and moment - self.hours[i - 1].at_utc != HOUR:
                raise wrong(
                    f"hours[{i}].at_utc",
                    moment.isoformat(),
                    "is not one hour after the one before",
                    "send every full hour once, in order",
                )
        return self


def _is_web(url: str) -> str:
    try:
        parts = urlsplit(url)
        good = parts.scheme in {"http", "https"} and bool(parts.hostname) and parts.port != 0
    except ValueError:
        good = False
    if not good or any(c.isspace() or not c.isprintable() for c in url):
        raise wrong("", url[:200], "is no address of the web", "write it as https://host/path")
    if parts.username or parts.password:
        raise wrong("", "…", "carries a password", "leave it out of the address")
    return url


class TimeForm(StrEnum):
    """How a source writes its times."""

    ISO = "iso"
    UNIX_SECONDS = "unix seconds"


class DegreeForm(StrEnum):
    """How a source writes its temperatures."""

    CELSIUS = "celsius"
    FAHRENHEIT = "fahrenheit"
    KELVIN = "kelvin"


PATH = "names and, for a place in a list, numbers, parted by dots"


class ForecastSourceInput(Entry):
    """Where a forecast is pulled from: any address that answers with JSON of hourly values.

    Either two lists of equal length (``times`` and ``temperatures`` lead to them), or one list of
    entries (``entries`` leads to it, the other two start at each entry).
    """

    url: Annotated[
        str,
        AfterValidator(_is_web),
        Field(
            description="Address that answers a GET with JSON.",
            max_length=1000,
            examples=["https://weather.example/hourly?place=weir"],
        ),
    ]
    entries: Annotated[
        str | None,
        Field(
            description=f"Way to the list of entries: {PATH}; empty for the answer itself. Left"
            " out when times and temperatures are two lists.",
            max_length=200,
            examples=["forecast.hours"],
        ),
    ] = None
    times: Annotated[
        str,
        Field(description=f"Way to the times: {PATH}.", max_length=200, examples=["hourly.time"]),
    ]
    temperatures: Annotated[
        str,
        Field(
            description=f"Way to the temperatures: {PATH}.",
            max_length=200,
            examples=["hourly.air"],
        ),
    ]
    time_form: Annotated[
        TimeForm,
        ReadAsWord,
        shown("How times are written; without an offset they are UTC.", "iso"),
    ] = TimeForm.ISO
    degrees: Annotated[DegreeForm, ReadAsWord, shown("In which degrees.", "celsius")] = (
        DegreeForm.CELSIUS
    )
    every_min: Annotated[
        Whole,
        Field(description="Pulled again after so long [min].", ge=5, le=1440, examples=[60]),
    ] = 60
    sd_k: Annotated[
        Number,
        Field(
            description="How far it may be off, one standard deviation [K].",
            ge=0,
            le=10,
            examples=[1.5],
        ),
    ] = DEFAULT_FORECAST_SD_K


class ForecastRead(Read):
    """The last good forecast of the air of one place, and how old it is."""

    place: Annotated[str, shown("A room, or `outdoors`.", "outdoors")]
    forecast: Annotated[
        ForecastInput | None,
        shown(
            "The hours; null before the first.",
            {
                "hours": [
                    {"at_utc": "2026-07-15T20:00:00Z", "temperature_c": 27.5},
                    {"at_utc": "2026-07-15T21:00:00Z", "temperature_c": 26.8},
                ]
            },
        ),
    ]
    came_at: Annotated[
        datetime | None,
        shown("When it came [UTC]; null before the first.", "2026-07-15T12:00:00Z"),
    ]
    age_min: Annotated[float | None, shown("How old it is [min]; null before the first.", 42.0)]
    is_pulled: Annotated[bool, shown("Whether it has a source.", example=True)]
    tried_at: Annotated[
        datetime | None, shown("The last pull [UTC]; null for none.", "2026-07-15T12:00:00Z")
    ]
    fault: Annotated[
        str | None,
        shown(
            "Why the last pull failed, while the last good copy counts; null when it did not.",
            "The source answered 503.",
        ),
    ]


def hours_of(document: dict[str, Any]) -> ForecastInput | None:
    """Return a stored forecast; None before the first."""
    return ForecastInput.model_validate(document) if document else None

"""Conditions of the night: room forecasts, measured temperatures, ice, what already stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from planner.day import check_since, check_utc
from planner.errors import check_name, check_within, refuse
from planner.estimate import Estimate
from planner.ripening import Move

DEFAULT_HUMIDITY = 0.5
"""Relative humidity when none is given (our guess for a ventilated bakery)."""

DEFAULT_FORECAST_SD_K = 1.5
"""Spread of a room forecast a day ahead [K], until the room has been learned (our guess)."""


@dataclass(frozen=True, slots=True)
class HourlyForecast:
    """Air of one room, hour by hour without a hole.

    Attributes
    ----------
    start_utc
        Moment of the first value [UTC]; the others follow by the hour.
    temperature_c
        Air temperature [°C], at least two values.
    sd_k
        One standard deviation [K], one per hour.
    humidity
        Relative humidity, 0 to 1, one per hour.
    """

    start_utc: datetime
    temperature_c: tuple[float, ...]
    sd_k: tuple[float, ...]
    humidity: tuple[float, ...]

    def __post_init__(self) -> None:
        check_utc("start_utc", self.start_utc)
        if len(self.temperature_c) < 2:
            raise refuse(
                "temperature_c",
                self.temperature_c,
                "a forecast needs at least two hours",
                "enter the hours of the whole night",
            )
        if not len(self.temperature_c) == len(self.sd_k) == len(self.humidity):
            raise refuse(
                "sd_k", len(self.sd_k), "has another length than the hours", "enter one per hour"
            )
        for i, (temperature, sd, humidity) in enumerate(
            zip(self.temperature_c, self.sd_k, self.humidity, strict=True)
        ):
            check_within(f"temperature_c[{i}]", temperature, -25, 60, "°C")
            check_within(f"sd_k[{i}]", sd, 0, 10, "K")
            check_within(f"humidity[{i}]", humidity, 0, 1, "(share)")

    @classmethod
    def from_points(
        cls,
        points: Sequence[tuple[datetime, float]],
        *,
        sd_k: float = DEFAULT_FORECAST_SD_K,
        humidity: float = DEFAULT_HUMIDITY,
    ) -> HourlyForecast:
        """Build a forecast from hourly points [UTC, °C].

        Raises
        ------
        InputError
            If an hour is missing or stands twice.
        """
        if not points:
            raise refuse("points", points, "the forecast is empty", "enter at least two hours")
        ordered = sorted(points)
        for (before, _), (after, _) in pairwise(ordered):
            if after - before != timedelta(hours=1):
                raise refuse(
                    "points",
                    after.isoformat(),
                    f"the forecast has a hole or a double hour after {before.isoformat()}",
                    "enter every full hour once",
                )
        count = len(ordered)
        return cls(
            start_utc=ordered[0][0].astimezone(UTC),
            temperature_c=tuple(temperature for _, temperature in ordered),
            sd_k=(sd_k,) * count,
            humidity=(humidity,) * count,
        )

    def shifted(self, by_k: float) -> HourlyForecast:
        """Return the same forecast, warmer by ``by_k`` [K]."""
        return HourlyForecast(
            self.start_utc,
            tuple(t + by_k for t in self.temperature_c),
            self.sd_k,
            self.humidity,
        )

    @property
    def end_utc(self) -> datetime:
        """Moment of the last value [UTC]."""
        return self.start_utc + timedelta(hours=len(self.temperature_c) - 1)


@dataclass(frozen=True, slots=True)
class SetPoint:
    """From a moment on, a chamber is set to a temperature.

    Attributes
    ----------
    from_utc
        Moment of the change [UTC].
    temperature_c
        Air temperature it goes to [°C].
    """

    from_utc: datetime
    temperature_c: float

    def __post_init__(self) -> None:
        check_utc("from_utc", self.from_utc)
        check_within("temperature_c", self.temperature_c, -30, 60, "°C")


@dataclass(frozen=True, slots=True)
class Fire:
    """An oven that cools after its fire: when it is ready, and how hot it is then.

    Attributes
    ----------
    at_utc
        When it can be loaded from [UTC].
    temperature_c
        How hot it is then [°C].
    """

    at_utc: datetime
    temperature_c: float

    def __post_init__(self) -> None:
        check_utc("at_utc", self.at_utc)
        check_within("temperature_c", self.temperature_c, 60, 600, "°C")


class Standing(StrEnum):
    """The stage in which something inherited stands."""

    BULK = "bulk"
    PROOF = "proof"


@dataclass(frozen=True, slots=True)
class Inherited:
    """A dough that already stands when the plan begins.

    Attributes
    ----------
    product_id, pieces
        What it becomes.
    stage
        In bulk, or shaped and in proof or retard.
    place_id
        Where it stands.
    since_utc
        Start of that stage [UTC].
    dough_c
        Its temperature at that start [°C].
    leave_by
        When it must leave [UTC].
    moves
        Where it was or will be carried, in minutes after ``since_utc``.
    """

    id: str
    product_id: str
    pieces: int
    stage: Standing
    place_id: str
    since_utc: datetime
    dough_c: float
    leave_by: datetime
    moves: tuple[Move, ...] = ()

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("pieces", self.pieces, 1, 1_000_000, "pieces")
        check_within("dough_c", self.dough_c, -5, 45, "°C")
        check_utc("since_utc", self.since_utc)
        check_utc("leave_by", self.leave_by)


@dataclass(frozen=True, slots=True)
class ChamberFailure:
    """A chamber that stops cooling or warming, and when it runs again.

    Attributes
    ----------
    from_utc, until_utc
        When it stops, and runs again [UTC]; None while nobody knows.
    """

    chamber_id: str
    from_utc: datetime
    until_utc: datetime | None = None

    def __post_init__(self) -> None:
        check_since(self.from_utc, self.until_utc)


@dataclass(frozen=True, slots=True)
class Conditions:
    """What the night is like.

    Attributes
    ----------
    rooms
        Forecast per room id.
    supplies_c
        Measured or forecast water temperature per supply id [°C].
    flour_c
        Measured or forecast flour temperature per flour store id [°C].
    chambers_c
        Measured air temperature per chamber id [°C].
    programmes
        Set points of the night per chamber id, in the order of time; before the first, the
        chamber's own temperature.
    ice_stored_kg
        Ice in the store when the span begins [kg].
    inherited
        What already stands in bulk, proof or retard.
    failed
        Chambers that stand still for a while: their air goes to that of the house.
    fires
        Last fire per id of an oven that cools after it.
    """

    rooms: dict[str, HourlyForecast]
    supplies_c: dict[str, Estimate] = field(default_factory=dict)
    flour_c: dict[str, Estimate] = field(default_factory=dict)
    chambers_c: dict[str, Estimate] = field(default_factory=dict)
    ice_stored_kg: float = 0.0
    inherited: tuple[Inherited, ...] = ()
    programmes: dict[str, tuple[SetPoint, ...]] = field(default_factory=dict)
    failed: tuple[ChamberFailure, ...] = ()
    fires: dict[str, Fire] = field(default_factory=dict)

    def __post_init__(self) -> None:
        check_within("ice_stored_kg", self.ice_stored_kg, 0, 1e6, "kg")
        measured = (
            ("supplies_c", self.supplies_c, 0, 100),
            ("flour_c", self.flour_c, -20, 60),
            ("chambers_c", self.chambers_c, -30, 60),
        )
        for name, known, low, high in measured:
            for key, estimate in known.items():
                check_within(f"{name}.{key}", estimate.value, low, high, "°C")
        for key, points in self.programmes.items():
            moments = [point.from_utc for point in points]
            if moments != sorted(set(moments)):
                raise refuse(
                    f"programmes.{key}",
                    ", ".join(f"{one:%H:%M}" for one in moments),
                    "the set points are not in the order of time",
                    "enter each after the one before it",
                )

    def shifted(self, by_k: float) -> Conditions:
        """Return the same night with every room warmer by ``by_k`` [K]."""
        rooms = {room: forecast.shifted(by_k) for room, forecast in self.rooms.items()}
        return replace(self, rooms=rooms)

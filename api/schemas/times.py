"""Local clock times become moments in UTC, here and nowhere else.

A time is written ``22:00``, or with its date ``2026-07-14 22:00``, or with an offset
``2026-10-25 02:30+01:00``. A clock time without a date belongs to the production day by one rule:
what happens at work from 12:00 on belongs to the evening before, what happens earlier to the
date itself. When something leaves the door, and when the planned span ends, the production date
itself is meant, whatever the hour.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from api.schemas.units import wrong
from planner.errors import refuse

EVENING_FROM = time(12, 0)
"""A clock time without a date from here on belongs to the evening before."""

TIME_REMEDY = "write it as 22:00, or with its date as 2026-07-14 22:00"

_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::00)?\s*([+-]\d{2}:?\d{2}|Z)?")
_DATED = re.compile(r"(\d{4}-\d{2}-\d{2})[T ]\s*(.+)")


@dataclass(frozen=True, slots=True)
class LocalTime:
    """A time as written: on a clock, perhaps with its date, perhaps with its offset."""

    hour: int
    minute: int
    on: date | None = None
    offset: timedelta | None = None

    @property
    def is_midnight_at_end(self) -> bool:
        """Whether it is 24:00."""
        return self.hour == 24


def local_time(text: str) -> LocalTime:
    """Read a time as written.

    Raises
    ------
    ValueError
        If it is none.

    Examples
    --------
    >>> local_time("5:30")
    LocalTime(hour=5, minute=30, on=None, offset=None)
    >>> local_time("2026-07-14 22:00").on
    datetime.date(2026, 7, 14)
    """
    dated = _DATED.fullmatch(text.strip())
    on = date.fromisoformat(dated[1]) if dated else None
    clock = _CLOCK.fullmatch((dated[2] if dated else text).strip())
    if clock is None:
        raise ValueError(text)
    hour, minute = int(clock[1]), int(clock[2])
    if hour > 24 or minute > 59 or (hour == 24 and minute > 0):
        raise ValueError(text)
    return LocalTime(hour, minute, on, _offset(clock[3]))


def _offset(text: str | None) -> timedelta | None:
    if not text:
        return None
    if text == "Z":
        return timedelta(0)
    digits = text[1:].replace(":", "")
    size = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    return -size if text.startswith("-") else size


def time_as_text(value: object) -> object:
    """Return a time as text, whether it was written as text or as a time of a day file.

    Raises
    ------
    PydanticCustomError
        If it is neither.
    """
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, time):
        return value.isoformat(timespec="minutes")
    if isinstance(value, str):
        try:
            local_time(value)
        except ValueError:
            raise _no_time(value) from None
        return value
    raise _no_time(value)


def _no_time(value: object) -> PydanticCustomError:
    return wrong("", value, "is not a time", TIME_REMEDY)


TimeText = Annotated[str, BeforeValidator(time_as_text)]
"""A local time, as text."""


def at_work(field: str, text: str, production_date: date, zone: ZoneInfo) -> datetime:
    """Return the moment of something done at work [UTC]: from 12:00 on, the evening before.

    Raises
    ------
    InputError
        If the clocks skip or repeat this time.

    Examples
    --------
    >>> at_work("from", "22:00", date(2026, 7, 15), ZoneInfo("Europe/Vienna")).isoformat()
    '2026-07-14T20:00:00+00:00'
    """
    written = local_time(text)
    evening = written.on is None and time(written.hour % 24, written.minute) >= EVENING_FROM
    return _moment(field, text, production_date - timedelta(days=evening), zone)


def on_the_date(field: str, text: str, production_date: date, zone: ZoneInfo) -> datetime:
    """Return the moment of a time that means the production date itself [UTC].

    Raises
    ------
    InputError
        If the clocks skip or repeat this time.

    Examples
    --------
    >>> on_the_date("leave_by", "14:00", date(2026, 7, 15), ZoneInfo("Europe/Vienna")).isoformat()
    '2026-07-15T12:00:00+00:00'
    """
    return _moment(field, text, production_date, zone)


def after(field: str, text: str, start: datetime, zone: ZoneInfo) -> datetime:
    """Return the next moment after ``start`` at which the clock shows a time [UTC].

    Raises
    ------
    InputError
        If the clocks skip or repeat this time.
    """
    local_date = start.astimezone(zone).date()
    moment = _moment(field, text, local_date, zone)
    if moment <= start and local_time(text).on is None:
        return _moment(field, text, local_date + timedelta(days=1), zone)
    return moment


def _moment(field: str, text: str, default_date: date, zone: ZoneInfo) -> datetime:
    written = local_time(text)
    on = (written.on or default_date) + timedelta(days=written.is_midnight_at_end)
    naive = datetime.combine(on, time(written.hour % 24, written.minute))
    if written.offset is not None:
        return (naive - written.offset).replace(tzinfo=UTC)
    return utc_from_local(field, naive, zone)


def utc_from_local(field: str, naive: datetime, zone: ZoneInfo) -> datetime:
    """Return the moment of a local date and time [UTC].

    Raises
    ------
    InputError
        If the clocks skip this time in spring, or show it twice in autumn.
    """
    first = naive.replace(tzinfo=zone, fold=0)
    second = naive.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(UTC)
    shown = f"{naive:%Y-%m-%d %H:%M}"
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive:
        raise refuse(
            field,
            shown,
            f"the clocks skip this time in {zone.key}",
            "enter a time before or after the missing hour",
        )
    ways = " or ".join(_with_offset(one) for one in (first, second))
    raise refuse(field, shown, f"the clocks show this time twice in {zone.key}", f"write {ways}")


def _with_offset(moment: datetime) -> str:
    return moment.isoformat(sep=" ", timespec="minutes")


def shown_local(moment: datetime, zone: ZoneInfo) -> str:
    """Return a moment as the bakery's clock shows it, with its date."""
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"

"""Dates and moments that a bakery can mean: others overflow when a time zone is applied."""

from __future__ import annotations

from datetime import date, datetime
from typing import TypeVar

from pydantic import AfterValidator

from api.schemas.units import wrong

Dated = TypeVar("Dated", date, datetime)

FIRST_YEAR, LAST_YEAR = 2000, 2199


def in_this_age(value: Dated) -> Dated:
    """Return a date or moment as it is.

    Raises
    ------
    PydanticCustomError
        If it lies before 2000 or after 2199.
    """
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise wrong(
            "",
            value.isoformat(),
            "lies in another age",
            f"enter a year from {FIRST_YEAR} to {LAST_YEAR}",
        )
    return value


InThisAge = AfterValidator(in_this_age)
"""Put beside a date or moment."""

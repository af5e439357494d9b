"""The register of thermometers: what each one reads in melting ice, and when to look again."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated

from pydantic import Field

from api.schemas.base import Named, Number, Whole
from api.schemas.reader import Read, shown
from api.schemas.this_age import InThisAge

ICE_POINT_C = 0.0
"""Temperature of well stirred melting ice and water [°C]."""

WORST_K = 3.0
"""A thermometer further off than this in melting ice is broken, or was not in melting ice [K]."""


class ThermometerInput(Named):
    """A thermometer, and what it read when it was last held in melting ice."""

    place: Annotated[
        str | None,
        Field(description="Where it is kept.", max_length=200, examples=["mixer 1"]),
    ] = None
    ice_point_c: Annotated[
        Number | None,
        Field(
            description="What it read in well stirred melting ice [°C]; none when never checked.",
            ge=-WORST_K,
            le=WORST_K,
            examples=[0.4],
        ),
    ] = None
    checked_on: Annotated[
        Annotated[date, InThisAge] | None,
        Field(description="Date of that check.", examples=["2026-07-01"]),
    ] = None
    check_every_days: Annotated[
        Whole,
        Field(description="Days after which it is to be checked again.", ge=1, le=3650),
        Field(examples=[90]),
    ] = 90

    @property
    def offset_k(self) -> float:
        """What is added to its readings [K]; nothing while it was never checked."""
        return 0.0 if self.ice_point_c is None else ICE_POINT_C - self.ice_point_c

    @property
    def due_on(self) -> date | None:
        """Date of its next check; None while it was never checked: it is due at once."""
        if self.checked_on is None:
            return None
        return self.checked_on + timedelta(days=self.check_every_days)


class ThermometerRead(Read):
    """A thermometer in the register."""

    id: Annotated[str, shown("Its id.", "probe-2")]
    name: Annotated[str, shown("What it is called.", "blue probe")]
    place: Annotated[str | None, shown("Where it is kept.", "mixer 1")]
    offset_k: Annotated[float, shown("Added to its readings [K].", -0.4)]
    checked_on: Annotated[
        date | None, shown("Date of the last check; null when never.", "2026-07-01")
    ]
    due_on: Annotated[date | None, shown("Date of the next check; null for at once.", "2026-09-29")]
    is_due: Annotated[bool, shown("Whether it is to be checked now.", example=False)]

"""What the service does for a bakery by itself, night after night."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from api.schemas.base import Entry, ReadAsWord, Whole
from api.schemas.times import TimeText


class InForce(StrEnum):
    """Which plan of a day counts."""

    APPROVED = "approved"
    NEWEST = "newest"


class RoutineInput(Entry):
    """What the service does for a bakery by itself."""

    nightly_plan_at: Annotated[
        TimeText | None,
        Field(
            description="Clock time of the bakery at which the next production day is planned;"
            " from 12:00 on that of the next date, earlier that of the same. Not at all when left"
            " out.",
            examples=["17:30"],
        ),
    ] = None
    in_force: Annotated[
        InForce,
        ReadAsWord,
        Field(
            description="Which plan of a day counts: the one that was approved last, or always"
            " the newest.",
            examples=["approved"],
        ),
    ] = InForce.APPROVED
    reading_wanted_after_min: Annotated[
        Whole | None,
        Field(
            description="Minutes after a mix is off the mixer at which its dough temperature is"
            " asked for, if nobody has read it [min]; never when left out.",
            ge=0,
            le=240,
            examples=[10],
        ),
    ] = 10

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


class Replans(StrEnum):
    """What happens when a forecast or a reading makes another plan of the night better."""

    PROPOSE = "propose"
    DO = "do"
    NO = "no"


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
    replans: Annotated[
        Replans,
        ReadAsWord,
        Field(
            description="What happens when a new forecast or a reading beyond its band makes"
            " another plan of the night better: it is proposed, or counts at once, or nothing is"
            " done."
            " What saves no dough and moves no mix is not told.",
            examples=["propose"],
        ),
    ] = Replans.PROPOSE
    forecast_stale_after_h: Annotated[
        Whole | None,
        Field(
            description="Hours after which a forecast that nobody has renewed is told as stale [h];"
            " never when left out.",
            ge=1,
            le=168,
            examples=[12],
        ),
    ] = 12
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

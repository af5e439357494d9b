"""Readings as they are sent, and the answers they get."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from pydantic import AwareDatetime, Field

from api.pages.wording import Units
from api.schemas.base import Entry, Number, ReadAsWord
from api.schemas.mixes import MixRead
from api.schemas.reader import Read, Reader, attributes, shown
from api.schemas.remarks import RemarkRead
from api.schemas.this_age import InThisAge
from planner.planned import Answer, Plan
from planner.readings import Reading, ReadingKind


class ReadingCreate(Entry):
    """One reading at one mix. The same id with the same content may be sent again."""

    id: Annotated[
        str,
        Field(
            description="Given by whoever sends it; unique within the plan.",
            min_length=1,
            max_length=200,
            examples=["bench-1-0007"],
        ),
    ]
    kind: Annotated[ReadingKind, ReadAsWord, shown("What was measured.", "flour temperature")]
    mix_id: Annotated[
        str,
        Field(description="Id of the mix.", min_length=1, max_length=200, examples=["white-1"]),
    ]
    at_utc: Annotated[
        AwareDatetime,
        InThisAge,
        shown("When it was read; any offset is taken.", "2026-07-15T22:55:00+02:00"),
    ]
    value_c: Annotated[
        Number | None, shown("Temperature [°C]; left out for a time reading.", 24.5)
    ] = None
    sd_k: Annotated[Number, shown("How sure it is, one standard deviation [K].", 0.5)] = 0.5
    part_id: Annotated[str | None, shown("Which preferment or scald, for that kind.", "levain")] = (
        None
    )
    thermometer_id: Annotated[str | None, shown("Which thermometer, if known.", "probe-2")] = None
    supersedes: Annotated[
        str | None, shown("Id of a reading that this one replaces.", "bench-1-0006")
    ] = None

    def to_core(self) -> Reading:
        """Return the reading.

        Raises
        ------
        InputError
            If a value cannot be right.
        """
        return Reading(
            id=self.id,
            kind=self.kind,
            mix_id=self.mix_id,
            at_utc=self.at_utc.astimezone(UTC),
            value_c=self.value_c,
            sd_k=self.sd_k,
            part_id=self.part_id,
            thermometer_id=self.thermometer_id,
            supersedes=self.supersedes,
        )


class ReadingRead(Read):
    """A stored reading."""

    id: Annotated[str, shown("Given by whoever sent it.", "bench-1-0007")]
    kind: Annotated[ReadingKind, shown("What was measured.", "flour temperature")]
    mix_id: Annotated[str, shown("Id of the mix.", "white-1")]
    at_utc: Annotated[datetime, shown("When it was read.", "2026-07-15T20:55:00Z")]
    value_c: Annotated[float | None, shown("Temperature [°C]; null for a time reading.", 24.5)]
    sd_k: Annotated[float, shown("How sure it is [K].", 0.5)]
    part_id: Annotated[str | None, shown("Which preferment or scald.", "levain")]
    thermometer_id: Annotated[str | None, shown("Which thermometer.", "probe-2")]
    supersedes: Annotated[str | None, shown("Reading it replaces.", "bench-1-0006")]
    received_at: Annotated[datetime, shown("When it was stored [UTC].", "2026-07-15T20:55:01Z")]

    @classmethod
    def of(cls, reading: Reading, received_at: datetime) -> ReadingRead:
        """Return a reading of the core as it is sent."""
        return cls.model_validate({**attributes(reading), "received_at": received_at})


class AnswerRead(Read):
    """What a reading changes: the mix with its new ticket and times, and what to do."""

    reading: ReadingRead
    changed: Annotated[
        bool, shown("Whether anything changed that the shift acts on.", example=True)
    ]
    mix: MixRead
    remarks: list[RemarkRead]

    @classmethod
    def of(cls, plan: Plan, answer: Answer, reading: ReadingRead, units: Units) -> AnswerRead:
        """Return an answer of the core as it is sent."""
        return cls.model_validate(
            {**attributes(answer), "reading": reading}, context=Reader.of(plan, units)
        )

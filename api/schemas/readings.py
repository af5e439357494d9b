"""Readings as they are sent, and the answers they get."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from typing import Annotated

from pydantic import AwareDatetime, Field

from api.pages.wording import Units
from api.schemas.base import Entry, Number, ReadAsWord, Whole
from api.schemas.mixes import MixRead
from api.schemas.problems import Problem
from api.schemas.reader import Read, Reader, attributes, shown
from api.schemas.remarks import RemarkRead
from api.schemas.this_age import InThisAge
from api.schemas.tickets import WaterLineRead
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
    energy_kwh: Annotated[
        Number | None, shown("Metered energy of the mix [kWh]; left out for other kinds.", 0.42)
    ] = None
    after_step: Annotated[
        Whole | None,
        shown("For a dough read during the mix: the step that just ended, 0 the first.", 1),
    ] = None
    part_id: Annotated[str | None, shown("Which preferment or scald, for that kind.", "levain")] = (
        None
    )
    thermometer_id: Annotated[str | None, shown("Which thermometer, if known.", "probe-2")] = None
    supersedes: Annotated[
        str | None,
        shown("Id of a reading that this one replaces, or takes back.", "bench-1-0006"),
    ] = None
    by: Annotated[
        str | None,
        Field(description="Who read it, as initials.", max_length=40, examples=["AK"]),
    ] = None
    note: Annotated[
        str | None,
        Field(
            description="What was done about it; a reading of kind `note` is only that.",
            max_length=400,
            examples=["dough divided 20 min sooner"],
        ),
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
            energy_kwh=self.energy_kwh,
            after_step=self.after_step,
            by=self.by,
            note=self.note,
        )


class ReadingRead(Read):
    """A stored reading."""

    id: Annotated[str, shown("Given by whoever sent it.", "bench-1-0007")]
    kind: Annotated[ReadingKind, shown("What was measured.", "flour temperature")]
    mix_id: Annotated[str, shown("Id of the mix.", "white-1")]
    at_utc: Annotated[datetime, shown("When it was read.", "2026-07-15T20:55:00Z")]
    value_c: Annotated[float | None, shown("Temperature [°C]; null for a time reading.", 24.5)]
    sd_k: Annotated[float, shown("How sure it is [K].", 0.5)]
    energy_kwh: Annotated[float | None, shown("Metered energy [kWh]; null for others.", 0.42)]
    after_step: Annotated[
        int | None, shown("The step after which a dough was read in the bowl.", 1)
    ]
    part_id: Annotated[str | None, shown("Which preferment or scald.", "levain")]
    thermometer_id: Annotated[str | None, shown("Which thermometer.", "probe-2")]
    supersedes: Annotated[str | None, shown("Reading it replaces.", "bench-1-0006")]
    by: Annotated[str | None, shown("Who read it.", "AK")]
    note: Annotated[str | None, shown("What was done about it.", "divided 20 min sooner")]
    received_at: Annotated[datetime, shown("When it was stored [UTC].", "2026-07-15T20:55:01Z")]
    offset_k: Annotated[
        float, shown("Added to it because of its thermometer's check in ice [K].", -0.4)
    ]

    @classmethod
    def of(cls, reading: Reading, received_at: datetime, offset_k: float) -> ReadingRead:
        """Return a reading of the core as it is sent."""
        more = {"received_at": received_at, "offset_k": offset_k}
        return cls.model_validate({**attributes(reading), **more})


class MidMixRead(Read):
    """What can still be done while a dough is being mixed."""

    after_step: Annotated[int, shown("The step that has just ended.", 1)]
    untouched_c: Annotated[float, shown("Dough at the end if nothing is done [°C].", 26.1)]
    water: Annotated[
        list[WaterLineRead],
        shown(
            "The second water as it should be now; empty when none is left.",
            [{"supply_id": "tap", "kind": "tap", "water_kg": 3.0, "temperature_c": 12.5}],
        ),
    ]
    ice_kg: Annotated[float, shown("Ice in it [kg].", 0.0)]
    expected_c: Annotated[float, shown("Dough at the end with it [°C].", 25.0)]
    pour_c: Annotated[
        float | None,
        shown("What it must read once its ice has melted in it [°C]; null when it need not.", 1.5),
    ]


class AnswerRead(Read):
    """What a reading changes: the mix with its new ticket and times, and what to do."""

    reading: ReadingRead
    is_answered: Annotated[
        bool,
        shown(
            "Whether the figures take the reading in. If not, it is stored all the same; reckoning"
            " broke off, and the figures are those of the plan.",
            example=True,
        ),
    ]
    changed: Annotated[
        bool, shown("Whether anything changed that the shift acts on.", example=True)
    ]
    mix: MixRead
    remarks: list[RemarkRead]
    mid_mix: Annotated[
        MidMixRead | None,
        shown("What can still be done with a dough in the bowl; null for other readings.", None),
    ]

    @classmethod
    def of(
        cls,
        plan: Plan,
        answer: Answer,
        reading: ReadingRead,
        units: Units,
        *,
        is_answered: bool,
    ) -> AnswerRead:
        """Return an answer of the core as it is sent."""
        return cls.model_validate(
            {**attributes(answer), "reading": reading, "is_answered": is_answered},
            context=Reader.of(plan, units),
        )


class ReadingsBatch(Entry):
    """Readings that waited, as while the network was away."""

    readings: Annotated[
        list[ReadingCreate],
        Field(
            description="In the order in which they are to count.",
            min_length=1,
            max_length=200,
            examples=[
                [
                    {
                        "id": "bench-1-0007",
                        "kind": "flour temperature",
                        "mix_id": "white-1",
                        "at_utc": "2026-07-15T22:55:00+02:00",
                        "value_c": 24.5,
                    }
                ]
            ],
        ),
    ]


class Outcome(StrEnum):
    """What became of a reading."""

    STORED = "stored"
    KNOWN = "known"
    REFUSED = "refused"


class OutcomeRead(Read):
    """What became of one reading of a batch."""

    id: Annotated[str, shown("Given by whoever sent it.", "bench-1-0007")]
    outcome: Annotated[
        Outcome,
        shown(
            "Whether it is stored now, was stored before, or is refused and not stored.", "known"
        ),
    ]
    answer: Annotated[
        AnswerRead | None, shown("The answer it got; null when it was refused.", None)
    ]
    problem: Annotated[Problem | None, shown("Why it was refused; null otherwise.", None)]

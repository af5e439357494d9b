"""What was learned, as it is sent."""

from __future__ import annotations

from datetime import datetime
from math import sqrt
from typing import Annotated

from pydantic import Field

from api.schemas.base import Entry
from api.schemas.reader import Read, shown
from planner.corrections import MixingWorkCorrection
from planner.mixers import Speed


class SpeedWorkRead(Read):
    """The work of one speed beside its first guess."""

    speed: Annotated[Speed, shown("Which speed.", "second speed")]
    factor: Annotated[float, shown("Multiple of the first guess of its work.", 1.18)]
    factor_sd: Annotated[float, shown("One standard deviation of it.", 0.12)]


class ClassWorkRead(Read):
    """What one class of dough adds to the factors of all speeds."""

    dough_class: Annotated[str, shown("Which class of dough.", "wheat")]
    deviation: Annotated[float, shown("Added to the factor of every speed.", -0.04)]
    deviation_sd: Annotated[float, shown("One standard deviation of it.", 0.1)]


class SwitchesInput(Entry):
    """What the baker does with what was learned of a mixer."""

    ignored: Annotated[
        bool,
        Field(description="Leave it out of plans; it goes on learning quietly.", examples=[False]),
    ] = False
    frozen: Annotated[
        bool,
        Field(description="Keep it as it is: readings teach it nothing any more.", examples=[True]),
    ] = False


class EvidenceRead(Read):
    """One finished mix from which the work of a mixer was learned."""

    dough_class: Annotated[str, shown("What was mixed.", "wheat")]
    source: Annotated[
        str, shown("The mix of the day that it is; empty when not known.", "2026-07-16/white-1")
    ]
    rise_k: Annotated[float, shown("Degrees that the work gave the dough [K].", 7.4)]
    sd_k: Annotated[float, shown("One standard deviation of that [K].", 0.7)]
    foreseen_k: Annotated[
        float, shown("Degrees that the first guess of the work would have given [K].", 6.2)
    ]


class MixingWorkRead(Read):
    """What was learned of the mixing work of one mixer."""

    mixer_id: Annotated[str, shown("Id of the mixer.", "spiral_1")]
    readings: Annotated[int, shown("Finished mixes that it rests on.", 7)]
    speeds: list[SpeedWorkRead]
    dough_classes: list[ClassWorkRead]
    ignored: Annotated[bool, shown("Whether the baker leaves it out of plans.", example=False)]
    frozen: Annotated[bool, shown("Whether the baker keeps it as it is.", example=False)]
    changed_at: Annotated[
        datetime, shown("When the bakery last learned [UTC].", "2026-07-15T21:55:01Z")
    ]

    @classmethod
    def of(cls, learned: MixingWorkCorrection, changed_at: datetime) -> MixingWorkRead:
        """Return a correction of the core as it is sent."""
        spread = [sqrt(max(0.0, row[n])) for n, row in enumerate(learned.covariance)]
        figures = list(zip(learned.mean, spread, strict=True))
        by_speed = zip(learned.speeds, figures, strict=False)
        by_class = zip(learned.dough_classes, figures[len(learned.speeds) :], strict=True)
        return cls(
            mixer_id=learned.mixer_id,
            readings=learned.readings,
            speeds=[SpeedWorkRead(speed=s, factor=f, factor_sd=sd) for s, (f, sd) in by_speed],
            dough_classes=[
                ClassWorkRead(dough_class=c, deviation=d, deviation_sd=sd)
                for c, (d, sd) in by_class
            ],
            ignored=learned.ignored,
            frozen=learned.frozen,
            changed_at=changed_at,
        )


class MixingWorkDetailRead(MixingWorkRead):
    """What was learned of the mixing work of one mixer, with the mixes it rests on."""

    evidence: Annotated[
        list[EvidenceRead],
        shown(
            "The latest mixes it rests on, the oldest first.",
            [
                {
                    "dough_class": "wheat",
                    "source": "2026-07-16/white-1",
                    "rise_k": 7.4,
                    "sd_k": 0.7,
                    "foreseen_k": 6.2,
                }
            ],
        ),
    ]

    @classmethod
    def with_evidence(
        cls, learned: MixingWorkCorrection, changed_at: datetime
    ) -> MixingWorkDetailRead:
        """Return a correction of the core, with its evidence, as it is sent."""
        told = MixingWorkRead.of(learned, changed_at)
        mixes = [
            EvidenceRead(
                dough_class=one.dough_class,
                source=one.source,
                rise_k=one.rise_k,
                sd_k=one.sd_k,
                foreseen_k=sum(k for _, k in one.degrees_by_speed),
            )
            for one in learned.evidence
        ]
        return cls.model_validate({**dict(told), "evidence": mixes})

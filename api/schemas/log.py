"""The temperature log of a bakery: every reading, what it replaced kept."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from api.schemas.reader import Read, shown
from api.schemas.readings import ReadingRead


class LogLineRead(Read):
    """One reading of the log."""

    plan_id: Annotated[str, shown("The plan it was taken in.", "weir.2026-07-16.1")]
    production_date: Annotated[date, shown("The production day.", "2026-07-16")]
    local_date: Annotated[date, shown("When it was read, by the bakery's clock.", "2026-07-15")]
    local_time: Annotated[str, shown("Clock time, with its offset from UTC.", "22:55+02:00")]
    reading: ReadingRead
    true_c: Annotated[
        float | None,
        shown("The reading set right by its thermometer [°C]; null without one.", 24.1),
    ]
    superseded_by: Annotated[
        str | None, shown("Id of the reading that replaced it; null while it counts.", "r8")
    ]

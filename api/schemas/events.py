"""Events as they are sent: the fields of CloudEvents, in its JSON form.

References
----------
Cloud Native Computing Foundation: CloudEvents, version 1.0.2, and its JSON event format. 2022.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Any, Literal

from api.schemas.reader import Read, shown


class EventKind(StrEnum):
    """What can happen; sent as ``type`` with ``ovenward.`` before it."""

    PLAN_WANTED = "plan.wanted"
    PLAN_READY = "plan.ready"
    PLAN_FAILED = "plan.failed"
    PLAN_PROPOSED = "plan.proposed"
    PLAN_IN_FORCE = "plan.in_force"
    PLAN_WITHDRAWN = "plan.withdrawn"
    NIGHT_INCOMPLETE = "night.incomplete"
    FORECAST_STALE = "forecast.stale"
    TIMER_DUE = "timer.due"
    READING_WANTED = "reading.wanted"
    READING_TAKEN = "reading.taken"


class EventRead(Read):
    """Something that happened in a bakery."""

    specversion: Annotated[Literal["1.0"], shown("Version of CloudEvents.", "1.0")]
    id: Annotated[str, shown("Number among the events of the bakery, from 1, without a gap.", "42")]
    source: Annotated[str, shown("Address of the bakery.", "/api/v1/bakeries/weir")]
    type: Annotated[str, shown("What happened.", "ovenward.reading.taken")]
    subject: Annotated[
        str, shown("What it happened to, such as the id of a plan.", "weir.2026-07-16.1")
    ]
    time: Annotated[datetime, shown("When it happened [UTC].", "2026-07-15T20:55:01Z")]
    datacontenttype: Annotated[
        Literal["application/json"], shown("Form of what follows.", "application/json")
    ]
    data: Annotated[dict[str, Any], shown("What there is to say of it.", {"mix_id": "white-1"})]

    @property
    def number(self) -> int:
        """Number among the events of the bakery."""
        return int(self.id)

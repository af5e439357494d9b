"""Things that come due by the clock, as they are sent."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Annotated

from api.schemas.reader import Read, shown


class OccurrenceKind(StrEnum):
    """What comes due."""

    DRAW_WATER = "draw water"
    MIX = "mix"
    FOLD = "fold"
    MOVE = "move"
    DIVIDE = "divide"
    LOAD = "load"
    TAKE_OUT = "take out"
    BUILD = "build"
    POUR = "pour"
    SOAK = "soak"
    STIR = "stir"
    CHECK = "check"
    READING_WANTED = "reading wanted"
    NIGHTLY_PLAN = "nightly plan"
    RECONSIDER = "reconsider"
    FORECAST_STALE = "forecast stale"


class OccurrenceState(StrEnum):
    """What became of it.

    ``passed``: its hour was over when the plan came in force. ``withdrawn``: another plan came in
    force first, or none is.
    """

    WAITING = "waiting"
    FIRED = "fired"
    PASSED = "passed"
    WITHDRAWN = "withdrawn"


class OccurrenceRead(Read):
    """Something that comes due at a moment, and what became of it."""

    id: Annotated[str, shown("Its id.", "weir.2026-07-16.1/divide/white-1/1")]
    plan_id: Annotated[
        str | None,
        shown("The plan it belongs to; null for what is no plan's.", "weir.2026-07-16.1"),
    ]
    kind: Annotated[OccurrenceKind, shown("What comes due.", "divide")]
    subject: Annotated[str, shown("Id of the mix, load or preparation.", "white-1")]
    number: Annotated[int, shown("Counts those of its kind and subject, from 1.", 1)]
    state: Annotated[OccurrenceState, shown("What became of it.", "fired")]
    due_at: Annotated[datetime, shown("When it is due [UTC].", "2026-07-15T23:40:00Z")]
    fired_at: Annotated[
        datetime | None, shown("When it was told [UTC]; null when not.", "2026-07-15T23:40:00Z")
    ]
    late_s: Annotated[
        float | None, shown("How long after that it was told [s]; null when not.", 0.02)
    ]

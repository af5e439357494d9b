"""Stored documents as they stand in lists."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from api.schemas.reader import Read, shown


class DocumentHead(Read):
    """A bakery, formula or product in a list."""

    id: Annotated[str, shown("Its id.", "weir")]
    name: Annotated[str, shown("What it is called.", "Bakery at the Weir")]
    changed_at: Annotated[datetime, shown("When it last changed [UTC].", "2026-07-15T12:00:00Z")]


class DayHead(Read):
    """A mix list or the conditions of a production day in a list."""

    production_date: Annotated[date, shown("The production day's own date.", "2026-07-16")]
    changed_at: Annotated[datetime, shown("When it last changed [UTC].", "2026-07-15T12:00:00Z")]

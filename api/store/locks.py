"""The one lock of a bakery: who holds its row is the only one to number its events."""

from __future__ import annotations

from typing import Any

from sqlmodel import Session

from api.store.tables import BakeryRow

FOR_CHANGE: Any = {"key_share": True}
"""Others that only point to the row, by a foreign key, need not wait: else two transactions that
take two rows in two orders would wait for each other. SQLite's writers take turns anyway."""


def lock_bakery(session: Session, bakery_id: str) -> None:
    """Wait until no other transaction changes what is numbered within a bakery.

    Whoever locks a plan as well locks it before.
    """
    session.get(BakeryRow, bakery_id, with_for_update=FOR_CHANGE)

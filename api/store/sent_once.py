"""Requests that are not to be done twice: claimed before, and their answers kept for a day."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlmodel import Session, col

from api.errors import KeyReusedError, StillAnsweringError
from api.store.tables import SentOnceRow

KEPT = timedelta(hours=24)
"""An answer is given again for so long."""
GIVEN_UP = timedelta(minutes=10)
"""A request that has no answer after so long was cut off, and may be sent again."""


def claim(
    session: Session, owner: str, key: str, fingerprint: str, now: datetime
) -> SentOnceRow | None:
    """Take a request on, or return the answer it got before.

    Raises
    ------
    KeyReusedError, StillAnsweringError
        If the key came with another request, or this one is not answered yet.
    """
    session.execute(delete(SentOnceRow).where(col(SentOnceRow.at) < now - KEPT))
    row = session.get(SentOnceRow, (owner, key), with_for_update=True)
    if row is None:
        session.add(
            SentOnceRow(
                owner=owner,
                key=key,
                fingerprint=fingerprint,
                status=None,
                headers=None,
                body=None,
                at=now,
            )
        )
        session.flush()
        return None
    if row.fingerprint != fingerprint:
        raise KeyReusedError(
            f"The Idempotency-Key {key!r} came with another request before; use a new one."
        )
    if row.status is not None:
        return row
    if now - row.at < GIVEN_UP:
        raise StillAnsweringError("This request came before and is being answered; wait for that.")
    row.at = now
    session.flush()
    return None


def keep(
    session: Session, owner: str, key: str, status: int, headers: dict[str, str], body: str
) -> None:
    """Keep the answer of a request."""
    row = session.get(SentOnceRow, (owner, key))
    if row is not None:
        row.status, row.headers, row.body = status, headers, body
        session.flush()


def release(session: Session, owner: str, key: str) -> None:
    """Forget a request that was refused: it may be sent again, mended, under the same key."""
    row = session.get(SentOnceRow, (owner, key))
    if row is not None and row.status is None:
        session.delete(row)
        session.flush()

"""Events: what happened in a bakery, only ever added, numbered without a gap."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func
from sqlmodel import Session, col, select

from api.schemas.events import EventKind, EventRead
from api.store.locks import lock_bakery
from api.store.tables import Document, EventRow


def append(
    session: Session,
    bakery_id: str,
    kind: EventKind,
    subject: str,
    data: Document,
    now: datetime,
) -> EventRow:
    """Add an event, in the transaction that does what it tells of.

    The bakery's row is locked until that transaction ends. Without it the later of two numbers
    could be seen first, and whoever reads on from there would never see the earlier one.
    """
    lock_bakery(session, bakery_id)
    row = EventRow(
        bakery_id=bakery_id,
        number=last(session, bakery_id) + 1,
        kind=kind,
        subject=subject,
        at=now,
        data=data,
    )
    session.add(row)
    session.flush()
    return row


def last(session: Session, bakery_id: str) -> int:
    """Return the number of a bakery's last event; 0 before the first."""
    query = select(func.max(EventRow.number)).where(EventRow.bakery_id == bakery_id)
    return session.exec(query).one() or 0


def after(session: Session, bakery_id: str, number: int, limit: int) -> list[EventRead]:
    """Return at most so many events of a bakery after a number, in order."""
    query = (
        select(EventRow)
        .where(EventRow.bakery_id == bakery_id, EventRow.number > number)
        .order_by(col(EventRow.number))
        .limit(limit)
    )
    return [sent(row) for row in session.exec(query)]


def sent(row: EventRow) -> EventRead:
    """Return an event as it is sent."""
    return EventRead(
        specversion="1.0",
        id=str(row.number),
        source=f"/api/v1/bakeries/{row.bakery_id}",
        type=f"ovenward.{row.kind}",
        subject=row.subject,
        time=row.at,
        datacontenttype="application/json",
        data=row.data,
    )

"""The trail of changes: who sent what that changed something."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, col, select

from api.access import Principal
from api.schemas.accounts import ChangeRead
from api.store import bakeries
from api.store.tables import ChangeRow


def note(
    session: Session,
    principal: Principal,
    bakery_id: str | None,
    method: str,
    path: str,
    now: datetime,
) -> None:
    """Note a request, in the transaction that does what it asks."""
    session.add(
        ChangeRow(
            bakery_id=bakery_id,
            at=now,
            name=principal.name,
            role=principal.role,
            method=method,
            path=path[:500],
        )
    )
    session.flush()


def listed(session: Session, bakery_id: str, before: int | None, limit: int) -> list[ChangeRead]:
    """Return the changes of a bakery, the newest first."""
    bakeries.check_known(session, bakery_id)
    query = (
        select(ChangeRow)
        .where(ChangeRow.bakery_id == bakery_id)
        .order_by(col(ChangeRow.id).desc())
        .limit(limit)
    )
    if before is not None:
        query = query.where(col(ChangeRow.id) < before)
    return [
        ChangeRead(
            number=row.id or 0,
            at=row.at,
            name=row.name,
            role=row.role,
            method=row.method,
            path=row.path,
        )
        for row in session.exec(query)
    ]

"""What the service does for bakeries by itself."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session

from api.schemas.routine import RoutineInput
from api.store import bakeries, documents, occurrences
from api.store.documents import Change
from api.store.locks import lock_bakery
from api.store.tables import Document, RoutineRow
from api.store.tags import ANYTHING, Expected


def get(session: Session, bakery_id: str) -> RoutineInput:
    """Return the routine of a bakery; nothing by itself when none was entered.

    Raises
    ------
    NotFoundError
        If there is no such bakery.
    """
    bakeries.check_known(session, bakery_id)
    return of(session, bakery_id)


def of(session: Session, bakery_id: str) -> RoutineInput:
    """Return the routine of a bakery that is known to be there."""
    row = documents.find(session, RoutineRow, {"bakery_id": bakery_id})
    return RoutineInput() if row is None else RoutineInput.model_validate(row.document)


def put(
    session: Session,
    bakery_id: str,
    sent: RoutineInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store the routine of a bakery; its nightly plans come due by it from now on."""
    bakeries.check_known(session, bakery_id)
    if not expected.is_anything:
        lock_bakery(session, bakery_id)
        row = documents.find(session, RoutineRow, {"bakery_id": bakery_id})
        # Before the first, a routine reads as one with nothing entered.
        none_yet: Document | None = None if expected.tags is None else {}
        expected.check(none_yet if row is None else row.document)
    change = documents.put(session, RoutineRow, {"bakery_id": bakery_id}, sent, now)
    keep_nights_due(session, bakery_id, now)
    return change


def keep_nights_due(session: Session, bakery_id: str, now: datetime) -> None:
    """Let the coming nightly plans of a bakery be due when its routine says."""
    zone = bakeries.get(session, bakery_id).zone
    at = of(session, bakery_id).nightly_plan_at
    occurrences.keep_nights_due(session, bakery_id, zone, at, now)


def bakeries_with_nights(session: Session) -> list[str]:
    """Return the ids of the bakeries that are planned by themselves."""
    rows = documents.listed(session, RoutineRow)
    return [row.bakery_id for row in rows if row.document.get("nightly_plan_at")]

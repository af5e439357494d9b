"""Bakeries as entered."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session

from api.errors import InUseError
from api.schemas.bakery import BakeryInput
from api.schemas.base import Faults
from api.schemas.heads import DocumentHead
from api.schemas.house import House
from api.store import documents, plans
from api.store.documents import Change
from api.store.paging import Page
from api.store.tables import BakeryRow
from api.store.tags import ANYTHING, Expected
from planner.bakery import Person

SOMEBODY = (Person("somebody", "somebody"),)
"""Stands for whoever the day's shifts name, while a bakery is checked by itself."""


def heads(
    session: Session, page: Page | None = None, only: str | None = None
) -> list[DocumentHead]:
    """Return all bakeries, or only one, as they stand in a list."""
    return [
        DocumentHead(id=row.id, name=row.document["name"], changed_at=row.changed_at)
        for row in documents.listed(session, BakeryRow, only, page)
    ]


def get(session: Session, bakery_id: str) -> BakeryInput:
    """Return a bakery.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, BakeryRow, {"id": bakery_id})
    return BakeryInput.model_validate(row.document)


def check_known(session: Session, bakery_id: str) -> None:
    """Refuse a bakery that is not stored.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.get(session, BakeryRow, {"id": bakery_id})


def house(session: Session, bakery_id: str) -> House:
    """Return what formulas and products must know of a bakery."""
    return get(session, bakery_id).house()


def put(
    session: Session,
    bakery_id: str,
    sent: BakeryInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a bakery.

    Raises
    ------
    InputError
        If it cannot be right.
    """
    entered = documents.with_id(sent, bakery_id)
    faults = Faults()
    entered.to_core(faults, SOMEBODY)
    faults.settle()
    return documents.put(session, BakeryRow, {"id": bakery_id}, entered, now, expected)


def delete(session: Session, bakery_id: str, expected: Expected = ANYTHING) -> None:
    """Remove a bakery with its formulas, products and days.

    Raises
    ------
    InUseError
        If plans were made of it: they are kept.
    """
    if plans.any_of_bakery(session, bakery_id):
        raise InUseError(f"Bakery {bakery_id!r} has plans, and plans are kept.")
    documents.delete(session, BakeryRow, {"id": bakery_id}, expected)

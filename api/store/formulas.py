"""Formulas of a bakery as entered."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session

from api.schemas.base import Faults
from api.schemas.formula import FormulaInput
from api.schemas.heads import DocumentHead
from api.store import bakeries, documents
from api.store.documents import Change, Key
from api.store.paging import Page
from api.store.tables import FormulaRow
from api.store.tags import ANYTHING, Expected


def heads(session: Session, bakery_id: str, page: Page | None = None) -> list[DocumentHead]:
    """Return the formulas of a bakery as they stand in a list."""
    bakeries.get(session, bakery_id)
    return [
        DocumentHead(id=row.id, name=row.document["name"], changed_at=row.changed_at)
        for row in documents.listed(session, FormulaRow, bakery_id, page)
    ]


def ids(session: Session, bakery_id: str) -> list[str]:
    """Return the ids of the formulas of a bakery."""
    return [row.id for row in documents.listed(session, FormulaRow, bakery_id)]


def listed(session: Session, bakery_id: str) -> list[FormulaInput]:
    """Return the formulas of a bakery."""
    rows = documents.listed(session, FormulaRow, bakery_id)
    return [FormulaInput.model_validate(row.document) for row in rows]


def get(session: Session, bakery_id: str, formula_id: str) -> FormulaInput:
    """Return a formula.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, FormulaRow, _key(bakery_id, formula_id))
    return FormulaInput.model_validate(row.document)


def put(
    session: Session,
    bakery_id: str,
    formula_id: str,
    sent: FormulaInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a formula.

    Raises
    ------
    InputError
        If it cannot be right in its bakery.
    """
    house = bakeries.house(session, bakery_id)
    entered = documents.with_id(sent, formula_id)
    faults = Faults()
    entered.to_core(faults, house)
    faults.settle()
    return documents.put(session, FormulaRow, _key(bakery_id, formula_id), entered, now, expected)


def delete(
    session: Session, bakery_id: str, formula_id: str, expected: Expected = ANYTHING
) -> None:
    """Remove a formula.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, FormulaRow, _key(bakery_id, formula_id), expected)


def _key(bakery_id: str, formula_id: str) -> Key:
    return {"bakery_id": bakery_id, "id": formula_id}

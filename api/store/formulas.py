"""Formulas of a bakery as entered."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, col, select

from api.errors import NotFoundError
from api.schemas.base import Faults
from api.schemas.formula import FormulaInput
from api.schemas.formula_versions import FormulaUsedRead, FormulaVersionHead
from api.schemas.heads import DocumentHead
from api.store import bakeries, documents
from api.store.documents import Change, Key, document_of
from api.store.paging import Page
from api.store.tables import Document, FormulaRow, FormulaVersionRow, PlanRow
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
    change = documents.put(session, FormulaRow, _key(bakery_id, formula_id), entered, now, expected)
    if change is not Change.UNCHANGED:
        _keep_version(session, bakery_id, formula_id, now)
    return change


def _keep_version(session: Session, bakery_id: str, formula_id: str, now: datetime) -> None:
    row = documents.get(session, FormulaRow, _key(bakery_id, formula_id))
    last = next(iter(_versions(session, bakery_id, formula_id, Page(1))), None)
    if last is not None and last.document == row.document:
        return  # it was removed and is entered again as it was
    session.add(
        FormulaVersionRow(
            bakery_id=bakery_id,
            id=formula_id,
            version=1 if last is None else last.version + 1,
            document=row.document,
            changed_at=now,
        )
    )
    session.flush()


def versions(
    session: Session, bakery_id: str, formula_id: str, page: Page
) -> list[FormulaVersionHead]:
    """Return the versions of a formula, the newest first.

    Raises
    ------
    NotFoundError
        If there never was such a formula.
    """
    bakeries.check_known(session, bakery_id)
    found = _versions(session, bakery_id, formula_id, page)
    if not found and page.after is None:
        raise NotFoundError("formula", f"{bakery_id}, {formula_id}")
    return [
        FormulaVersionHead(
            id=row.id, version=row.version, name=row.document["name"], changed_at=row.changed_at
        )
        for row in found
    ]


def version(session: Session, bakery_id: str, formula_id: str, number: int) -> FormulaInput:
    """Return a formula as it was in one version.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = session.get(FormulaVersionRow, (bakery_id, formula_id, number))
    if row is None:
        raise NotFoundError("version", f"{bakery_id}, {formula_id}, {number}")
    return FormulaInput.model_validate(row.document)


def made_from(session: Session, plan: PlanRow) -> list[FormulaUsedRead]:
    """Return the formulas that a plan was made from, as they were, each with its version."""
    return [
        FormulaUsedRead(
            id=formula.key,
            version=_version_of(session, plan, formula.key, document_of(formula)),
            formula=formula,
        )
        for formula in map(FormulaInput.model_validate, plan.made_from["formulas"])
    ]


def _version_of(session: Session, plan: PlanRow, formula_id: str, document: Document) -> int | None:
    """Return the newest version before the plan that says the same; None for one never stored."""
    rows = _versions(session, plan.bakery_id, formula_id, None)
    known = [
        row.version
        for row in rows
        if row.changed_at <= plan.created_at and row.document == document
    ]
    return known[0] if known else None


def _versions(
    session: Session, bakery_id: str, formula_id: str, page: Page | None
) -> list[FormulaVersionRow]:
    query = (
        select(FormulaVersionRow)
        .where(FormulaVersionRow.bakery_id == bakery_id, FormulaVersionRow.id == formula_id)
        .order_by(col(FormulaVersionRow.version).desc())
    )
    if page is not None:
        query = query.limit(page.rows)
        if page.after is not None:
            query = query.where(col(FormulaVersionRow.version) < page.after[0])
    return list(session.exec(query))


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

"""Products of a bakery as entered."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session

from api.schemas.base import Faults
from api.schemas.heads import DocumentHead
from api.schemas.products import ProductInput
from api.store import bakeries, documents, formulas
from api.store.documents import Change, Key
from api.store.paging import Page
from api.store.tables import ProductRow
from api.store.tags import ANYTHING, Expected


def heads(session: Session, bakery_id: str, page: Page | None = None) -> list[DocumentHead]:
    """Return the products of a bakery as they stand in a list."""
    bakeries.get(session, bakery_id)
    return [
        DocumentHead(id=row.id, name=row.document["name"], changed_at=row.changed_at)
        for row in documents.listed(session, ProductRow, bakery_id, page)
    ]


def ids(session: Session, bakery_id: str) -> list[str]:
    """Return the ids of the products of a bakery."""
    return [row.id for row in documents.listed(session, ProductRow, bakery_id)]


def listed(session: Session, bakery_id: str) -> list[ProductInput]:
    """Return the products of a bakery."""
    rows = documents.listed(session, ProductRow, bakery_id)
    return [ProductInput.model_validate(row.document) for row in rows]


def get(session: Session, bakery_id: str, product_id: str) -> ProductInput:
    """Return a product.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, ProductRow, _key(bakery_id, product_id))
    return ProductInput.model_validate(row.document)


def put(
    session: Session,
    bakery_id: str,
    product_id: str,
    sent: ProductInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a product.

    Raises
    ------
    InputError
        If it cannot be right in its bakery.
    """
    house = bakeries.house(session, bakery_id)
    entered = documents.with_id(sent, product_id)
    faults = Faults()
    curves = {one.key: one.curve for one in formulas.listed(session, bakery_id)}
    entered.to_core(faults, house, curves)
    faults.settle()
    return documents.put(session, ProductRow, _key(bakery_id, product_id), entered, now, expected)


def delete(
    session: Session, bakery_id: str, product_id: str, expected: Expected = ANYTHING
) -> None:
    """Remove a product.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, ProductRow, _key(bakery_id, product_id), expected)


def _key(bakery_id: str, product_id: str) -> Key:
    return {"bakery_id": bakery_id, "id": product_id}

"""Documents by their own id: bakeries, formulas, products, mix lists, conditions.

A document put twice changes nothing the second time, so a bad network may repeat.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import TypeVar

from pydantic import ValidationError
from sqlalchemy import inspect
from sqlmodel import Session, select

from api.errors import NotFoundError
from api.files.faults import faults_of_validation
from api.schemas.base import Entry, Named
from api.store.tables import Document, DocumentTable
from planner.errors import InputError, refuse

Row = TypeVar("Row", bound=DocumentTable)
Named_ = TypeVar("Named_", bound=Named)
LONGEST_ID = 100
Key = Mapping[str, str | date]


class Change(StrEnum):
    """What a put did."""

    CREATED = "created"
    CHANGED = "changed"
    UNCHANGED = "unchanged"


def find(session: Session, table: type[Row], key: Key) -> Row | None:
    """Return the row of a key, or None."""
    return session.get(table, tuple(key[column.name] for column in inspect(table).primary_key))


def get(session: Session, table: type[Row], key: Key) -> Row:
    """Return the row of a key.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = find(session, table, key)
    if row is None:
        raise NotFoundError(called(table), ", ".join(str(part) for part in key.values()))
    return row


def listed(session: Session, table: type[Row], bakery_id: str | None = None) -> list[Row]:
    """Return all rows, or those of one bakery, in the order of their keys."""
    columns = inspect(table).primary_key
    query = select(table).order_by(*columns)
    if bakery_id is not None:
        query = query.where(columns[0] == bakery_id)
    return list(session.exec(query))


def put(session: Session, table: type[Row], key: Key, entry: Entry, now: datetime) -> Change:
    """Store an entry under its key, as it was entered."""
    row, document = find(session, table, key), document_of(entry)
    if row is None:
        session.add(table(**key, document=document, changed_at=now))
        session.flush()
        return Change.CREATED
    if row.document == document:
        return Change.UNCHANGED
    row.document, row.changed_at = document, now
    session.flush()
    return Change.CHANGED


def document_of(entry: Entry) -> Document:
    """Return an entry as a document: what was entered, without the defaults of today."""
    return entry.model_dump(mode="json", by_alias=True, exclude_unset=True)


def with_id(entry: Named_, id: str) -> Named_:
    """Return an entry with the id under which it is stored.

    Raises
    ------
    InputError
        If it names another id itself, or one that no address can have.
    """
    if len(id) > LONGEST_ID:
        raise refuse("id", id, "is too long", f"enter at most {LONGEST_ID} letters")
    if entry.id is not None and entry.id != id:
        raise refuse("id", entry.id, f"is not the id of the address, {id!r}", "leave it out")
    try:
        return type(entry).model_validate({**document_of(entry), "id": id})
    except ValidationError as error:
        raise InputError(faults_of_validation(error)) from None


def delete(session: Session, table: type[Row], key: Key) -> None:
    """Remove a document.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    session.delete(get(session, table, key))
    session.flush()


def called(table: type[DocumentTable]) -> str:
    """Return what one row of a table is called.

    Examples
    --------
    >>> from api.store.tables import MixListRow
    >>> called(MixListRow)
    'mix list'
    """
    return str(table.__tablename__).replace("_", " ")

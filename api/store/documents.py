"""Documents by their own id: bakeries, formulas, products, mix lists, conditions.

A document put twice changes nothing the second time, so a bad network may repeat.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import TypeVar

from pydantic import ValidationError
from sqlalchemy import inspect
from sqlmodel import Session, select

from api.errors import NotFoundError
from api.files.faults import faults_of_validation
from api.schemas.base import Entry, Named
from api.store.locks import lock_bakery
from api.store.paging import Page
from api.store.tables import Document, DocumentTable
from api.store.tags import ANYTHING, Expected
from planner.errors import InputError, refuse

Row = TypeVar("Row", bound=DocumentTable)
Named_ = TypeVar("Named_", bound=Named)
LONGEST_ID = 100
Key = Mapping[str, str | date]


@dataclass(frozen=True, slots=True)
class Days:
    """A range of production days; open where None stands."""

    since: date | None = None
    until: date | None = None


EVERY_DAY = Days()


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


def listed(
    session: Session,
    table: type[Row],
    bakery_id: str | None = None,
    page: Page | None = None,
    days: Days = EVERY_DAY,
) -> list[Row]:
    """Return all rows, or those of one bakery, in the order of their keys.

    Parameters
    ----------
    page
        Which of them; all when None.
    days
        For tables with a production date: of which days.
    """
    columns = inspect(table).primary_key
    query = select(table).order_by(*columns)
    if bakery_id is not None:
        query = query.where(columns[0] == bakery_id)
    if days.since is not None:
        query = query.where(columns[-1] >= days.since)
    if days.until is not None:
        query = query.where(columns[-1] <= days.until)
    if page is not None:
        query = query.limit(page.rows)
        if page.after is not None:
            query = query.where(columns[-1] > page.after[0])
    return list(session.exec(query))


def expect(session: Session, table: type[Row], key: Key, expected: Expected) -> None:
    """Refuse to go on when a document is not what its writer expects.

    Writers with an expectation take turns by the lock of their bakery, so that of two who have
    read the same version only one writes.

    Raises
    ------
    ChangedMeanwhileError
        If it is something else.
    """
    if expected.is_anything:
        return
    lock_bakery(session, str(key.get("bakery_id", key.get("id"))))
    parts = tuple(key[column.name] for column in inspect(table).primary_key)
    row = session.get(table, parts, populate_existing=True)
    expected.check(None if row is None else row.document)


def put(
    session: Session,
    table: type[Row],
    key: Key,
    entry: Entry,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store an entry under its key, as it was entered.

    Raises
    ------
    ChangedMeanwhileError
        If what stands there is not what is expected.
    """
    expect(session, table, key, expected)
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


def delete(session: Session, table: type[Row], key: Key, expected: Expected = ANYTHING) -> None:
    """Remove a document.

    Raises
    ------
    NotFoundError, ChangedMeanwhileError
        If there is none, or it is not what is expected.
    """
    if find(session, table, key) is not None:
        expect(session, table, key, expected)
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

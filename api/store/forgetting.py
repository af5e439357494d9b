"""Erasing a person's name: in the house, in shifts, in plans and in the trail; readings stay.

Names stand inside stored documents. They are replaced where a document tells a person, and
nowhere else: a product may be called as somebody is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from sqlalchemy import update
from sqlmodel import Session, col, select

from api.errors import NotFoundError
from api.schemas.base import slug
from api.schemas.forgetting import ForgottenRead
from api.store import bakeries
from api.store.locks import lock_bakery
from api.store.tables import (
    AccountRow,
    BakeryRow,
    ChangeRow,
    EventRow,
    KeyRow,
    MixListRow,
    PlanRow,
    ReadingRow,
)

OF_PERSON = frozenset({"person", "person_id", "by"})
"""Keys whose value tells a person."""


def forget_person(session: Session, bakery_id: str, person_id: str) -> ForgottenRead:
    """Put a made-up name in the place of a person's, wherever the bakery is told of.

    Raises
    ------
    NotFoundError
        If nobody of that id is named anywhere.
    """
    bakeries.check_known(session, bakery_id)
    lock_bakery(session, bakery_id)
    held = [(row, name) for row, name in _documents(session, bakery_id) if getattr(row, name)]
    known = [person for row, name in held for person in _people(getattr(row, name))]
    names = {str(one.get("name")) for one in known if _id(one) == person_id}
    if not names:
        raise NotFoundError("person", person_id)
    instead = _free({_id(one) for one in known})

    def of_person(text: str) -> str | None:
        if text in names or text == person_id or slug(text) == person_id:
            return instead
        return None

    changed = 0
    for row, name in held:
        before = getattr(row, name)
        after = _replaced(before, of_person, names)
        if after != before:
            setattr(row, name, after)
            changed += 1
    session.flush()
    for column in (ChangeRow.name, KeyRow.created_by, KeyRow.name, AccountRow.name):
        table = column.class_  # type: ignore[attr-defined]
        session.execute(
            update(table)
            .where(col(table.bakery_id) == bakery_id, col(column).in_(names))
            .values({column.key: instead})  # type: ignore[attr-defined]
        )
    return ForgottenRead(instead=instead, documents=changed)


def _documents(session: Session, bakery_id: str) -> Iterator[tuple[Any, str]]:
    yield session.get(BakeryRow, bakery_id), "document"
    for row in session.exec(select(MixListRow).where(MixListRow.bakery_id == bakery_id)):
        yield row, "document"
    for plan in session.exec(select(PlanRow).where(PlanRow.bakery_id == bakery_id)):
        yield plan, "made_from"
        yield plan, "result"
    for event in session.exec(select(EventRow).where(EventRow.bakery_id == bakery_id)):
        yield event, "data"
    readings = (
        select(ReadingRow)
        .join(PlanRow, col(ReadingRow.plan_id) == col(PlanRow.id))
        .where(PlanRow.bakery_id == bakery_id)
    )
    for reading in session.exec(readings):
        yield reading, "document"
        yield reading, "answer"


def _people(document: Any) -> Iterator[dict[str, Any]]:  # noqa: ANN401  any JSON
    """Return every person that a document lists."""
    if isinstance(document, list):
        for one in document:
            yield from _people(one)
    elif isinstance(document, dict):
        for key, value in document.items():
            if key == "people" and isinstance(value, list):
                yield from (one for one in value if isinstance(one, dict))
            else:
                yield from _people(value)


def _id(person: dict[str, Any]) -> str:
    return str(person.get("id") or slug(str(person.get("name", ""))))


def _free(taken: set[str]) -> str:
    number = 1
    while f"person_{number}" in taken:
        number += 1
    return f"person_{number}"


def _replaced(
    document: Any,  # noqa: ANN401  any JSON
    of_person: Callable[[str], str | None],
    names: set[str],
) -> Any:  # noqa: ANN401  any JSON
    if isinstance(document, list):
        return [_replaced(one, of_person, names) for one in document]
    if not isinstance(document, dict):
        return document
    is_word = document.keys() == {"name", "value", "unit"} and document["value"] in names
    replaced: dict[str, Any] = {}
    for key, value in document.items():
        if key == "people" and isinstance(value, list):
            replaced[key] = [_person(one, of_person) for one in value]
        elif isinstance(value, str) and (key in OF_PERSON or (is_word and key == "value")):
            replaced[key] = of_person(value) or value
        else:
            replaced[key] = _replaced(value, of_person, names)
    return replaced


def _person(person: Any, of_person: Callable[[str], str | None]) -> Any:  # noqa: ANN401  any JSON
    if not isinstance(person, dict):
        return person
    instead = of_person(_id(person))
    if instead is None:
        return person
    return {**person, "id": instead, "name": instead}

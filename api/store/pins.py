"""Pins as entered."""

from __future__ import annotations

from datetime import date, datetime

from sqlmodel import Session

from api.schemas.base import Faults
from api.schemas.heads import DayHead
from api.schemas.pins import PinsInput
from api.store import bakeries, documents, mix_lists
from api.store.documents import EVERY_DAY, Change, Days, Key
from api.store.paging import Page
from api.store.tables import PinsRow
from api.store.tags import ANYTHING, Expected


def heads(
    session: Session, bakery_id: str, page: Page | None = None, days: Days = EVERY_DAY
) -> list[DayHead]:
    """Return the production days of a bakery that have them."""
    bakeries.get(session, bakery_id)
    return [
        DayHead(production_date=row.production_date, changed_at=row.changed_at)
        for row in documents.listed(session, PinsRow, bakery_id, page, days)
    ]


def find(session: Session, bakery_id: str, production_date: date) -> PinsInput | None:
    """Return the pins of a production day, or None."""
    row = documents.find(session, PinsRow, _key(bakery_id, production_date))
    return None if row is None else PinsInput.model_validate(row.document)


def get(session: Session, bakery_id: str, production_date: date) -> PinsInput:
    """Return the pins of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, PinsRow, _key(bakery_id, production_date))
    return PinsInput.model_validate(row.document)


def put(
    session: Session,
    bakery_id: str,
    production_date: date,
    sent: PinsInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store the pins of a production day.

    Raises
    ------
    InputError
        If something in it cannot be right.
    """
    bakery = bakeries.get(session, bakery_id)
    span = mix_lists.span(session, bakery_id, production_date)
    mixers = [mixer.key for mixer in bakery.mixers]
    ovens = [oven.key for oven in bakery.ovens]
    faults = Faults()
    for i, pin in enumerate(sent.pins):
        faults.at(f"pins[{i}]").build(pin.to_core, span, mixers, ovens)
    faults.settle()
    return documents.put(session, PinsRow, _key(bakery_id, production_date), sent, now, expected)


def delete(
    session: Session, bakery_id: str, production_date: date, expected: Expected = ANYTHING
) -> None:
    """Remove the pins of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, PinsRow, _key(bakery_id, production_date), expected)


def _key(bakery_id: str, production_date: date) -> Key:
    return {"bakery_id": bakery_id, "production_date": production_date}

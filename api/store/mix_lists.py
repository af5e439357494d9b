"""Mix lists as entered."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from api.schemas.base import Faults
from api.schemas.heads import DayHead
from api.schemas.mix_list import MixListInput, Span
from api.store import bakeries, documents, formulas, products
from api.store.documents import EVERY_DAY, Change, Days, Key
from api.store.paging import Page
from api.store.tables import MixListRow
from api.store.tags import ANYTHING, Expected


def heads(
    session: Session, bakery_id: str, page: Page | None = None, days: Days = EVERY_DAY
) -> list[DayHead]:
    """Return the production days of a bakery that have one."""
    bakeries.get(session, bakery_id)
    return [
        DayHead(production_date=row.production_date, changed_at=row.changed_at)
        for row in documents.listed(session, MixListRow, bakery_id, page, days)
    ]


def find(session: Session, bakery_id: str, production_date: date) -> MixListInput | None:
    """Return a mix list of a production day, or None."""
    row = documents.find(session, MixListRow, _key(bakery_id, production_date))
    return None if row is None else MixListInput.model_validate(row.document)


def get(session: Session, bakery_id: str, production_date: date) -> MixListInput:
    """Return a mix list of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, MixListRow, _key(bakery_id, production_date))
    return MixListInput.model_validate(row.document)


def span(session: Session, bakery_id: str, production_date: date) -> Span:
    """Return the time that may be planned on a production day; the usual one without a list."""
    row = find(session, bakery_id, production_date)
    entered = MixListInput(mix_list=[]) if row is None else row
    return entered.span(production_date, ZoneInfo(bakeries.get(session, bakery_id).zone))


def put(
    session: Session,
    bakery_id: str,
    production_date: date,
    sent: MixListInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a mix list of a production day.

    Raises
    ------
    InputError
        If something in it cannot be right.
    """
    bakery = bakeries.get(session, bakery_id)
    faults = Faults()
    zone = ZoneInfo(bakery.zone)
    span = sent.span(production_date, zone)
    sent.lines_to_core(
        faults, span, formulas.ids(session, bakery_id), products.ids(session, bakery_id)
    )
    sent.shifts_to_core(faults, bakery.people, production_date, zone)
    faults.settle()
    return documents.put(session, MixListRow, _key(bakery_id, production_date), sent, now, expected)


def delete(
    session: Session, bakery_id: str, production_date: date, expected: Expected = ANYTHING
) -> None:
    """Remove a mix list of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, MixListRow, _key(bakery_id, production_date), expected)


def _key(bakery_id: str, production_date: date) -> Key:
    return {"bakery_id": bakery_id, "production_date": production_date}

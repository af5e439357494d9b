"""Conditions of a production day as entered."""

from __future__ import annotations

from datetime import date, datetime

from sqlmodel import Session

from api.schemas.base import Faults
from api.schemas.conditions import ConditionsInput, StandingInput
from api.schemas.heads import DayHead
from api.store import bakeries, documents, forecasts, mix_lists, products
from api.store.documents import EVERY_DAY, Change, Days, Key, document_of
from api.store.locks import lock_bakery
from api.store.paging import Page
from api.store.tables import ConditionsRow
from api.store.tags import ANYTHING, Expected


def heads(
    session: Session, bakery_id: str, page: Page | None = None, days: Days = EVERY_DAY
) -> list[DayHead]:
    """Return the production days of a bakery that have them."""
    bakeries.get(session, bakery_id)
    return [
        DayHead(production_date=row.production_date, changed_at=row.changed_at)
        for row in documents.listed(session, ConditionsRow, bakery_id, page, days)
    ]


def find(session: Session, bakery_id: str, production_date: date) -> ConditionsInput | None:
    """Return the conditions of a production day, or None."""
    row = documents.find(session, ConditionsRow, _key(bakery_id, production_date))
    return None if row is None else ConditionsInput.model_validate(row.document)


def get(session: Session, bakery_id: str, production_date: date) -> ConditionsInput:
    """Return the conditions of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, ConditionsRow, _key(bakery_id, production_date))
    return ConditionsInput.model_validate(row.document)


def put(
    session: Session,
    bakery_id: str,
    production_date: date,
    sent: ConditionsInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store the conditions of a production day.

    Raises
    ------
    InputError
        If something in it cannot be right.
    """
    bakery = bakeries.get(session, bakery_id)
    faults = Faults()
    house = bakery.to_core(faults, bakeries.SOMEBODY)
    if house is not None:
        span = mix_lists.span(session, bakery_id, production_date)
        night = forecasts.filled(session, bakery, span, sent) or sent
        night.to_core(faults, house, span, products.ids(session, bakery_id))
    faults.settle()
    return documents.put(
        session, ConditionsRow, _key(bakery_id, production_date), sent, now, expected
    )


def standing(session: Session, bakery_id: str, production_date: date) -> StandingInput:
    """Return the doughs that already stand when a production day begins; none without any.

    Raises
    ------
    NotFoundError
        If there is no such bakery.
    """
    bakeries.check_known(session, bakery_id)
    night = find(session, bakery_id, production_date)
    return StandingInput(standing=[] if night is None else night.inherited)


def put_standing(
    session: Session,
    bakery_id: str,
    production_date: date,
    sent: StandingInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store the doughs that already stand; the other conditions of the day stay as they are.

    Raises
    ------
    InputError, ChangedMeanwhileError
        If something in it cannot be right, or it is not what is expected.
    """
    if not expected.is_anything:
        bakeries.check_known(session, bakery_id)
        lock_bakery(session, bakery_id)
        expected.check(document_of(standing(session, bakery_id, production_date)))
    night = find(session, bakery_id, production_date)
    entered = {} if night is None else document_of(night)
    inherited = document_of(sent)["standing"]
    if inherited == entered.get("inherited", []):
        return Change.UNCHANGED
    together = ConditionsInput.model_validate({**entered, "inherited": inherited})
    return put(session, bakery_id, production_date, together, now)


def delete(
    session: Session, bakery_id: str, production_date: date, expected: Expected = ANYTHING
) -> None:
    """Remove the conditions of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, ConditionsRow, _key(bakery_id, production_date), expected)


def _key(bakery_id: str, production_date: date) -> Key:
    return {"bakery_id": bakery_id, "production_date": production_date}

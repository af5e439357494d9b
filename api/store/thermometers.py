"""The register of thermometers of a bakery."""

from __future__ import annotations

from datetime import date, datetime

from sqlmodel import Session

from api.schemas.thermometers import ThermometerInput, ThermometerRead
from api.store import bakeries, documents
from api.store.documents import Change, Key
from api.store.paging import Page
from api.store.tables import ThermometerRow
from api.store.tags import ANYTHING, Expected
from planner.errors import refuse


def listed(
    session: Session, bakery_id: str, today: date, page: Page | None = None
) -> list[ThermometerRead]:
    """Return the thermometers of a bakery with their offsets and the dates of their checks."""
    bakeries.check_known(session, bakery_id)
    rows = documents.listed(session, ThermometerRow, bakery_id, page)
    return [_read(row.id, ThermometerInput.model_validate(row.document), today) for row in rows]


def get(session: Session, bakery_id: str, thermometer_id: str) -> ThermometerInput:
    """Return a thermometer.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, ThermometerRow, _key(bakery_id, thermometer_id))
    return ThermometerInput.model_validate(row.document)


def offset_k(session: Session, bakery_id: str, thermometer_id: str | None) -> float:
    """Return what is added to the readings of a thermometer [K]; 0 for one not in the register."""
    if thermometer_id is None:
        return 0.0
    row = documents.find(session, ThermometerRow, _key(bakery_id, thermometer_id))
    return 0.0 if row is None else ThermometerInput.model_validate(row.document).offset_k


def put(
    session: Session,
    bakery_id: str,
    thermometer_id: str,
    sent: ThermometerInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a thermometer; readings taken before keep the offset they were taken with.

    Raises
    ------
    InputError
        If a reading in ice comes without its date, or the date without the reading.
    """
    bakeries.check_known(session, bakery_id)
    entered = documents.with_id(sent, thermometer_id)
    if (entered.ice_point_c is None) != (entered.checked_on is None):
        missing = "ice_point_c" if entered.ice_point_c is None else "checked_on"
        raise refuse(missing, "nothing", "belongs to the check", "enter both or none")
    return documents.put(
        session, ThermometerRow, _key(bakery_id, thermometer_id), entered, now, expected
    )


def delete(
    session: Session, bakery_id: str, thermometer_id: str, expected: Expected = ANYTHING
) -> None:
    """Remove a thermometer; readings taken with it stay as they are.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, ThermometerRow, _key(bakery_id, thermometer_id), expected)


def _key(bakery_id: str, thermometer_id: str) -> Key:
    return {"bakery_id": bakery_id, "id": thermometer_id}


def _read(id: str, entered: ThermometerInput, today: date) -> ThermometerRead:
    return ThermometerRead(
        id=id,
        name=entered.name,
        place=entered.place,
        offset_k=entered.offset_k,
        checked_on=entered.checked_on,
        due_on=entered.due_on,
        is_due=entered.due_on is None or entered.due_on <= today,
    )

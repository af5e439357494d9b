"""The last good forecast of each place, and what a night takes from it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from api.errors import NotFoundError
from api.schemas.bakery import BakeryInput
from api.schemas.conditions import ConditionsInput
from api.schemas.forecast import (
    OUTDOORS,
    ForecastInput,
    ForecastRead,
    ForecastSourceInput,
    hours_of,
)
from api.schemas.mix_list import Span
from api.store import bakeries, documents
from api.store.documents import Change, Key
from api.store.locks import lock_bakery
from api.store.tables import Document, ForecastRow
from api.store.tags import ANYTHING, Expected
from planner.errors import refuse


def listed(session: Session, bakery_id: str, now: datetime) -> list[ForecastRead]:
    """Return the forecasts of a bakery."""
    bakeries.check_known(session, bakery_id)
    return [_sent(row, now) for row in documents.listed(session, ForecastRow, bakery_id)]


def get(session: Session, bakery_id: str, place: str, now: datetime) -> ForecastRead:
    """Return the last good forecast of a place.

    Raises
    ------
    NotFoundError
        If there is none, nor a source of one.
    """
    return _sent(documents.get(session, ForecastRow, _key(bakery_id, place)), now)


def push(
    session: Session, bakery_id: str, place: str, sent: ForecastInput, now: datetime
) -> Change:
    """Store a forecast that was sent; its age counts from now, also when it is the same.

    Raises
    ------
    InputError
        If the place is none of the bakery.
    """
    _check_place(bakeries.get(session, bakery_id), place)
    row = documents.find(session, ForecastRow, _key(bakery_id, place))
    document = documents.document_of(sent)
    if row is None:
        _add(session, bakery_id, place, document, None, now)
        return Change.CREATED
    change = Change.UNCHANGED if row.document == document else Change.CHANGED
    row.document, row.changed_at = document, now
    session.flush()
    return change


def source(session: Session, bakery_id: str, place: str) -> ForecastSourceInput:
    """Return where the forecast of a place is pulled from.

    Raises
    ------
    NotFoundError
        If it is pulled from nowhere.
    """
    row = documents.find(session, ForecastRow, _key(bakery_id, place))
    if row is None or row.source is None:
        raise NotFoundError("source of a forecast", f"{bakery_id}, {place}")
    return ForecastSourceInput.model_validate(row.source)


def put_source(
    session: Session,
    bakery_id: str,
    place: str,
    sent: ForecastSourceInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store where the forecast of a place is pulled from; the last good copy stays.

    Raises
    ------
    InputError, ChangedMeanwhileError
        If the place is none of the bakery, or the source is not what is expected.
    """
    _check_place(bakeries.get(session, bakery_id), place)
    if not expected.is_anything:
        lock_bakery(session, bakery_id)
    row = documents.find(session, ForecastRow, _key(bakery_id, place))
    expected.check(None if row is None else row.source)
    document = documents.document_of(sent)
    if row is None:
        _add(session, bakery_id, place, {}, document, now)
        return Change.CREATED
    before, row.source, row.tried_at, row.fault = row.source, document, None, None
    session.flush()
    if before is None:
        return Change.CREATED
    return Change.UNCHANGED if before == document else Change.CHANGED


def delete(session: Session, bakery_id: str, place: str) -> None:
    """Remove the forecast of a place and its source.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, ForecastRow, _key(bakery_id, place))


def due(session: Session, now: datetime) -> list[tuple[str, str, ForecastSourceInput]]:
    """Return bakery, place and source of the forecasts that are to be pulled now."""
    found = []
    for row in documents.listed(session, ForecastRow):
        if row.source is None:
            continue
        wanted = ForecastSourceInput.model_validate(row.source)
        if row.tried_at is None or now - row.tried_at >= timedelta(minutes=wanted.every_min):
            found.append((row.bakery_id, row.place, wanted))
    return found


def pulled(
    session: Session, bakery_id: str, place: str, got: ForecastInput | str, now: datetime
) -> bool:
    """Store what a pull brought; a sentence says why it brought nothing, and the copy stays.

    Returns
    -------
    bool
        Whether the forecast is another than before.
    """
    row = documents.find(session, ForecastRow, _key(bakery_id, place))
    if row is None:
        return False
    row.tried_at = now
    if isinstance(got, str):
        row.fault = got
        session.flush()
        return False
    document = documents.document_of(got)
    changed = row.document != document
    row.document, row.changed_at, row.fault = document, now, None
    session.flush()
    return changed


def filled(
    session: Session, bakery: BakeryInput, span: Span, night: ConditionsInput | None
) -> ConditionsInput | None:
    """Return the conditions of a night with forecasts where nothing was entered.

    What the baker entered for a night counts before what comes from elsewhere. None without
    conditions, as long as a room has no forecast either.
    """
    known = {
        row.place: hours
        for row in documents.listed(session, ForecastRow, bakery.key)
        if (hours := _of_span(hours_of(row.document), span)) is not None
    }
    entered: Document = {} if night is None else documents.document_of(night)
    house = bakery.house()
    rooms = dict(entered.get("rooms", {}))
    for room in house.rooms:
        nothing = night is None or night.forecast_of(room) is None
        if room in known and nothing:
            rooms[room] = _as_entered(known[room], span.zone)
    if night is None and set(rooms) != set(house.rooms):
        return None
    if OUTDOORS in known and "outdoors" not in entered:
        entered["outdoors"] = _as_entered(known[OUTDOORS], span.zone)
    return ConditionsInput.model_validate({**entered, **({"rooms": rooms} if rooms else {})})


def _of_span(forecast: ForecastInput | None, span: Span) -> ForecastInput | None:
    """Return the hours that tell about a span; None when they do not reach into it."""
    if forecast is None:
        return None
    hours = [
        hour
        for hour in forecast.hours
        if span.start_utc - timedelta(hours=1) < hour.at_utc < span.end_utc + timedelta(hours=1)
    ]
    if len(hours) < 2:
        return None
    return forecast.model_copy(update={"hours": hours})


def _as_entered(forecast: ForecastInput, zone: ZoneInfo) -> Document:
    hours = [
        {
            "at": hour.at_utc.astimezone(zone).isoformat(sep=" ", timespec="minutes"),
            "temperature_c": hour.temperature_c,
        }
        for hour in forecast.hours
    ]
    more = {"sd_k": forecast.sd_k, "humidity_fraction": forecast.humidity_fraction}
    return {"hourly": hours, **more}


def _check_place(bakery: BakeryInput, place: str) -> None:
    rooms = bakery.house().rooms
    if place not in {OUTDOORS, *rooms}:
        choices = ", ".join((OUTDOORS, *rooms))
        raise refuse("place", place, "is no room of this bakery", f"use one of: {choices}")


def _add(
    session: Session,
    bakery_id: str,
    place: str,
    document: Document,
    source: Document | None,
    now: datetime,
) -> None:
    row = ForecastRow(
        bakery_id=bakery_id,
        place=place,
        document=document,
        changed_at=now,
        source=source,
        tried_at=None,
        fault=None,
    )
    session.add(row)
    session.flush()


def _sent(row: ForecastRow, now: datetime) -> ForecastRead:
    forecast = hours_of(row.document)
    came = row.changed_at.astimezone(UTC)
    return ForecastRead(
        place=row.place,
        forecast=forecast,
        came_at=None if forecast is None else came,
        age_min=None if forecast is None else max(0.0, (now - came).total_seconds() / 60),
        is_pulled=row.source is not None,
        tried_at=row.tried_at,
        fault=row.fault,
    )


def _key(bakery_id: str, place: str) -> Key:
    return {"bakery_id": bakery_id, "place": place}

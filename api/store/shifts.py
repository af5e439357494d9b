"""Shifts: which plan a bakery works from now, with everything that was read of it."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from threading import Lock
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlalchemy.orm import defer
from sqlmodel import Session, col, select

from api.errors import NotFoundError
from api.pages.bench.shift import Noted, Shift
from api.pages.reader import Reader, reader_of
from api.pages.words import Words
from api.schemas.plans import PlanState
from api.store import bakeries, days, in_force, plans
from api.store.codec import answer_from_document, reading_from_document
from api.store.tables import InForceRow, PlanRow, ReadingRow
from planner.planned import Plan
from planner.readings import ReadingKind

DAYS_AROUND = 2
"""So many production days before and after today may be worked now."""


LEFT = plans.WITHOUT_DOCUMENTS
"""What is read of a plan's row only when its plan is not at hand."""


# As in `plans`: SQLModel types a column as its value.
WITHOUT_ANSWERS = defer(ReadingRow.answer)  # type: ignore[arg-type]


def current(
    session: Session, bakery_id: str, now: datetime, production_date: date | None = None
) -> Shift:
    """Return the shift that a bakery works, or works next.

    Parameters
    ----------
    now
        The moment [UTC].
    production_date
        Its production day; the one that is under way, else the next, else the last, when None.

    Raises
    ------
    NotFoundError
        If there is no such bakery, or no finished plan.
    """
    bakeries.check_known(session, bakery_id)
    row = _row(session, bakery_id, now, production_date)
    if row is None:
        raise NotFoundError("finished plan of", str(production_date or bakery_id))
    return of_plan(session, row, now)


def of_plan(session: Session, row: PlanRow, now: datetime) -> Shift:
    """Return a plan as a shift.

    Raises
    ------
    PlanNotReadyError
        If it is not finished.
    """
    read = _read_plan(session, row)
    counts = in_force.of_day(session, row.bakery_id, row.production_date) == row.id
    noted = tuple(_noted(session, row.id))
    return Shift(row.bakery_id, row.id, read.plan, counts, read.reader, noted, now)


@dataclass(frozen=True, slots=True)
class _Read:
    """A finished plan out of its document, and how its house reads."""

    plan: Plan
    reader: Reader


KEPT_PLANS = 6
_kept: WeakKeyDictionary[Engine, OrderedDict[tuple[str, datetime], _Read]] = WeakKeyDictionary()
"""The plans read last, of each database: pages ask for the same one again and again."""
_keeping = Lock()


def _read_plan(session: Session, row: PlanRow) -> _Read:
    engine = session.get_bind()
    if row.finished_at is None or not isinstance(engine, Engine):
        return _from_document(row)
    key = (row.id, row.finished_at)
    with _keeping:
        mine = _kept.setdefault(engine, OrderedDict())
        if key in mine:
            mine.move_to_end(key)
            return mine[key]
    read = _from_document(row)
    with _keeping:
        mine[key] = read
        while len(mine) > KEPT_PLANS:
            mine.popitem(last=False)
    return read


def _from_document(row: PlanRow) -> _Read:
    plan = plans.core_plan(row)
    house = days.papers_of(row.made_from)
    zone = ZoneInfo(days.zone_of(row.made_from))
    units = days.units_of(row.made_from)
    return _Read(plan, reader_of(plan, zone, units, house.words, house.scales))


def with_readings(
    session: Session, bakery_id: str, first: date, last: date, now: datetime
) -> list[Shift]:
    """Return every plan of some days of which something was read, in the order of their days."""
    bakeries.check_known(session, bakery_id)
    read = select(ReadingRow.plan_id).distinct()
    query = (
        select(PlanRow)
        .where(
            PlanRow.bakery_id == bakery_id,
            col(PlanRow.production_date) >= first,
            col(PlanRow.production_date) <= last,
            col(PlanRow.id).in_(read),
        )
        .order_by(col(PlanRow.production_date), col(PlanRow.version))
    )
    return [of_plan(session, row, now) for row in session.exec(query.options(*LEFT))]


def words_of(session: Session, bakery_id: str, now: datetime) -> Words:
    """Return the words of a house, by the plan it works from; English before the first."""
    row = row_of(session, bakery_id, now)
    return Words() if row is None else _read_plan(session, row).reader.say


def stamp(session: Session, shift_of: PlanRow) -> str:
    """Return what changes with everything that a shift shows."""
    counts = in_force.of_day(session, shift_of.bakery_id, shift_of.production_date)
    count = len(session.exec(select(ReadingRow.id).where(ReadingRow.plan_id == shift_of.id)).all())
    return f"{shift_of.id}/{counts == shift_of.id}/{count}"


def row_of(
    session: Session, bakery_id: str, now: datetime, production_date: date | None = None
) -> PlanRow | None:
    """Return the row of the plan of `current`, or None without one."""
    return _row(session, bakery_id, now, production_date)


def _noted(session: Session, plan_id: str) -> Iterable[Noted]:
    """Give readings as they were sent; only the last answer of each mix is read from its row."""
    query = (
        select(ReadingRow)
        .where(ReadingRow.plan_id == plan_id)
        .order_by(col(ReadingRow.number))
        .options(WITHOUT_ANSWERS)
    )
    listed = list(session.exec(query))
    last = {row.mix_id: row.id for row in listed if row.is_answered and not _is_note(row)}
    last |= {f"{row.mix_id}/scald": row.id for row in listed if _is_of_scald(row)}
    answers = dict(
        session.exec(
            select(col(ReadingRow.id), col(ReadingRow.answer)).where(
                ReadingRow.plan_id == plan_id, col(ReadingRow.id).in_(set(last.values()))
            )
        ).all()
    )
    for row in listed:
        found = answers.get(row.id)
        answer = None if found is None else answer_from_document(found)
        reading = reading_from_document(row.document)
        yield Noted(reading, row.received_at, row.offset_k, answer, row.is_answered)


def _is_note(row: ReadingRow) -> bool:
    return bool(row.document.get("kind") == ReadingKind.NOTE)


def _is_of_scald(row: ReadingRow) -> bool:
    return str(row.document.get("kind", "")).startswith("cooling scald")


def _row(
    session: Session, bakery_id: str, now: datetime, production_date: date | None
) -> PlanRow | None:
    if production_date is not None:
        return _of_day(session, bakery_id, production_date)
    dates = _dates(session, bakery_id)
    if not dates:
        return None
    today = now.date()
    near = [one for one in dates if abs(one - today) <= timedelta(days=DAYS_AROUND)]
    for one in near:
        row = _of_day(session, bakery_id, one)
        if row is not None and _read_plan(session, row).plan.day.end_utc > now:
            return row
    coming = [one for one in dates if one >= today]
    return _of_day(session, bakery_id, coming[0] if coming else dates[-1])


def _dates(session: Session, bakery_id: str) -> list[date]:
    query = (
        select(col(PlanRow.production_date))
        .where(PlanRow.bakery_id == bakery_id, PlanRow.state == PlanState.READY)
        .distinct()
        .order_by(col(PlanRow.production_date))
    )
    return list(session.exec(query))


def _of_day(session: Session, bakery_id: str, production_date: date) -> PlanRow | None:
    """Return the plan of a day that counts, or its newest finished one."""
    counting = session.get(InForceRow, (bakery_id, production_date))
    if counting is not None:
        return session.get(PlanRow, counting.plan_id, options=LEFT)
    query = (
        select(PlanRow)
        .where(
            PlanRow.bakery_id == bakery_id,
            PlanRow.production_date == production_date,
            PlanRow.state == PlanState.READY,
        )
        .order_by(col(PlanRow.version).desc())
        .limit(1)
        .options(*LEFT)
    )
    return session.exec(query).first()

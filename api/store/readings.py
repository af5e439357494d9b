"""Readings: stored with the answer they got, never overwritten."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy import func
from sqlmodel import Session, col, select

from api.errors import ReadingClashError
from api.schemas.events import EventKind
from api.store import events
from api.store.codec import (
    answer_to_document,
    reading_from_document,
    reading_to_document,
)
from api.store.paging import Page
from api.store.tables import PlanRow, ReadingRow
from planner.errors import Fault, InputError
from planner.planned import Answer, Plan
from planner.readings import Reading, ReadingKind


def find(session: Session, plan_id: str, reading: Reading) -> ReadingRow | None:
    """Return the row of a reading that was sent before, or None.

    Raises
    ------
    ReadingClashError
        If its id is taken by a reading that says something else.
    """
    row = session.get(ReadingRow, (plan_id, reading.id))
    if row is not None and reading_from_document(row.document) != reading:
        raise ReadingClashError(
            f"Reading {reading.id!r} of this plan says something else. A reading is never"
            " overwritten: send a new one with its own id that supersedes it."
        )
    return row


def listed(session: Session, plan_id: str, page: Page | None = None) -> list[ReadingRow]:
    """Return the readings of a plan in the order of arrival; all of them without a page."""
    query = select(ReadingRow).where(ReadingRow.plan_id == plan_id).order_by("number")
    if page is not None:
        query = query.limit(page.rows)
        if page.after is not None:
            query = query.where(col(ReadingRow.number) > page.after[0])
    return list(session.exec(query))


def _last_number(session: Session, plan_id: str) -> int:
    query = select(func.max(ReadingRow.number)).where(ReadingRow.plan_id == plan_id)
    return session.exec(query).one() or 0


def has_dough_end(session: Session, plan_id: str, mix_id: str) -> bool:
    """Return whether the dough of a mix was read when it came off."""
    query = select(ReadingRow).where(ReadingRow.plan_id == plan_id, ReadingRow.mix_id == mix_id)
    kinds = [reading_from_document(row.document).kind for row in session.exec(query)]
    return ReadingKind.DOUGH_END_C in kinds


def plan_with_readings(session: Session, plan_id: str, plan: Plan) -> Plan:
    """Return a plan with the readings taken so far; what was superseded is left out."""
    # Without the answers, each as long as a mix: this is read for every reading that comes.
    query = (
        select(ReadingRow.document, ReadingRow.offset_k)
        .where(ReadingRow.plan_id == plan_id)
        .order_by(col(ReadingRow.number))
    )
    readings = [
        set_right(reading_from_document(dict(document)), offset_k)
        for document, offset_k in session.exec(query)
    ]
    superseded = {reading.supersedes for reading in readings}
    kept = tuple(reading for reading in readings if reading.id not in superseded)
    return replace(plan, readings=(*plan.readings, *kept))


def set_right(reading: Reading, offset_k: float) -> Reading:
    """Return a reading with its thermometer's offset added [K].

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from planner.readings import ReadingKind
    >>> at = datetime(2026, 7, 15, 21, tzinfo=UTC)
    >>> set_right(Reading("r1", ReadingKind.FLOUR_C, "white", at, 24.5), -0.5).value_c
    24.0
    """
    if reading.value_c is None or not offset_k:
        return reading
    return replace(reading, value_c=reading.value_c + offset_k)


def check_refers(plan: Plan, reading: Reading) -> None:
    """Refuse a reading of a mix or preparation that is not in the plan.

    Raises
    ------
    InputError
        If it names something the plan does not have.
    """
    named = [
        ("mix_id", reading.mix_id, [mix.id for mix in plan.mixes]),
        ("part_id", reading.part_id, [one.part_id for one in plan.preparations]),
        ("supersedes", reading.supersedes, [one.id for one in plan.readings]),
    ]
    faults = [
        Fault(field, value, "is not in this plan", f"use one of: {', '.join(known) or 'none'}")
        for field, value, known in named
        if value is not None and value not in known
    ]
    if faults:
        raise InputError(faults)


def add(
    session: Session,
    plan: PlanRow,
    reading: Reading,
    answer: Answer,
    now: datetime,
    *,
    offset_k: float,
    is_answered: bool,
) -> ReadingRow:
    """Store a reading as sent with its answer, and tell of it; the plan's row must be locked."""
    row = ReadingRow(
        plan_id=plan.id,
        id=reading.id,
        number=_last_number(session, plan.id) + 1,
        mix_id=reading.mix_id,
        document=reading_to_document(reading),
        answer=answer_to_document(answer),
        received_at=now,
        offset_k=offset_k,
        is_answered=is_answered,
    )
    session.add(row)
    session.flush()
    told = {
        "mix_id": reading.mix_id,
        "changed": answer.changed,
        "offset_k": offset_k,
        "reading": row.document,
    }
    events.append(session, plan.bakery_id, EventKind.READING_TAKEN, plan.id, told, now)
    return row

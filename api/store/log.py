"""The temperature log: the readings of a bakery over its production days."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from sqlalchemy import and_, or_
from sqlmodel import Session, col, select

from api.schemas.log import LogLineRead
from api.schemas.readings import ReadingRead
from api.store import bakeries
from api.store.codec import reading_from_document
from api.store.documents import Days
from api.store.paging import Page
from api.store.tables import PlanRow, ReadingRow


def listed(
    session: Session, bakery_id: str, days: Days, page: Page
) -> tuple[list[LogLineRead], list[int]]:
    """Return the readings of some production days in the order of arrival, with their numbers.

    Those that were superseded stand there too, with what replaced them.

    Parameters
    ----------
    page
        Its key is production date, plan and number.
    """
    zone = ZoneInfo(bakeries.get(session, bakery_id).zone)
    day, plan, number = col(PlanRow.production_date), col(PlanRow.id), col(ReadingRow.number)
    query = (
        select(ReadingRow, day)
        .join(PlanRow, col(ReadingRow.plan_id) == plan)
        .where(PlanRow.bakery_id == bakery_id)
        .order_by(day, plan, number)
        .limit(page.rows)
    )
    if days.since is not None:
        query = query.where(day >= days.since)
    if days.until is not None:
        query = query.where(day <= days.until)
    if page.after is not None:
        on, of, last = page.after
        later_plan = and_(day == on, plan > of)
        later_reading = and_(day == on, plan == of, number > last)
        query = query.where(or_(day > on, later_plan, later_reading))
    found = list(session.exec(query))
    instead = _instead(session, {row.plan_id for row, _ in found})
    lines = []
    for row, production_date in found:
        reading = reading_from_document(row.document)
        local = reading.at_utc.astimezone(zone)
        value_c = reading.value_c
        lines.append(
            LogLineRead(
                plan_id=row.plan_id,
                production_date=production_date,
                local_date=local.date(),
                local_time=local.isoformat(timespec="minutes")[11:],
                reading=ReadingRead.of(reading, row.received_at, row.offset_k),
                true_c=None if value_c is None else round(value_c + row.offset_k, 3),
                superseded_by=instead.get((row.plan_id, row.id)),
            )
        )
    return lines, [row.number for row, _ in found]


def _instead(session: Session, plan_ids: set[str]) -> dict[tuple[str, str], str]:
    """Return what replaced the readings of some plans, by plan and reading."""
    query = select(ReadingRow.plan_id, ReadingRow.id, ReadingRow.document).where(
        col(ReadingRow.plan_id).in_(plan_ids)
    )
    replaced = (
        (plan, id, document.get("supersedes")) for plan, id, document in session.exec(query)
    )
    return {(plan, str(before)): id for plan, id, before in replaced if before is not None}

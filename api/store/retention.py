"""What is kept how long, and what is forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import delete, func, select
from sqlmodel import Session, col

from api.schemas.occurrences import OccurrenceState
from api.store.sent_once import KEPT
from api.store.tables import (
    ChangeRow,
    EventRow,
    OccurrenceRow,
    PlanRow,
    SentOnceRow,
)


@dataclass(frozen=True, slots=True)
class Keeping:
    """For how many days things are kept.

    Attributes
    ----------
    plans_days
        Plans with their readings, and so the temperature log, after their production day.
    events_days
        Events, timers and the trail of changes.
    """

    plans_days: int
    events_days: int


def forget_old(session: Session, keeping: Keeping, now: datetime) -> dict[str, int]:
    """Forget what is older than is to be kept; return how much of each. The one door for jobs.

    A plan counts from its production day, or from when it was made if that is later: a night of
    long ago may be planned today. What is in force is kept as long as other plans. Of each
    bakery's events the last stays, so that the next one gets the next number.
    """
    plans_before = now - timedelta(days=keeping.plans_days)
    events_before = now - timedelta(days=keeping.events_days)
    newest = (
        select(col(EventRow.bakery_id), func.max(EventRow.number).label("number"))
        .group_by(col(EventRow.bakery_id))
        .subquery()
    )
    is_newest = (
        select(newest.c.number)
        .where(
            newest.c.bakery_id == col(EventRow.bakery_id),
            newest.c.number == col(EventRow.number),
        )
        .exists()
    )
    wanted: dict[str, Any] = {
        "plans": delete(PlanRow).where(
            col(PlanRow.production_date) < plans_before.date(),
            col(PlanRow.created_at) < plans_before,
        ),
        "events": delete(EventRow).where(col(EventRow.at) < events_before, ~is_newest),
        "timers": delete(OccurrenceRow).where(
            col(OccurrenceRow.due_at) < events_before,
            col(OccurrenceRow.state) != OccurrenceState.WAITING,
        ),
        "changes": delete(ChangeRow).where(col(ChangeRow.at) < events_before),
        "answers": delete(SentOnceRow).where(col(SentOnceRow.at) < now - KEPT),
    }
    return {name: session.execute(query).rowcount for name, query in wanted.items()}  # type: ignore[attr-defined]

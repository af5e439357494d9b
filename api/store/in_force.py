"""Which plan of a day counts: one at most, and its timers with it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from sqlmodel import Session, select

from api.errors import PlanNotReadyError
from api.schemas.events import EventKind
from api.schemas.plans import PlanState
from api.schemas.routine import InForce
from api.store import events, occurrences, plans, routines
from api.store.locks import lock_bakery
from api.store.occurrences import Told
from api.store.tables import InForceRow, PlanRow
from api.store.timers import timers_of


def approve(session: Session, plan_id: str, now: datetime) -> PlanRow:
    """Let a plan be the one of its day that counts; again changes nothing.

    Raises
    ------
    NotFoundError, PlanNotReadyError
        If there is no such plan, or it is not made.
    """
    row = plans.get(session, plan_id)
    if row.state != PlanState.READY:
        raise PlanNotReadyError(f"Plan {plan_id!r} is not ready, and cannot be approved.")
    lock_bakery(session, row.bakery_id)
    current = session.get(InForceRow, (row.bakery_id, row.production_date))
    if current is not None and current.plan_id == plan_id:
        return row
    before = None if current is None else current.plan_id
    told: frozenset[Told] = frozenset()
    if current is None:
        current = InForceRow(
            bakery_id=row.bakery_id,
            production_date=row.production_date,
            plan_id=plan_id,
            since=now,
        )
        session.add(current)
    else:
        told = occurrences.told(session, current.plan_id)
        occurrences.withdraw(session, current.plan_id)
        current.plan_id, current.since = plan_id, now
    session.flush()
    after_min = routines.of(session, row.bakery_id).reading_wanted_after_min
    occurrences.of_plan(session, row, timers_of(plans.core_plan(row), after_min), now, told)
    _tell(session, row, EventKind.PLAN_IN_FORCE, now, before)
    return row


def approve_if_newest_counts(session: Session, plan_id: str, now: datetime) -> None:
    """Let a plan that is just made count, if its bakery wants the newest to."""
    row = plans.head(session, plan_id)
    if routines.of(session, row.bakery_id).in_force == InForce.NEWEST:
        approve(session, plan_id, now)


def withdraw(session: Session, plan_id: str, now: datetime) -> PlanRow:
    """Let a plan no longer count; its timers wait no more. One that does not count stays so."""
    row = plans.head(session, plan_id)
    lock_bakery(session, row.bakery_id)
    current = session.get(InForceRow, (row.bakery_id, row.production_date))
    if current is None or current.plan_id != plan_id:
        return row
    session.delete(current)
    occurrences.withdraw(session, plan_id)
    session.flush()
    _tell(session, row, EventKind.PLAN_WITHDRAWN, now, None)
    return row


def of_plans(session: Session, plan_ids: Iterable[str]) -> set[str]:
    """Return those of some plans that count."""
    query = select(InForceRow.plan_id).where(
        InForceRow.plan_id.in_(list(plan_ids))  # type: ignore[attr-defined]
    )
    return set(session.exec(query))


def of_day(session: Session, bakery_id: str, production_date: date) -> str | None:
    """Return the id of the plan of a day that counts, or None."""
    row = session.get(InForceRow, (bakery_id, production_date))
    return None if row is None else row.plan_id


def _tell(
    session: Session, row: PlanRow, kind: EventKind, now: datetime, before: str | None
) -> None:
    data = {
        "production_date": row.production_date.isoformat(),
        "version": row.version,
        "instead_of": before,
    }
    events.append(session, row.bakery_id, kind, row.id, data, now)

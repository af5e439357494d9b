"""What comes due: rows that wait, and are claimed by whoever tells of them, once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import and_, or_, update
from sqlmodel import Session, col, select

from api.schemas.occurrences import OccurrenceKind, OccurrenceRead, OccurrenceState
from api.schemas.times import EVENING_FROM, local_time
from api.store.locks import lock_bakery
from api.store.paging import Page
from api.store.tables import OccurrenceRow, PlanRow
from api.store.timers import Timer

Told = tuple[str, str, int]

GRACE = timedelta(minutes=5)
"""A plan that comes in force so long after one of its moments still tells of it."""
NIGHTS_BACK, NIGHTS_AHEAD = timedelta(hours=12), timedelta(hours=36)
"""A nightly plan whose hour passed while the service was down is made if it is no older."""


def of_plan(
    session: Session,
    plan: PlanRow,
    timers: Sequence[Timer],
    now: datetime,
    told: Collection[Told] = (),
) -> None:
    """Let the timers of a plan wait; those whose hour is over are kept as passed.

    Parameters
    ----------
    told
        What was told of the plan that counted before: what is due by now is not told again.
    """
    for timer in timers:
        id = f"{plan.id}/{timer.kind}/{timer.subject}/{timer.number}"
        again = timer.due_utc <= now and (timer.kind, timer.subject, timer.number) in told
        over = again or timer.due_utc + GRACE < now
        state = OccurrenceState.PASSED if over else OccurrenceState.WAITING
        row = session.get(OccurrenceRow, id)
        if row is None:
            session.add(
                OccurrenceRow(
                    id=id,
                    bakery_id=plan.bakery_id,
                    plan_id=plan.id,
                    production_date=plan.production_date,
                    kind=timer.kind,
                    subject=timer.subject,
                    number=timer.number,
                    state=state,
                    due_at=timer.due_utc,
                    fired_at=None,
                )
            )
        elif row.state == OccurrenceState.WITHDRAWN:
            row.state = state
    session.flush()


def told(session: Session, plan_id: str) -> frozenset[Told]:
    """Return kind, subject and number of the timers of a plan that were told."""
    query = select(OccurrenceRow).where(
        OccurrenceRow.plan_id == plan_id, OccurrenceRow.state == OccurrenceState.FIRED
    )
    return frozenset((one.kind, one.subject, one.number) for one in session.exec(query))


def withdraw(session: Session, plan_id: str) -> None:
    """Let no timer of a plan wait any longer."""
    session.execute(
        update(OccurrenceRow)
        .where(
            col(OccurrenceRow.plan_id) == plan_id,
            col(OccurrenceRow.state) == OccurrenceState.WAITING,
        )
        .values(state=OccurrenceState.WITHDRAWN)
    )


def keep_nights_due(
    session: Session, bakery_id: str, zone: str, at: str | None, now: datetime
) -> None:
    """Let each coming nightly plan of a bakery be due once, at its local time.

    Parameters
    ----------
    at
        Local time on the clock; None to plan no night by itself.
    """
    due = {} if at is None else dict(nights(ZoneInfo(zone), at, now))
    waiting = select(OccurrenceRow).where(
        OccurrenceRow.bakery_id == bakery_id,
        OccurrenceRow.kind == OccurrenceKind.NIGHTLY_PLAN,
        OccurrenceRow.state == OccurrenceState.WAITING,
    )
    for row in session.exec(waiting):
        if row.production_date in due:
            row.due_at = due[row.production_date]
        elif at is None or row.due_at > now:
            row.state = OccurrenceState.WITHDRAWN
    for production_date, due_at in due.items():
        id = f"{bakery_id}/{OccurrenceKind.NIGHTLY_PLAN}/{production_date}"
        known = session.get(OccurrenceRow, id)
        if known is not None and known.state == OccurrenceState.WITHDRAWN:
            known.state, known.due_at = OccurrenceState.WAITING, due_at
        if known is None:
            session.add(
                OccurrenceRow(
                    id=id,
                    bakery_id=bakery_id,
                    plan_id=None,
                    production_date=production_date,
                    kind=OccurrenceKind.NIGHTLY_PLAN,
                    subject=bakery_id,
                    number=1,
                    state=OccurrenceState.WAITING,
                    due_at=due_at,
                    fired_at=None,
                )
            )
    session.flush()


def nights(zone: ZoneInfo, at: str, now: datetime) -> list[tuple[date, datetime]]:
    """Return the production dates whose nightly plan is due about now, and when [UTC].

    A time that the clocks skip is the moment as many minutes after they changed; of a time they
    show twice, the first counts.

    Examples
    --------
    >>> now = datetime(2026, 10, 24, 12, tzinfo=UTC)
    >>> nights(ZoneInfo("Europe/Vienna"), "02:30", now)[0][1].isoformat()
    '2026-10-24T00:30:00+00:00'
    """
    written = local_time(at)
    today = now.astimezone(zone).date()
    found = []
    for days in range(-1, 4):
        production_date = today + timedelta(days=days)
        clock = datetime.min.time().replace(hour=written.hour % 24, minute=written.minute)
        evening = clock >= EVENING_FROM
        local = datetime.combine(production_date - timedelta(days=evening), clock, zone)
        due = local.astimezone(UTC)
        if now - NIGHTS_BACK <= due <= now + NIGHTS_AHEAD:
            found.append((production_date, due))
    return found


def due(session: Session, before: datetime, limit: int = 500) -> list[tuple[str, datetime]]:
    """Return what waits and is due before a moment, the earliest first."""
    query = (
        select(OccurrenceRow.id, OccurrenceRow.due_at)
        .where(OccurrenceRow.state == OccurrenceState.WAITING, OccurrenceRow.due_at <= before)
        .order_by(col(OccurrenceRow.due_at), col(OccurrenceRow.id))
        .limit(limit)
    )
    return [(id, due_at) for id, due_at in session.exec(query)]


def claim(session: Session, id: str, now: datetime) -> OccurrenceRow | None:
    """Mark an occurrence as told; None when it no longer waits, so that it is told once.

    The bakery's row is locked first, as for its events, which follow in the same transaction.
    """
    row = session.get(OccurrenceRow, id)
    if row is None:
        return None
    lock_bakery(session, row.bakery_id)
    claimed = session.execute(
        update(OccurrenceRow)
        .where(col(OccurrenceRow.id) == id, col(OccurrenceRow.state) == OccurrenceState.WAITING)
        .values(state=OccurrenceState.FIRED, fired_at=now)
        .returning(col(OccurrenceRow.id))
    ).scalar_one_or_none()
    if claimed is None:
        return None
    session.refresh(row)
    return row


def settle(
    session: Session, plan_id: str, kind: OccurrenceKind, due_by: datetime, now: datetime
) -> None:
    """Mark all of a kind that were due as brought about: one look was enough for them."""
    session.execute(
        update(OccurrenceRow)
        .where(
            col(OccurrenceRow.plan_id) == plan_id,
            col(OccurrenceRow.kind) == kind,
            col(OccurrenceRow.state) == OccurrenceState.WAITING,
            col(OccurrenceRow.due_at) <= due_by,
        )
        .values(state=OccurrenceState.FIRED, fired_at=now)
    )


def listed(
    session: Session,
    bakery_id: str,
    production_date: date | None,
    state: OccurrenceState | None,
    page: Page,
) -> list[OccurrenceRead]:
    """Return what comes due in a bakery, the earliest first.

    Parameters
    ----------
    page
        Its key is the moment and the id.
    """
    query = (
        select(OccurrenceRow)
        .where(OccurrenceRow.bakery_id == bakery_id)
        .order_by(col(OccurrenceRow.due_at), col(OccurrenceRow.id))
        .limit(page.rows)
    )
    if page.after is not None:
        due_at, id = page.after
        same = and_(col(OccurrenceRow.due_at) == due_at, col(OccurrenceRow.id) > id)
        query = query.where(or_(col(OccurrenceRow.due_at) > due_at, same))
    if production_date is not None:
        query = query.where(OccurrenceRow.production_date == production_date)
    if state is not None:
        query = query.where(OccurrenceRow.state == state)
    return [sent(row) for row in session.exec(query)]


def sent(row: OccurrenceRow) -> OccurrenceRead:
    """Return an occurrence as it is sent."""
    return OccurrenceRead(
        id=row.id,
        plan_id=row.plan_id,
        kind=OccurrenceKind(row.kind),
        subject=row.subject,
        number=row.number,
        state=OccurrenceState(row.state),
        due_at=row.due_at,
        fired_at=row.fired_at,
        late_s=None if row.fired_at is None else (row.fired_at - row.due_at).total_seconds(),
    )

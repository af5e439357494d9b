"""Plans: asked for, under way, finished."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, and_, func, or_, update
from sqlalchemy.orm import defer
from sqlmodel import Session, col, select

from api.errors import NotFoundError, PlanNotReadyError
from api.schemas.events import EventKind
from api.schemas.plans import PlanState
from api.store import events
from api.store.codec import plan_from_document, plan_to_document
from api.store.locks import FOR_CHANGE, lock_bakery
from api.store.paging import KeyPart, Page
from api.store.tables import Document, PlanRow
from planner.pins import Progress
from planner.planned import Plan

WAITING = "waiting for its turn"
MOST_ATTEMPTS = 3
FIRST_HUNDRED = Page(100)
# SQLModel types a column as its value, not as the attribute that it is on the class.
WITHOUT_DOCUMENTS = (
    defer(PlanRow.made_from),  # type: ignore[arg-type]
    defer(PlanRow.result),  # type: ignore[arg-type]
)


def add(
    session: Session,
    bakery_id: str,
    production_date: date,
    made_from: Document,
    now: datetime,
) -> PlanRow:
    """Store that a plan is wanted, as the next version of its day.

    Parameters
    ----------
    made_from
        The whole day as it stands now.
    """
    # Two requests at once would count the same version: the bakery's row is their queue.
    lock_bakery(session, bakery_id)
    version = next_version(session, bakery_id, production_date)
    row = PlanRow(
        id=f"{bakery_id}.{production_date}.{version}",
        bakery_id=bakery_id,
        production_date=production_date,
        version=version,
        state=PlanState.PLANNING,
        stop_requested=False,
        stage=WAITING,
        best=None,
        bound=None,
        search_s=0.0,
        made_from=made_from,
        result=None,
        problem=None,
        created_at=now,
        beat_at=now,
        finished_at=None,
        attempts=1,
    )
    session.add(row)
    session.flush()
    _tell(session, row, EventKind.PLAN_WANTED, now)
    return row


def _tell(session: Session, row: PlanRow, kind: EventKind, now: datetime, **more: Any) -> None:  # noqa: ANN401  any JSON
    data = {"production_date": row.production_date.isoformat(), "version": row.version, **more}
    events.append(session, row.bakery_id, kind, row.id, data, now)


def next_version(session: Session, bakery_id: str, production_date: date) -> int:
    """Return the version the next plan of a day gets."""
    query = select(func.max(PlanRow.version)).where(
        PlanRow.bakery_id == bakery_id, PlanRow.production_date == production_date
    )
    return (session.exec(query).one() or 0) + 1


def get(session: Session, plan_id: str, *, lock: bool = False) -> PlanRow:
    """Return a plan's row; locked, others that lock it wait.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = session.get(PlanRow, plan_id, with_for_update=FOR_CHANGE if lock else None)
    if row is None:
        raise NotFoundError("plan", plan_id)
    return row


def head(session: Session, plan_id: str) -> PlanRow:
    """Return a plan's row without its documents: what is asked for again and again.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = session.get(PlanRow, plan_id, options=WITHOUT_DOCUMENTS)
    if row is None:
        raise NotFoundError("plan", plan_id)
    return row


def before(session: Session, row: PlanRow) -> PlanRow | None:
    """Return the last finished plan of the same day before a plan, or None."""
    query = (
        select(PlanRow)
        .where(
            PlanRow.bakery_id == row.bakery_id,
            PlanRow.production_date == row.production_date,
            PlanRow.version < row.version,
            PlanRow.state == PlanState.READY,
        )
        .order_by(col(PlanRow.version).desc())
        .limit(1)
    )
    return session.exec(query).first()


def of_an_earlier_day(session: Session, row: PlanRow) -> Plan | None:
    """Return the last finished plan of the days before a plan's day; None where there is none.

    Of a week at most: what is older nobody has in mind.
    """
    query = (
        select(PlanRow)
        .where(
            PlanRow.bakery_id == row.bakery_id,
            PlanRow.production_date < row.production_date,
            PlanRow.production_date >= row.production_date - timedelta(days=7),
            PlanRow.state == PlanState.READY,
        )
        .order_by(col(PlanRow.production_date).desc(), col(PlanRow.version).desc())
        .limit(1)
    )
    found = session.exec(query).first()
    return None if found is None else core_plan(found)


def listed(
    session: Session,
    bakery_id: str | None = None,
    production_date: date | None = None,
    page: Page = FIRST_HUNDRED,
) -> list[PlanRow]:
    """Return plans without their documents, newest day first.

    Parameters
    ----------
    page
        Its key is production date, bakery and version.
    """
    query = (
        select(PlanRow)
        .order_by(
            col(PlanRow.production_date).desc(), PlanRow.bakery_id, col(PlanRow.version).desc()
        )
        .options(*WITHOUT_DOCUMENTS)
        .limit(page.rows)
    )
    if page.after is not None:
        query = query.where(_behind(page.after))
    if bakery_id is not None:
        query = query.where(PlanRow.bakery_id == bakery_id)
    if production_date is not None:
        query = query.where(PlanRow.production_date == production_date)
    return list(session.exec(query))


def _behind(key: tuple[KeyPart, ...]) -> ColumnElement[bool]:
    on, bakery_id, version = key
    same_day = col(PlanRow.production_date) == on
    same_list = and_(same_day, col(PlanRow.bakery_id) == bakery_id)
    return or_(
        col(PlanRow.production_date) < on,
        and_(same_day, col(PlanRow.bakery_id) > bakery_id),
        and_(same_list, col(PlanRow.version) < version),
    )


def any_of_bakery(session: Session, bakery_id: str) -> bool:
    """Return whether a bakery has plans."""
    query = select(PlanRow.id).where(PlanRow.bakery_id == bakery_id).limit(1)
    return session.exec(query).first() is not None


def beat(session: Session, plan_id: str, progress: Progress, now: datetime) -> bool:
    """Store where planning stands; return whether it may go on."""
    query = (
        update(PlanRow)
        .where(col(PlanRow.id) == plan_id)
        .values(
            stage=progress.stage,
            best=progress.best,
            bound=progress.bound,
            search_s=progress.search_s,
            beat_at=now,
        )
        .returning(col(PlanRow.stop_requested))
    )
    return not session.execute(query).scalar_one()


def keep_alive(session: Session, plan_ids: Iterable[str], now: datetime) -> None:
    """Store a sign of life of plans that wait for their turn here."""
    session.execute(
        update(PlanRow)
        .where(col(PlanRow.id).in_(list(plan_ids)), col(PlanRow.state) == PlanState.PLANNING)
        .values(beat_at=now)
    )


def take_over(session: Session, silent_since: datetime, now: datetime) -> list[str]:
    """Return the plans whose maker has fallen silent, each to be made by the caller now.

    A plan that was begun in vain `MOST_ATTEMPTS` times is left alone: it may be what kills us.
    """
    taken = (
        update(PlanRow)
        .where(
            col(PlanRow.state) == PlanState.PLANNING,
            col(PlanRow.beat_at) < silent_since,
            col(PlanRow.attempts) < MOST_ATTEMPTS,
        )
        .values(beat_at=now, attempts=PlanRow.attempts + 1, stage=WAITING)
        .returning(col(PlanRow.id))
    )
    return list(session.execute(taken).scalars())


def request_stop(session: Session, plan_id: str) -> PlanRow:
    """Ask the job that makes a plan to end with the best found so far."""
    row = head(session, plan_id)
    if row.state == PlanState.PLANNING:
        row.stop_requested = True
        session.flush()
    return row


def finish(
    session: Session, plan_id: str, plan: Plan, now: datetime, told: Document | None = None
) -> None:
    """Store a finished plan.

    Parameters
    ----------
    told
        What else its event says.
    """
    row = get(session, plan_id)
    row.result, row.state = plan_to_document(plan), PlanState.READY
    row.problem = None
    row.stage, row.beat_at, row.finished_at = "done", now, now
    session.flush()
    _tell(session, row, EventKind.PLAN_READY, now, status=str(plan.status), **(told or {}))


def fail(session: Session, plan_id: str, problem: dict[str, Any], now: datetime) -> None:
    """Store why a plan could not be made."""
    row = get(session, plan_id)
    row.problem, row.state = problem, PlanState.FAILED
    row.beat_at, row.finished_at = now, now
    session.flush()
    _tell(session, row, EventKind.PLAN_FAILED, now, problem=problem)


def is_interrupted(row: PlanRow, now: datetime, stale_s: float) -> bool:
    """Return whether whoever made a plan has fallen silent, as after a power cut."""
    return row.state == PlanState.PLANNING and now - row.beat_at > timedelta(seconds=stale_s)


def core_plan(row: PlanRow) -> Plan:
    """Return the finished plan of a row.

    Raises
    ------
    PlanNotReadyError
        If it is not finished.
    """
    if row.result is None:
        raise PlanNotReadyError(
            f"Plan {row.id!r} is {'being made' if row.state == PlanState.PLANNING else 'failed'}:"
            f" {row.stage}. Ask for the plan itself to see where it stands."
        )
    return plan_from_document(row.result)

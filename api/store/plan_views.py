"""Rows of plans and readings as they are sent."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlmodel import Session

from api.errors import PlanningFailedError, problem_of
from api.pages.wording import Units
from api.schemas.plans import NightRead, PlanHead, PlanRead, PlanState, ProgressRead
from api.schemas.problems import Problem
from api.schemas.readings import AnswerRead, ReadingRead
from api.store import days, in_force, plans
from api.store.codec import answer_from_document, plan_from_document, reading_from_document
from api.store.tables import PlanRow, ReadingRow
from planner.planned import Plan

INTERRUPTED = "Planning was interrupted, as by a restart. Ask for the plan again."


def heads(
    session: Session, rows: Iterable[PlanRow], now: datetime, stale_s: float
) -> list[PlanHead]:
    """Return plans as they stand in a list."""
    listed = list(rows)
    counting = in_force.of_plans(session, [row.id for row in listed])
    return [
        PlanHead.model_validate(_head(row, now, stale_s, in_force=row.id in counting))
        for row in listed
    ]


def progress(row: PlanRow, now: datetime, stale_s: float) -> ProgressRead:
    """Return where planning stands."""
    return ProgressRead(
        state=_state(row, now, stale_s),
        stage=row.stage,
        best=row.best,
        bound=row.bound,
        search_s=row.search_s,
        stop_requested=row.stop_requested,
        beat_at=row.beat_at,
    )


def whole(
    session: Session,
    row: PlanRow,
    now: datetime,
    stale_s: float,
    in_units: Units | None = None,
) -> PlanRead:
    """Return a plan with its night, once it is ready.

    Parameters
    ----------
    now
        The moment [UTC].
    stale_s
        Seconds without a sign of life after which it counts as interrupted.
    in_units
        Units of its sentences; the bakery's when None.
    """
    units = in_units or days.units_of(row.made_from)
    night = None if row.result is None else NightRead.of(plan_from_document(row.result), units)
    return PlanRead(
        **_head(row, now, stale_s, in_force=row.id in in_force.of_plans(session, [row.id])),
        zone=days.zone_of(row.made_from),
        units=units,
        progress=progress(row, now, stale_s),
        problem=_problem(row, now, stale_s),
        night=night,
    )


def reading(row: ReadingRow) -> ReadingRead:
    """Return a stored reading as it is sent."""
    return ReadingRead.of(reading_from_document(row.document), row.received_at, row.offset_k)


def answer(row: ReadingRow, plan: Plan, units: Units) -> AnswerRead:
    """Return the answer that a reading got as it is sent."""
    answered = answer_from_document(row.answer)
    return AnswerRead.of(plan, answered, reading(row), units, is_answered=row.is_answered)


def _head(row: PlanRow, now: datetime, stale_s: float, *, in_force: bool) -> dict[str, Any]:
    return {
        "id": row.id,
        "bakery_id": row.bakery_id,
        "production_date": row.production_date,
        "version": row.version,
        "state": _state(row, now, stale_s),
        "in_force": in_force,
        "created_at": row.created_at,
    }


def _state(row: PlanRow, now: datetime, stale_s: float) -> PlanState:
    return PlanState.FAILED if plans.is_interrupted(row, now, stale_s) else PlanState(row.state)


def _problem(row: PlanRow, now: datetime, stale_s: float) -> Problem | None:
    if plans.is_interrupted(row, now, stale_s):
        return problem_of(PlanningFailedError(INTERRUPTED), f"/api/v1/plans/{row.id}")
    return None if row.problem is None else Problem.model_validate(row.problem)

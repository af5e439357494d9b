"""Readings of a plan: sent in, answered at once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Response

from api.dependencies import CoreDep, NowDep, ReadDep, WriteDep
from api.errors import ReadingClashError, problem_of, responses
from api.routes.once import ONCE_IN_TURN
from api.routes.paging import Paging, paged_by
from api.routes.plans import PlanId
from api.routes.strict import StrictRoute
from api.schemas.readings import (
    AnswerRead,
    Outcome,
    OutcomeRead,
    ReadingCreate,
    ReadingRead,
    ReadingsBatch,
)
from api.store import days, plan_views, plans, readings
from api.store.intake import Intake, Taken
from planner.errors import InputError

router = APIRouter(tags=["readings"], prefix="/plans/{plan_id}/readings", route_class=StrictRoute)

PagingDep = Annotated[Paging, Depends(paged_by(int))]
SENT_BEFORE = {"description": "The same reading was sent before; this is the answer it got."}


@router.post(
    "",
    status_code=201,
    dependencies=ONCE_IN_TURN,
    responses={200: {"model": AnswerRead, **SENT_BEFORE}, **responses(404, 409, 413, 422, 503)},
)
def create_reading(
    plan_id: PlanId,
    sent: ReadingCreate,
    session: WriteDep,
    core: CoreDep,
    now: NowDep,
    response: Response,
) -> AnswerRead:
    """Store a reading and answer with the mix's new ticket and times.

    A repeated reading is stored once and gets the same answer. What a mix teaches that has come
    off counts from the next plan on.
    """
    intake = Intake(session, plan_id, core.answer, core.learn, now)
    taken = intake.take(sent.to_core())
    response.status_code = 201 if taken.is_new else 200
    return _answer(intake, taken)


@router.post("/batch", dependencies=ONCE_IN_TURN, responses=responses(404, 409, 413, 422, 503))
def create_readings(
    plan_id: PlanId, sent: ReadingsBatch, session: WriteDep, core: CoreDep, now: NowDep
) -> list[OutcomeRead]:
    """Store readings that waited, and say of each what became of it.

    One that cannot be right does not keep the others out. The batch may be sent again: what was
    stored before is known. A batch with a malformed reading is refused whole, naming it.
    """
    intake = Intake(session, plan_id, core.answer, core.learn, now)
    return [outcome(intake, one) for one in sent.readings]


@router.get("", responses=responses(404, 422, 503))
def list_readings(plan_id: PlanId, session: ReadDep, paging: PagingDep) -> list[ReadingRead]:
    """List the readings of a plan in the order of arrival, those superseded included."""
    plans.head(session, plan_id)
    rows = paging.cut(readings.listed(session, plan_id, paging.page), lambda row: (row.number,))
    return [plan_views.reading(row) for row in rows]


def outcome(intake: Intake, sent: ReadingCreate) -> OutcomeRead:
    """Take in one reading of several and return what became of it."""
    try:
        taken = intake.take(sent.to_core())
    except (InputError, ReadingClashError) as error:
        problem = problem_of(error, f"/api/v1/plans/{intake.row.id}/readings")
        return OutcomeRead(id=sent.id, outcome=Outcome.REFUSED, answer=None, problem=problem)
    outcome = Outcome.STORED if taken.is_new else Outcome.KNOWN
    return OutcomeRead(id=sent.id, outcome=outcome, answer=_answer(intake, taken), problem=None)


def _answer(intake: Intake, taken: Taken) -> AnswerRead:
    return plan_views.answer(taken.row, taken.plan, days.units_of(intake.row.made_from))

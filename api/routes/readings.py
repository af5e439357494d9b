"""Readings of a plan: sent in, answered at once."""

from __future__ import annotations

from fastapi import APIRouter, Response

from api.dependencies import CoreDep, NowDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.plans import PlanId
from api.routes.strict import StrictRoute
from api.schemas.readings import AnswerRead, ReadingCreate, ReadingRead
from api.store import corrections, days, plan_views, plans, readings

router = APIRouter(tags=["readings"], prefix="/plans/{plan_id}/readings", route_class=StrictRoute)

SENT_BEFORE = {"description": "The same reading was sent before; this is the answer it got."}


@router.post(
    "",
    status_code=201,
    responses={200: {"model": AnswerRead, **SENT_BEFORE}, **responses(404, 409, 422, 503)},
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
    row = plans.get(session, plan_id, lock=True)
    plan = readings.plan_with_readings(session, plan_id, plans.core_plan(row))
    reading = sent.to_core()
    stored = readings.find(session, plan_id, reading)
    if stored is None:
        readings.check_refers(plan, reading)
        answer = core.answer(plan, reading)
        stored = readings.add(session, row, reading, answer, now)
        corrections.learn(session, row.bakery_id, plan, reading, core.learn, now)
    else:
        response.status_code = 200
    return plan_views.answer(stored, plan, days.units_of(row.made_from))


@router.get("", responses=responses(404, 422, 503))
def list_readings(plan_id: PlanId, session: ReadDep) -> list[ReadingRead]:
    """List the readings of a plan in the order of arrival, those superseded included."""
    plans.get(session, plan_id)
    return [plan_views.reading(row) for row in readings.listed(session, plan_id)]

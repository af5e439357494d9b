"""A plan beside the last 14 days: what is otherwise tonight."""

from __future__ import annotations

from fastapi import APIRouter

from api.dependencies import ReadDep
from api.errors import responses
from api.routes.plans import PlanId
from api.routes.strict import StrictRoute
from api.schemas.past_days import PastDaysRead
from api.store import past_days, plans

router = APIRouter(tags=["plans"], prefix="/plans/{plan_id}/past-days", route_class=StrictRoute)


@router.get("", responses=responses(404, 409, 422, 503))
def read_past_days(plan_id: PlanId, session: ReadDep) -> PastDaysRead:
    """Read a plan beside the plans that counted in the 14 days before its own."""
    row = plans.get(session, plan_id)
    plan = plans.core_plan(row)
    return past_days.beside(session, row.bakery_id, row.production_date, plan)

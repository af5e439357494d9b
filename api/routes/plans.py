"""Plans: ask for one, see where it stands, stop the search."""

from __future__ import annotations

from datetime import date
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Path, Query, Response
from sqlmodel import Session

from api.dependencies import NowDep, PrincipalDep, ReadDep, ServicesDep, SettingsDep, WriteDep
from api.errors import NotFoundError, StoredProblemError, responses
from api.jobs.planning import wait_for
from api.pages.wording import Units
from api.routes.once import ONCE, ONCE_IN_TURN
from api.routes.paging import Paging, paged_by
from api.routes.strict import StrictRoute
from api.schemas.plans import PlanCreate, PlanHead, PlanRead, PlanState, ProgressRead
from api.schemas.this_age import InThisAge
from api.store import in_force, plan_views, plans

router = APIRouter(tags=["plans"], prefix="/plans", route_class=StrictRoute)

PlanId = Annotated[str, Path(description="Id of the plan.", examples=["weir.2026-07-16.1"])]
OfBakery = Annotated[str | None, Query(description="Only plans of this bakery.", examples=["weir"])]
OfDate = Annotated[
    date | None,
    InThisAge,
    Query(description="Only plans of this production day.", examples=["2026-07-16"]),
]
PagingDep = Annotated[Paging, Depends(paged_by(date, str, int))]
UNITS_HEADER = "Ovenward-Units"
InUnits = Annotated[
    Units | None,
    Query(
        description="Units of sentences and printed figures; those of the bakery when left out."
        " The answer names them.",
        examples=["us"],
    ),
]
LATER = {"description": "The plan is still being made; ask again at the address in `Location`."}


@router.post(
    "",
    dependencies=ONCE,
    status_code=201,
    responses={202: {"model": PlanRead, **LATER}, **responses(404, 409, 413, 422, 500, 503)},
)
def create_plan(
    wanted: PlanCreate, held: ServicesDep, sender: PrincipalDep, response: Response
) -> PlanRead:
    """Plan a day from its bakery, formulas, products, mix list, conditions and pins as stored now.

    Answers 201 with the plan when it is made in time, else 202: it is then being made, and its
    address is in `Location`.
    """
    if not sender.sees(wanted.bakery_id):
        raise NotFoundError("bakery", wanted.bakery_id)
    plan_id, job = held.jobs.order(wanted.bakery_id, wanted.production_date)
    wait_for(job, held.settings.plan_wait_s)
    response.headers["Location"] = f"/api/v1/plans/{quote(plan_id, safe='')}"
    with Session(held.engine) as session:
        row = plans.get(session, plan_id)
        if row.state == PlanState.FAILED and row.problem is not None:
            raise StoredProblemError(row.problem)
        if row.state == PlanState.PLANNING:
            response.status_code = 202
            response.headers["Retry-After"] = "1"
        return plan_views.whole(session, row, held.clock(), held.settings.stale_s)


@router.get("", responses=responses(422, 503))
def list_plans(
    session: ReadDep,
    settings: SettingsDep,
    now: NowDep,
    sender: PrincipalDep,
    bakery_id: OfBakery = None,
    production_date: OfDate = None,
    *,
    paging: PagingDep,
) -> list[PlanHead]:
    """List plans, newest day first."""
    if bakery_id is not None and not sender.sees(bakery_id):
        return []
    rows = plans.listed(session, bakery_id or sender.bakery_id, production_date, paging.page)
    kept = paging.cut(rows, lambda one: (one.production_date, one.bakery_id, one.version))
    return plan_views.heads(session, kept, now, settings.stale_s)


@router.get("/{plan_id}", responses=responses(404, 422, 503))
def read_plan(
    plan_id: PlanId,
    session: ReadDep,
    settings: SettingsDep,
    now: NowDep,
    response: Response,
    units: InUnits = None,
) -> PlanRead:
    """Read a plan; its night is there once it is ready."""
    read = plan_views.whole(session, plans.get(session, plan_id), now, settings.stale_s, units)
    response.headers[UNITS_HEADER] = read.units
    return read


@router.get("/{plan_id}/progress", responses=responses(404, 422, 503))
def read_progress(
    plan_id: PlanId, session: ReadDep, settings: SettingsDep, now: NowDep
) -> ProgressRead:
    """See where planning stands."""
    return plan_views.progress(plans.head(session, plan_id), now, settings.stale_s)


@router.post(
    "/{plan_id}/stop",
    dependencies=ONCE_IN_TURN,
    status_code=202,
    responses=responses(404, 409, 422, 503),
)
def stop_plan(
    plan_id: PlanId, session: WriteDep, settings: SettingsDep, now: NowDep
) -> ProgressRead:
    """End the search with the best plan so far; a finished plan stays as it is."""
    return plan_views.progress(plans.request_stop(session, plan_id), now, settings.stale_s)


@router.post(
    "/{plan_id}/approve", dependencies=ONCE_IN_TURN, responses=responses(404, 409, 422, 503)
)
def approve_plan(
    plan_id: PlanId, session: WriteDep, settings: SettingsDep, now: NowDep
) -> PlanHead:
    """Let this plan be the one of its day that counts, and its timers run; again changes nothing.

    Another plan of the day that counted before counts no more.
    """
    (head,) = plan_views.heads(
        session, [in_force.approve(session, plan_id, now)], now, settings.stale_s
    )
    return head


@router.post(
    "/{plan_id}/withdraw", dependencies=ONCE_IN_TURN, responses=responses(404, 409, 422, 503)
)
def withdraw_plan(
    plan_id: PlanId, session: WriteDep, settings: SettingsDep, now: NowDep
) -> PlanHead:
    """Let this plan no longer count: its timers stop. Again changes nothing."""
    (head,) = plan_views.heads(
        session, [in_force.withdraw(session, plan_id, now)], now, settings.stale_s
    )
    return head

"""Parts of a plan: its mixes as they are now, preparations, alerts, formulas, and its changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Path, Query, Response

from api.dependencies import PrincipalDep, ReadDep
from api.errors import NotFoundError, responses
from api.pages.alerts import alerts
from api.pages.changes import slip
from api.pages.mix_ticket import five_numbers, ticket_masses
from api.pages.names import Names
from api.pages.wording import Units
from api.routes.papers import MixId, house_reader, plan_of
from api.routes.plans import UNITS_HEADER, InUnits, PlanId
from api.routes.strict import StrictRoute
from api.schemas.formula_versions import FormulaUsedRead
from api.schemas.mixes import MixRead, PreparationRead
from api.schemas.papers import PapersQuery
from api.schemas.plan_parts import AlertRead, ChangesRead, MixNowRead, NumberRead
from api.schemas.reader import Reader
from api.store import formulas, plan_views, plans, readings
from api.store.codec import answer_from_document
from api.store.tables import PlanRow, ReadingRow
from planner.planned import Plan, PlannedMix
from planner.readings import ReadingKind

router = APIRouter(tags=["parts of plans"], prefix="/plans/{plan_id}", route_class=StrictRoute)

READS = responses(404, 409, 422, 503)
PreparationId = Annotated[
    str, Path(description="Id of the preparation.", max_length=200, examples=["levain-1"])
]
Against = Annotated[
    str | None,
    Query(
        description="The plan to compare with; the finished version before it when left out.",
        max_length=200,
        examples=["weir.2026-07-16.1"],
    ),
]


@router.get("/mixes", responses=READS)
def list_mixes(
    plan_id: PlanId, session: ReadDep, response: Response, units: InUnits = None
) -> list[MixNowRead]:
    """List the mixes of a plan as they are now, in the order of starting."""
    row, plan = plan_of(session, plan_id)
    wanted = _units(row, plan, units, response)
    rows = readings.listed(session, plan_id)
    return [_mix_now(row, plan, mix, rows, wanted) for mix in plan.mixes]


@router.get("/mixes/{mix_id}", responses=READS)
def read_mix(
    plan_id: PlanId, mix_id: MixId, session: ReadDep, response: Response, units: InUnits = None
) -> MixNowRead:
    """Read a mix with its ticket as last answered, its start and end, and its readings."""
    row, plan = plan_of(session, plan_id)
    mix = next((one for one in plan.mixes if one.id == mix_id), None)
    if mix is None:
        raise NotFoundError("mix", mix_id)
    wanted = _units(row, plan, units, response)
    return _mix_now(row, plan, mix, readings.listed(session, plan_id), wanted)


@router.get("/preparations", responses=READS)
def list_preparations(
    plan_id: PlanId, session: ReadDep, response: Response, units: InUnits = None
) -> list[PreparationRead]:
    """List the levains, preferments, scalds and soakers of a plan in the order of starting."""
    row, plan = plan_of(session, plan_id)
    reader = Reader.of(plan, _units(row, plan, units, response))
    ordered = sorted(plan.preparations, key=lambda one: (one.start_utc, one.id))
    return [PreparationRead.model_validate(one, context=reader) for one in ordered]


@router.get("/preparations/{preparation_id}", responses=READS)
def read_preparation(
    plan_id: PlanId,
    preparation_id: PreparationId,
    session: ReadDep,
    response: Response,
    units: InUnits = None,
) -> PreparationRead:
    """Read one levain, preferment, scald or soaker of a plan."""
    for one in list_preparations(plan_id, session, response, units):
        if one.id == preparation_id:
            return one
    raise NotFoundError("preparation", preparation_id)


@router.get("/alerts", responses=READS)
def list_alerts(
    plan_id: PlanId, session: ReadDep, response: Response, units: InUnits = None
) -> list[AlertRead]:
    """List what to read first: what cannot be met, each with what could help, then cautions."""
    row, plan = plan_of(session, plan_id)
    reader = house_reader(row, plan, PapersQuery(units=_units(row, plan, units, response)))
    return [AlertRead.of(one) for one in alerts(plan, reader)]


@router.get("/formulas", responses=READS, response_model_exclude_unset=True)
def list_formulas_used(plan_id: PlanId, session: ReadDep) -> list[FormulaUsedRead]:
    """List the formulas that a plan was made from, as they were then, each with its version."""
    return formulas.made_from(session, plans.get(session, plan_id))


@router.get("/changes", responses=READS)
def read_changes(
    plan_id: PlanId,
    session: ReadDep,
    response: Response,
    sender: PrincipalDep,
    compared_with: Against = None,
    units: InUnits = None,
) -> ChangesRead:
    """Compare a plan with another of its bakery, to the figures that are printed."""
    row, plan = plan_of(session, plan_id)
    wanted = _units(row, plan, units, response)
    if compared_with is None:
        earlier = plans.before(session, row)
    else:
        earlier = plans.get(session, compared_with)
        if not sender.sees(earlier.bakery_id) or earlier.bakery_id != row.bakery_id:
            raise NotFoundError("plan", compared_with)
    if earlier is None:
        return ChangesRead.of(plan_id, None, wanted, None)
    reader = house_reader(row, plan, PapersQuery(units=wanted))
    return ChangesRead.of(plan_id, earlier.id, wanted, slip(plans.core_plan(earlier), plan, reader))


def _units(row: PlanRow, plan: Plan, asked: Units | None, response: Response) -> Units:
    wanted = house_reader(row, plan, PapersQuery(units=asked)).units
    response.headers[UNITS_HEADER] = wanted
    return wanted


def _mix_now(
    row: PlanRow, plan: Plan, mix: PlannedMix, rows: list[ReadingRow], units: Units
) -> MixNowRead:
    own = [one for one in rows if one.mix_id == mix.id]
    answered = next((one for one in reversed(own) if one.is_answered), None)
    now = mix if answered is None else answer_from_document(answered.answer).mix
    with_it = replace(plan, mixes=tuple(now if one.id == mix.id else one for one in plan.mixes))
    read = [plan_views.reading(one) for one in own]
    superseded = {one.supersedes for one in read}
    reader = house_reader(row, with_it, PapersQuery(units=units))
    numbers = five_numbers(now, ticket_masses(now, reader), Names(with_it), reader)

    def at(kind: ReadingKind) -> datetime | None:
        moments = [r.at_utc for r in read if r.kind is kind and r.id not in superseded]
        return moments[-1] if moments else None

    return MixNowRead(
        plan_id=row.id,
        units=units,
        numbers=[NumberRead.of(one) for one in numbers],
        mix=MixRead.model_validate(now, context=Reader.of(with_it, units)),
        answered_by=None if answered is None else answered.id,
        started_at=at(ReadingKind.MIX_START),
        ended_at=at(ReadingKind.MIX_END),
        readings=read,
    )

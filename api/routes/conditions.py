"""Conditions of a production day."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.paging import ByDay
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS,
    READS_ONE,
    REMOVES,
    WRITES,
    BakeryId,
    DaysDep,
    ExpectedDep,
    ProductionDate,
    resource,
    tagged,
    tell,
)
from api.schemas.conditions import ConditionsInput
from api.schemas.heads import DayHead
from api.store import conditions

router = resource("conditions", "/bakeries/{bakery_id}/conditions")


@router.get("", responses=READS)
def list_conditions(
    bakery_id: BakeryId, session: ReadDep, paging: ByDay, days: DaysDep
) -> list[DayHead]:
    """List the production days with conditions of a bakery."""
    rows = conditions.heads(session, bakery_id, paging.page, days)
    return paging.cut(rows, lambda one: (one.production_date,))


@router.get(
    "/{production_date}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_conditions(
    bakery_id: BakeryId, production_date: ProductionDate, session: ReadDep, response: Response
) -> ConditionsInput:
    """Read the conditions of a production day as entered."""
    return tagged(response, conditions.get(session, bakery_id, production_date))


@router.put("/{production_date}", responses=WRITES, response_model_exclude_unset=True)
def put_conditions(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: ConditionsInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> ConditionsInput:
    """Store the conditions of a production day; the same again changes nothing."""
    tell(response, conditions.put(session, bakery_id, production_date, sent, now, expected))
    return tagged(response, conditions.get(session, bakery_id, production_date))


@router.delete("/{production_date}", status_code=204, responses=REMOVES)
def delete_conditions(
    bakery_id: BakeryId, production_date: ProductionDate, session: WriteDep, expected: ExpectedDep
) -> None:
    """Remove the conditions of a production day; plans made from it keep their own copy."""
    conditions.delete(session, bakery_id, production_date, expected)

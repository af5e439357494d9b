"""Doughs that already stand when a production day begins: in bulk, proof or retard."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS_ONE,
    WRITES,
    BakeryId,
    ExpectedDep,
    ProductionDate,
    resource,
    tagged,
    tell,
)
from api.schemas.conditions import StandingInput
from api.store import conditions

router = resource("standing doughs", "/bakeries/{bakery_id}/standing/{production_date}")


@router.get("", responses=READS_ONE, dependencies=MAY_BE_KNOWN, response_model_exclude_unset=True)
def read_standing(
    bakery_id: BakeryId, production_date: ProductionDate, session: ReadDep, response: Response
) -> StandingInput:
    """Read what already stands when a production day begins, as entered."""
    return tagged(response, conditions.standing(session, bakery_id, production_date))


@router.put("", responses=WRITES, response_model_exclude_unset=True)
def put_standing(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: StandingInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> StandingInput:
    """Store what already stands; the other conditions of the day stay. Again changes nothing."""
    change = conditions.put_standing(session, bakery_id, production_date, sent, now, expected)
    tell(response, change)
    return tagged(response, conditions.standing(session, bakery_id, production_date))

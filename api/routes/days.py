"""Whole production days, in the form of a day file."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.shared import (
    MAY_BE_KNOWN,
    UNCHANGED,
    WRITES,
    BakeryId,
    ExpectedDep,
    ProductionDate,
    resource,
    tagged,
    tell,
)
from api.schemas.day import DayInput
from api.store import days

router = resource("days", "/bakeries/{bakery_id}/days/{production_date}")


@router.get(
    "",
    responses={**UNCHANGED, **responses(404, 409, 422, 503)},
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_day(
    bakery_id: BakeryId, production_date: ProductionDate, session: ReadDep, response: Response
) -> DayInput:
    """Read a whole day as entered; forecasts stand in only when it is planned."""
    return tagged(
        response,
        DayInput.model_validate(days.assembled(session, bakery_id, production_date, to_plan=False)),
    )


@router.put("", responses=WRITES, response_model_exclude_unset=True)
def put_day(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: DayInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> DayInput:
    """Store a whole day in its parts: bakery, formulas, products, mix list, conditions, pins.

    Formulas and products that it does not name stay as they are.
    """
    tell(response, days.put(session, bakery_id, production_date, sent, now, expected))
    return tagged(
        response,
        DayInput.model_validate(days.assembled(session, bakery_id, production_date, to_plan=False)),
    )

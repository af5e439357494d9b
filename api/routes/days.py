"""Whole production days, in the form of a day file."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.shared import WRITES, BakeryId, ProductionDate, resource, tell
from api.schemas.day import DayInput
from api.store import days

router = resource("days", "/bakeries/{bakery_id}/days/{production_date}")


@router.get("", responses=responses(404, 409, 422, 503), response_model_exclude_unset=True)
def read_day(bakery_id: BakeryId, production_date: ProductionDate, session: ReadDep) -> DayInput:
    """Read a whole day as a plan would take it now."""
    return DayInput.model_validate(days.assembled(session, bakery_id, production_date))


@router.put("", responses=WRITES, response_model_exclude_unset=True)
def put_day(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: DayInput,
    session: WriteDep,
    now: NowDep,
    response: Response,
) -> DayInput:
    """Store a whole day in its parts: bakery, formulas, products, mix list, conditions, pins.

    Formulas and products that it does not name stay as they are.
    """
    tell(response, days.put(session, bakery_id, production_date, sent, now))
    return DayInput.model_validate(days.assembled(session, bakery_id, production_date))

"""Pins: what the baker fixes about a production day."""

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
from api.schemas.heads import DayHead
from api.schemas.pins import PinsInput
from api.store import pins

router = resource("pins", "/bakeries/{bakery_id}/pins")


@router.get("", responses=READS)
def list_pins(bakery_id: BakeryId, session: ReadDep, paging: ByDay, days: DaysDep) -> list[DayHead]:
    """List the production days with pins of a bakery."""
    rows = pins.heads(session, bakery_id, paging.page, days)
    return paging.cut(rows, lambda one: (one.production_date,))


@router.get(
    "/{production_date}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_pins(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    session: ReadDep,
    response: Response,
) -> PinsInput:
    """Read the pins of a production day as entered."""
    return tagged(response, pins.get(session, bakery_id, production_date))


@router.put("/{production_date}", responses=WRITES, response_model_exclude_unset=True)
def put_pins(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: PinsInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> PinsInput:
    """Store the pins of a production day; the same again changes nothing."""
    tell(response, pins.put(session, bakery_id, production_date, sent, now, expected))
    return tagged(response, pins.get(session, bakery_id, production_date))


@router.delete("/{production_date}", status_code=204, responses=REMOVES)
def delete_pins(
    bakery_id: BakeryId, production_date: ProductionDate, session: WriteDep, expected: ExpectedDep
) -> None:
    """Remove the pins of a production day; plans made from it keep their own copy."""
    pins.delete(session, bakery_id, production_date, expected)

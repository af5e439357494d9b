"""Thermometers of a bakery, with their checks in ice."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path, Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.paging import ById
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS,
    READS_ONE,
    REMOVES,
    WRITES,
    BakeryId,
    ExpectedDep,
    resource,
    tagged,
    tell,
)
from api.schemas.thermometers import ThermometerInput, ThermometerRead
from api.store import thermometers

router = resource("thermometers", "/bakeries/{bakery_id}/thermometers")

ThermometerId = Annotated[
    str, Path(description="Id of the thermometer.", max_length=100, examples=["probe-2"])
]


@router.get("", responses=READS)
def list_thermometers(
    bakery_id: BakeryId, session: ReadDep, now: NowDep, paging: ById
) -> list[ThermometerRead]:
    """List the thermometers of a bakery: what is added to their readings, and which are due."""
    rows = thermometers.listed(session, bakery_id, now.date(), paging.page)
    return paging.cut(rows, lambda one: (one.id,))


@router.get(
    "/{thermometer_id}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_thermometer(
    bakery_id: BakeryId, thermometer_id: ThermometerId, session: ReadDep, response: Response
) -> ThermometerInput:
    """Read a thermometer as entered."""
    return tagged(response, thermometers.get(session, bakery_id, thermometer_id))


@router.put("/{thermometer_id}", responses=WRITES, response_model_exclude_unset=True)
def put_thermometer(
    bakery_id: BakeryId,
    thermometer_id: ThermometerId,
    sent: ThermometerInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> ThermometerInput:
    """Store a thermometer and its last check in ice; readings from now on are set right by it."""
    tell(response, thermometers.put(session, bakery_id, thermometer_id, sent, now, expected))
    return tagged(response, thermometers.get(session, bakery_id, thermometer_id))


@router.delete("/{thermometer_id}", status_code=204, responses=REMOVES)
def delete_thermometer(
    bakery_id: BakeryId, thermometer_id: ThermometerId, session: WriteDep, expected: ExpectedDep
) -> None:
    """Remove a thermometer; readings taken with it stay as they are."""
    thermometers.delete(session, bakery_id, thermometer_id, expected)

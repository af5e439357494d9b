"""Forecasts of the air: pushed by another program, or pulled from a source."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path, Response

from api.dependencies import NowDep, ReadDep, WriteDep
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
from api.schemas.forecast import ForecastInput, ForecastRead, ForecastSourceInput
from api.store import forecasts

router = resource("forecasts", "/bakeries/{bakery_id}/forecasts")

Place = Annotated[
    str,
    Path(description="Id of a room, or `outdoors`.", max_length=100, examples=["outdoors"]),
]


@router.get("", responses=READS)
def list_forecasts(bakery_id: BakeryId, session: ReadDep, now: NowDep) -> list[ForecastRead]:
    """List the last good forecast of each place, how old it is, and how its last pull went."""
    return forecasts.listed(session, bakery_id, now)


@router.get("/{place}", responses=READS)
def read_forecast(bakery_id: BakeryId, place: Place, session: ReadDep, now: NowDep) -> ForecastRead:
    """Read the last good forecast of a place."""
    return forecasts.get(session, bakery_id, place, now)


@router.put("/{place}", responses=WRITES)
def push_forecast(
    bakery_id: BakeryId,
    place: Place,
    sent: ForecastInput,
    session: WriteDep,
    now: NowDep,
    response: Response,
) -> ForecastRead:
    """Send a forecast; nights for which nothing was entered are planned with it."""
    tell(response, forecasts.push(session, bakery_id, place, sent, now))
    return forecasts.get(session, bakery_id, place, now)


@router.delete("/{place}", status_code=204, responses=REMOVES)
def delete_forecast(bakery_id: BakeryId, place: Place, session: WriteDep) -> None:
    """Remove the forecast of a place, and its source; plans made with it stay."""
    forecasts.delete(session, bakery_id, place)


@router.get(
    "/{place}/source",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_source(
    bakery_id: BakeryId, place: Place, session: ReadDep, response: Response
) -> ForecastSourceInput:
    """Read where the forecast of a place is pulled from, as entered."""
    return tagged(response, forecasts.source(session, bakery_id, place))


@router.put("/{place}/source", responses=WRITES, response_model_exclude_unset=True)
def put_source(
    bakery_id: BakeryId,
    place: Place,
    sent: ForecastSourceInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> ForecastSourceInput:
    """Store where the forecast of a place is pulled from; the last good copy stays."""
    tell(response, forecasts.put_source(session, bakery_id, place, sent, now, expected))
    return tagged(response, forecasts.source(session, bakery_id, place))

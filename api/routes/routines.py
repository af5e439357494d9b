"""What the service does for a bakery by itself."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS_ONE,
    WRITES,
    BakeryId,
    ExpectedDep,
    resource,
    tagged,
    tell,
)
from api.schemas.routine import RoutineInput
from api.store import routines

router = resource("routine", "/bakeries/{bakery_id}/routine")


@router.get("", responses=READS_ONE, dependencies=MAY_BE_KNOWN, response_model_exclude_unset=True)
def read_routine(bakery_id: BakeryId, session: ReadDep, response: Response) -> RoutineInput:
    """Read what the service does for a bakery by itself, as entered."""
    return tagged(response, routines.get(session, bakery_id))


@router.put("", responses=WRITES, response_model_exclude_unset=True)
def put_routine(
    bakery_id: BakeryId,
    sent: RoutineInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> RoutineInput:
    """Store what the service does for a bakery by itself; the same again changes nothing."""
    tell(response, routines.put(session, bakery_id, sent, now, expected))
    return tagged(response, routines.get(session, bakery_id))

"""What comes due in a bakery by the clock."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import Query

from api.dependencies import ReadDep
from api.routes.shared import READS, BakeryId, resource
from api.schemas.occurrences import OccurrenceRead, OccurrenceState
from api.store import bakeries, occurrences

router = resource("timers", "/bakeries/{bakery_id}/timers")

OfDate = Annotated[
    date | None, Query(description="Only of this production day.", examples=["2026-07-16"])
]
OfState = Annotated[
    OccurrenceState | None, Query(description="Only of this state.", examples=["waiting"])
]
AtMost = Annotated[
    int, Query(description="At most so many, the earliest first.", ge=1, le=5000, examples=[500])
]


@router.get("", responses=READS)
def list_timers(
    bakery_id: BakeryId,
    session: ReadDep,
    production_date: OfDate = None,
    state: OfState = None,
    limit: AtMost = 500,
) -> list[OccurrenceRead]:
    """List what comes due, what was told, and how late."""
    bakeries.check_known(session, bakery_id)
    return occurrences.listed(session, bakery_id, production_date, state, limit)

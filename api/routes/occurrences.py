"""What comes due in a bakery by the clock."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from fastapi import Depends, Query

from api.dependencies import ReadDep
from api.routes.paging import Paging, paged_by
from api.routes.shared import READS, BakeryId, resource
from api.schemas.occurrences import OccurrenceRead, OccurrenceState
from api.schemas.this_age import InThisAge
from api.store import bakeries, occurrences

router = resource("timers", "/bakeries/{bakery_id}/timers")

OfDate = Annotated[
    date | None,
    InThisAge,
    Query(description="Only of this production day.", examples=["2026-07-16"]),
]
OfState = Annotated[
    OccurrenceState | None, Query(description="Only of this state.", examples=["waiting"])
]
PagingDep = Annotated[Paging, Depends(paged_by(datetime, str))]


@router.get("", responses=READS)
def list_timers(
    bakery_id: BakeryId,
    session: ReadDep,
    paging: PagingDep,
    production_date: OfDate = None,
    state: OfState = None,
) -> list[OccurrenceRead]:
    """List what comes due, what was told, and how late; the earliest first."""
    bakeries.check_known(session, bakery_id)
    rows = occurrences.listed(session, bakery_id, production_date, state, paging.page)
    return paging.cut(rows, lambda one: (one.due_at, one.id))

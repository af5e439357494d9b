"""The temperature log of a bakery, as data; its page and CSV are in `api.routes.record`."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import Depends

from api.dependencies import ReadDep
from api.routes.paging import Paging, paged_by
from api.routes.shared import READS, BakeryId, DaysDep, resource
from api.schemas.log import LogLineRead
from api.store import log

router = resource("temperature log", "/bakeries/{bakery_id}/log")

PagingDep = Annotated[Paging, Depends(paged_by(date, str, int))]


@router.get("", responses=READS)
def list_log(
    bakery_id: BakeryId, session: ReadDep, days: DaysDep, paging: PagingDep
) -> list[LogLineRead]:
    """List the readings of a bakery's production days, those that were replaced included."""
    lines, numbers = log.listed(session, bakery_id, days, paging.page)
    numbered = list(zip(lines, numbers, strict=True))
    kept = paging.cut(numbered, lambda one: (one[0].production_date, one[0].plan_id, one[1]))
    return [line for line, _ in kept]

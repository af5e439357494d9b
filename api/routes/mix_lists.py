"""Mix lists: orders, ready mixes and shifts of a production day."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.once import ONCE_IN_TURN
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
from api.schemas.list_import import ImportRead, ListImport
from api.schemas.mix_list import MixListInput
from api.store import mix_lists

router = resource("mix lists", "/bakeries/{bakery_id}/mix-lists")


@router.get("", responses=READS)
def list_mix_lists(
    bakery_id: BakeryId, session: ReadDep, paging: ByDay, days: DaysDep
) -> list[DayHead]:
    """List the mix lists of a bakery."""
    rows = mix_lists.heads(session, bakery_id, paging.page, days)
    return paging.cut(rows, lambda one: (one.production_date,))


@router.get(
    "/{production_date}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_mix_list(
    bakery_id: BakeryId, production_date: ProductionDate, session: ReadDep, response: Response
) -> MixListInput:
    """Read a mix list of a production day as entered."""
    return tagged(response, mix_lists.get(session, bakery_id, production_date))


@router.put("/{production_date}", responses=WRITES, response_model_exclude_unset=True)
def put_mix_list(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: MixListInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> MixListInput:
    """Store a mix list of a production day; the same again changes nothing."""
    tell(response, mix_lists.put(session, bakery_id, production_date, sent, now, expected))
    return tagged(response, mix_lists.get(session, bakery_id, production_date))


@router.post(
    "/{production_date}/import",
    dependencies=ONCE_IN_TURN,
    responses=responses(404, 409, 412, 413, 422, 503),
    response_model_exclude_unset=True,
)
def import_mix_list(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: ListImport,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> ImportRead:
    """Put the lines of a CSV list in place of the day's orders and mixes; its shifts stay.

    A list with a fault is refused whole, each fault with its line. A dry run stores nothing and
    tells what would become of it.
    """
    read, change = mix_lists.imported(session, bakery_id, production_date, sent, now, expected)
    if change is not None:
        response.headers["Ovenward-Change"] = change
    return read


@router.delete("/{production_date}", status_code=204, responses=REMOVES)
def delete_mix_list(
    bakery_id: BakeryId, production_date: ProductionDate, session: WriteDep, expected: ExpectedDep
) -> None:
    """Remove a mix list of a production day; plans made from it keep their own copy."""
    mix_lists.delete(session, bakery_id, production_date, expected)

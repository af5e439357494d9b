"""Mix lists: orders, ready mixes and shifts of a production day."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.shared import READS, REMOVES, WRITES, BakeryId, ProductionDate, resource, tell
from api.schemas.heads import DayHead
from api.schemas.mix_list import MixListInput
from api.store import mix_lists

router = resource("mix lists", "/bakeries/{bakery_id}/mix-lists")


@router.get("", responses=READS)
def list_mix_lists(bakery_id: BakeryId, session: ReadDep) -> list[DayHead]:
    """List the mix lists of a bakery."""
    return mix_lists.heads(session, bakery_id)


@router.get("/{production_date}", responses=READS, response_model_exclude_unset=True)
def read_mix_list(
    bakery_id: BakeryId, production_date: ProductionDate, session: ReadDep
) -> MixListInput:
    """Read a mix list of a production day as entered."""
    return mix_lists.get(session, bakery_id, production_date)


@router.put("/{production_date}", responses=WRITES, response_model_exclude_unset=True)
def put_mix_list(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    sent: MixListInput,
    session: WriteDep,
    now: NowDep,
    response: Response,
) -> MixListInput:
    """Store a mix list of a production day; the same again changes nothing."""
    tell(response, mix_lists.put(session, bakery_id, production_date, sent, now))
    return mix_lists.get(session, bakery_id, production_date)


@router.delete("/{production_date}", status_code=204, responses=REMOVES)
def delete_mix_list(
    bakery_id: BakeryId, production_date: ProductionDate, session: WriteDep
) -> None:
    """Remove a mix list of a production day; plans made from it keep their own copy."""
    mix_lists.delete(session, bakery_id, production_date)

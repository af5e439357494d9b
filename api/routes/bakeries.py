"""Bakeries: what stays the same from day to day."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, PrincipalDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.paging import ById
from api.routes.shared import (
    MAY_BE_KNOWN,
    READS_ONE,
    REMOVES,
    WRITES,
    BakeryId,
    ExpectedDep,
    resource,
    tagged,
    tell,
)
from api.schemas.bakery import BakeryInput
from api.schemas.heads import DocumentHead
from api.store import bakeries

router = resource("bakeries", "/bakeries")


@router.get("", responses=responses(422, 503))
def list_bakeries(session: ReadDep, sender: PrincipalDep, paging: ById) -> list[DocumentHead]:
    """List the bakeries that are there for whoever asks."""
    rows = bakeries.heads(session, paging.page, sender.bakery_id)
    return paging.cut(rows, lambda one: (one.id,))


@router.get(
    "/{bakery_id}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_bakery(bakery_id: BakeryId, session: ReadDep, response: Response) -> BakeryInput:
    """Read a bakery as entered."""
    return tagged(response, bakeries.get(session, bakery_id))


@router.put("/{bakery_id}", responses=WRITES, response_model_exclude_unset=True)
def put_bakery(
    bakery_id: BakeryId,
    sent: BakeryInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> BakeryInput:
    """Store a bakery under its id; the same again changes nothing."""
    tell(response, bakeries.put(session, bakery_id, sent, now, expected))
    return tagged(response, bakeries.get(session, bakery_id))


@router.delete("/{bakery_id}", status_code=204, responses=REMOVES)
def delete_bakery(bakery_id: BakeryId, session: WriteDep, expected: ExpectedDep) -> None:
    """Remove a bakery with its formulas, products and days; refused once plans were made."""
    bakeries.delete(session, bakery_id, expected)

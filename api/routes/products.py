"""Products of a bakery."""

from __future__ import annotations

from fastapi import Response

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
    ProductId,
    resource,
    tagged,
    tell,
)
from api.schemas.heads import DocumentHead
from api.schemas.products import ProductInput
from api.store import products

router = resource("products", "/bakeries/{bakery_id}/products")


@router.get("", responses=READS)
def list_products(bakery_id: BakeryId, session: ReadDep, paging: ById) -> list[DocumentHead]:
    """List the products of a bakery."""
    rows = products.heads(session, bakery_id, paging.page)
    return paging.cut(rows, lambda one: (one.id,))


@router.get(
    "/{product_id}",
    responses=READS_ONE,
    dependencies=MAY_BE_KNOWN,
    response_model_exclude_unset=True,
)
def read_product(
    bakery_id: BakeryId, product_id: ProductId, session: ReadDep, response: Response
) -> ProductInput:
    """Read a product as entered."""
    return tagged(response, products.get(session, bakery_id, product_id))


@router.put("/{product_id}", responses=WRITES, response_model_exclude_unset=True)
def put_product(
    bakery_id: BakeryId,
    product_id: ProductId,
    sent: ProductInput,
    session: WriteDep,
    expected: ExpectedDep,
    now: NowDep,
    response: Response,
) -> ProductInput:
    """Store a product under its id; the same again changes nothing."""
    tell(response, products.put(session, bakery_id, product_id, sent, now, expected))
    return tagged(response, products.get(session, bakery_id, product_id))


@router.delete("/{product_id}", status_code=204, responses=REMOVES)
def delete_product(
    bakery_id: BakeryId, product_id: ProductId, session: WriteDep, expected: ExpectedDep
) -> None:
    """Remove a product; plans made from it keep their own copy."""
    products.delete(session, bakery_id, product_id, expected)

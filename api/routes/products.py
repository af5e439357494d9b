"""Products of a bakery."""

from __future__ import annotations

from fastapi import Response

from api.dependencies import NowDep, ReadDep, WriteDep
from api.routes.shared import READS, REMOVES, WRITES, BakeryId, ProductId, resource, tell
from api.schemas.heads import DocumentHead
from api.schemas.products import ProductInput
from api.store import products

router = resource("products", "/bakeries/{bakery_id}/products")


@router.get("", responses=READS)
def list_products(bakery_id: BakeryId, session: ReadDep) -> list[DocumentHead]:
    """List the products of a bakery."""
    return products.heads(session, bakery_id)


@router.get("/{product_id}", responses=READS, response_model_exclude_unset=True)
def read_product(bakery_id: BakeryId, product_id: ProductId, session: ReadDep) -> ProductInput:
    """Read a product as entered."""
    return products.get(session, bakery_id, product_id)


@router.put("/{product_id}", responses=WRITES, response_model_exclude_unset=True)
def put_product(
    bakery_id: BakeryId,
    product_id: ProductId,
    sent: ProductInput,
    session: WriteDep,
    now: NowDep,
    response: Response,
) -> ProductInput:
    """Store a product under its id; the same again changes nothing."""
    tell(response, products.put(session, bakery_id, product_id, sent, now))
    return products.get(session, bakery_id, product_id)


@router.delete("/{product_id}", status_code=204, responses=REMOVES)
def delete_product(bakery_id: BakeryId, product_id: ProductId, session: WriteDep) -> None:
    """Remove a product; plans made from it keep their own copy."""
    products.delete(session, bakery_id, product_id)

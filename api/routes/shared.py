"""What the routes of stored documents share."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Path, Response

from api.errors import responses
from api.routes.strict import StrictRoute
from api.schemas.this_age import InThisAge
from api.store.documents import Change

BakeryId = Annotated[str, Path(description="Id of the bakery.", max_length=100, examples=["weir"])]
FormulaId = Annotated[
    str, Path(description="Id of the formula.", max_length=100, examples=["white"])
]
ProductId = Annotated[str, Path(description="Id of the product.", max_length=100, examples=["tin"])]
ProductionDate = Annotated[
    date, InThisAge, Path(description="The production day's own date.", examples=["2026-07-16"])
]

CREATED: dict[int | str, dict[str, Any]] = {201: {"description": "It was new."}}
READS = responses(404, 422, 503)
WRITES = {**CREATED, **responses(404, 409, 413, 422, 503)}
REMOVES = responses(404, 409, 422, 503)


def resource(tag: str, prefix: str) -> APIRouter:
    """Return the router of a resource."""
    return APIRouter(tags=[tag], prefix=prefix, route_class=StrictRoute)


def tell(response: Response, change: Change) -> None:
    """Answer 201 for what was new; a put that changed nothing answers as one that did."""
    response.status_code = 201 if change is Change.CREATED else 200
    response.headers["Ovenward-Change"] = change

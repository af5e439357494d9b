"""What the routes of stored documents share."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Depends, Header, Path, Query, Response

from api.errors import responses
from api.routes.strict import StrictRoute
from api.schemas.base import Entry
from api.schemas.this_age import InThisAge
from api.store.documents import Change, Days, document_of
from api.store.tags import Expected, tag_of, tags_in
from planner.errors import refuse

BakeryId = Annotated[str, Path(description="Id of the bakery.", max_length=100, examples=["weir"])]
FormulaId = Annotated[
    str, Path(description="Id of the formula.", max_length=100, examples=["white"])
]
ProductId = Annotated[str, Path(description="Id of the product.", max_length=100, examples=["tin"])]
ProductionDate = Annotated[
    date, InThisAge, Path(description="The production day's own date.", examples=["2026-07-16"])
]

CREATED: dict[int | str, dict[str, Any]] = {201: {"description": "It was new."}}
UNCHANGED: dict[int | str, dict[str, Any]] = {
    304: {"description": "It is still what `If-None-Match` names."}
}
READS = responses(404, 422, 503)
READS_ONE = {**UNCHANGED, **READS}
WRITES = {**CREATED, **responses(404, 409, 412, 413, 422, 503)}
REMOVES = responses(404, 409, 412, 422, 503)

Entered = TypeVar("Entered", bound=Entry)
IfMatch = Annotated[
    str | None,
    Header(
        description="Write only if the document still has this tag, as its `ETag` said when it was"
        " read; else 412. `*` for any document.",
        max_length=500,
        examples=['"5f0c6a9e2b7d41c08a13f6e2"'],
    ),
]
IfNoneMatch = Annotated[
    str | None,
    Header(
        description="`*`: write only if nothing is stored there yet; else 412.",
        max_length=500,
        examples=["*"],
    ),
]
KnownTag = Annotated[
    str | None,
    Header(
        description="Tag of the document as it is known; answers 304 while it is still that.",
        max_length=500,
        examples=['"5f0c6a9e2b7d41c08a13f6e2"'],
    ),
]
Since = Annotated[
    date | None, InThisAge, Query(description="Only from this day on.", examples=["2026-07-01"])
]
Until = Annotated[
    date | None, InThisAge, Query(description="Only up to this day.", examples=["2026-07-31"])
]


def expected(if_match: IfMatch = None, if_none_match: IfNoneMatch = None) -> Expected:
    """Return what the sender of a document expects of the one that is stored.

    Raises
    ------
    InputError
        If a header holds no tags.
    """
    return Expected(
        None if if_match is None else _tags("If-Match", if_match),
        () if if_none_match is None else _tags("If-None-Match", if_none_match),
    )


def _tags(header: str, text: str) -> tuple[str, ...]:
    tags = tags_in(text)
    if tags is None:
        raise refuse(header, text, "is no tag", "send it with its quotes, as `ETag` gave it, or *")
    return tags


def days_between(since: Since = None, until: Until = None) -> Days:
    """Return the range of days that is asked for."""
    return Days(since, until)


def known_tag(if_none_match: KnownTag = None) -> None:
    """Tell of a header that `api.routes.strict` heeds for every document with a tag."""


MAY_BE_KNOWN = (Depends(known_tag),)
ExpectedDep = Annotated[Expected, Depends(expected)]
DaysDep = Annotated[Days, Depends(days_between)]


def resource(tag: str, prefix: str) -> APIRouter:
    """Return the router of a resource."""
    return APIRouter(tags=[tag], prefix=prefix, route_class=StrictRoute)


def tagged(response: Response, entry: Entered) -> Entered:
    """Return a document that is sent, with its tag in the header ``ETag``."""
    response.headers["ETag"] = tag_of(document_of(entry))
    return entry


def tell(response: Response, change: Change) -> None:
    """Answer 201 for what was new; a put that changed nothing answers as one that did."""
    response.status_code = 201 if change is Change.CREATED else 200
    response.headers["Ovenward-Change"] = change

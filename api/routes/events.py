"""Events of a bakery: read by number, or followed as they come."""

from __future__ import annotations

from collections.abc import AsyncIterator
from time import monotonic
from typing import Annotated

from fastapi import Depends, Header, Query, Request
from fastapi.sse import EventSourceResponse, ServerSentEvent
from sqlmodel import Session
from starlette.concurrency import run_in_threadpool

from api.dependencies import ReadDep, ServicesDep
from api.errors import responses
from api.guard import is_still_let_in
from api.routes.shared import READS, BakeryId, resource
from api.schemas.events import EventRead
from api.store import bakeries, events

router = resource("events", "/bakeries/{bakery_id}/events")

ASKED_AGAIN_S = 2.0
"""A right that was taken away ends a stream at the next event after so long [s]."""

NUMBER_MOST = 2**31 - 1
After = Annotated[
    int, Query(description="Only events after this number.", ge=0, le=NUMBER_MOST, examples=[41])
]
AtMost = Annotated[
    int, Query(description="At most so many, the oldest first.", ge=1, le=1000, examples=[100])
]
FromNumber = Annotated[
    int | None,
    Query(
        description="Give the events after this number first; only new ones when left out.",
        ge=0,
        le=NUMBER_MOST,
        examples=[0],
    ),
]
LastEventId = Annotated[
    int | None,
    Header(
        description="Number of the last event that was received, as browsers send it when they"
        " connect again; counts before `after`.",
        ge=0,
        le=NUMBER_MOST,
        examples=[41],
    ),
]


@router.get("", responses=READS)
def list_events(
    bakery_id: BakeryId, session: ReadDep, after: After = 0, limit: AtMost = 100
) -> list[EventRead]:
    """List events in order; ask again with the last number until none come."""
    bakeries.check_known(session, bakery_id)
    return events.after(session, bakery_id, after, limit)


def last_number(bakery_id: BakeryId, held: ServicesDep) -> int:
    """Return the number of the bakery's last event, in a session that no stream holds open."""
    with Session(held.engine) as session:
        bakeries.check_known(session, bakery_id)
        return events.last(session, bakery_id)


@router.get(
    "/stream",
    response_class=EventSourceResponse,
    responses={200: {"description": "Server-sent events."}, **responses(404, 422, 503)},
)
async def stream_events(
    bakery_id: BakeryId,
    request: Request,
    held: ServicesDep,
    last: Annotated[int, Depends(last_number)],
    after: FromNumber = None,
    last_event_id: LastEventId = None,
) -> AsyncIterator[ServerSentEvent]:
    """Follow the events as they come, as server-sent events whose data is the event.

    A client that connects again with `Last-Event-ID` misses none. One that knows more than there
    is, as after a database was put back from a copy, is told `restarted` and should read anew.
    """
    wanted = last_event_id if last_event_id is not None else after
    start = last if wanted is None or wanted > last else wanted
    if wanted is not None and wanted > last:
        yield ServerSentEvent(event="restarted", id=str(last), data={"last": last})
    else:
        yield ServerSentEvent(comment="following")
    asked = monotonic()
    async for one in held.hub.follow(bakery_id, start):
        if monotonic() - asked >= ASKED_AGAIN_S:
            if not await run_in_threadpool(is_still_let_in, request, held):
                return
            asked = monotonic()
        yield ServerSentEvent(event=one.type, id=one.id, raw_data=one.model_dump_json())

"""POSTs that may be sent again: with an Idempotency-Key they are done once.

The key is claimed before the request is done, by a dependency, so that whoever may not send it
gets no answer of others; the answer is kept after it. A refusal is not kept.

References
----------
J. Jena, S. Dalal: The Idempotency-Key HTTP Header Field. IETF draft, 2025.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Annotated

from fastapi import Depends, Header, Request, Response
from sqlalchemy import Engine
from sqlmodel import Session
from starlette.concurrency import run_in_threadpool

from api.dependencies import Services, ServicesDep, WriteDep
from api.store import sent_once
from api.store.engine import for_writing
from api.store.tables import SentOnceRow

KEPT_HEADERS = ("content-type", "location", "etag", "retry-after", "ovenward-change")
AGAIN = "Ovenward-Answered-Before"
"""Header of an answer that was given before."""

IdempotencyKey = Annotated[
    str | None,
    Header(
        description="Any text of the sender's own for this one request. Sent again with it within"
        " a day, the request is not done again and gets the same answer.",
        min_length=1,
        max_length=200,
        examples=["6f1d2c7e-plan-2026-07-16"],
    ),
]


class AnsweredBeforeError(Exception):
    """A request was answered before; carries that answer past the route."""

    def __init__(self, response: Response) -> None:
        super().__init__("answered before")
        self.response = response


@dataclass(frozen=True, slots=True)
class Claim:
    """A request that was taken on under its sender's key.

    Attributes
    ----------
    session
        The one whose transaction does what is asked; None when the request has several.
    """

    engine: Engine
    session: Session | None
    owner: str
    key: str

    def take(self, fingerprint: str, now: datetime) -> SentOnceRow | None:
        """Take the request on, or return the answer it got before."""
        if self.session is not None:
            return sent_once.claim(self.session, self.owner, self.key, fingerprint, now)
        with Session(for_writing(self.engine), expire_on_commit=False) as session, session.begin():
            return sent_once.claim(session, self.owner, self.key, fingerprint, now)

    def keep(self, response: Response) -> None:
        """Keep the answer, with what was done where that is one transaction."""
        headers = {k: v for k, v in response.headers.items() if k in KEPT_HEADERS}
        answer = (response.status_code, headers, bytes(response.body).decode())
        if self.session is not None:
            sent_once.keep(self.session, self.owner, self.key, *answer)
            return
        with Session(for_writing(self.engine)) as session, session.begin():
            sent_once.keep(session, self.owner, self.key, *answer)

    def release(self) -> None:
        """Let the request be sent again; its own transaction forgets it by itself."""
        if self.session is None:
            with Session(for_writing(self.engine)) as session, session.begin():
                sent_once.release(session, self.owner, self.key)


async def body_of(request: Request) -> bytes:
    """Return the body of a request."""
    return await request.body()


def once(
    request: Request,
    held: ServicesDep,
    body: Annotated[bytes, Depends(body_of)],
    idempotency_key: IdempotencyKey = None,
) -> None:
    """Take on a request of several transactions that is to be done once.

    Raises
    ------
    AnsweredBeforeError, KeyReusedError, StillAnsweringError
        If it was answered before, the key belongs to another request, or it is being answered.
    """
    _take(request, held, None, body, idempotency_key)


def once_in_turn(
    request: Request,
    held: ServicesDep,
    session: WriteDep,
    body: Annotated[bytes, Depends(body_of)],
    idempotency_key: IdempotencyKey = None,
) -> None:
    """Take on a request of one transaction that is to be done once: the key is part of it.

    Raises
    ------
    AnsweredBeforeError, KeyReusedError
        If it was answered before, or the key belongs to another request.
    """
    _take(request, held, session, body, idempotency_key)


ONCE = (Depends(once),)
ONCE_IN_TURN = (Depends(once_in_turn),)


def _take(
    request: Request, held: Services, session: Session | None, body: bytes, key: str | None
) -> None:
    if key is None:
        return
    asked = f"{request.method} {request.url.path}?{request.url.query}\n".encode() + body
    claim = Claim(held.engine, session, _sender(request), key)
    row = claim.take(sha256(asked).hexdigest(), held.clock())
    if row is not None:
        raise AnsweredBeforeError(_given(row))
    request.state.claim = claim


async def answered(request: Request, handle: Callable[[Request], Awaitable[Response]]) -> Response:
    """Return the answer to a request, keeping it if it was taken on under a key."""
    try:
        response = await handle(request)
    except AnsweredBeforeError as before:
        return before.response
    except BaseException:
        claim = getattr(request.state, "claim", None)
        if claim is not None:
            await run_in_threadpool(claim.release)
        raise
    claim = getattr(request.state, "claim", None)
    if claim is not None:
        await run_in_threadpool(claim.keep, response)
    return response


def _given(row: SentOnceRow) -> Response:
    headers = {**(row.headers or {}), AGAIN: "true"}
    return Response((row.body or "").encode(), row.status or 200, headers)


def _sender(request: Request) -> str:
    principal = getattr(request.state, "principal", None)
    return "" if principal is None else f"{principal.bakery_id}/{principal.role}/{principal.name}"

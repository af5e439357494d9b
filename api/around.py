"""What stands around every request: how long a body may be, and what every answer says."""

from __future__ import annotations

from time import perf_counter

import structlog
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.addresses import BASE
from api.errors import TooLargeError, problem_of, respond
from api.guard import RENEWED

POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
    " font-src 'self' data:; object-src 'none'; base-uri 'none'; frame-ancestors 'none';"
    " form-action 'self'"
)
"""Neither script nor style inside a page."""
CARRIES_STYLE = {
    "Content-Security-Policy": POLICY.replace("style-src 'self'", "style-src 'unsafe-inline'")
}
"""For papers, which carry their style with them, so that they can be saved."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
}
UNLOGGED = frozenset({"/healthz", "/readyz", "/api/v1/health"})
"""What is asked every few seconds."""
DEMO = "anybody on this machine may do anything"


_log = structlog.get_logger()


class Around:
    """Refuses bodies that are too long, and adds the headers of every answer.

    Parameters
    ----------
    app
        What is inside.
    most_bytes
        The longest body.
    base
        The path below which a proxy serves us.
    demo
        Whether it runs in demo mode, which every answer says.
    """

    def __init__(self, app: ASGIApp, most_bytes: int, *, base: str = "", demo: bool) -> None:
        self._app, self._most, self._base, self._demo = app, most_bytes, base, demo

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle a request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        scope["root_path"] = self._base
        BASE.set(self._base)
        began, status = perf_counter(), 0

        async def sent(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                headers = MutableHeaders(scope=message)
                if renewed := scope.get("state", {}).get(RENEWED):
                    headers.append("Set-Cookie", renewed)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
                if self._demo:
                    headers["Ovenward-Demo"] = DEMO
            await send(message)

        try:
            await self._handle(scope, receive, sent)
        finally:
            if scope["path"] not in UNLOGGED:
                # Without the query, which may name a person.
                told = {"method": scope["method"], "path": scope["path"], "status": status}
                took_ms = round((perf_counter() - began) * 1000, 1)
                await _log.ainfo("request", **told, took_ms=took_ms)

    async def _handle(self, scope: Scope, receive: Receive, sent: Send) -> None:
        body = await self._body(scope, receive)
        if body is None:
            error = TooLargeError(f"The body is longer than {self._most // 2**20} MiB.")
            await respond(problem_of(error, scope["path"]))(scope, receive, sent)
            return
        await self._app(scope, _replayed(body, receive), sent)

    async def _body(self, scope: Scope, receive: Receive) -> bytes | None:
        """Return the whole body; None when it is too long, of which no more is read."""
        told = dict(scope["headers"]).get(b"content-length", b"0")
        if told.isdigit() and int(told) > self._most:
            return None
        parts, length = [], 0
        while True:
            message = await receive()
            if message["type"] != "http.request":
                return b""  # the client has gone
            parts.append(message.get("body", b""))
            length += len(parts[-1])
            if length > self._most:
                return None
            if not message.get("more_body", False):
                return b"".join(parts)


def _replayed(body: bytes, receive: Receive) -> Receive:
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again

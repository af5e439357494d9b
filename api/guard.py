"""Who sends a request, and whether they may: asked before every route."""

from __future__ import annotations

from urllib.parse import urlsplit

from fastapi import Request
from fastapi.routing import APIRoute
from sqlmodel import Session

from api.access import ANYBODY, NEEDS, Open, Principal
from api.dependencies import Services, ServicesDep, bakery_named
from api.errors import NotAllowedError, NotFoundError, NotSignedInError
from api.store import accounts, keys
from api.store.engine import for_writing

COOKIE = "ovenward_session"
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})
SAME_SITE = frozenset({"same-origin", "none"})


def guard(request: Request, held: ServicesDep) -> None:
    """Let a request through, with who sends it in ``request.state.principal``.

    Raises
    ------
    NotSignedInError
        If the route asks for somebody and nobody is signed in.
    NotAllowedError
        If they lack its scope, or it has none.
    NotFoundError
        If it is about a bakery that is not there for them.
    """
    route = request.scope.get("route")
    needed = NEEDS.get(f"{request.method} {route.path}") if isinstance(route, APIRoute) else None
    if isinstance(needed, Open):
        return
    sender = _sender(request, held)
    if needed is None or not sender.may(needed):
        what = "Nobody may do this." if needed is None else f"This needs the right to {needed}."
        raise NotAllowedError(what)
    if sender.by_cookie and request.method in CHANGING:
        check_same_site(request)
    bakery_id = bakery_named(request)
    if bakery_id is not None and not sender.sees(bakery_id):
        if "plan_id" in request.path_params:
            raise NotFoundError("plan", str(request.path_params["plan_id"]))
        raise NotFoundError("bakery", bakery_id)
    request.state.principal = sender


def check_same_site(request: Request) -> None:
    """Refuse what a page of another site sends in somebody's name.

    Raises
    ------
    NotAllowedError
        If the browser says that it comes from elsewhere.
    """
    site = request.headers.get("sec-fetch-site")
    origin = request.headers.get("origin")
    foreign = site is not None and site not in SAME_SITE
    if site is None and origin is not None:
        foreign = urlsplit(origin).netloc != request.headers.get("host", "")
    if foreign:
        raise NotAllowedError("This was sent by a page of another site.")


def _sender(request: Request, held: Services) -> Principal:
    shown = request.headers.get("authorization")
    secret = request.cookies.get(COOKIE)
    sender = None
    if shown is not None:
        sender = _of_key(shown, held)
    elif secret is not None:
        with Session(held.engine) as session:
            sender = accounts.of_session(session, secret, held.clock())
    if sender is None and shown is None and held.settings.demo:
        sender = ANYBODY
    if sender is None:
        raise NotSignedInError(
            "Sign in, or send a key as `Authorization: Bearer KEY`."
            if shown is None
            else "This is no key, or it is no longer valid."
        )
    return sender


def _of_key(shown: str, held: Services) -> Principal | None:
    kind, _, key = shown.partition(" ")
    if kind.casefold() != "bearer":
        return None
    now = held.clock()
    with Session(held.engine) as session:
        row = keys.find(session, key.strip(), now)
        if row is None:
            return None
        sender, id, is_to_note = keys.principal(row), row.id, keys.is_use_to_note(row, now)
    if is_to_note:
        with Session(for_writing(held.engine)) as session, session.begin():
            keys.note_use(session, id, now)
    return sender

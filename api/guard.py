"""Who sends a request, and whether they may: asked before every route."""

from __future__ import annotations

from urllib.parse import urlsplit

from fastapi import Request, Response
from fastapi.routing import APIRoute
from sqlmodel import Session

from api.access import ANYBODY, NEEDS, Open, Principal
from api.addresses import BASE
from api.dependencies import Services, ServicesDep, bakery_named
from api.errors import NotAllowedError, NotFoundError, NotSignedInError
from api.settings import THIS_MACHINE
from api.store import accounts, keys
from api.store.engine import for_writing

COOKIE = "ovenward_session"
RENEWED = "renewed_cookie"
"""Where a request's state holds the cookie that its answer is to set anew."""
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
    if sender.by_browser and request.method in CHANGING:
        check_same_site(request)
    bakery_id = bakery_named(request)
    if bakery_id is not None and not sender.sees(bakery_id):
        if "plan_id" in request.path_params:
            raise NotFoundError("plan", str(request.path_params["plan_id"]))
        raise NotFoundError("bakery", bakery_id)
    request.state.principal = sender


def is_still_let_in(request: Request, held: Services) -> bool:
    """Return whether whoever sent a request, which is being answered for long, still may."""
    try:
        sender = _sender(request, held)
    except NotSignedInError:
        return False
    return bool(sender == request.state.principal)


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


def cookie(request: Request, name: str, value: str, lasts_s: int) -> str:
    """Return the header that sets a cookie: secure where the way is, and for our own path."""
    response = Response()
    response.set_cookie(
        name,
        value,
        max_age=lasts_s,
        path=BASE.get() or "/",
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",  # plain http would never send a secure one back
    )
    return response.headers["set-cookie"]


def check_home(request: Request) -> None:
    """Refuse what reaches a demo under a name of the public net.

    A page of another site can let its own name lead to this machine, and would then be no other.
    Such names have a dot.

    Raises
    ------
    NotAllowedError
        If it asks for another host.
    """
    host = urlsplit(f"//{request.headers.get('host', '')}").hostname
    if host not in THIS_MACHINE and "." in (host or "."):
        raise NotAllowedError("The demo answers this machine only: ask for 127.0.0.1.")


def _sender(request: Request, held: Services) -> Principal:
    shown = request.headers.get("authorization")
    secret = request.cookies.get(COOKIE)
    sender = None
    if shown is not None:
        sender = _of_key(shown, held)
    elif secret is not None:
        sender = _of_session(request, secret, held)
    if sender is None and shown is None and held.settings.demo:
        check_home(request)
        sender = ANYBODY
    if sender is None:
        raise NotSignedInError(
            "Sign in, or send a key as `Authorization: Bearer KEY`."
            if shown is None
            else "This is no key, or it is no longer valid."
        )
    return sender


def _of_session(request: Request, secret: str, held: Services) -> Principal | None:
    now = held.clock()
    with Session(held.engine) as session:
        sender = accounts.of_session(session, secret, now)
        is_to_renew = sender is not None and accounts.is_to_renew(session, secret, now)
    if is_to_renew:
        with Session(for_writing(held.engine)) as session, session.begin():
            accounts.renew(session, secret, now)
        lasts_s = int(accounts.DEVICE_LASTS.total_seconds())
        setattr(request.state, RENEWED, cookie(request, COOKIE, secret, lasts_s))
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

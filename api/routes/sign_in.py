"""Signing in and out in a browser, taking in a device, and the first account of all."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlmodel import Session

from api.addresses import at
from api.dependencies import NowDep, ReadDep, Services, ServicesDep
from api.errors import NotFoundError, TooManyTriesError, WrongSignInError
from api.guard import COOKIE, check_same_site, cookie
from api.pages.sign_in import first_run_html, pair_html, sign_in_css, sign_in_html
from api.passwords import LONGEST_PASSWORD, SHORTEST_PASSWORD
from api.store import accounts, pairings
from api.store.accounts import DEVICE_LASTS, FIRST_RUN, SESSION_LASTS
from api.store.engine import for_writing

router = APIRouter(include_in_schema=False)

Text = Annotated[str, Form(max_length=LONGEST_PASSWORD)]
PAIRING = "ovenward_pairing"
ASKS_AGAIN_S = 4


@router.get("/sign-in.css")
def read_style() -> Response:
    """Return the style of these pages."""
    return Response(sign_in_css(), media_type="text/css", headers={"Cache-Control": "no-cache"})


@router.get("/sign-in", response_class=HTMLResponse)
def read_sign_in(request: Request, session: ReadDep) -> Response:
    """Show the page to sign in; before there is any account, the one that makes the first."""
    if accounts.is_first_run(session):
        return RedirectResponse(at("/first-run"), 303)
    return HTMLResponse(sign_in_html(problem=None, is_secure=_is_secure(request)))


@router.post("/sign-in")
def sign_in(
    request: Request, held: ServicesDep, now: NowDep, login: Text, password: Text
) -> Response:
    """Sign in a person by login and password."""
    check_same_site(request)
    number = _begin_try(request, held, login)
    try:
        with Session(held.engine) as session:
            _check_tries(held, number)
            person = accounts.verified(session, login, password)
    except (WrongSignInError, TooManyTriesError) as error:
        page = sign_in_html(problem=str(error), is_secure=_is_secure(request))
        return _refused(page, error)
    with Session(for_writing(held.engine)) as session, session.begin():
        accounts.forget_try(session, number)
        secret = accounts.begin(session, now, account=person)
    return _welcome(request, secret, int(SESSION_LASTS.total_seconds()))


@router.post("/sign-out")
def sign_out(request: Request, held: ServicesDep) -> Response:
    """End the session of this browser."""
    check_same_site(request)
    secret = request.cookies.get(COOKIE)
    if secret is not None:
        with Session(for_writing(held.engine)) as session, session.begin():
            accounts.sign_out(session, secret)
    response = RedirectResponse(at("/sign-in"), 303)
    response.headers["Set-Cookie"] = cookie(request, COOKIE, "", 0)
    return response


@router.get("/pair", response_class=HTMLResponse)
def pair(request: Request, held: ServicesDep, now: NowDep) -> Response:
    """Show a device's code, again and again, until it is taken in; then sign it in."""
    secret, _, code = request.cookies.get(PAIRING, "").partition(".")
    with Session(for_writing(held.engine)) as session, session.begin():
        begun = pairings.begin_session(session, secret, now)
        if begun is None and not pairings.is_waiting(session, secret, now):
            secret, code = pairings.begin(session, _address(request), now)
    if begun is not None:
        return _welcome(request, begun, int(DEVICE_LASTS.total_seconds()))
    page = pair_html(code=code, is_secure=_is_secure(request), again_s=ASKS_AGAIN_S)
    lasts_s = int(pairings.LASTS.total_seconds())
    return HTMLResponse(
        page, headers={"Set-Cookie": cookie(request, PAIRING, f"{secret}.{code}", lasts_s)}
    )


@router.get("/first-run", response_class=HTMLResponse)
def read_first_run(request: Request, session: ReadDep) -> HTMLResponse:
    """Show the page that makes the first account; gone once there is one."""
    if not accounts.is_first_run(session):
        raise NotFoundError("page", "first-run")
    return HTMLResponse(_first_run_page(request, None))


@router.post("/first-run")
def make_first(
    request: Request, held: ServicesDep, now: NowDep, code: Text, login: Text, password: Text
) -> Response:
    """Make the first account with the code that the service printed."""
    check_same_site(request)
    number = _begin_try(request, held, FIRST_RUN)
    try:
        _check_tries(held, number)
        _check_new(login, password)
        with Session(for_writing(held.engine)) as session, session.begin():
            secret = accounts.make_first(session, code, login.strip(), password, now)
            accounts.forget_try(session, number)
    except (WrongSignInError, TooManyTriesError) as error:
        return _refused(_first_run_page(request, str(error)), error)
    return _welcome(request, secret, int(SESSION_LASTS.total_seconds()))


def _check_new(login: str, password: str) -> None:
    if not login.strip() or any(letter.isspace() or letter == "/" for letter in login.strip()):
        raise WrongSignInError("A login has letters, and neither blanks nor a slash.")
    if len(password) < SHORTEST_PASSWORD:
        raise WrongSignInError(f"A password has at least {SHORTEST_PASSWORD} letters.")


def _begin_try(request: Request, held: Services, who: str) -> int:
    with Session(for_writing(held.engine)) as session, session.begin():
        return accounts.begin_try(session, who, _address(request), held.clock())


def _check_tries(held: Services, number: int) -> None:
    """Refuse a try after too many; one that was not made does not count."""
    try:
        with Session(held.engine) as session:
            accounts.check_tries(session, number, held.clock())
    except TooManyTriesError:
        with Session(for_writing(held.engine)) as session, session.begin():
            accounts.forget_try(session, number)
        raise


def _refused(page: str, error: WrongSignInError | TooManyTriesError) -> HTMLResponse:
    if isinstance(error, TooManyTriesError):
        return HTMLResponse(page, 429, {"Retry-After": str(error.wait_s)})
    return HTMLResponse(page, 401)


def _welcome(request: Request, secret: str, lasts_s: int) -> Response:
    response = RedirectResponse(at("/"), 303)
    response.headers.append("Set-Cookie", cookie(request, COOKIE, secret, lasts_s))
    return response


def _first_run_page(request: Request, problem: str | None) -> str:
    return first_run_html(
        problem=problem, is_secure=_is_secure(request), shortest=SHORTEST_PASSWORD
    )


def _is_secure(request: Request) -> bool:
    return request.url.scheme == "https"


def _address(request: Request) -> str:
    return "unknown" if request.client is None else request.client.host

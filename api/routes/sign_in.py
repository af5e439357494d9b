"""Signing in and out in a browser, and the first account of all."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlmodel import Session

from api.dependencies import NowDep, ReadDep, ServicesDep
from api.errors import NotFoundError, TooManyTriesError, WrongSignInError
from api.guard import COOKIE, check_same_site
from api.pages.sign_in import first_run_html, sign_in_html
from api.passwords import LONGEST_PASSWORD, SHORTEST_PASSWORD
from api.store import accounts
from api.store.accounts import FIRST_RUN, SESSION_LASTS
from api.store.engine import for_writing

router = APIRouter(include_in_schema=False)

Text = Annotated[str, Form(max_length=LONGEST_PASSWORD)]


@router.get("/sign-in", response_class=HTMLResponse)
def read_sign_in(request: Request, session: ReadDep) -> Response:
    """Show the page to sign in; before there is any account, the one that makes the first."""
    if accounts.is_first_run(session):
        return RedirectResponse("/first-run", 303)
    return HTMLResponse(sign_in_html(problem=None, is_secure=_is_secure(request)))


@router.post("/sign-in")
def sign_in(
    request: Request,
    held: ServicesDep,
    now: NowDep,
    login: Text = "",
    password: Text = "",
    key: Text = "",
) -> Response:
    """Sign in a person by login and password, or a device by its key."""
    check_same_site(request)
    address = _address(request)
    who = f"a device at {address}" if key else login
    try:
        with Session(held.engine) as session:
            accounts.check_tries(session, who, address, now)
            device = accounts.verified_device(session, key, now) if key else None
            person = None if key else accounts.verified(session, login, password)
    except (WrongSignInError, TooManyTriesError) as error:
        if isinstance(error, WrongSignInError):
            _note_failure(held, who, address)
        page = sign_in_html(problem=str(error), is_secure=_is_secure(request))
        return _refused(page, error)
    with Session(for_writing(held.engine)) as session, session.begin():
        secret = accounts.begin(session, now, account=person, key_id=device)
    return _welcome(request, secret)


@router.post("/sign-out")
def sign_out(request: Request, held: ServicesDep) -> Response:
    """End the session of this browser."""
    check_same_site(request)
    secret = request.cookies.get(COOKIE)
    if secret is not None:
        with Session(for_writing(held.engine)) as session, session.begin():
            accounts.sign_out(session, secret)
    response = RedirectResponse("/sign-in", 303)
    response.delete_cookie(COOKIE)
    return response


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
    address = _address(request)
    try:
        with Session(held.engine) as session:
            accounts.check_tries(session, FIRST_RUN, address, now)
        _check_new(login, password)
        with Session(for_writing(held.engine)) as session, session.begin():
            secret = accounts.make_first(session, code, login.strip(), password, now)
    except (WrongSignInError, TooManyTriesError) as error:
        if isinstance(error, WrongSignInError):
            _note_failure(held, FIRST_RUN, address)
        return _refused(_first_run_page(request, str(error)), error)
    return _welcome(request, secret)


def _check_new(login: str, password: str) -> None:
    if not login.strip() or any(letter.isspace() or letter == "/" for letter in login.strip()):
        raise WrongSignInError("A login has letters, and neither blanks nor a slash.")
    if len(password) < SHORTEST_PASSWORD:
        raise WrongSignInError(f"A password has at least {SHORTEST_PASSWORD} letters.")


def _note_failure(held: ServicesDep, who: str, address: str) -> None:
    with Session(for_writing(held.engine)) as session, session.begin():
        accounts.note_failure(session, who, address, held.clock())


def _refused(page: str, error: WrongSignInError | TooManyTriesError) -> HTMLResponse:
    if isinstance(error, TooManyTriesError):
        return HTMLResponse(page, 429, {"Retry-After": str(error.wait_s)})
    return HTMLResponse(page, 401)


def _welcome(request: Request, secret: str) -> Response:
    response = RedirectResponse("/", 303)
    response.set_cookie(
        COOKIE,
        secret,
        max_age=int(SESSION_LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=_is_secure(request),  # a kitchen's plain http would never send a secure one back
    )
    return response


def _first_run_page(request: Request, problem: str | None) -> str:
    return first_run_html(
        problem=problem, is_secure=_is_secure(request), shortest=SHORTEST_PASSWORD
    )


def _is_secure(request: Request) -> bool:
    return request.url.scheme == "https"


def _address(request: Request) -> str:
    return "unknown" if request.client is None else request.client.host

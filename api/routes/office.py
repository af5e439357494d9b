"""What the pages of the office share: forms as text, who reads, errors as pages."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from typing import Annotated, Any, cast
from urllib.parse import parse_qsl
from zoneinfo import ZoneInfo

import structlog
from fastapi import APIRouter, Depends, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlmodel import Session

from api.access import Principal
from api.addresses import at
from api.dependencies import Services, writing_session
from api.errors import NotSignedInError, problem_of
from api.files.faults import faults_of
from api.office.forms import Document, document_of_form
from api.office.shell import PREFERENCE, Shell, page, preference
from api.pages.reader import Reader
from api.pages.wording import Clock, Units
from api.pages.words import Words
from api.routes.strict import StrictRoute
from api.schemas.bakery import BakeryInput
from api.schemas.papers import PapersInput
from api.schemas.times import EVENING_FROM
from api.store import bakeries
from planner.errors import InputError, OvenwardError, refuse

_log = structlog.get_logger()


@contextmanager
def writing(held: Services, request: Request) -> Iterator[Session]:
    """Give a page's transaction: committed at its end and noted in the trail, or undone.

    Its route is one of those `IN_TURN`.
    """
    yield from writing_session(held, request, None)


Handler = Callable[[Request], Coroutine[Any, Any, Response]]
MOST_INPUTS = 20_000
"""Inputs that a form may have."""


class Refused(Exception):  # noqa: N818  it is an answer, not an error
    """A form that is shown again; nothing of it was stored.

    Attributes
    ----------
    html, status
        The page, and the status it is sent with.
    """

    def __init__(self, html: str, status: int = 422) -> None:
        super().__init__(status)
        self.html, self.status = html, status


class PageRoute(StrictRoute):
    """A route whose errors are pages too."""

    def get_route_handler(self) -> Handler:
        """Return the handler with the errors around it."""
        handle = super().get_route_handler()

        async def shown(request: Request) -> Response:
            try:
                return await handle(request)
            except Refused as refused:
                return HTMLResponse(refused.html, refused.status)
            except RequestValidationError as error:
                return _problem_page(request, InputError(faults_of(error.errors())))
            except OvenwardError as error:
                return _problem_page(request, error)

        return shown


def _problem_page(request: Request, error: Exception) -> Response:
    """Return an error as a page, to whoever reads pages; others are told as by the API.

    Raises
    ------
    Exception
        The error itself, to be told otherwise.
    """
    if "text/html" not in request.headers.get("accept", ""):
        raise error
    if isinstance(error, NotSignedInError) and request.method == "GET":
        return go_to("/sign-in")
    problem = problem_of(error, request.url.path)
    if problem.status >= 500:
        _log.error("page failed", path=request.url.path, exc_info=error)
    shell = Shell(say=_words(request, None), units=Units.METRIC)
    signed_out = isinstance(error, NotSignedInError)
    html = page("problem.html", shell, problem=problem, signed_out=signed_out)
    return HTMLResponse(html, problem.status)


def pages() -> APIRouter:
    """Return a router of pages."""
    return APIRouter(include_in_schema=False, route_class=PageRoute)


async def _pairs(request: Request) -> list[tuple[str, str]]:
    """Return names and values of a form that was sent, in order."""
    body = (await request.body()).decode("utf-8", "replace").replace("\0", "")
    try:
        return parse_qsl(body, keep_blank_values=True, max_num_fields=MOST_INPUTS)
    except ValueError:
        remedy = f"send at most {MOST_INPUTS}"
        raise refuse("form", "…", "has more inputs than any of our pages", remedy) from None


async def _form(request: Request) -> Document:
    return document_of_form(await _pairs(request))


async def _sparse(request: Request) -> Document:
    return document_of_form(await _pairs(request), closed_up=False)


FormDep = Annotated[Document, Depends(_form)]
"""What was typed, as a document."""

SparseDep = Annotated[Document, Depends(_sparse)]
"""What was typed, lists by their index: for forms that show some entries of a list only."""


def _words(request: Request, house: BakeryInput | None) -> Words:
    papers = house.papers if house is not None and house.papers is not None else PapersInput()
    language, _ = preference(request.cookies.get(PREFERENCE), papers.language, Units.METRIC)
    return Words(language, None, papers.aliases)


def _units(request: Request, house: BakeryInput | None) -> Units:
    own = Units.METRIC if house is None else Units(house.units)
    return preference(request.cookies.get(PREFERENCE), "en", own)[1]


def _person(request: Request, held: Services) -> str:
    """Return who is signed in; nobody in demo mode."""
    return "" if held.settings.demo else cast("Principal", request.state.principal).name


def bare_shell(request: Request, held: Services) -> Shell:
    """Return what stands around a page that belongs to no bakery."""
    words, units = _words(request, None), _units(request, None)
    return Shell(words, units, person=_person(request, held), demo=held.settings.demo)


def shell_of(
    request: Request,
    held: Services,
    session: Session,
    bakery_id: str,
    here: str,
    day: date | None = None,
) -> Shell:
    """Return what stands around a page of a bakery.

    Raises
    ------
    NotFoundError
        If there is no such bakery.
    """
    house = bakeries.get(session, bakery_id)
    return Shell(
        _words(request, house),
        _units(request, house),
        bakery_id,
        house.name,
        day or next_day(held.clock(), ZoneInfo(house.zone)),
        here,
        _person(request, held),
        demo=held.settings.demo,
    )


def reader_in(shell: Shell, zone: ZoneInfo, day: date | None = None) -> Reader:
    """Return how whoever reads a page reads moments of a day."""
    return Reader(Clock(zone, day, language=shell.say.language), shell.units, shell.say)


def next_day(now: datetime, zone: ZoneInfo) -> date:
    """Return the production day that one plans at a moment: from noon on that of tomorrow.

    Examples
    --------
    >>> from datetime import UTC
    >>> next_day(datetime(2026, 7, 15, 9, 59, tzinfo=UTC), ZoneInfo("Europe/Vienna"))
    datetime.date(2026, 7, 15)
    >>> next_day(datetime(2026, 7, 15, 10, 0, tzinfo=UTC), ZoneInfo("Europe/Vienna"))
    datetime.date(2026, 7, 16)
    """
    local = now.astimezone(zone)
    return local.date() + timedelta(days=1 if local.time() >= EVENING_FROM else 0)


def go_to(href: str) -> Response:
    """Send the browser on to another page."""
    return RedirectResponse(at(href), 303)

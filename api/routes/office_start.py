"""The way in: the empty bakery's first dough, what pages load, who reads how."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote, urlsplit

from fastapi import Path, Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import ValidationError
from sqlmodel import Session

from api.dependencies import IN_TURN, NowDep, PrincipalDep, ReadDep, ServicesDep
from api.errors import NotAllowedError, NotFoundError
from api.files.faults import faults_of_validation
from api.guard import cookie
from api.office.first_dough import empty_form, first_dough_html, whole_day
from api.office.forms import Typed, with_faults
from api.office.home import bakeries_html
from api.office.plan_page import plan_href
from api.office.shell import PREFERENCE, STATIC, asset, preference, static_bytes
from api.pages.wording import Units
from api.routes.office import FormDep, bare_shell, go_to, pages, writing
from api.schemas.day import DayInput
from api.store import bakeries, days
from api.store.documents import document_of
from planner.errors import Fault, InputError

router = pages()

A_YEAR_S = 31_536_000


@router.get("/", response_class=HTMLResponse)
def read_home(
    request: Request, held: ServicesDep, session: ReadDep, sender: PrincipalDep
) -> Response:
    """Greet an empty bakery with one dough; else go to the day, or list the bakeries."""
    shell = bare_shell(request, held)
    known = [one for one in bakeries.heads(session) if sender.sees(one.id)]
    if not known:
        return HTMLResponse(first_dough_html(Typed(empty_form()), shell))
    if len(known) == 1:
        return go_to(f"/bakery/{quote(known[0].id, safe='')}")
    return HTMLResponse(bakeries_html(known, shell))


@router.get("/first-dough", response_class=HTMLResponse)
def read_first_dough(request: Request, held: ServicesDep) -> HTMLResponse:
    """Show the form of a first dough."""
    return HTMLResponse(first_dough_html(Typed(empty_form()), bare_shell(request, held)))


@router.post("/first-dough", response_class=HTMLResponse, dependencies=IN_TURN)
def make_first_dough(
    request: Request, typed: FormDep, held: ServicesDep, now: NowDep, sender: PrincipalDep
) -> Response:
    """Store what was typed as the bakery, its first dough and its day, and plan it."""
    day, faults = whole_day(typed, now)
    try:
        entered = DayInput.model_validate(day)
        if not faults:
            entered.to_core()
    except ValidationError as error:
        faults += faults_of_validation(error, day)
    except InputError as error:
        faults += error.faults
    faults += _taken(held, day)
    if faults:
        ids = {"mix_list": [str(pin["mix"]) for pin in day["pins"]]}
        wrong = with_faults(typed, faults, "", ids)
        return HTMLResponse(first_dough_html(wrong, bare_shell(request, held)), 422)
    bakery_id = entered.bakery.key
    if not sender.sees(bakery_id):
        raise NotAllowedError("You belong to one bakery, and cannot make another.")
    with writing(held, request) as session:
        days.put(session, bakery_id, entered.production_date, entered, now)
    plan_id, _ = held.jobs.order(bakery_id, entered.production_date)
    return go_to(plan_href(plan_id))


def _taken(held: ServicesDep, day: dict[str, object]) -> list[Fault]:
    """A first dough never writes over a bakery that is there."""
    try:
        entered = DayInput.model_validate(day)
    except (ValidationError, InputError):
        return []
    with Session(held.engine) as session:
        try:
            stored = bakeries.get(session, entered.bakery.key)
        except NotFoundError:
            return []
    text, remedy = "there is a bakery of this name", "give this one another name"
    return [Fault("bakery.name", str(document_of(stored)["name"]), text, remedy)]


Name = Annotated[str, Path(max_length=60)]
Version = Annotated[str, Query(max_length=40)]


@router.get("/static/{name}")
def read_static(name: Name, v: Version = "") -> Response:
    """Give a file that pages load; kept by the browser when it is asked for by its mark."""
    if name not in STATIC:
        raise NotFoundError("file", name)
    kept = bool(v) and asset(name).endswith(v)
    headers = {"Cache-Control": f"public, max-age={A_YEAR_S}, immutable" if kept else "no-cache"}
    return Response(static_bytes(name), media_type=STATIC[name], headers=headers)


@router.post("/reads")
def set_reads(typed: FormDep, request: Request) -> Response:
    """Keep language and units for this browser."""
    wanted = f"{typed.get('language', '')}.{typed.get('units', '')}"
    language, units = preference(wanted, "en", Units.METRIC)
    response = go_to(_own_path(str(typed.get("back", "/"))))
    kept = cookie(request, PREFERENCE, f"{language}.{units}", A_YEAR_S)
    response.headers.append("set-cookie", kept)
    return response


def _own_path(href: str) -> str:
    """Return a path of this service; the first page when it is an address elsewhere."""
    own = href.startswith("/") and not href.startswith(("//", "/\\"))
    return href if own and not urlsplit(href).netloc else "/"

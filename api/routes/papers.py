"""The papers of a plan: pages and PDF to print, rows and tickets for other programs."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.responses import HTMLResponse
from sqlmodel import Session

from api.around import CARRIES_STYLE
from api.dependencies import ReadDep, SettingsDep
from api.errors import NotFoundError, PdfFailedError, PdfMissingError, responses
from api.pages.choice import Choice, Paper
from api.pages.day_drawing import drawing_file
from api.pages.dosing import Cell, dosing_ticket
from api.pages.pdf import NoPdfError, PdfBrokenError, pdf_of
from api.pages.reader import Reader, reader_of
from api.pages.rows import paper_rows, rows_csv
from api.pages.sheet import PaperSize, sheet_html
from api.pages.words import Words
from api.routes.plans import PlanId
from api.routes.strict import StrictRoute
from api.schemas.papers import DrawingQuery, PapersInput, PapersQuery, RowRead
from api.settings import Settings
from api.store import days, plans
from api.store.tables import PlanRow
from planner.errors import refuse
from planner.planned import Plan, PlannedMix

router = APIRouter(tags=["papers"], prefix="/plans/{plan_id}", route_class=StrictRoute)

Wanted = Annotated[PapersQuery, Query()]
MixId = Annotated[str, Path(description="Id of the mix.", examples=["rolls_early"])]
PDF: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/pdf": {}}, "description": "The papers as PDF."}
}
SVG: dict[int | str, dict[str, Any]] = {
    200: {"content": {"image/svg+xml": {}}, "description": "The day as a drawing."}
}
CSV: dict[int | str, dict[str, Any]] = {
    200: {"content": {"text/csv": {}}, "description": "The rows, with a head."}
}


@router.get("/sheet", response_class=HTMLResponse, responses=responses(404, 409, 422, 503))
def read_sheet(
    plan_id: PlanId, wanted: Wanted, request: Request, session: ReadDep, settings: SettingsDep
) -> HTMLResponse:
    """Read papers as a page to print."""
    page = _page(plan_id, wanted, request, session, settings)
    return HTMLResponse(page, headers=CARRIES_STYLE)


@router.get(
    "/sheet.pdf",
    response_class=Response,
    responses={**PDF, **responses(404, 409, 422, 500, 501, 503)},
)
def read_sheet_pdf(
    plan_id: PlanId, wanted: Wanted, request: Request, session: ReadDep, settings: SettingsDep
) -> Response:
    """Read papers as PDF; made in a process of its own, so that everything else goes on."""
    page = _page(plan_id, wanted, request, session, settings)
    session.close()  # making the PDF takes seconds, and needs nothing of the database
    try:
        made = pdf_of(page)
    except NoPdfError as error:
        raise PdfMissingError(str(error)) from error
    except PdfBrokenError as error:
        raise PdfFailedError(str(error)) from error
    name = quote(f"{plan_id}.pdf")
    headers = {"Content-Disposition": f"inline; filename*=UTF-8''{name}"}
    return Response(made, media_type="application/pdf", headers=headers)


@router.get("/day.svg", response_class=Response, responses={**SVG, **responses(404, 409, 422, 503)})
def read_day_drawing(
    plan_id: PlanId, wanted: Annotated[DrawingQuery, Query()], session: ReadDep
) -> Response:
    """Read the day as a drawing: time runs down, a column per place, a block as wide as its dough.

    A day that does not fit on one sheet has its sheets one below the other.
    """
    row, plan = plan_of(session, plan_id)
    drawing = drawing_file(plan, house_reader(row, plan, wanted))
    return Response(drawing, media_type="image/svg+xml")


@router.get("/rows", responses=responses(404, 409, 422, 503))
def read_rows(plan_id: PlanId, wanted: Wanted, session: ReadDep) -> list[RowRead]:
    """Read the rows of the shift's sheet as data."""
    row, plan = plan_of(session, plan_id)
    rows = paper_rows(plan, house_reader(row, plan, wanted), _choice(plan, wanted))
    return [RowRead.of(one) for one in rows]


@router.get(
    "/rows.csv", response_class=Response, responses={**CSV, **responses(404, 409, 422, 503)}
)
def read_rows_csv(plan_id: PlanId, wanted: Wanted, session: ReadDep) -> Response:
    """Read the rows of the shift's sheet as CSV."""
    row, plan = plan_of(session, plan_id)
    rows = paper_rows(plan, house_reader(row, plan, wanted), _choice(plan, wanted))
    return Response(rows_csv(rows), media_type="text/csv; charset=utf-8")


@router.get(
    "/mixes/{mix_id}/ticket",
    response_class=HTMLResponse,
    responses=responses(404, 409, 422, 503),
)
def read_ticket(plan_id: PlanId, mix_id: MixId, wanted: Wanted, session: ReadDep) -> HTMLResponse:
    """Read one mix's ticket as a page: where the code on paper leads."""
    row, plan = plan_of(session, plan_id)
    mix = _mix(plan, mix_id)
    alone = Choice((Paper.TICKETS,), mix_ids=frozenset({mix.id}))
    reader = house_reader(row, plan, wanted)
    page = sheet_html(plan, reader, alone, size=_size(row, wanted))
    return HTMLResponse(page, headers=CARRIES_STYLE)


@router.get("/mixes/{mix_id}/dosing", responses=responses(404, 409, 422, 503))
def read_dosing(plan_id: PlanId, mix_id: MixId, session: ReadDep) -> dict[str, Cell]:
    """Read one mix on one level, in kilograms and degrees Celsius, for a dosing controller."""
    row, plan = plan_of(session, plan_id)
    return dosing_ticket(plan, _mix(plan, mix_id), house_reader(row, plan, PapersQuery()))


def _page(
    plan_id: str, wanted: PapersQuery, request: Request, session: Session, settings: Settings
) -> str:
    row, plan = plan_of(session, plan_id)
    before = _before(session, row, wanted)
    base = settings.public_url or str(request.base_url)
    return sheet_html(
        plan,
        house_reader(row, plan, wanted),
        _choice(plan, wanted),
        before=before,
        size=_size(row, wanted),
        link=f"{base.rstrip('/')}/api/v1/plans/{quote(plan_id, safe='')}",
    )


def plan_of(session: Session, plan_id: str) -> tuple[PlanRow, Plan]:
    """Return a plan that is ready, with its row."""
    row = plans.get(session, plan_id)
    return row, plans.core_plan(row)


def _before(session: Session, row: PlanRow, wanted: PapersQuery) -> Plan | None:
    """Return the plan whose papers hang on the wall: the one named, or the version before."""
    if wanted.compared_with is not None:
        named, plan = plan_of(session, wanted.compared_with)
        if named.bakery_id != row.bakery_id:  # the guard has looked at the address only
            raise NotFoundError("plan", wanted.compared_with)
        return plan
    earlier = plans.before(session, row)
    return None if earlier is None else plans.core_plan(earlier)


def _mix(plan: Plan, mix_id: str) -> PlannedMix:
    found = next((mix for mix in plan.mixes if mix.id == mix_id), None)
    if found is None:
        raise NotFoundError("mix", mix_id)
    return found


def house_reader(row: PlanRow, plan: Plan, wanted: DrawingQuery) -> Reader:
    """Return how the bakery of a plan reads, or as it is asked for."""
    house: PapersInput = days.papers_of(row.made_from)
    zone = ZoneInfo(days.zone_of(row.made_from))
    units = wanted.units or days.units_of(row.made_from)
    second = wanted.second_language or (None if wanted.language else house.second_language)
    words = Words(wanted.language or house.language, second, house.aliases)
    return reader_of(plan, zone, units, words, house.scales)


def _size(row: PlanRow, wanted: PapersQuery) -> PaperSize:
    return wanted.size or days.papers_of(row.made_from).paper_size


def _choice(plan: Plan, wanted: PapersQuery) -> Choice:
    house = plan.day.bakery
    people = {person.id for person in house.people}
    places = {*house.place_ids, *(m.id for m in house.mixers), *(o.id for o in house.ovens)}
    _check_known("person", wanted.person, people)
    _check_known("place", wanted.place, {*places, "bench"})
    for mix_id in wanted.ticket:
        _check_known("ticket", mix_id, {mix.id for mix in plan.mixes})
    for name, moment in (("from_utc", wanted.from_utc), ("until_utc", wanted.until_utc)):
        if moment is not None and moment.utcoffset() is None:
            raise refuse(name, moment.isoformat(), "has no zone", "end it with Z for UTC")
    return Choice(
        tuple(wanted.paper),
        wanted.person,
        wanted.place,
        wanted.from_utc,
        wanted.until_utc,
        frozenset(wanted.ticket),
    )


def _check_known(field: str, value: str | None, known: set[str]) -> None:
    if value is not None and value not in known:
        raise refuse(field, value, "is not in this plan", f"use one of: {', '.join(sorted(known))}")

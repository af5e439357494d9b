"""The record of a bakery: readings against plan, the temperature log, and what was done."""

from __future__ import annotations

from datetime import date
from typing import Annotated
from urllib.parse import quote
from uuid import uuid4
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Query, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlmodel import Session

from api.addresses import at
from api.dependencies import CoreDep, NowDep, ReadDep, WriteDep
from api.errors import NotFoundError
from api.pages.bench.record import log_csv, log_rows, record, record_html, span_of
from api.pages.files import bench_folder
from api.pages.reader import Reader
from api.pages.wording import Clock, Units
from api.routes.plans import PlanId
from api.routes.shared import BakeryId
from api.routes.strict import StrictRoute
from api.schemas.papers import PapersInput
from api.schemas.this_age import InThisAge
from api.store import bakeries, shifts
from api.store.intake import Intake
from planner.readings import Reading, ReadingKind

router = APIRouter(include_in_schema=False, prefix="/record/{bakery_id}", route_class=StrictRoute)

FromDay = Annotated[date | None, InThisAge, Query(alias="from")]
ToDay = Annotated[date | None, InThisAge, Query(alias="to")]


@router.get("", response_class=HTMLResponse)
def read_record(
    bakery_id: BakeryId, session: ReadDep, now: NowDep, first: FromDay = None, last: ToDay = None
) -> HTMLResponse:
    """Read how near doughs came, and the log; of the last fortnight when no days are named."""
    reader = _reader(session, bakery_id)
    days = span_of(first, last, now.date())
    nights = shifts.with_readings(session, bakery_id, *days, now)
    made = record(nights, *days, reader)
    return HTMLResponse(record_html(made, bakery_id, days, bench_folder(), reader.say))


@router.get("/log.csv")
def read_log_csv(
    bakery_id: BakeryId, session: ReadDep, now: NowDep, first: FromDay = None, last: ToDay = None
) -> Response:
    """Read the temperature log as CSV, for whoever inspects."""
    days = span_of(first, last, now.date())
    nights = shifts.with_readings(session, bakery_id, *days, now)
    text = log_csv(row for shift in nights for row in log_rows(shift))
    name = f"temperatures-{bakery_id}-{days[0]}-{days[1]}.csv"
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}"}
    return Response(text, media_type="text/csv; charset=utf-8", headers=headers)


@router.post("/plans/{plan_id}/notes")
def create_note(
    bakery_id: BakeryId,
    plan_id: PlanId,
    session: WriteDep,
    core: CoreDep,
    now: NowDep,
    mix_id: Annotated[str, Form(max_length=200)],
    note: Annotated[str, Form(max_length=400)],
    by: Annotated[str, Form(max_length=40)] = "",
) -> RedirectResponse:
    """Write down what was done about a reading, and go back to the record."""
    intake = Intake(session, plan_id, core.answer, core.learn, now)
    if intake.row.bakery_id != bakery_id:
        raise NotFoundError("plan", plan_id)
    id = f"note-{uuid4()}"
    intake.take(Reading(id, ReadingKind.NOTE, mix_id, now, by=by or None, note=note.strip()))
    return RedirectResponse(at(f"/record/{bakery_id}"), status_code=303)


def _reader(session: Session, bakery_id: str) -> Reader:
    """Return how a house reads now."""
    bakery = bakeries.get(session, bakery_id)
    house = bakery.papers or PapersInput()
    clock = Clock(ZoneInfo(bakery.zone), language=house.language)
    return Reader(clock, Units(bakery.units), house.words, house.scales)

"""At the mixer: the page, its day, and readings that come back as new screens."""

from __future__ import annotations

import gzip
import json
from datetime import date
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from api.dependencies import CoreDep, NowDep, ReadDep, WriteDep
from api.errors import NotFoundError
from api.pages.bench.boxes import milliseconds
from api.pages.bench.day_held import day_held, list_html, screens_of, shell_html
from api.pages.bench.morning import morning_html
from api.pages.bench.wall import wall_html, wall_part
from api.pages.files import bench_files, bench_folder, bench_version, media_of
from api.pages.words import Words
from api.routes.plans import PlanId
from api.routes.readings import outcome
from api.routes.shared import BakeryId
from api.routes.strict import StrictRoute
from api.schemas.readings import Outcome, OutcomeRead, ReadingsBatch
from api.schemas.this_age import InThisAge
from api.store import plans, shifts
from api.store.intake import Intake

router = APIRouter(include_in_schema=False, route_class=StrictRoute)

KEPT = "private, max-age=604800"
"""The page itself holds nothing of a day: a browser may show it without asking anybody."""

FOR_GOOD = "public, max-age=31536000, immutable"
SMALL = 1000
"""Answers shorter than this are not worth compressing [bytes]."""

AskedDay = Annotated[date | None, InThisAge, Query(alias="date")]


@router.get("/bench-files/{version}/{name}")
def read_bench_file(version: str, name: str, request: Request) -> Response:
    """Read a script or style of the pages of the shift."""
    content = bench_files().get(name)
    if content is None:
        raise NotFoundError("file", name)
    found = squeezed(content, media_of(name), request)
    found.headers["Cache-Control"] = FOR_GOOD if version == bench_version() else "no-cache"
    return found


@router.get("/bench/{bakery_id}", response_class=HTMLResponse)
def read_bench(bakery_id: BakeryId, session: ReadDep, now: NowDep) -> HTMLResponse:
    """Read the page at the mixer; it fetches its day itself, and keeps it."""
    words = shifts.words_of(session, bakery_id, now)
    page = shell_html(bakery_id, bench_folder(), words.language, words)
    return HTMLResponse(page, headers={"Cache-Control": KEPT})


@router.get("/bench/{bakery_id}/day")
def read_day(
    bakery_id: BakeryId,
    session: ReadDep,
    now: NowDep,
    request: Request,
    wanted: AskedDay = None,
) -> Response:
    """Read the day as the page holds it; 304 while nothing has changed."""
    row = shifts.row_of(session, bakery_id, now, wanted)
    if row is None:
        raise NotFoundError("finished plan of", str(wanted or bakery_id))
    # Quoted: the stamp names the plan, whose id may have letters that no header takes.
    tag = f'"{bench_version()}/{quote(shifts.stamp(session, row))}"'
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers={"ETag": tag})
    held = day_held(shifts.of_plan(session, row, now), bench_version())
    found = squeezed(json.dumps(held).encode(), "application/json", request)
    found.headers["ETag"] = tag
    return found


@router.post("/bench/{bakery_id}/plans/{plan_id}/readings")
def create_bench_readings(
    bakery_id: BakeryId,
    plan_id: PlanId,
    sent: ReadingsBatch,
    session: WriteDep,
    core: CoreDep,
    now: NowDep,
    request: Request,
) -> Response:
    """Store readings as the batch of the API does, and answer with the screens they change."""
    intake = Intake(session, plan_id, core.answer, core.learn, now)
    if intake.row.bakery_id != bakery_id:
        raise NotFoundError("plan", plan_id)
    outcomes = [outcome(intake, one) for one in sent.readings]
    touched = frozenset(one.mix_id for one in sent.readings)
    shift = shifts.of_plan(session, intake.row, now)
    made = screens_of(shift, touched)
    told = {
        "plan_id": plan_id,
        "now": milliseconds(now),
        "outcomes": [_told(one) for one in outcomes],
        "screens": made.html,
        "mixes": made.mixes,
        "list": list_html(shift),
    }
    return squeezed(json.dumps(told).encode(), "application/json", request)


@router.get("/wall/{bakery_id}", response_class=HTMLResponse)
def read_wall(
    bakery_id: BakeryId, session: ReadDep, now: NowDep, wanted: AskedDay = None
) -> HTMLResponse:
    """Read the page for the wall; it shows, and changes nothing."""
    row = shifts.row_of(session, bakery_id, now, wanted)
    shift = None if row is None else shifts.of_plan(session, row, now)
    words = Words() if shift is None else shift.reader.say
    return HTMLResponse(wall_html(shift, bakery_id, bench_folder(), words.language, words))


@router.get("/wall/{bakery_id}/now", response_class=HTMLResponse)
def read_wall_now(
    bakery_id: BakeryId, session: ReadDep, now: NowDep, request: Request, wanted: AskedDay = None
) -> Response:
    """Read what the wall shows now."""
    part = wall_part(shifts.current(session, bakery_id, now, wanted))
    return squeezed(part.encode(), "text/html; charset=utf-8", request)


@router.get("/morning/{plan_id}", response_class=HTMLResponse)
def read_morning(plan_id: PlanId, session: ReadDep, now: NowDep) -> HTMLResponse:
    """Read the grid on which a night's papers are typed; typing them plans nothing anew."""
    shift = shifts.of_plan(session, plans.head(session, plan_id), now)
    return HTMLResponse(morning_html(shift, bench_folder()))


def _told(one: OutcomeRead) -> dict[str, Any]:
    reason = ""
    if one.outcome is Outcome.REFUSED and one.problem is not None:
        faults = one.problem.faults or []
        told = [f"{fault.value} {fault.problem}: {fault.remedy}" for fault in faults]
        reason = "; ".join(told) or one.problem.detail
    return {"id": one.id, "outcome": one.outcome, "reason": reason}


def squeezed(content: bytes, media: str, request: Request) -> Response:
    """Return an answer, compressed where the browser reads that."""
    headers = {"Vary": "Accept-Encoding"}
    if len(content) >= SMALL and "gzip" in request.headers.get("accept-encoding", ""):
        content = gzip.compress(content, 5)
        headers["Content-Encoding"] = "gzip"
    return Response(content, media_type=media, headers=headers)

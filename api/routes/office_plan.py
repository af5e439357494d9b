"""The pages of a plan: under way, finished, a mix opened, versions compared, approved."""

from __future__ import annotations

from datetime import date
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import Path, Query, Request, Response
from fastapi.responses import HTMLResponse
from sqlmodel import Session

from api.addresses import at
from api.dependencies import IN_TURN, NowDep, ReadDep, ServicesDep, WriteDep
from api.errors import ClashError, NotFoundError
from api.office.compare import compare_html
from api.office.edits import Clash, clash_of
from api.office.forms import Typed, with_faults
from api.office.mix_page import mix_html, mix_page
from api.office.plan_page import (
    Version,
    drawing_html,
    mix_href,
    plan_href,
    plan_html,
    plan_page,
    versions_of,
)
from api.office.progress import failed_html, progress_html
from api.office.shell import Shell
from api.office.what_if import asked_of, varied, what_if_html
from api.pages.changes import slip
from api.pages.reader import Reader, reader_of
from api.routes.office import (
    FormDep,
    Refused,
    SparseDep,
    go_to,
    pages,
    reader_in,
    shell_of,
    writing,
)
from api.schemas.plans import PlanState
from api.store import days, in_force, office, plan_views, plans
from api.store.locks import lock_bakery
from api.store.paging import Page
from api.store.tables import PlanRow
from planner.errors import InputError
from planner.planned import Plan

router = pages()

PlanId = Annotated[str, Path(max_length=240)]
MixId = Annotated[str, Path(max_length=240)]
With = Annotated[str, Query(alias="with", max_length=240)]
MOST_VERSIONS = 30
LONGEST_WHAT_IF_S = 90.0


@router.get("/plan/{plan_id}", response_class=HTMLResponse)
def read_plan_page(
    plan_id: PlanId, request: Request, held: ServicesDep, session: ReadDep, now: NowDep
) -> HTMLResponse:
    """Show a plan: finished, under way, or why it could not be made."""
    row = plans.get(session, plan_id)
    shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
    state = plan_views.progress(row, now, held.settings.stale_s)
    if state.state is PlanState.READY:
        return HTMLResponse(_ready(session, row, shell, held))
    versions = _versions(session, row, shell, held)
    if state.state is PlanState.FAILED:
        problem = plan_views.whole(session, row, now, held.settings.stale_s).problem
        return HTMLResponse(failed_html(row.version, problem, versions, shell))
    return HTMLResponse(progress_html(plan_id, state, shell, now=now, row_made=row.created_at))


@router.get("/plan/{plan_id}/progress", response_class=HTMLResponse)
def read_progress_part(
    plan_id: PlanId, request: Request, held: ServicesDep, session: ReadDep, now: NowDep
) -> Response:
    """Give the part of the page that tells how planning goes; once it is done, the whole page."""
    row = plans.head(session, plan_id)
    state = plan_views.progress(row, now, held.settings.stale_s)
    if state.state is not PlanState.PLANNING:
        return Response(status_code=200, headers={"HX-Redirect": at(plan_href(plan_id))})
    shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
    return HTMLResponse(
        progress_html(plan_id, state, shell, now=now, row_made=row.created_at, part=True)
    )


@router.get("/plan/{plan_id}/drawing", response_class=HTMLResponse)
def read_drawing(
    plan_id: PlanId, request: Request, held: ServicesDep, session: ReadDep
) -> HTMLResponse:
    """Give the day of a plan, drawn, for its page."""
    row = plans.get(session, plan_id)
    plan = plans.core_plan(row)
    shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
    return HTMLResponse(drawing_html(plan, _reader(row, plan, shell), shell))


@router.post("/plan/{plan_id}/stop")
def stop_plan_page(plan_id: PlanId, session: WriteDep) -> Response:
    """End the search with the best so far."""
    plans.request_stop(session, plan_id)
    return go_to(plan_href(plan_id))


@router.post("/plan/{plan_id}/approve")
def approve_plan_page(plan_id: PlanId, session: WriteDep, now: NowDep) -> Response:
    """Let this version be the one of its day that counts."""
    in_force.approve(session, plan_id, now)
    return go_to(plan_href(plan_id))


@router.post("/plan/{plan_id}/assumed", response_class=HTMLResponse, dependencies=IN_TURN)
def replace_assumed(
    plan_id: PlanId, typed: SparseDep, request: Request, held: ServicesDep, now: NowDep
) -> Response:
    """Store what replaces assumptions of a plan, and plan its day again."""
    with writing(held, request) as session:
        row = plans.get(session, plan_id)
        try:
            office.replace_assumed(session, row, typed, now)
        except InputError as error:
            shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
            wrong = Typed(typed, with_faults(row.made_from, error.faults, "").errors)
            raise Refused(_ready(session, row, shell, held, wrong)) from None
        bakery_id, day = row.bakery_id, row.production_date
    return _again(held, bakery_id, day)


@router.get("/plan/{plan_id}/compare", response_class=HTMLResponse)
def compare_plans(
    plan_id: PlanId,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    other_id: With,
) -> HTMLResponse:
    """Show what another version of the day's plan says otherwise."""
    row, other = plans.get(session, plan_id), plans.get(session, other_id)
    if (other.bakery_id, other.production_date) != (row.bakery_id, row.production_date):
        raise NotFoundError("version of this plan", other_id)
    first, last = sorted((row, other), key=lambda one: one.version)
    shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
    before, now_plan = plans.core_plan(first), plans.core_plan(last)
    reader = _reader(last, now_plan, shell)
    return HTMLResponse(
        compare_html(
            slip(before, now_plan, reader),
            before.points,
            now_plan.points,
            plan_href(plan_id),
            shell,
        )
    )


@router.post("/plan/{plan_id}/what-if", response_class=HTMLResponse)
def ask_what_if(
    plan_id: PlanId, typed: FormDep, request: Request, held: ServicesDep
) -> HTMLResponse:
    """Show what the day would be on another night; the plan itself stays as it is."""
    with Session(held.engine) as session:
        row = plans.get(session, plan_id)
        before = plans.core_plan(row)
        shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
        made_from, bakery_id = row.made_from, row.bakery_id
        reader = _reader(row, before, shell)
    asked = asked_of(typed, shell.units, before.day.bakery)
    job = held.jobs.aside(bakery_id, varied(made_from, asked), asked.warmer_k)
    try:
        after = job.result(timeout=LONGEST_WHAT_IF_S)
    except TimeoutError:
        raise ClashError("Other plans are being made. Ask again in a moment.") from None
    return HTMLResponse(what_if_html(asked, before, after, reader, plan_href(plan_id), shell))


@router.get("/plan/{plan_id}/mix/{mix_id}", response_class=HTMLResponse)
def read_mix_page(
    plan_id: PlanId, mix_id: MixId, request: Request, held: ServicesDep, session: ReadDep
) -> HTMLResponse:
    """Show one mix: its numbers, why, its heat, and what may be fixed."""
    row = plans.get(session, plan_id)
    shell = shell_of(request, held, session, row.bakery_id, "plan", row.production_date)
    typed, _ = office.pin_of(session, row.bakery_id, row.production_date, mix_id)
    return HTMLResponse(_mix(row, mix_id, shell, typed))


@router.post("/plan/{plan_id}/mix/{mix_id}/pin", response_class=HTMLResponse, dependencies=IN_TURN)
def pin_mix(
    plan_id: PlanId,
    mix_id: MixId,
    typed: FormDep,
    request: Request,
    held: ServicesDep,
    now: NowDep,
) -> Response:
    """Fix something of a mix, or nothing any more, and plan the day again."""
    seen, loose = str(typed.pop("seen", "")), typed.pop("loose", None)
    wanted = {} if loose else typed
    with writing(held, request) as session:
        row = plans.get(session, plan_id)
        bakery_id, day = row.bakery_id, row.production_date
        lock_bakery(session, bakery_id)
        stored, all_pins = office.pin_of(session, bakery_id, day, mix_id)
        shell = shell_of(request, held, session, bakery_id, "plan", day)
        if seen != stored.seen:
            clash = clash_of(stored.document, wanted, mix_href(plan_id, mix_id))
            raise Refused(_mix(row, mix_id, shell, Typed(wanted, seen=stored.seen), clash), 409)
        try:
            office.fix_pin(session, bakery_id, day, all_pins, mix_id, wanted, now)
        except InputError as error:
            wrong = with_faults(wanted, error.faults, stored.seen)
            raise Refused(_mix(row, mix_id, shell, wrong)) from None
    return _again(held, bakery_id, day)


def _again(held: ServicesDep, bakery_id: str, day: date) -> Response:
    plan_id, _ = held.jobs.order(bakery_id, day)
    return go_to(plan_href(plan_id))


def _ready(
    session: Session, row: PlanRow, shell: Shell, held: ServicesDep, typed: Typed | None = None
) -> str:
    plan = plans.core_plan(row)
    reader = _reader(row, plan, shell)
    versions, wrong = _versions(session, row, shell, held), typed or Typed({})
    content = plan_page(row.id, plan, row.made_from, reader, versions, wrong)
    names = {one.cell.name for one in content.assumed if one.cell.errors}
    rest = [
        f"{name}: {text}"
        for name, texts in wrong.errors.items()
        for text in texts
        if name not in names
    ]
    return plan_html(content, shell, here=plan_href(row.id), typed=wrong, rest=rest, saved="")


def _versions(
    session: Session, row: PlanRow, shell: Shell, held: ServicesDep
) -> tuple[Version, ...]:
    rows = plans.listed(session, row.bakery_id, row.production_date, Page(MOST_VERSIONS))
    heads = plan_views.heads(session, rows, held.clock(), held.settings.stale_s)
    clock = reader_in(shell, ZoneInfo(days.zone_of(row.made_from)), row.production_date).clock
    return versions_of(heads, row.id, shell, {one.id: clock.full(one.created_at) for one in rows})


def _reader(row: PlanRow, plan: Plan, shell: Shell) -> Reader:
    zone = ZoneInfo(days.zone_of(row.made_from))
    return reader_of(plan, zone, shell.units, shell.say, days.papers_of(row.made_from).scales)


def _mix(row: PlanRow, mix_id: str, shell: Shell, typed: Typed, clash: Clash | None = None) -> str:
    plan = plans.core_plan(row)
    mix = next((one for one in plan.mixes if one.id == mix_id), None)
    if mix is None:
        raise NotFoundError("mix", mix_id)
    pinned = any(pin.mix_id == mix_id for pin in plan.pins)
    content = mix_page(
        row.id,
        plan,
        mix,
        _reader(row, plan, shell),
        typed,
        is_pinned=pinned or bool(typed.document),
    )
    shown = {cell.name for cell in content.pins}
    rest = [text for name, texts in typed.errors.items() if name not in shown for text in texts]
    return mix_html(content, shell, typed=typed, rest=rest, clash=clash)

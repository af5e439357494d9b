"""The pages of a production day: what is there of it, and the way to its plan."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated
from urllib.parse import quote
from zoneinfo import ZoneInfo

from fastapi import Query, Request, Response
from fastapi.responses import HTMLResponse
from sqlmodel import Session

from api.dependencies import ReadDep, ServicesDep
from api.errors import DayClashError, DayIncompleteError
from api.office.home import DayPage, day_html, day_steps
from api.office.plan_page import plan_href, versions_of
from api.office.shell import Shell
from api.pages.wording import day_text
from api.routes.office import go_to, pages, reader_in, shell_of
from api.routes.shared import BakeryId, ProductionDate
from api.store import bakeries, conditions, days, formulas, mix_lists, plan_views, plans
from planner.errors import Fault

router = pages()

MOST_DAYS = 14
Why = Annotated[int, Query(ge=0, le=1)]


@router.get("/bakery/{bakery_id}")
def read_bakery_page(
    bakery_id: BakeryId, request: Request, held: ServicesDep, session: ReadDep
) -> Response:
    """Go to the day that is planned next."""
    shell = shell_of(request, held, session, bakery_id, "day")
    return go_to(shell.way("/bakery/{bakery}/{day}/day"))


@router.get("/bakery/{bakery_id}/{production_date}/day", response_class=HTMLResponse)
def read_day_page(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    why: Why = 0,
) -> HTMLResponse:
    """Show what is there of a production day, and what is missing for its plan."""
    shell = shell_of(request, held, session, bakery_id, "day", production_date)
    faults: tuple[Fault, ...] = ()
    if why:
        try:
            days.to_core(days.assembled(session, bakery_id, production_date))
        except (DayIncompleteError, DayClashError) as error:
            faults = error.faults
    return HTMLResponse(_day(session, held, shell, faults))


@router.get("/bakery/{bakery_id}/{production_date}/plan")
def read_plan_of_day(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
) -> Response:
    """Go to the plan of a day: the one that counts, or the newest; else to the day."""
    shell = shell_of(request, held, session, bakery_id, "plan", production_date)
    rows = plans.listed(session, bakery_id, production_date)
    heads = plan_views.heads(session, rows, held.clock(), held.settings.stale_s)
    if not heads:
        return go_to(shell.way("/bakery/{bakery}/{day}/day"))
    counting = next((one for one in heads if one.in_force), heads[0])
    return go_to(plan_href(counting.id))


@router.post("/bakery/{bakery_id}/{production_date}/plan", response_class=HTMLResponse)
def plan_day(
    bakery_id: BakeryId, production_date: ProductionDate, request: Request, held: ServicesDep
) -> Response:
    """Plan a day as it stands now."""
    try:
        plan_id, _ = held.jobs.order(bakery_id, production_date)
    except (DayIncompleteError, DayClashError) as error:
        with Session(held.engine) as session:
            shell = shell_of(request, held, session, bakery_id, "day", production_date)
            return HTMLResponse(_day(session, held, shell, error.faults), 409)
    return go_to(plan_href(plan_id))


def _day(session: Session, held: ServicesDep, shell: Shell, faults: tuple[Fault, ...] = ()) -> str:
    bakery_id, day = shell.bakery_id, shell.day
    assert day is not None  # noqa: S101  the pages of a day have one
    zone = ZoneInfo(bakeries.get(session, bakery_id).zone)
    listed = mix_lists.find(session, bakery_id, day)
    night = conditions.find(session, bakery_id, day)
    all_plans = plans.listed(session, bakery_id)
    mine = [row for row in all_plans if row.production_date == day]
    clock = reader_in(shell, zone, day).clock
    heads = plan_views.heads(session, mine, held.clock(), held.settings.stale_s)
    made = {row.id: clock.full(row.created_at) for row in mine}
    others = dict.fromkeys(row.production_date for row in all_plans if row.production_date != day)
    count = 0 if listed is None else len(listed.mix_list)
    steps = day_steps(
        shell, len(formulas.ids(session, bakery_id)), count, has_night=night is not None
    )
    content = DayPage(
        steps,
        versions_of(heads, "", shell, made),
        count > 0 and night is not None,
        _day_href(bakery_id, day - timedelta(days=1)),
        _day_href(bakery_id, day + timedelta(days=1)),
        tuple(
            (day_text(one, shell.say.language), f"/bakery/{quote(bakery_id, safe='')}/{one}/plan")
            for one in list(others)[:MOST_DAYS]
        ),
    )
    return day_html(content, shell, faults=faults)


def _day_href(bakery_id: str, day: object) -> str:
    return f"/bakery/{quote(bakery_id, safe='')}/{day}/day"

"""The pages of a day's mix list and conditions."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import Query, Request, Response
from fastapi.responses import HTMLResponse
from sqlmodel import Session

from api.dependencies import IN_TURN, NowDep, ReadDep, ServicesDep
from api.errors import DayClashError, DayIncompleteError
from api.files.csv_orders import read_orders
from api.office import conditions_page, mix_list_page
from api.office.conditions_page import conditions_form, conditions_html
from api.office.edits import Clash, clash_of
from api.office.forms import (
    Document,
    Typed,
    hidden_kept,
    typed_rows,
    version_of,
    with_faults,
)
from api.office.mix_list_page import at_its_table, from_form, mix_list_html, to_form
from api.office.plan_page import plan_href
from api.office.shell import Shell
from api.pages.wording import day_text
from api.routes.office import FormDep, Refused, go_to, pages, reader_in, shell_of, writing
from api.routes.shared import BakeryId, ProductionDate
from api.schemas.base import Faults
from api.schemas.conditions import ConditionsInput
from api.schemas.mix_list import MixListInput, line_ids
from api.store import bakeries, conditions, documents, formulas, mix_lists, office, products
from api.store.documents import document_of
from api.store.locks import lock_bakery
from api.store.tables import ConditionsRow, MixListRow
from planner.errors import InputError, refuse

router = pages()

Saved = Annotated[int, Query(ge=0, le=1)]
MOST_DAYS = 21


@router.get("/bakery/{bakery_id}/{production_date}/mix-list", response_class=HTMLResponse)
def read_mix_list_page(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    saved: Saved = 0,
) -> HTMLResponse:
    """Show the mix list of a day."""
    shell = shell_of(request, held, session, bakery_id, "mix-list", production_date)
    typed = _stored_list(session, bakery_id, production_date)
    told = mix_list_page.saved_text(shell) if saved else ""
    return HTMLResponse(_list_html(session, typed, shell, told=told))


@router.post(
    "/bakery/{bakery_id}/{production_date}/mix-list",
    response_class=HTMLResponse,
    dependencies=IN_TURN,
)
def save_mix_list_page(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    typed: FormDep,
    request: Request,
    held: ServicesDep,
    now: NowDep,
) -> Response:
    """Store a mix list as typed; or bring another list into the table, without storing it."""
    own = {key: str(typed.pop(key, "")) for key in ("seen", "then", "pasted", "copied")}
    with writing(held, request) as session:
        lock_bakery(session, bakery_id)
        shell = shell_of(request, held, session, bakery_id, "mix-list", production_date)
        stored = _stored_list(session, bakery_id, production_date)
        if own["then"] in {"read", "copy"}:
            raise Refused(_brought_in(session, typed, own, shell), 200)
        if own["seen"] != stored.seen:
            again = shell.way("/bakery/{bakery}/{day}/mix-list")
            clash = clash_of(stored.document, typed, again)
            raise Refused(
                _list_html(session, Typed(typed, seen=stored.seen), shell, clash=clash), 409
            )
        wanted = hidden_kept(stored.document, typed, mix_list_page.SHOWN)
        ids: dict[str, list[str]] = {}
        try:
            entered = office.checked(MixListInput, from_form(wanted))
            ids["mix_list"] = line_ids(entered.mix_list)
            office.check_named(session, bakery_id, entered)
            mix_lists.put(session, bakery_id, production_date, entered, now)
            office.drop_stale_pins(session, bakery_id, production_date, ids["mix_list"], now)
        except InputError as error:
            wrong = with_faults(from_form(typed), error.faults, stored.seen, ids)
            orders = len(typed.get("orders", ()))
            errors = {at_its_table(name, orders): text for name, text in wrong.errors.items()}
            shown = Typed(typed, errors, seen=stored.seen)
            raise Refused(_list_html(session, shown, shell)) from None
    return _saved(held, shell, "mix-list", own["then"])


@router.get("/bakery/{bakery_id}/{production_date}/conditions", response_class=HTMLResponse)
def read_conditions_page(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    now: NowDep,
    saved: Saved = 0,
) -> HTMLResponse:
    """Show the conditions of a day."""
    shell = shell_of(request, held, session, bakery_id, "conditions", production_date)
    typed = _stored_night(session, bakery_id, production_date)
    return HTMLResponse(_night_html(session, typed, shell, now, saved=bool(saved)))


@router.post(
    "/bakery/{bakery_id}/{production_date}/conditions",
    response_class=HTMLResponse,
    dependencies=IN_TURN,
)
def save_conditions_page(
    bakery_id: BakeryId,
    production_date: ProductionDate,
    typed: FormDep,
    request: Request,
    held: ServicesDep,
    now: NowDep,
) -> Response:
    """Store the conditions of a day as typed."""
    seen, then = str(typed.pop("seen", "")), str(typed.pop("then", ""))
    with writing(held, request) as session:
        lock_bakery(session, bakery_id)
        shell = shell_of(request, held, session, bakery_id, "conditions", production_date)
        stored = _stored_night(session, bakery_id, production_date)
        if seen != stored.seen:
            again = shell.way("/bakery/{bakery}/{day}/conditions")
            clash = clash_of(stored.document, typed, again)
            shown = Typed(typed, seen=stored.seen)
            raise Refused(_night_html(session, shown, shell, now, clash=clash), 409)
        wanted = hidden_kept(stored.document, typed, conditions_page.SHOWN)
        try:
            entered = office.checked(ConditionsInput, wanted)
            conditions.put(session, bakery_id, production_date, entered, now)
        except InputError as error:
            wrong = with_faults(typed, error.faults, stored.seen)
            raise Refused(_night_html(session, wrong, shell, now)) from None
    return _saved(held, shell, "conditions", then)


def _saved(held: ServicesDep, shell: Shell, part: str, then: str) -> Response:
    """Go on after saving: to the plan when that is wanted and can be made, else stay."""
    if then == "plan" and shell.day is not None:
        try:
            plan_id, _ = held.jobs.order(shell.bakery_id, shell.day)
        except (DayIncompleteError, DayClashError):
            return go_to(shell.way("/bakery/{bakery}/{day}/day?why=1"))
        return go_to(plan_href(plan_id))
    return go_to(shell.way(f"/bakery/{{bakery}}/{{day}}/{part}?saved=1"))


def _stored_list(session: Session, bakery_id: str, day: date) -> Typed:
    row = documents.find(session, MixListRow, {"bakery_id": bakery_id, "production_date": day})
    form = {} if row is None else to_form(row.document)
    return Typed(form, seen=version_of(form))


def _list_html(
    session: Session,
    typed: Typed,
    shell: Shell,
    *,
    clash: Clash | None = None,
    told: str = "",
    pasted: str = "",
) -> str:
    bakery_id = shell.bakery_id
    sold = [(one.id, one.name) for one in products.heads(session, bakery_id)]
    doughs = [(one.id, one.name) for one in formulas.heads(session, bakery_id)]
    return mix_list_html(
        _by_id(typed, sold, doughs),
        shell,
        tuple(sold),
        tuple(doughs),
        _other_days(session, shell),
        clash,
        told=told,
        pasted=pasted,
    )


def _by_id(typed: Typed, sold: list[tuple[str, str]], doughs: list[tuple[str, str]]) -> Typed:
    """Return a list with products and doughs by their ids, which is what is chosen from."""
    known = {
        "product": {name.casefold(): id for id, name in sold},
        "formula": {name.casefold(): id for id, name in doughs},
    }

    def row(entry: Document) -> Document:
        named = {key: ids.get(str(entry.get(key)).casefold()) for key, ids in known.items()}
        return {**entry, **{key: id for key, id in named.items() if id is not None}}

    form = {
        key: [row(one) for one in rows] if key in {"orders", "mixes"} else rows
        for key, rows in typed.document.items()
    }
    return replace(typed, document=form)


def _other_days(session: Session, shell: Shell) -> list[tuple[str, str]]:
    """Return the days whose list may be copied, a week before first."""
    days = [one.production_date for one in mix_lists.heads(session, shell.bakery_id)]
    week_before = (shell.day or date.max) - timedelta(days=7)
    days = sorted((d for d in days if d != shell.day), reverse=True)[:MOST_DAYS]
    days.sort(key=lambda one: one != week_before)
    return [(one.isoformat(), day_text(one, shell.say.language)) for one in days]


def _brought_in(session: Session, typed: Document, own: dict[str, str], shell: Shell) -> str:
    """Return the page with what was brought in below what stands in the table already."""
    orders, mixes = typed_rows(typed, "orders"), typed_rows(typed, "mixes")
    more = {**typed, "orders": orders, "mixes": mixes}
    if own["then"] == "copy":
        other = _stored_list(session, shell.bakery_id, _day_of(own["copied"]))
        brought = {key: other.document.get(key, []) for key in ("orders", "mixes")}
        if not typed.get("shifts") and "shifts" in other.document:
            more["shifts"] = other.document["shifts"]
    else:
        try:
            read = read_orders(own["pasted"], products.ids(session, shell.bakery_id))
        except InputError as error:
            lines = tuple(f"{f.field}: {f.value} {f.problem}; {f.remedy}." for f in error.faults)
            wrong = Typed(more, general=lines, seen=own["seen"])
            return _list_html(session, wrong, shell, pasted=own["pasted"])
        brought = {"orders": [document_of(one) for one in read], "mixes": []}
    more |= {"orders": [*orders, *brought["orders"]], "mixes": [*mixes, *brought["mixes"]]}
    count = len(brought["orders"]) + len(brought["mixes"])
    told = mix_list_page.brought_text(shell, count)
    return _list_html(session, Typed(more, seen=own["seen"]), shell, told=told)


def _day_of(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise refuse("copied", text, "is no day", "choose one of the list") from None


def _stored_night(session: Session, bakery_id: str, day: date) -> Typed:
    row = documents.find(session, ConditionsRow, {"bakery_id": bakery_id, "production_date": day})
    if row is None:
        return Typed({}, seen=version_of({}))
    house = bakeries.get(session, bakery_id).to_core(Faults(), bakeries.SOMEBODY)
    form = row.document if house is None else conditions_page.to_form(row.document, house)
    return Typed(form, seen=version_of(form))


def _night_html(
    session: Session,
    typed: Typed,
    shell: Shell,
    now: datetime,
    *,
    clash: Clash | None = None,
    saved: bool = False,
) -> str:
    bakery_id, day = shell.bakery_id, shell.day
    assert day is not None  # noqa: S101  the pages of a day have one
    entered = bakeries.get(session, bakery_id)
    faults = Faults()
    house = entered.to_core(faults, bakeries.SOMEBODY)
    if house is None:
        raise InputError([fault.under("bakery") for fault in faults.found])
    sold = tuple((one.id, one.name) for one in products.heads(session, bakery_id))
    row = documents.find(session, ConditionsRow, {"bakery_id": bakery_id, "production_date": day})
    night = conditions.find(session, bakery_id, day)
    span = mix_lists.span(session, bakery_id, day)
    core = None
    if night is not None:
        core = night.to_core(Faults(), house, span, [id for id, _ in sold])
    form = conditions_form(
        typed,
        shell,
        house,
        sold,
        {} if core is None else core.rooms,
        reader_in(shell, ZoneInfo(entered.zone), day),
        None if row is None else now - row.changed_at,
    )
    return conditions_html(form, typed, shell, clash, saved=saved)

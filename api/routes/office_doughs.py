"""The pages of doughs and products."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import ValidationError
from sqlmodel import Session

from api.dependencies import IN_TURN, NowDep, ReadDep, ServicesDep
from api.files.csv_formulas import read_formulas
from api.office.edits import clash_of
from api.office.forms import (
    Document,
    Typed,
    hidden_kept,
    typed_rows,
    version_of,
    with_faults,
)
from api.office.formula_page import (
    SHOWN,
    Totals,
    doughs_html,
    formula_html,
    import_html,
    readable,
    totals_html,
    totals_of,
)
from api.office.products_page import (
    PRODUCTS_SHOWN,
    products_html,
    products_of_form,
    products_to_form,
)
from api.office.shell import Shell
from api.pages.wording import Units
from api.routes.office import FormDep, Refused, go_to, pages, shell_of, writing
from api.routes.shared import BakeryId, FormulaId
from api.schemas.base import slug
from api.schemas.formula import FormulaInput
from api.schemas.products import ProductInput
from api.schemas.units import number_from
from api.store import bakeries, documents, formulas, office, products
from api.store.documents import document_of
from api.store.locks import lock_bakery
from api.store.tables import FormulaRow, ProductRow
from planner.errors import Fault, InputError
from planner.quantities import kg_from_lb

router = pages()

EMPTY: Document = {
    "lines": [{"material": "wheat flour", "percent": 100}, {"material": "water"}],
    "steps": [{"speed": "first speed"}, {"speed": "second speed"}],
}
From = Annotated[str, Query(alias="from", max_length=100)]
Saved = Annotated[int, Query(ge=0, le=1)]
OWN = frozenset({"seen", "add", "drop", "scale_to"})


@router.get("/bakery/{bakery_id}/doughs", response_class=HTMLResponse)
def read_doughs(
    bakery_id: BakeryId, request: Request, held: ServicesDep, session: ReadDep
) -> HTMLResponse:
    """List the doughs."""
    shell = shell_of(request, held, session, bakery_id, "doughs")
    return HTMLResponse(doughs_html(formulas.heads(session, bakery_id), shell))


@router.get("/bakery/{bakery_id}/new-dough", response_class=HTMLResponse)
def read_new_dough(
    bakery_id: BakeryId,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    copied: From = "",
) -> HTMLResponse:
    """Show the form of a new dough, empty or with what another has."""
    shell = shell_of(request, held, session, bakery_id, "doughs")
    document = dict(EMPTY)
    if copied:
        document = document_of(formulas.get(session, bakery_id, copied))
        document = {**document, "name": f"{document['name']} 2"}
        document.pop("id", None)
    typed = Typed(document)
    return HTMLResponse(
        formula_html(typed, shell, _totals(session, bakery_id, document, shell), formula_id="")
    )


@router.post("/bakery/{bakery_id}/new-dough", response_class=HTMLResponse, dependencies=IN_TURN)
def add_dough(
    bakery_id: BakeryId, typed: FormDep, request: Request, held: ServicesDep, now: NowDep
) -> Response:
    """Store a new dough."""
    return _save(bakery_id, "", typed, request, held, now)


@router.get("/bakery/{bakery_id}/doughs/{formula_id}", response_class=HTMLResponse)
def read_dough(
    bakery_id: BakeryId,
    formula_id: FormulaId,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    saved: Saved = 0,
) -> HTMLResponse:
    """Show a dough."""
    shell = shell_of(request, held, session, bakery_id, "doughs")
    document = document_of(formulas.get(session, bakery_id, formula_id))
    totals = _totals(session, bakery_id, document, shell)
    typed = Typed(document, seen=version_of(document))
    return HTMLResponse(
        formula_html(typed, shell, totals, formula_id=formula_id, saved=bool(saved))
    )


@router.post(
    "/bakery/{bakery_id}/doughs/{formula_id}", response_class=HTMLResponse, dependencies=IN_TURN
)
def save_dough(
    bakery_id: BakeryId,
    formula_id: FormulaId,
    typed: FormDep,
    request: Request,
    held: ServicesDep,
    now: NowDep,
) -> Response:
    """Store a dough as typed."""
    return _save(bakery_id, formula_id, typed, request, held, now)


@router.post("/bakery/{bakery_id}/check-dough", response_class=HTMLResponse)
def check_dough(
    bakery_id: BakeryId, typed: FormDep, request: Request, held: ServicesDep, session: ReadDep
) -> HTMLResponse:
    """Tell what the lines come to while they are typed; nothing is stored."""
    shell = shell_of(request, held, session, bakery_id, "doughs")
    return HTMLResponse(totals_html(_totals(session, bakery_id, typed, shell), shell))


@router.get("/bakery/{bakery_id}/import-doughs", response_class=HTMLResponse)
def read_import(
    bakery_id: BakeryId, request: Request, held: ServicesDep, session: ReadDep
) -> HTMLResponse:
    """Show the page on which doughs are read from a list."""
    return HTMLResponse(import_html(shell_of(request, held, session, bakery_id, "doughs")))


@router.post("/bakery/{bakery_id}/import-doughs", response_class=HTMLResponse, dependencies=IN_TURN)
def import_doughs(
    bakery_id: BakeryId, typed: FormDep, request: Request, held: ServicesDep, now: NowDep
) -> Response:
    """Store the doughs of a list, all of them or none; one that is there already stays."""
    text = str(typed.get("text", ""))
    with writing(held, request) as session:
        shell = shell_of(request, held, session, bakery_id, "doughs")
        found: list[Fault] = []
        try:
            listed = read_formulas(text)
        except InputError as error:
            listed, found = [], list(error.faults)
        known = formulas.ids(session, bakery_id)
        for document in listed:
            name = str(document["name"])
            if slug(name) in known:
                told = ("there is a dough of this name", "give this one another name")
                found.append(Fault(name, name, *told))
                continue
            try:
                entered = office.checked(FormulaInput, document)
                formulas.put(session, bakery_id, entered.key, entered, now)
            except InputError as error:
                found += [fault.under(name) for fault in error.faults]
        if found:
            told_all = [f"{one.field}: {one.value} {one.problem}; {one.remedy}." for one in found]
            raise Refused(import_html(shell, text, told_all))
    return go_to(f"/bakery/{quote(bakery_id, safe='')}/doughs")


@router.get("/bakery/{bakery_id}/products", response_class=HTMLResponse)
def read_products(
    bakery_id: BakeryId,
    request: Request,
    held: ServicesDep,
    session: ReadDep,
    saved: Saved = 0,
) -> HTMLResponse:
    """Show all products."""
    shell = shell_of(request, held, session, bakery_id, "products")
    typed = _stored_products(session, bakery_id)
    return HTMLResponse(
        products_html(typed, shell, _choices(session, bakery_id), saved=bool(saved))
    )


@router.post("/bakery/{bakery_id}/products", response_class=HTMLResponse, dependencies=IN_TURN)
def save_products(
    bakery_id: BakeryId, typed: FormDep, request: Request, held: ServicesDep, now: NowDep
) -> Response:
    """Store all products as typed: new ones too, and without those that were taken away."""
    seen = str(typed.pop("seen", ""))
    with writing(held, request) as session:
        lock_bakery(session, bakery_id)
        shell = shell_of(request, held, session, bakery_id, "products")
        stored, choices = _stored_products(session, bakery_id), _choices(session, bakery_id)
        again = f"/bakery/{quote(bakery_id, safe='')}/products"
        if seen != stored.seen:
            clash = clash_of(stored.document, typed, again)
            shown = Typed(typed, seen=stored.seen)
            raise Refused(products_html(shown, shell, choices, clash), 409)
        found: list[Fault] = []
        kept: set[str] = set()
        wanted = hidden_kept(stored.document, typed, PRODUCTS_SHOWN)
        for i, document in enumerate(products_of_form(wanted)):
            try:
                entered = office.checked(ProductInput, document)
                office.check_dough(entered, [id for id, _ in choices])
                products.put(session, bakery_id, entered.key, entered, now)
                kept.add(entered.key)
            except InputError as error:
                found += [fault.under(f"products[{i}]") for fault in error.faults]
        if found:
            wrong = with_faults(typed, found, stored.seen)
            raise Refused(products_html(wrong, shell, choices))
        for one in products.ids(session, bakery_id):
            if one not in kept:
                products.delete(session, bakery_id, one)
    return go_to(f"{again}?saved=1")


def _save(
    bakery_id: str,
    formula_id: str,
    typed: Document,
    request: Request,
    held: ServicesDep,
    now: NowDep,
) -> Response:
    own = {key: typed.pop(key, "") for key in OWN}
    with writing(held, request) as session:
        lock_bakery(session, bakery_id)
        shell = shell_of(request, held, session, bakery_id, "doughs")
        stored = _stored_dough(session, bakery_id, formula_id)
        seen = version_of(stored) if formula_id else ""
        again = f"/bakery/{quote(bakery_id, safe='')}/doughs/{quote(formula_id, safe='')}"

        def shown(form: Typed, status: int = 422, **more: object) -> Refused:
            totals = _totals(session, bakery_id, form.document, shell)
            html = formula_html(form, shell, totals, formula_id=formula_id, **more)  # type: ignore[arg-type]
            return Refused(html, status)

        if own["add"] or own["drop"]:
            raise shown(Typed(_with_parts(typed, own), seen=str(own["seen"])), 200)
        if own["seen"] != seen:
            raise shown(Typed(typed, seen=seen), 409, clash=clash_of(stored, typed, again))
        wanted = hidden_kept(stored, typed, SHOWN)
        try:
            entered = office.checked(FormulaInput, wanted)
            key = formula_id or entered.key
            if not formula_id:
                _check_new(key, formulas.ids(session, bakery_id))
            formulas.put(session, bakery_id, key, entered, now)
        except InputError as error:
            raise shown(with_faults(typed, error.faults, seen)) from None
    return go_to(f"/bakery/{quote(bakery_id, safe='')}/doughs/{quote(key, safe='')}?saved=1")


def _check_new(key: str, known: list[str]) -> None:
    """A new dough never writes over another."""
    if key in known:
        text, remedy = "there is a dough of this name", "give this one another name"
        raise InputError([Fault("name", key, text, remedy)])


def _with_parts(typed: Document, own: Document) -> Document:
    """Return a dough with one part more, or without one."""
    parts = typed_rows(typed, "parts")
    if own["drop"]:
        parts = [one for i, one in enumerate(parts) if str(i) != str(own["drop"])]
    else:
        flour = [{"material": "wheat flour"}, {"material": "water"}]
        parts.append({"kind": str(own["add"]), "lines": flour})
    return {**typed, "parts": parts}


def _stored_dough(session: Session, bakery_id: str, formula_id: str) -> Document:
    if not formula_id:
        return {}
    key = {"bakery_id": bakery_id, "id": formula_id}
    return dict(documents.get(session, FormulaRow, key).document)


def _totals(session: Session, bakery_id: str, document: Document, shell: Shell) -> Totals:
    wanted = _wanted(document, shell)
    document = {key: one for key, one in document.items() if key not in OWN}
    filled = readable(document)
    try:
        entered = FormulaInput.model_validate(filled)
    except (ValidationError, InputError):
        entered = None
    return totals_of(entered, bakeries.house(session, bakery_id), shell, wanted)


def _wanted(document: Document, shell: Shell) -> tuple[float, Units] | None:
    try:
        amount = float(str(number_from(str(document.get("scale_to", "")))))
    except (ValueError, TypeError):
        return None
    return (kg_from_lb(amount) if shell.units is Units.US else amount), shell.units


def _stored_products(session: Session, bakery_id: str) -> Typed:
    rows = documents.listed(session, ProductRow, bakery_id)
    known = formulas.ids(session, bakery_id)
    form = products_to_form([{**row.document, "id": row.id} for row in rows], known)
    return Typed(form, seen=version_of(form))


def _choices(session: Session, bakery_id: str) -> tuple[tuple[str, str], ...]:
    return tuple((one.id, one.name) for one in formulas.heads(session, bakery_id))

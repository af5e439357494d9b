"""What the pages of the office store, with faults at their cells."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import TypeVar

from pydantic import ValidationError
from sqlmodel import Session

from api.errors import ClashError
from api.files.faults import faults_of_validation
from api.office.forms import Typed, overlaid, version_of
from api.schemas.bakery import BakeryInput
from api.schemas.base import Entry, found_id
from api.schemas.conditions import ConditionsInput
from api.schemas.formula import FormulaInput
from api.schemas.mix_list import MixListInput
from api.schemas.pins import PinsInput
from api.schemas.products import ProductInput
from api.store import bakeries, conditions, documents, formulas, pins, products
from api.store.documents import document_of
from api.store.tables import BakeryRow, ConditionsRow, Document, FormulaRow, PlanRow
from planner.errors import Fault, InputError

Entered = TypeVar("Entered", bound=Entry)


def checked(schema: type[Entered], document: Document) -> Entered:
    """Return a document as the entry that it is.

    Raises
    ------
    InputError
        With everything in it that cannot be read.
    """
    try:
        return schema.model_validate(document)
    except ValidationError as error:
        raise InputError(faults_of_validation(error, document)) from None


def check_named(session: Session, bakery_id: str, entered: MixListInput) -> None:
    """Refuse a mix list that names a product or dough that there is none of.

    Raises
    ------
    InputError
        With every such name.
    """
    known = {
        "product": products.ids(session, bakery_id),
        "formula": formulas.ids(session, bakery_id),
    }
    faults = []
    for i, line in enumerate(entered.mix_list):
        for field, ids in known.items():
            named = getattr(line, field, None)
            if named is not None and found_id(named, ids) not in ids:
                remedy = f"use one of: {', '.join(ids) or 'none'}"
                faults.append(Fault(f"mix_list[{i}].{field}", named, "there is none of it", remedy))
    if faults:
        raise InputError(faults)


def check_dough(entered: ProductInput, known: Sequence[str]) -> None:
    """Refuse a product of a dough that there is none of.

    Raises
    ------
    InputError
        If so.
    """
    named = entered.formula
    if named is not None and found_id(named, known) not in known:
        remedy = f"use one of: {', '.join(known) or 'none'}"
        raise InputError([Fault("formula", named, "there is none of it", remedy)])


def drop_stale_pins(
    session: Session, bakery_id: str, day: date, line_ids: Iterable[str], now: datetime
) -> None:
    """Let go of what was fixed of mixes that are no longer on the list.

    Parameters
    ----------
    line_ids
        Ids of the lines there are; a line that is split has mixes with a number behind it.
    """
    stored = pins.find(session, bakery_id, day)
    if stored is None:
        return
    ids = set(line_ids)
    listed = list(document_of(stored)["pins"])
    kept = [one for one in listed if ids & {one["mix"], one["mix"].rpartition("-")[0]}]
    if kept != listed:
        pins.put(session, bakery_id, day, checked(PinsInput, {"pins": kept}), now)


def pin_of(
    session: Session, bakery_id: str, day: date, mix_id: str
) -> tuple[Typed, list[Document]]:
    """Return what is fixed of a mix, and all that is fixed of its day."""
    stored = pins.find(session, bakery_id, day)
    listed = [] if stored is None else list(document_of(stored)["pins"])
    found: Document = next((one for one in listed if one["mix"] == mix_id), {})
    own = {key: value for key, value in found.items() if key != "mix"}
    return Typed(own, seen=version_of(own)), listed


def fix_pin(
    session: Session,
    bakery_id: str,
    day: date,
    listed: Iterable[Document],
    mix_id: str,
    wanted: Document,
    now: datetime,
) -> None:
    """Store what is fixed of a mix; nothing of it any more when nothing is wanted.

    Raises
    ------
    InputError
        If it cannot be right; the faults have the names of the inputs.
    """
    others = [one for one in listed if one["mix"] != mix_id]
    mine = [{**wanted, "mix": mix_id}] if wanted else []
    document = {"pins": [*mine, *others]}
    try:
        pins.put(session, bakery_id, day, checked(PinsInput, document), now)
    except InputError as error:
        raise InputError([_without(fault, "pins[0]") for fault in error.faults]) from None


def _without(fault: Fault, prefix: str) -> Fault:
    field = fault.field.removeprefix(prefix).removeprefix(".")
    return Fault(field or fault.field, fault.value, fault.problem, fault.remedy)


def replace_assumed(session: Session, row: PlanRow, typed: Document, now: datetime) -> None:
    """Store what replaces assumptions of a plan in the bakery, its formulas and the conditions.

    Parameters
    ----------
    row
        The plan that assumed.
    typed
        What was typed, by the paths of the day that the plan was made from; lists by their index.

    Raises
    ------
    ClashError
        If what it replaces is another by now.
    InputError
        With everything that cannot be right.
    """
    made_from, bakery_id, day = row.made_from, row.bakery_id, row.production_date
    faults: list[Fault] = []
    if "bakery" in typed:
        stored = documents.get(session, BakeryRow, {"id": bakery_id}).document
        _check_same(stored, made_from["bakery"])
        merged = _merged(stored, typed["bakery"])
        faults += _tried(
            "bakery",
            lambda: bakeries.put(session, bakery_id, checked(BakeryInput, merged), now),
        )
    doughs = typed.get("formulas")
    for i, part in doughs.items() if isinstance(doughs, dict) else ():
        if not isinstance(i, int) or i >= len(made_from["formulas"]):
            continue
        entered = made_from["formulas"][i]
        formula_id = checked(FormulaInput, entered).key
        key = {"bakery_id": bakery_id, "id": formula_id}
        stored = documents.get(session, FormulaRow, key).document
        _check_same(stored, entered)
        changed = _merged(stored, part)

        def put_formula(id: str = formula_id, document: Document = changed) -> object:
            return formulas.put(session, bakery_id, id, checked(FormulaInput, document), now)

        faults += _tried(f"formulas[{i}]", put_formula)
    if "conditions" in typed:
        night = documents.get(
            session, ConditionsRow, {"bakery_id": bakery_id, "production_date": day}
        )
        both = _merged(night.document, typed["conditions"])
        faults += _tried(
            "conditions",
            lambda: conditions.put(session, bakery_id, day, checked(ConditionsInput, both), now),
        )
    if faults:
        raise InputError(faults)


def _merged(stored: Document, typed: object) -> Document:
    merged = overlaid(stored, typed)
    return merged if isinstance(merged, dict) else stored


def _tried(prefix: str, store: Callable[[], object]) -> list[Fault]:
    try:
        store()
    except InputError as error:
        return [fault.under(prefix) for fault in error.faults]
    return []


def _check_same(stored: Document, made_from: Document) -> None:
    if version_of(stored) != version_of(made_from):
        raise ClashError(
            "What this plan was made from has been changed since. Plan the day again, and replace"
            " what the new version assumes."
        )

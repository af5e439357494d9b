"""Whole production days: put together from what is stored, and taken apart."""

from __future__ import annotations

from datetime import date, datetime
from typing import TypeVar

from sqlmodel import Session

from api.errors import DayClashError, DayIncompleteError, NotFoundError
from api.pages.wording import Units
from api.schemas.base import Named, found_id
from api.schemas.day import DayInput, PlanInput
from api.schemas.formula import FormulaInput
from api.schemas.mix_list import MixInput, MixListInput
from api.schemas.papers import PapersInput
from api.schemas.pins import PinsInput
from api.schemas.products import ProductInput
from api.store import bakeries, conditions, forecasts, formulas, mix_lists, pins, products
from api.store.documents import Change, document_of
from api.store.locks import lock_bakery
from api.store.tables import Document
from api.store.tags import ANYTHING, Expected
from planner.errors import Fault, InputError, refuse

Entered = TypeVar("Entered", bound=Named)


def assembled(
    session: Session, bakery_id: str, production_date: date, *, to_plan: bool = True
) -> Document:
    """Return a whole day as it stands now, with the formulas and products that it names.

    Parameters
    ----------
    to_plan
        Whether forecasts stand in where nothing was entered, as a plan takes it.

    Raises
    ------
    NotFoundError
        If there is no such bakery.
    DayIncompleteError
        If a part of the day is missing.
    """
    bakery = bakeries.get(session, bakery_id)
    mix_list = mix_lists.find(session, bakery_id, production_date)
    night = conditions.find(session, bakery_id, production_date)
    if to_plan:
        span = mix_lists.span(session, bakery_id, production_date)
        night = forecasts.filled(session, bakery, span, night)
    if mix_list is None or night is None:
        raise _incomplete(
            production_date, has_list=mix_list is not None, has_night=night is not None
        )
    fixed = pins.find(session, bakery_id, production_date)
    standing = [one.product for one in night.inherited]
    sold, doughs = _named(
        mix_list, standing, products.listed(session, bakery_id), formulas.listed(session, bakery_id)
    )
    return {
        "production_date": production_date.isoformat(),
        "bakery": document_of(bakery),
        "formulas": [document_of(one) for one in doughs],
        "products": [document_of(one) for one in sold],
        "conditions": document_of(night),
        **document_of(mix_list),
        **({} if fixed is None else document_of(fixed)),
    }


def _as_it_stands(session: Session, bakery_id: str, production_date: date) -> Document | None:
    try:
        return assembled(session, bakery_id, production_date, to_plan=False)
    except (NotFoundError, DayIncompleteError):
        return None


def to_core(document: Document) -> PlanInput:
    """Return day, conditions and pins of a whole day.

    Raises
    ------
    DayClashError
        If its parts do not fit together, with every fault.
    """
    try:
        return DayInput.model_validate(document).to_core()
    except InputError as error:
        raise DayClashError("The parts of the day do not fit together.", error.faults) from error


def put(
    session: Session,
    bakery_id: str,
    production_date: date,
    day: DayInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a whole day in its parts.

    Formulas and products of the bakery that the day does not name stay as they are.

    Raises
    ------
    InputError
        If it belongs to another date or bakery, or cannot be right.
    ChangedMeanwhileError
        If the day is not what is expected.
    """
    if not expected.is_anything:
        lock_bakery(session, bakery_id)
        expected.check(_as_it_stands(session, bakery_id, production_date))
    if day.production_date != production_date:
        written = day.production_date.isoformat()
        raise refuse("production_date", written, "is not the date of the address", "mend one")
    day.to_core()
    changes = {bakeries.put(session, bakery_id, day.bakery, now)}
    changes |= {formulas.put(session, bakery_id, one.key, one, now) for one in day.formulas}
    changes |= {products.put(session, bakery_id, one.key, one, now) for one in day.products}
    listed = _part(MixListInput, day)
    changes.add(mix_lists.put(session, bakery_id, production_date, listed, now))
    changes.add(conditions.put(session, bakery_id, production_date, day.conditions, now))
    if day.pins or pins.find(session, bakery_id, production_date) is not None:
        fixed = PinsInput(pins=day.pins)
        changes.add(pins.put(session, bakery_id, production_date, fixed, now))
    return next(one for one in Change if one in changes)


def zone_of(document: Document) -> str:
    """Return the bakery's zone of a whole day."""
    return str(document["bakery"]["zone"])


def units_of(document: Document) -> Units:
    """Return the units in which the bakery reads; metric until a bakery says otherwise."""
    return Units(document["bakery"].get("units", Units.METRIC))


def papers_of(document: Document) -> PapersInput:
    """Return how the bakery wants its papers."""
    return PapersInput.model_validate(document["bakery"].get("papers") or {})


def _part(schema: type[MixListInput], day: DayInput) -> MixListInput:
    document = document_of(day)
    fields = {info.alias or name for name, info in schema.model_fields.items()}
    return schema.model_validate({key: one for key, one in document.items() if key in fields})


def _incomplete(production_date: date, *, has_list: bool, has_night: bool) -> DayIncompleteError:
    parts = (("mix-lists", "mix list", has_list), ("conditions", "conditions", has_night))
    faults = [
        Fault(
            part.replace("-lists", "_list"),
            "nothing",
            f"there is no {name} of {production_date}",
            f"put one at /api/v1/bakeries/…/{part}/{production_date}",
        )
        for part, name, has in parts
        if not has
    ]
    return DayIncompleteError(f"The day {production_date} is not complete.", faults)


def _named(
    mix_list: MixListInput,
    standing: list[str],
    all_products: list[ProductInput],
    all_formulas: list[FormulaInput],
) -> tuple[list[ProductInput], list[FormulaInput]]:
    """Return the products and formulas that a day names: others must not spoil it."""
    lines = mix_list.mix_list
    wanted = [line.product for line in lines if line.product is not None]
    sold = _of(all_products, [*wanted, *standing])
    doughs = [line.formula for line in lines if isinstance(line, MixInput)]
    doughs += [product.formula for product in sold]
    if any(name is None for name in doughs):
        return sold, all_formulas
    return sold, _of(all_formulas, [name for name in doughs if name is not None])


def _of(entries: list[Entered], names: list[str]) -> list[Entered]:
    known = [entry.key for entry in entries]
    ids = {found_id(name, known) for name in names}
    return [entry for entry in entries if entry.key in ids]

"""Mix lists as entered."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from api.files.csv_mix_list import ListLine, read_mix_list
from api.schemas.base import Faults, found_id
from api.schemas.heads import DayHead
from api.schemas.list_import import ImportedLineRead, ImportRead, ListImport
from api.schemas.mix_list import MixListInput, Span, line_ids
from api.schemas.problems import FaultRead
from api.store import bakeries, documents, formulas, products
from api.store.documents import EVERY_DAY, Change, Days, Key
from api.store.paging import Page
from api.store.tables import MixListRow
from api.store.tags import ANYTHING, Expected
from planner.errors import Fault, InputError, no_such


def heads(
    session: Session, bakery_id: str, page: Page | None = None, days: Days = EVERY_DAY
) -> list[DayHead]:
    """Return the production days of a bakery that have one."""
    bakeries.get(session, bakery_id)
    return [
        DayHead(production_date=row.production_date, changed_at=row.changed_at)
        for row in documents.listed(session, MixListRow, bakery_id, page, days)
    ]


def find(session: Session, bakery_id: str, production_date: date) -> MixListInput | None:
    """Return a mix list of a production day, or None."""
    row = documents.find(session, MixListRow, _key(bakery_id, production_date))
    return None if row is None else MixListInput.model_validate(row.document)


def get(session: Session, bakery_id: str, production_date: date) -> MixListInput:
    """Return a mix list of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = documents.get(session, MixListRow, _key(bakery_id, production_date))
    return MixListInput.model_validate(row.document)


def span(session: Session, bakery_id: str, production_date: date) -> Span:
    """Return the time that may be planned on a production day; the usual one without a list."""
    row = find(session, bakery_id, production_date)
    entered = MixListInput(mix_list=[]) if row is None else row
    return entered.span(production_date, ZoneInfo(bakeries.get(session, bakery_id).zone))


def put(
    session: Session,
    bakery_id: str,
    production_date: date,
    sent: MixListInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Store a mix list of a production day.

    Raises
    ------
    InputError
        If something in it cannot be right.
    """
    bakery = bakeries.get(session, bakery_id)
    faults = Faults()
    zone = ZoneInfo(bakery.zone)
    span = sent.span(production_date, zone)
    sent.lines_to_core(
        faults, span, formulas.ids(session, bakery_id), products.ids(session, bakery_id)
    )
    sent.shifts_to_core(faults, bakery.people, production_date, zone)
    faults.settle()
    return documents.put(session, MixListRow, _key(bakery_id, production_date), sent, now, expected)


def imported(
    session: Session,
    bakery_id: str,
    production_date: date,
    sent: ListImport,
    now: datetime,
    expected: Expected = ANYTHING,
) -> tuple[ImportRead, Change | None]:
    """Put the lines of a CSV list in place of those of the day; its shifts stay as they are.

    Returns
    -------
    tuple
        What became of it, and the change; None for a dry run.

    Raises
    ------
    InputError
        With every fault, each with its line, unless it is a dry run.
    """
    bakery = bakeries.get(session, bakery_id)
    before = find(session, bakery_id, production_date) or MixListInput(mix_list=[])
    read = read_mix_list(sent.csv, sent.columns)
    entries = [line.entry for line in read.lines]
    entered = MixListInput.model_validate(
        {**documents.document_of(before), "mix_list": [documents.document_of(e) for e in entries]}
    )
    faults = Faults()
    span = entered.span(production_date, ZoneInfo(bakery.zone))
    known = {
        "formula": formulas.ids(session, bakery_id),
        "product": products.ids(session, bakery_id),
    }
    entered.lines_to_core(faults, span, known["formula"], known["product"])
    at = dict(zip(line_ids(entries), (line.number for line in read.lines), strict=True))
    unknown = [one for line in read.lines for one in _unknown(line, known)]
    found = [*read.faults, *unknown, *(_at_its_line(fault, at) for fault in faults.found)]
    if found and not sent.dry_run:
        raise InputError(found)
    change = None
    if not sent.dry_run:
        change = put(session, bakery_id, production_date, entered, now, expected)
    return ImportRead(
        stored=change is not None,
        lines=[ImportedLineRead(line=line.number, entry=line.entry) for line in read.lines],
        faults=[FaultRead.of(fault) for fault in found],
        ignored_columns=list(read.ignored),
    ), change


def _unknown(line: ListLine, known: Mapping[str, list[str]]) -> list[Fault]:
    named = {name: getattr(line.entry, name, None) for name in known}
    return [
        no_such(f"line {line.number}, {name}", value, name, known[name])
        for name, value in named.items()
        if value is not None and found_id(value, known[name]) not in known[name]
    ]


def _at_its_line(fault: Fault, lines: Mapping[str, int]) -> Fault:
    id, _, field = fault.field.removeprefix("mix_list.").partition(".")
    place = f"line {lines[id]}, {field}" if id in lines else fault.field
    return Fault(place.removesuffix(", "), fault.value, fault.problem, fault.remedy)


def delete(
    session: Session, bakery_id: str, production_date: date, expected: Expected = ANYTHING
) -> None:
    """Remove a mix list of a production day.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    documents.delete(session, MixListRow, _key(bakery_id, production_date), expected)


def _key(bakery_id: str, production_date: date) -> Key:
    return {"bakery_id": bakery_id, "production_date": production_date}

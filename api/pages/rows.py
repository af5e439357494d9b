"""The rows of the papers as flat data, for a table program or another kitchen program."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from datetime import datetime

from api.pages.choice import Choice
from api.pages.reader import Reader
from api.pages.timeline import timeline
from planner.planned import Plan

FORMULA_SIGNS = ("=", "+", "@", "-", "\t", "\r")
"""A cell that begins so may be run as a formula by a table program."""


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One row of the shift's sheet: as printed, and as moments and ids."""

    at_utc: datetime
    local_date: str
    local_time: str
    hands_on: bool
    what: str
    subject: str
    mix: str
    amount: str
    place: str
    place_id: str
    person: str
    person_id: str
    target: str
    limit: str
    ends: str


def paper_rows(plan: Plan, reader: Reader, choice: Choice | None = None) -> tuple[PaperRow, ...]:
    """Return the rows that the sheet prints, in order of time.

    Parameters
    ----------
    plan, reader, choice
        As for the sheet.
    """
    chosen = (choice or Choice()).rows(timeline(plan, reader))
    return tuple(
        PaperRow(
            at_utc=row.at_utc,
            local_date=row.at_utc.astimezone(reader.clock.zone).date().isoformat(),
            local_time=row.time,
            hands_on=row.hands_on,
            what=row.what,
            subject=row.subject,
            mix=row.mix,
            amount=row.amount,
            place=row.place,
            place_id=row.place_id,
            person=row.person,
            person_id=row.person_id or "",
            target=row.target,
            limit=row.until,
            ends=row.ends,
        )
        for row in chosen
    )


def rows_csv(rows: Iterable[PaperRow]) -> str:
    """Return rows as CSV with a head; no cell can be run as a formula."""
    out = io.StringIO()
    names = [field.name for field in fields(PaperRow)]
    writer = csv.DictWriter(out, names, lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        cells = asdict(row)
        cells["at_utc"] = row.at_utc.isoformat().replace("+00:00", "Z")
        writer.writerow({name: plain_cell(cell) for name, cell in cells.items()})
    return out.getvalue()


def plain_cell(cell: object) -> object:
    """Return a cell that no table program runs as a formula."""
    is_formula = isinstance(cell, str) and cell.startswith(FORMULA_SIGNS)
    return f"'{cell}" if is_formula else cell

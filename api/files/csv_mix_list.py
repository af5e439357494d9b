"""Mix lists in CSV, with columns of any name: orders and ready mixes, line by line.

Commas, semicolons or tabs part the columns; a decimal comma needs semicolons or quotes. Which
column is what is told, or follows from its name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import ValidationError

from api.files.csv_orders import rows_of
from api.files.faults import faults_of_validation
from api.schemas.base import slug
from api.schemas.mix_list import MixInput, OrderInput
from planner.errors import Fault

ORDER_COLUMNS = frozenset(OrderInput.model_fields)
MIX_COLUMNS = frozenset(MixInput.model_fields)
WEIGHTS = frozenset({"dough_kg", "dough_lb", "dough_g", "dough_oz"})
COLUMNS = tuple(sorted(ORDER_COLUMNS | MIX_COLUMNS | WEIGHTS))
MOST_LINES = 2000


@dataclass(frozen=True, slots=True)
class ListLine:
    """One line of the list that could be read."""

    number: int
    entry: OrderInput | MixInput


@dataclass(frozen=True, slots=True)
class ReadList:
    """What a list holds.

    Attributes
    ----------
    ignored
        Headings of columns that are nothing here.
    """

    lines: tuple[ListLine, ...]
    faults: tuple[Fault, ...]
    ignored: tuple[str, ...]


def read_mix_list(text: str, columns: Mapping[str, str]) -> ReadList:
    """Return the orders and mixes of a list, and what is wrong with the others.

    Parameters
    ----------
    text
        Contents of the list; its first line names the columns.
    columns
        Heading in the list by what it is, such as ``{"pieces": "Menge"}``. A heading that is
        itself the name of something here need not be told.

    Raises
    ------
    InputError
        If it cannot be parted into cells at all.
    """
    rows = rows_of(text)
    if not rows:
        remedy = f"begin with a line of column names, of: {', '.join(COLUMNS)}"
        return ReadList((), (Fault("line 1", "nothing", "the list is empty", remedy),), ())
    (number, headings), *rest = rows
    names, faults, ignored = _names(number, headings, columns)
    if faults:
        return ReadList((), tuple(faults), ignored)
    lines: list[ListLine] = []
    for line, cells in rest[:MOST_LINES]:
        if len(cells) > len(headings):
            faults.append(_too_many(line, len(cells), len(headings)))
            continue
        filled = {name: cell for name, cell in zip(names, cells, strict=False) if name and cell}
        is_mix = not WEIGHTS.isdisjoint(filled) or ("formula" in filled and "pieces" not in filled)
        try:
            entry = (MixInput if is_mix else OrderInput).model_validate(filled)
        except ValidationError as error:
            faults += [
                Fault(f"line {line}, {f.field}", f.value, f.problem, f.remedy)
                for f in faults_of_validation(error, filled)
            ]
        else:
            lines.append(ListLine(line, entry))
    if len(rest) > MOST_LINES:
        told = f"{len(rest)} lines"
        place = f"line {rest[MOST_LINES][0]}"
        faults.append(Fault(place, told, "is one too many", f"send at most {MOST_LINES} lines"))
    if not faults and not lines:
        faults.append(Fault("line 2", "nothing", "nothing stands here", "enter one on each line"))
    return ReadList(tuple(lines), tuple(faults), ignored)


def _names(
    number: int, headings: list[str], columns: Mapping[str, str]
) -> tuple[list[str | None], list[Fault], tuple[str, ...]]:
    place = f"line {number}"
    faults = [
        Fault(f"columns.{name}", repr(heading), "is not a thing here", f"use {', '.join(COLUMNS)}")
        for name, heading in columns.items()
        if name not in COLUMNS
    ]
    told = {slug(heading): name for name, heading in columns.items()}
    known = {slug(heading) for heading in headings}
    faults += [
        Fault(
            f"columns.{name}",
            repr(heading),
            "is no column of this list",
            f"use one of: {', '.join(headings)}",
        )
        for name, heading in columns.items()
        if slug(heading) not in known
    ]
    names: list[str | None] = []
    for heading in headings:
        own = slug(heading)
        free = own in COLUMNS and own not in columns
        names.append(told.get(own) or (own if free else None))
    faults += [
        Fault(place, repr(name), "this column stands twice", "leave one of them out")
        for name in dict.fromkeys(names)
        if name is not None and names.count(name) > 1
    ]
    if not {"product", "formula"} & set(names) and not faults:
        remedy = "tell in `columns` which column is the product or the formula"
        faults.append(Fault(place, ", ".join(headings)[:200], "names no product", remedy))
    ignored = tuple(h for h, name in zip(headings, names, strict=True) if name is None and h)
    return names, faults, ignored


def _too_many(line: int, cells: int, headings: int) -> Fault:
    return Fault(
        f"line {line}",
        f"{cells} cells",
        f"has more cells than the {headings} columns",
        "put a number with a decimal comma in quotes, or part the columns by semicolons",
    )

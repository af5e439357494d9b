"""Order lists in CSV: product, pieces, leave_by and perhaps priority, in any order.

Commas, semicolons or tabs part the columns; a decimal comma needs semicolons or quotes.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Sequence

from pydantic import ValidationError

from api.files.faults import faults_of_validation
from api.schemas.base import found_id, slug
from api.schemas.day import DayInput
from api.schemas.mix_list import OrderInput
from planner.errors import Fault, InputError

COLUMNS = ("product", "pieces", "leave_by", "priority", "id")
NEEDED = ("product", "pieces", "leave_by")
SEPARATORS = (";", "\t", ",")

Row = tuple[int, list[str]]


def read_orders(text: str, products: Collection[str] | None = None) -> list[OrderInput]:
    """Return the orders of a list.

    Parameters
    ----------
    text
        Contents of the list; its first line names the columns.
    products
        Ids of the products that may be ordered; None leaves that to be checked with the day.

    Raises
    ------
    InputError
        With every fault, each with the number of its line.
    """
    rows = rows_of(text)
    if not rows:
        raise InputError(
            [Fault("line 1", "nothing", "the list is empty", f"begin with {_first_line()}")]
        )
    header = [slug(cell) for cell in rows[0][1]]
    faults = _header_faults(rows[0], header)
    if faults:
        raise InputError(faults)
    orders: list[OrderInput] = []
    for number, cells in rows[1:]:
        order, found = _order(number, dict(zip(header, cells, strict=False)), len(cells), header)
        found += _product_faults(number, order, products)
        faults += found
        orders += [] if order is None else [order]
    if not faults and not orders:
        faults.append(Fault("line 2", "nothing", "no order stands here", "enter one on each line"))
    if faults:
        raise InputError(faults)
    return orders


def with_orders(day: DayInput, orders: Sequence[OrderInput]) -> DayInput:
    """Return a day with its mix list replaced by orders."""
    return day.model_copy(update={"mix_list": list(orders)})


def rows_of(text: str) -> list[Row]:
    """Return the lines that hold something, each with its number and its cells.

    Raises
    ------
    InputError
        If a cell never ends, such as after a quotation mark that is not closed.
    """
    lines = text.removeprefix("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    separator = next((one for one in SEPARATORS if one in first), ",")
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=True)
    try:
        return [
            (reader.line_num, [cell.strip() for cell in cells])
            for cells in reader
            if any(cell.strip() for cell in cells)
        ]
    except csv.Error as error:
        place = f"line {reader.line_num}"
        remedy = "close its quotation mark, or shorten it"
        raise InputError([Fault(place, "…", f"cannot be read: {error}", remedy)]) from None


def _first_line() -> str:
    return "a first line of column names: " + ", ".join(NEEDED)


def _header_faults(row: Row, header: list[str]) -> list[Fault]:
    number, cells = row
    faults = [
        Fault(f"line {number}", repr(cell), "is not a column here", f"use {', '.join(COLUMNS)}")
        for cell, name in zip(cells, header, strict=True)
        if name not in COLUMNS
    ]
    faults += [
        Fault(f"line {number}", repr(name), "this column is missing", f"begin with {_first_line()}")
        for name in NEEDED
        if name not in header
    ]
    return faults + [
        Fault(f"line {number}", repr(name), "this column stands twice", "leave one of them out")
        for name in COLUMNS
        if header.count(name) > 1
    ]


def _order(
    number: int, entry: dict[str, str], cells: int, header: list[str]
) -> tuple[OrderInput | None, list[Fault]]:
    if cells > len(header):
        return None, [
            Fault(
                f"line {number}",
                f"{cells} cells",
                f"has more cells than the {len(header)} columns",
                "put a number with a decimal comma in quotes, or part the columns by semicolons",
            )
        ]
    filled = {name: cell for name, cell in entry.items() if cell}
    try:
        return OrderInput.model_validate(filled), []
    except ValidationError as error:
        return None, [
            Fault(f"line {number}, {f.field}", f.value, f.problem, f.remedy)
            for f in faults_of_validation(error, filled)
        ]


def _product_faults(
    number: int, order: OrderInput | None, products: Collection[str] | None
) -> list[Fault]:
    if order is None or products is None or found_id(order.product, products) in products:
        return []
    known = ", ".join(sorted(products)) or "none"
    return [
        Fault(
            f"line {number}, product",
            repr(order.product),
            "no such product",
            f"use one of: {known}",
        )
    ]

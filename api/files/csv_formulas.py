"""Doughs in CSV: one line for each material, so that a sheet of percents can be pasted.

Columns are ``dough``, ``material`` and ``percent``, and where they are known ``part``, ``kind`` (of
the part), ``step``, ``first_min``, ``second_min``, ``dough_c``, ``bulk_min``, ``room_c``, and for a
part ``ripe_min``. What is said of a whole dough may stand on any of its lines. Commas, semicolons
or tabs part the columns.
"""

from __future__ import annotations

import csv
from typing import Any

from api.schemas.base import slug
from planner.errors import Fault, InputError

Document = dict[str, Any]

NEEDED = ("dough", "material", "percent")
COLUMNS = (
    *NEEDED, "part", "kind", "step", "first_min", "second_min", "dough_c", "dough_f", "bulk_min",
    "room_c", "room_f", "ripe_min",
)  # fmt: skip
SPEEDS = (("first_min", "first speed"), ("second_min", "second speed"))
OF_DOUGH = (("dough_c", "dough_c"), ("dough_f", "dough_f"))
OF_BULK = (("bulk_min", "minutes"), ("room_c", "room_c"), ("room_f", "room_f"))


def read_formulas(text: str) -> list[Document]:
    r"""Return the doughs of a list, as they would be entered.

    Parameters
    ----------
    text
        Contents of the list; its first line names the columns.

    Raises
    ------
    InputError
        With every fault, each with the number of its line.

    Examples
    --------
    >>> read_formulas("dough;material;percent;bulk_min\nrye;rye flour;100;60")[0]["bulk"]
    {'minutes': '60'}
    """
    rows = _rows(text)
    if not rows:
        remedy = f"begin with a line of column names: {', '.join(NEEDED)}"
        raise InputError([Fault("line 1", "nothing", "the list is empty", remedy)])
    head = [slug(cell) for cell in rows[0][1]]
    faults = _head_faults(rows[0][0], head)
    if faults:
        raise InputError(faults)
    doughs: dict[str, Document] = {}
    for number, cells in rows[1:]:
        entry = {key: cell for key, cell in zip(head, cells, strict=False) if cell}
        missing = [key for key in NEEDED if key not in entry]
        faults += [
            Fault(f"line {number}, {key}", "nothing", "is missing", "fill it in on every line")
            for key in missing
        ]
        if not missing:
            _add(doughs.setdefault(entry["dough"], {"name": entry["dough"], "lines": []}), entry)
    if faults:
        raise InputError(faults)
    return list(doughs.values())


def _rows(text: str) -> list[tuple[int, list[str]]]:
    lines = text.removeprefix("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    separator = next((one for one in ("\t", ";", ",") if one in first), ",")
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=True)
    return [
        (reader.line_num, [cell.strip() for cell in cells])
        for cells in reader
        if any(cell.strip() for cell in cells)
    ]


def _head_faults(number: int, head: list[str]) -> list[Fault]:
    unknown = [
        Fault(f"line {number}", repr(key), "is not a column here", f"use {', '.join(COLUMNS)}")
        for key in head
        if key not in COLUMNS
    ]
    return unknown + [
        Fault(f"line {number}", repr(key), "this column is missing", f"use {', '.join(COLUMNS)}")
        for key in NEEDED
        if key not in head
    ]


def _add(dough: Document, entry: dict[str, str]) -> None:
    """Add one line to a dough, with what else it says of it."""
    line = {key: entry[key] for key in ("material", "percent", "step") if key in entry}
    if "part" in entry:
        line.pop("step", None)
        _part(dough, entry)["lines"].append(line)
    else:
        dough["lines"].append(line)
    dough |= {key: entry[column] for column, key in OF_DOUGH if column in entry}
    bulk = {key: entry[column] for column, key in OF_BULK if column in entry}
    if bulk:
        dough["bulk"] = {**dough.get("bulk", {}), **bulk}
    if any(column in entry for column, _ in SPEEDS):
        dough["steps"] = [
            {"speed": speed, "minutes": entry[column]}
            for column, speed in SPEEDS
            if entry.get(column, "0") != "0"
        ]


def _part(dough: Document, entry: dict[str, str]) -> Document:
    parts = dough.setdefault("parts", [])
    part: Document | None = next((one for one in parts if one["name"] == entry["part"]), None)
    if part is None:
        part = {"kind": entry.get("kind", "preferment"), "name": entry["part"], "lines": []}
        parts.append(part)
    if "ripe_min" in entry:
        part["ripening"] = {"minutes": entry["ripe_min"]}
    return part

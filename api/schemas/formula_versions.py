"""Versions of a formula, as they are sent."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from api.schemas.formula import FormulaInput
from api.schemas.reader import Read, shown

FORMULA = {
    "name": "white",
    "lines": [
        {"material": "wheat flour", "percent": 100},
        {"material": "water", "percent": 62},
        {"material": "fresh yeast", "percent": 2},
        {"material": "salt", "percent": 2},
    ],
    "steps": [{"speed": "first speed", "minutes": 5}],
    "dough_c": 25,
    "bulk": {"minutes": 90, "room_c": 24},
}


class FormulaVersionHead(Read):
    """One version of a formula in a list."""

    id: Annotated[str, shown("Id of the formula.", "white")]
    version: Annotated[int, shown("Counts its versions from 1.", 3)]
    name: Annotated[str, shown("What it was called.", "White tin dough")]
    changed_at: Annotated[datetime, shown("From when on [UTC].", "2026-07-15T12:00:00Z")]


class FormulaUsedRead(Read):
    """A formula as a plan was made from it."""

    id: Annotated[str, shown("Id of the formula.", "white")]
    version: Annotated[
        int | None, shown("Which of its versions it is; null when none says the same.", 3)
    ]
    formula: Annotated[FormulaInput, shown("The formula as it was entered.", FORMULA)]

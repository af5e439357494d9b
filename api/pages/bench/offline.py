"""What a page knows by itself while the network is away: finished figures and finished times.

They are those of the correction strip, already in words and units: the page picks the cell that
is nearest to what was read, and reckons nothing.
"""

from __future__ import annotations

from typing import Any

from api.pages.bench.boxes import shown_degrees
from api.pages.bench.shift import Shift
from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.strip import MISSES_K
from api.pages.wording import dough_degrees, mass_number, water_degrees
from planner.end_times import EndTimes, end_times
from planner.planned import PlannedMix
from planner.water_ticket import StripCell

ROOM = "room"
"""Name of the columns of a strip without a part."""


def strip_held(shift: Shift, mix: PlannedMix) -> dict[str, Any] | None:
    """Return the strip of a mix as a page keeps it, or None when it has none.

    Parameters
    ----------
    shift, mix
        The shift, and the mix as it is now.

    Returns
    -------
    dict
        ``part`` that the columns are readings of (empty for the room), ``flour`` and ``column``
        readings in the unit that is shown, and ``cells`` by row and column, each with ``water_c``,
        ``water``, ``ice``, ``under`` and ``gives`` as shown.
    """
    planned, units = mix.ticket.strip, shift.reader.units
    if planned is None:
        return None
    formula = shift.plan.day.formula(mix.formula_id)
    part = next((one.id for one in formula.parts if one.name == planned.column), "")
    if planned.column != ROOM and not part:
        return None
    names = Names(shift.plan)
    return {
        "part": part,
        "column_name": shift.reader.say(planned.column),
        "flour": [round(shown_degrees(one, units), 2) for one in planned.flour_c],
        "column": [round(shown_degrees(one, units), 2) for one in planned.column_c],
        "cells": [[_cell(mix, cell, names, shift.reader) for cell in row] for row in planned.cells],
    }


def _cell(mix: PlannedMix, cell: StripCell, names: Names, reader: Reader) -> dict[str, Any]:
    units = reader.units

    def mass(kg: float) -> str:
        return mass_number(kg, units, whole_kg=mix.dough_kg)

    misses = abs(cell.expected_c - mix.steered.dough_c) > MISSES_K
    return {
        "water_c": water_degrees(cell.water_c, units),
        "water": mass(sum(line.water_kg for line in cell.water)),
        "ice": mass(cell.ice_kg),
        "under": [
            f"{names.supply(line.supply_id)} {water_degrees(line.temperature_c, units)}"
            f" {units.degree}: {mass(line.water_kg)} {units.mass}"
            for line in cell.water
            if line.water_kg > 0
        ],
        "gives": f"{dough_degrees(cell.expected_c, units)} {units.degree}" if misses else "",
    }


def ends_held(shift: Shift, mix: PlannedMix) -> list[dict[str, Any]]:
    """Return the times for other ends of a dough as a page keeps them: end, and what to do."""
    return [_end(shift.reader, mix, one) for one in end_times(mix)]


def _end(reader: Reader, mix: PlannedMix, one: EndTimes) -> dict[str, Any]:
    clock = reader.clock
    return {
        "end": round(shown_degrees(one.end_c, reader.units), 2),
        "said": reader.say(
            "Ripe {divide_from} to {divide_by}; divide at {divide}.",
            divide_from=clock.dated(one.divide_from_utc, mix.mix_end_utc),
            divide_by=clock.dated(one.divide_by_utc, mix.mix_end_utc),
            divide=clock.dated(one.divide_utc, mix.mix_end_utc),
        ),
    }

"""The temperature log of a shift: what is read, within which limit, and what was done about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import dough_degrees
from planner.planned import Plan, PlannedMix
from planner.planned_preparation import PlannedPreparation, PreparationKind

BLANK_ROWS = 4
"""Rows left empty for what nobody foresaw."""


@dataclass(frozen=True, slots=True)
class LogRow:
    """One reading to take; all but the first three columns are blanks."""

    time: str
    what: str
    expected: str


@dataclass(frozen=True, slots=True)
class LogSheet:
    """The log of a shift."""

    unit: str
    rows: tuple[LogRow, ...]
    blanks: int
    cooling: tuple[LogRow, ...]


def log_sheet(
    plan: Plan,
    mixes: Iterable[PlannedMix],
    preparations: Iterable[PlannedPreparation],
    reader: Reader,
) -> LogSheet:
    """Return the log, with the doughs and chambers of the shift already written in.

    Parameters
    ----------
    plan, mixes, preparations
        The plan, and those of its mixes and preparations that are wanted.
    reader
        How the house reads time and quantities.
    """
    names, units = Names(plan), reader.units
    rows = [
        LogRow("", chamber.name, dough_degrees(chamber.temperature_c.value, units))
        for chamber in plan.day.bakery.chambers
    ]
    rows += [
        LogRow(
            reader.clock.short(mix.mix_end_utc),
            f"{names.mix_number(mix.id)} {names.dough(mix)}",
            dough_degrees(mix.ticket.wanted_c, units),
        )
        for mix in sorted(mixes, key=lambda one: one.mix_end_utc)
    ]
    scalds = [one for one in preparations if one.kind is PreparationKind.SCALD]
    cooling = tuple(
        LogRow(reader.clock.short(one.start_utc), one.name, dough_degrees(one.start_c, units))
        for one in sorted(scalds, key=lambda one: one.start_utc)
    )
    return LogSheet(units.degree, tuple(rows), BLANK_ROWS, cooling)

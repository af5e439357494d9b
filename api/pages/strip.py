"""The correction strip as printed: finished kilos for readings that differ from their forecast."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.weighing import PrintedMasses
from api.pages.wording import dough_degrees, mass_number, water_degrees
from planner.planned import (
    PlannedMix,
)
from planner.water_ticket import (
    Strip as PlannedStrip,
)
from planner.water_ticket import (
    StripCell,
    WaterLine,
)

MISSES_K = 0.3
"""A cell whose dough is further from the wish than this says what it gives [K]."""

NEAR = 2
"""Rows to either side of the forecast that stand in the row form of a mix."""

FIGURES_OF_FIVE_COLUMNS = 2
"""Cells of more figures than this leave room for three columns only; so does the room, which
moves a dough little."""


@dataclass(frozen=True, slots=True)
class StripRow:
    """One flour reading and what to weigh for each column."""

    reads: str
    cells: tuple[str, ...]
    is_forecast: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """Finished figures for readings that differ from the forecast.

    Attributes
    ----------
    key
        What the figures of a cell are, in their order.
    column
        What the columns are readings of.
    heads
        Readings of the columns.
    forecast
        Index of the column of the forecast itself.
    rows
        One per flour reading.
    """

    key: str
    column: str
    heads: tuple[str, ...]
    forecast: int
    rows: tuple[StripRow, ...]

    @property
    def varies(self) -> bool:
        """Whether another flour reading changes what is weighed."""
        return len({row.cells[self.forecast] for row in self.rows}) > 1

    @property
    def around(self) -> tuple[StripRow, ...]:
        """Return the forecast and the rows of one and two degrees to either side of it."""
        near = self.near
        return tuple(row for row in self.rows if row.is_forecast or row in near)

    @property
    def near(self) -> tuple[StripRow, ...]:
        """Return the rows of one and two degrees to either side of the forecast."""
        middle = next((i for i, row in enumerate(self.rows) if row.is_forecast), 0)
        return tuple(
            row for i, row in enumerate(self.rows) if i != middle and abs(i - middle) <= NEAR
        )


def strips_of(
    mix: PlannedMix, printed: PrintedMasses, names: Names, reader: Reader
) -> tuple[Strip, ...]:
    """Return the strip of a mix, or nothing when it has none.

    Parameters
    ----------
    mix
        The mix.
    printed
        Its masses as printed, so that the forecast's cell says what the ticket says.
    names, reader
        Names of supplies, and how the house reads quantities.
    """
    planned = mix.ticket.strip
    if planned is None:
        return ()
    cells = [cell for row in planned.cells for cell in row]
    supplies = _supplies_used([mix.ticket.water, *(cell.water for cell in cells)])
    has_ice = any(cell.ice_kg > 0 for cell in cells) or mix.ticket.ice_kg > 0
    columns = _columns(planned, len(supplies) + has_ice)
    middle = len(planned.flour_c) // 2
    rows = []
    for r, flour_c in enumerate(planned.flour_c):
        texts = [
            _ticket_cell(mix, printed, supplies, reader, has_ice=has_ice)
            if r == middle and c == len(planned.column_c) // 2
            else _cell(mix, planned.cells[r][c], supplies, reader, has_ice=has_ice)
            for c in columns
        ]
        rows.append(StripRow(dough_degrees(flour_c, reader.units), tuple(texts), r == middle))
    return (
        Strip(
            _key(supplies, names, reader, has_ice=has_ice),
            reader.say(planned.column),
            tuple(dough_degrees(planned.column_c[c], reader.units) for c in columns),
            list(columns).index(len(planned.column_c) // 2),
            tuple(rows),
        ),
    )


def _columns(planned: PlannedStrip, figures: int) -> tuple[int, ...]:
    """Return the columns that are printed: the outer and the middle ones where room is short."""
    count = len(planned.column_c)
    if planned.column == "room" or figures > FIGURES_OF_FIVE_COLUMNS:
        return tuple(dict.fromkeys((0, count // 2, count - 1)))
    return tuple(range(count))


def _key(supplies: list[WaterLine], names: Names, reader: Reader, *, has_ice: bool) -> str:
    degree = reader.units.degree
    parts = [
        f"{names.supply(line.supply_id)} {water_degrees(line.temperature_c, reader.units)} {degree}"
        for line in supplies
    ]
    return (
        " + ".join([*parts, *([reader.say("ice")] if has_ice else [])]) + f", {reader.units.mass}"
    )


def _cell(
    mix: PlannedMix, cell: StripCell, supplies: list[WaterLine], reader: Reader, *, has_ice: bool
) -> str:
    figures = [_kg_of(cell.water, line.supply_id) for line in supplies]
    figures += [cell.ice_kg] if has_ice else []
    text = " + ".join(mass_number(kg, reader.units, whole_kg=mix.dough_kg) for kg in figures)
    if abs(cell.expected_c - mix.steered.dough_c) > MISSES_K:
        text += f" → {dough_degrees(cell.expected_c, reader.units)}"
    return text


def _ticket_cell(
    mix: PlannedMix,
    printed: PrintedMasses,
    supplies: list[WaterLine],
    reader: Reader,
    *,
    has_ice: bool,
) -> str:
    figures = [_printed_supply(mix, printed, line.supply_id) for line in supplies]
    if has_ice:
        iced = mix.ticket.ice_kg > 0
        figures.append(printed.lines[len(mix.ticket.water)] if iced else "0")
    text = " + ".join(figures)
    if abs(mix.ticket.expected_c - mix.steered.dough_c) > MISSES_K:
        text += f" → {dough_degrees(mix.ticket.expected_c, reader.units)}"
    return text


def _supplies_used(columns: list[tuple[WaterLine, ...]]) -> list[WaterLine]:
    return list({line.supply_id: line for water in columns for line in water}.values())


def _kg_of(water: tuple[WaterLine, ...], supply_id: str) -> float:
    return sum(line.water_kg for line in water if line.supply_id == supply_id)


def _printed_supply(mix: PlannedMix, printed: PrintedMasses, supply_id: str) -> str:
    for line, mass in zip(mix.ticket.water, printed.lines, strict=False):
        if line.supply_id == supply_id:
            return mass
    return "0"

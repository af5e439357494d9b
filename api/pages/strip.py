"""The correction strip: finished figures for readings that differ from their forecast."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.names import Names
from api.pages.wording import PrintedMasses, Units, dough_degrees, mass_number, water_degrees
from planner.planned import PlannedMix, StripCell, WaterLine


@dataclass(frozen=True, slots=True)
class Strip:
    """Finished figures for readings that differ from the forecast.

    Attributes
    ----------
    heads
        The reading for which each column holds.
    forecast
        Index of the column of the forecast itself.
    rows
        Label and one figure per column.
    """

    reading: str
    heads: tuple[str, ...]
    forecast: int
    rows: tuple[tuple[str, tuple[str, ...]], ...]


def strips_of(
    mix: PlannedMix, printed: PrintedMasses, names: Names, units: Units
) -> tuple[Strip, ...]:
    """Return the strips of a mix, one per reading that may differ.

    Parameters
    ----------
    mix
        The mix.
    printed
        Its masses as printed, so that the forecast's column says what the ticket says.
    names, units
        Names of supplies, and how the house reads quantities.
    """
    readings = dict.fromkeys(cell.reading for cell in mix.ticket.strip)
    return tuple(
        _strip(
            mix,
            sorted(
                (cell for cell in mix.ticket.strip if cell.reading == reading),
                key=lambda cell: cell.offset_k,
            ),
            printed,
            names,
            units,
        )
        for reading in readings
    )


def _strip(
    mix: PlannedMix,
    cells: list[StripCell],
    printed: PrintedMasses,
    names: Names,
    units: Units,
) -> Strip:
    ticket = mix.ticket
    forecast = sum(cell.offset_k < 0 for cell in cells)
    heads = [dough_degrees(cell.reading_c, units) for cell in cells]
    forecast_c = cells[0].reading_c - cells[0].offset_k
    heads.insert(forecast, dough_degrees(forecast_c, units))
    columns = [(cell.water, cell.ice_kg, cell.expected_c) for cell in cells]
    columns.insert(forecast, (ticket.water, ticket.ice_kg, ticket.expected_c))
    rows = []
    for line in _supplies_used([water for water, _, _ in columns]):
        label = (
            f"{names.supply(line.supply_id)} {water_degrees(line.temperature_c, units)}"
            f" {units.degree}, {units.mass}"
        )
        figures = [
            mass_number(_kg_of(water, line.supply_id), units, whole_kg=mix.dough_kg)
            for water, _, _ in columns
        ]
        figures[forecast] = _printed_supply(mix, printed, line.supply_id)
        rows.append((label, tuple(figures)))
    if any(ice_kg > 0 for _, ice_kg, _ in columns):
        ice = [mass_number(ice_kg, units, whole_kg=mix.dough_kg) for _, ice_kg, _ in columns]
        ice[forecast] = printed.lines[len(ticket.water)] if ticket.ice_kg > 0 else "0"
        rows.append((f"ice, {units.mass}", tuple(ice)))
    if any(abs(expected_c - ticket.wanted_c) > 0.3 for _, _, expected_c in columns):
        gives = tuple(dough_degrees(expected_c, units) for _, _, expected_c in columns)
        rows.append((f"gives dough, {units.degree}", gives))
    return Strip(cells[0].reading, tuple(heads), forecast, tuple(rows))


def _supplies_used(columns: list[tuple[WaterLine, ...]]) -> list[WaterLine]:
    return list({line.supply_id: line for water in columns for line in water}.values())


def _kg_of(water: tuple[WaterLine, ...], supply_id: str) -> float:
    return sum(line.water_kg for line in water if line.supply_id == supply_id)


def _printed_supply(mix: PlannedMix, printed: PrintedMasses, supply_id: str) -> str:
    for line, mass in zip(mix.ticket.water, printed.lines, strict=False):
        if line.supply_id == supply_id:
            return mass
    return "0"

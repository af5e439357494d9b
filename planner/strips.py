"""The correction strip: finished water and ice for readings that differ from the forecast."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from planner.batches import Batch
from planner.night import Night
from planner.options import Allowance, Choice, water_for
from planner.physics.heat_balance import MixBalance, Numbers
from planner.physics.water import Draw
from planner.supplies import lines_from, supplies_of
from planner.water_ticket import (
    Strip,
    StripCell,
)

FLOUR_OFFSETS_K = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
COLUMN_OFFSETS_K = (-4.0, -2.0, 0.0, 2.0, 4.0)
"""Readings of the strip around the forecast [K]."""


@dataclass(frozen=True)
class StripDraw:
    """The cells of a strip, solved: rows are flour readings, columns those of a part or the room.

    Attributes
    ----------
    column, flour_c, column_c
        What the columns are, and the readings in the middle [°C].
    drawn
        Water and ice of every cell.
    """

    column: str
    flour_c: float
    column_c: float
    drawn: Draw

    @property
    def middle(self) -> Draw:
        """The forecast's own cell: what the ticket says."""
        row, column = FLOUR_OFFSETS_K.index(0.0), COLUMN_OFFSETS_K.index(0.0)
        shape = (len(FLOUR_OFFSETS_K), len(COLUMN_OFFSETS_K))
        return Draw(
            *(
                np.asarray(np.broadcast_to(getattr(self.drawn, field.name), shape)[row, column])
                for field in fields(Draw)
            )
        )

    def strip(self, night: Night) -> Strip:
        """Return the strip as it is printed."""
        return Strip(
            self.column,
            tuple(self.flour_c + k for k in FLOUR_OFFSETS_K),
            tuple(self.column_c + k for k in COLUMN_OFFSETS_K),
            strip_cells(night, self.drawn),
        )


def drawn_for_strip(
    night: Night, batch: Batch, balance: MixBalance, choice: Choice, allowed: Allowance
) -> StripDraw | None:
    """Return the cells of a mix, or None when it has no fresh flour or no water to steer.

    Parameters
    ----------
    night, batch, balance
        The mix, all its temperatures plain numbers.
    choice, allowed
        Wanted dough, and the ice and chilled water it may take: no cell hands out more.

    Notes
    -----
    Rows are flour readings. Columns are readings of the part that weighs most in heat, or of the
    room when the dough has none. All cells are solved in one sweep.
    """
    flour = [i for i in balance.ingredients if i.is_fresh_flour]
    if balance.water_kg <= 0 or not flour:
        return None
    rows = np.array(FLOUR_OFFSETS_K)[:, None]
    columns = np.array(COLUMN_OFFSETS_K)[None, :]
    part = _weightiest_part(balance)
    shifted = replace(
        balance,
        ingredients=tuple(
            replace(i, temperature_c=i.temperature_c + rows)
            if i.is_fresh_flour
            else replace(i, temperature_c=i.temperature_c + columns)
            if part is not None and i.key == part
            else i
            for i in balance.ingredients
        ),
    )
    if part is None:
        shifted = in_room(shifted, np.asarray(balance.air.room_c) + columns)
    drawn, _ = water_for(night, batch, shifted, choice, allowed)
    flour_c = sum(i.mass_kg * float(i.temperature_c) for i in flour) / sum(i.mass_kg for i in flour)
    name, column_c = _column(balance, part)
    return StripDraw(name, flour_c, column_c, drawn)


def in_room(balance: MixBalance, room_c: Numbers | float) -> MixBalance:
    """Return a mix in a room of another temperature; the bowl stays as it is."""
    return replace(balance, air=replace(balance.air, room_c=room_c))


def _weightiest_part(balance: MixBalance) -> str | None:
    parts = [i for i in balance.ingredients if i.key]
    if not parts:
        return None
    return max(parts, key=lambda i: float(i.heat_capacity_kj_per_k)).key


def _column(balance: MixBalance, part: str | None) -> tuple[str, float]:
    if part is None:
        return "room", float(np.asarray(balance.air.room_c))
    one = next(i for i in balance.ingredients if i.key == part)
    return one.name, float(one.temperature_c)


def strip_cells(night: Night, drawn: Draw) -> tuple[tuple[StripCell, ...], ...]:
    """Return what to weigh, cell by cell."""
    shape = (len(FLOUR_OFFSETS_K), len(COLUMN_OFFSETS_K))
    figures = (drawn.tap_kg, drawn.chilled_kg, drawn.hot_kg, drawn.ice_kg, drawn.expected_c)
    table = np.stack([np.broadcast_to(figure, shape) for figure in figures], axis=-1).tolist()
    supplies = supplies_of(night)
    return tuple(
        tuple(StripCell(lines_from(supplies, cell[:3]), cell[3], cell[4]) for cell in row)
        for row in table
    )

"""The morning after: last night's papers, typed on one grid in their order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api.pages.bench.boxes import Box, before_boxes, end_box, milliseconds, time_box
from api.pages.bench.day_held import offsets, title
from api.pages.bench.phrases import phrases
from api.pages.bench.shift import Shift
from api.pages.names import Names, batch_text
from api.pages.templating import templates
from planner.planned import PlannedMix
from planner.readings import ReadingKind


@dataclass(frozen=True, slots=True)
class GridRow:
    """The readings of one mix as they stand on its paper.

    Attributes
    ----------
    cells
        Boxes in the order of the columns; None where the mix has no such reading.
    start_at, end_at
        Its planned start and end, next to which its times lie [ms since 1970].
    """

    number: int
    dough: str
    mixer: str
    start: str
    start_at: int
    end_at: int
    cells: tuple[Box | None, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """Last night's papers.

    Attributes
    ----------
    columns
        Heads of the columns: flour, one per preferment or scald of the fullest mix, the dough off
        the mixer, and the time.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[GridRow, ...]


def grid(shift: Shift) -> Grid:
    """Return the grid of a night: a row per mix, as many columns as its papers have boxes.

    Parameters
    ----------
    shift
        The night.
    """
    names, say, degree = Names(shift.plan), shift.reader.say, shift.reader.units.degree
    parts = [before_boxes(shift, mix)[1:] for mix in shift.mixes]
    widest = max((len(one) for one in parts), default=0)
    otherwise = say("preferment or scald")
    columns = (
        f"{say('flour')} {degree}",
        *(f"{_head(parts, i, otherwise)} {degree}" for i in range(widest)),
        f"{say('dough at end')} {degree}",
        say("off the mixer"),
    )
    return Grid(
        title(shift),
        columns,
        tuple(_row(shift, mix, names, widest) for mix in shift.mixes),
    )


def _head(parts: list[tuple[Box, ...]], column: int, otherwise: str) -> str:
    """Return the name of a column of parts: their own where all are called alike."""
    named = {one[column].label for one in parts if column < len(one)}
    return named.pop() if len(named) == 1 else otherwise


def _row(shift: Shift, mix: PlannedMix, names: Names, widest: int) -> GridRow:
    flour, *parts = before_boxes(shift, mix)
    blanks = [None] * (widest - len(parts))
    planned = shift.plan.mix(mix.id)
    off = time_box(
        shift, ReadingKind.MIX_END, shift.reader.say("off the mixer"), mix, planned.mix_end_utc
    )
    batch = batch_text(mix, shift.reader.say)
    return GridRow(
        number=names.mix_number(mix.id),
        dough=f"{names.dough(mix)}{', ' if batch else ''}{batch}",
        mixer=names.place(mix.mixer_id),
        start=shift.reader.clock.full(planned.start_utc),
        start_at=milliseconds(planned.start_utc),
        end_at=milliseconds(planned.mix_end_utc),
        cells=(flour, *parts, *blanks, end_box(shift, mix), off),
    )


def morning_html(shift: Shift, files: str) -> str:
    """Return the page of the morning after.

    Parameters
    ----------
    shift
        The night.
    files
        Where its script and style lie.
    """
    say, clock = shift.reader.say, shift.reader.clock
    held: dict[str, Any] = {
        "plan_id": shift.plan_id,
        "now": milliseconds(shift.now),
        "offsets": offsets(clock.zone, shift.plan.day.start_utc),
        "words": phrases(say),
    }
    template = templates().get_template("bench/morning.html")
    return template.render(grid=grid(shift), bakery_id=shift.bakery_id, held=held, files=files,
                           say=say)  # fmt: skip

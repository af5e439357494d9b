"""How high a ticket will be, so that it goes on overleaf where its letters would not fit."""

from __future__ import annotations

import math
from collections.abc import Iterable

from api.pages.mix_ticket import MixTicket

LINE_MM, ROW_MM, HEAD_MM, BOX_MM = 5.75, 6.7, 8.5, 14.4
"""A line of text, a row of a table, a small heading and a box, as printed."""

HEADLINE_MM, NUMBERS_MM, STRIP_MM, SIGN_MM = 27.0, 25.5, 6.2, 11.0
HALF, WHOLE, STEP, CAUTION = 36, 76, 24, 30
"""Letters of a line: in half the width, in the whole, of a step, of a caution at a step."""


def height_mm(ticket: MixTicket) -> float:
    """Return the height of a ticket whose letters keep their size [mm].

    Notes
    -----
    Text is counted in letters and not set; a test prints tickets and holds this to what it says.
    """
    numbers = sum(
        NUMBERS_MM + LINE_MM * max((len(one.under) for one in row), default=0)
        for row in (ticket.numbers[:3], ticket.numbers[3:])
    )
    strips = sum(LINE_MM + 2 * ROW_MM + STRIP_MM * len(strip.around) for strip in ticket.strips)
    return (
        HEADLINE_MM
        + numbers
        + LINE_MM * _lines(ticket.expected + ticket.draw_from, WHOLE - 24 * bool(ticket.draw_from))
        + _height(_blocks(ticket), left_blocks(ticket, with_times=True))
        + strips
        + sum(1 + LINE_MM * _lines(reason, WHOLE) for reason in ticket.reasons)
        + SIGN_MM
    )


def left_blocks(ticket: MixTicket, *, with_times: bool) -> int:
    """Return how many of the list, the boxes, the steps and the times stand on the left.

    Parameters
    ----------
    ticket
        The ticket.
    with_times
        Whether the times after the mix stand there too, and not overleaf.
    """
    blocks = _blocks(ticket)[: 4 if with_times else 3]
    return min(range(1, len(blocks)), key=lambda k: _height(blocks, k))


def _blocks(ticket: MixTicket) -> list[float]:
    return [_scaling(ticket), _boxes(ticket), _steps(ticket), _after(ticket)]


def _height(blocks: list[float], left: int) -> float:
    """Return the height of blocks in two columns, so many of them on the left."""
    return max(sum(blocks[:left]), sum(blocks[left:]))


def _scaling(ticket: MixTicket) -> float:
    rows = sum(_lines(row.name, 17) for row in ticket.scaling)
    groups = len({row.group for row in ticket.scaling if row.group})
    return ROW_MM * (2 + rows + groups) + LINE_MM * _lines("; ".join(ticket.ratios), HALF)


def _steps(ticket: MixTicket) -> float:
    rows = sum(ROW_MM * _lines(step.what, STEP) for step in ticket.steps)
    return HEAD_MM + rows + _cautions(c for step in ticket.steps for c in step.cautions)


def _cautions(cautions: Iterable[str]) -> float:
    return sum(1 + LINE_MM * _lines(caution, CAUTION) for caution in cautions)


def _boxes(ticket: MixTicket) -> float:
    return HEAD_MM + BOX_MM * math.ceil(len(ticket.readings) / 2)


def _after(ticket: MixTicket) -> float:
    room = max(30 - max((len(row.planned) for row in ticket.clock_rows), default=5), 12)
    rows = sum(_lines(f"{row.what} {row.place}", room) for row in ticket.clock_rows)
    judged = sum(row.is_judged for row in ticket.clock_rows)
    return HEAD_MM + ROW_MM * (1 + rows + judged * 1.15)


def _lines(text: str, letters: int) -> int:
    return max(1, math.ceil(len(text) / letters))

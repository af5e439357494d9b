"""How high a ticket will be, so that it goes on overleaf where its letters would not fit."""

from __future__ import annotations

import math
from collections.abc import Iterable

from api.pages.mix_ticket import MixTicket

LINE_MM, ROW_MM, HEAD_MM, BOX_MM = 5.45, 6.5, 8.2, 14.2
"""A line of text, a row of a table, a small heading and a box, as printed."""

HEADLINE_MM, NUMBERS_MM, STRIP_MM, SIGN_MM = 26.5, 24.8, 5.95, 11.0
HALF, WHOLE, STEP, CAUTION = 36, 76, 24, 30
"""Letters of a line: in half the width, in the whole, of a step, of a caution at a step."""


def height_mm(ticket: MixTicket) -> float:
    """Return the height of a ticket without its reasons, in letters that keep their size [mm].

    Notes
    -----
    Text is counted in letters and not set; a test prints tickets and holds this to what it says.
    """
    numbers = sum(
        NUMBERS_MM + LINE_MM * max((len(one.under) for one in row), default=0)
        for row in (ticket.numbers[:3], ticket.numbers[3:])
    )
    return _front(ticket, numbers) + _overleaf(ticket)


def front_holds_times(ticket: MixTicket, page_mm: float) -> bool:
    """Return whether the times after the mix still fit on a front whose strip stands overleaf."""
    return height_mm(ticket) - _overleaf(ticket) <= page_mm


def _overleaf(ticket: MixTicket) -> float:
    strips = sum(LINE_MM + ROW_MM + STRIP_MM * len(strip.around) for strip in ticket.strips)
    return 2 * bool(ticket.strips) + strips


def reasons_that_fit(ticket: MixTicket, page_mm: float) -> int:
    """Return how many reasons still find room on a ticket of one page."""
    left = page_mm - height_mm(ticket)
    for count, reason in enumerate(ticket.reasons):
        left -= 1 + LINE_MM * _lines(reason, WHOLE)
        if left < 0:
            return count
    return len(ticket.reasons)


def _front(ticket: MixTicket, numbers: float) -> float:
    letters = WHOLE - 24 * bool(ticket.draw_from)
    return (
        HEADLINE_MM
        + numbers
        + LINE_MM * _lines(ticket.expected + ticket.draw_from, letters)
        + _columns(ticket)
        + _after(ticket)
        + SIGN_MM
    )


def boxes_right(ticket: MixTicket) -> bool:
    """Return whether the boxes for readings stand above the steps and not below the list."""
    left, boxes, right = _scaling(ticket), _boxes(ticket), _steps(ticket)
    return max(left, boxes + right) <= max(left + boxes, right)


def _columns(ticket: MixTicket) -> float:
    left, boxes, right = _scaling(ticket), _boxes(ticket), _steps(ticket)
    return min(max(left, boxes + right), max(left + boxes, right))


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
    judged = [row for row in ticket.clock_rows if row.is_judged]
    others = "; ".join(
        f"{row.what} {row.place} {row.planned} {row.last}"
        for row in ticket.clock_rows
        if not row.is_judged
    )
    room = 36 - max((len(row.planned) for row in judged), default=5)
    rows = sum(_lines(f"{row.what} {row.place}", room) for row in judged)
    return ROW_MM * (1 + rows) + LINE_MM * _lines(others, WHOLE)


def _lines(text: str, letters: int) -> int:
    return max(1, math.ceil(len(text) / letters))

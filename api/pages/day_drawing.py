"""The day as a drawing: time runs down, one column per place, a block is as wide as its dough.

Nothing in it depends on colour: what is worked has a heavy frame, what waits is dotted, what
is prepared for later has a broken frame, what bakes is hatched. A bracket beside a block is
the window in which it may end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape
from zoneinfo import ZoneInfo

from api.pages.day_blocks import Block, BlockForm, Column, columns_of
from api.pages.wording import Clock, Units, clock_of, dough_degrees, mass_text
from planner.planned import Plan

WIDTH, HEIGHT = 760.0, 990.0
TOP, BOTTOM = 64.0, 940.0
AXIS_X, STRIP_X, STRIP_WIDTH, FIRST_COLUMN_X = 52.0, 60.0, 56.0, 142.0
COLUMN_GAP, COLUMN_LEAST = 14.0, 40.0
LETTER = 6.0
"""Width of a letter at the drawing's small size, for breaking names into lines."""

HALO = 'stroke="#fff" stroke-width="3.5" paint-order="stroke" stroke-linejoin="round"'
"""Letters with a white rim, so that lines behind them do not cut them."""

FORMS = {
    BlockForm.WORK: 'fill="#fff" stroke="#000" stroke-width="2.2"',
    BlockForm.WAIT: 'fill="url(#dots)" stroke="#000" stroke-width="0.9"',
    BlockForm.PREPARE: 'fill="#fff" stroke="#000" stroke-width="1.2" stroke-dasharray="5 3"',
    BlockForm.BAKE: 'fill="url(#hatch)" stroke="#000" stroke-width="1.6"',
}
FORM_WORDS = {
    BlockForm.WORK: "mixed or divided",
    BlockForm.WAIT: "bulk or proof",
    BlockForm.PREPARE: "prepared ahead",
    BlockForm.BAKE: "in the oven",
}
PATTERNS = (
    '<defs><pattern id="dots" width="7" height="7" patternUnits="userSpaceOnUse">'
    '<rect width="7" height="7" fill="#fff"/><circle cx="2" cy="2" r="0.8" fill="#555"/>'
    '</pattern><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<rect width="6" height="6" fill="#fff"/>'
    '<path d="M0 6L6 0" stroke="#555" stroke-width="0.9"/></pattern></defs>'
)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where moments and kilograms lie in the drawing."""

    start_utc: datetime
    end_utc: datetime
    per_kg: float

    def y(self, moment: datetime) -> float:
        """Return the height of a moment."""
        share = (moment - self.start_utc) / (self.end_utc - self.start_utc)
        return TOP + (BOTTOM - TOP) * min(max(share, 0.0), 1.0)

    def column_width(self, column: Column) -> float:
        """Return the width of a column."""
        return max(COLUMN_LEAST, column.width_kg * self.per_kg)


def day_drawing(plan: Plan, zone: ZoneInfo, units: Units = Units.METRIC) -> str:
    """Return a plan's day as an SVG drawing.

    Parameters
    ----------
    plan
        The plan.
    zone, units
        How the house reads time and quantities.

    Returns
    -------
    str
        One ``svg`` element with its title and description, black on white, without links.
    """
    columns = columns_of(plan)
    clock, frame = clock_of(plan, zone), frame_of(columns, plan)
    places = list(_column_places(columns, frame))
    blocks = [
        (block, x + left * frame.per_kg, block.mass_kg * frame.per_kg)
        for column, x in places
        for block, left in column.blocks
    ]
    parts = [
        PATTERNS,
        *_hours(frame, clock),
        *_room_strip(plan, frame, units),
        *(line for column, x in places for line in _column_head(column, x, frame)),
        *(_box(block, x, width, frame, clock, units) for block, x, width in blocks),
        *(
            _bracket(block, block.window, x + width, frame)
            for block, x, width in blocks
            if block.window
        ),
        *(line for block, x, width in blocks for line in _label(block, x, width, frame)),
        *_legend(),
    ]
    title = f"The day of {plan.day.production_date.isoformat()}, plan version {plan.version}"
    return (
        f'<svg class="day" viewBox="-2 0 {WIDTH + 4:g} {HEIGHT:g}" role="img"'
        ' aria-labelledby="day-title day-desc" font-family="sans-serif" font-size="12">'
        f'<title id="day-title">{escape(title)}</title>'
        f'<desc id="day-desc">{escape(_description(plan, columns, clock))}</desc>'
        f"{''.join(parts)}</svg>"
    )


def frame_of(columns: Iterable[Column], plan: Plan) -> Frame:
    """Return the frame that holds all columns: whole hours, and one scale for all kilograms."""
    columns = tuple(columns)
    blocks = [block for column in columns for block, _ in column.blocks]
    start = min((block.start_utc for block in blocks), default=plan.day.start_utc)
    end = max((block.end_utc for block in blocks), default=plan.day.end_utc)
    first = start.replace(minute=0, second=0, microsecond=0)
    last = (end + timedelta(minutes=59)).replace(minute=0, second=0, microsecond=0)
    space = WIDTH - FIRST_COLUMN_X - COLUMN_GAP * max(len(columns), 1)
    return Frame(first, max(last, first + timedelta(hours=1)), _scale(columns, space))


def _scale(columns: tuple[Column, ...], space: float) -> float:
    """Return the width of a kilogram, so that all columns just fit, narrow ones at their least."""
    low, high = 0.0, 40.0
    for _ in range(40):
        middle = (low + high) / 2
        used = sum(max(COLUMN_LEAST, column.width_kg * middle) for column in columns)
        low, high = (middle, high) if used <= space else (low, middle)
    return low


def _column_places(columns: Iterable[Column], frame: Frame) -> Iterable[tuple[Column, float]]:
    x = FIRST_COLUMN_X
    for column in columns:
        yield column, x
        x += frame.column_width(column) + COLUMN_GAP


def _text(x: float, y: float, text: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" {more}>{escape(text)}</text>'


def _hours(frame: Frame, clock: Clock) -> list[str]:
    lines = []
    count = int((frame.end_utc - frame.start_utc) / timedelta(hours=1))
    every = 1 if count <= 30 else 2
    date = ""
    size = 8.5 if clock.offset_shown else 13
    for i in range(0, count + 1, every):
        moment = frame.start_utc + timedelta(hours=i)
        y = frame.y(moment)
        new_date = clock.day(moment)
        weight = "1.6" if date and new_date != date else "0.4"
        lines.append(
            f'<path d="M{AXIS_X:g} {y:.1f}H{WIDTH:g}" stroke="#000" stroke-width="{weight}"'
            f' stroke-dasharray="{"none" if weight == "1.6" else "1 3"}"/>'
        )
        lines.append(_text(0, y + 4, clock.time(moment), f'font-size="{size}"'))
        if new_date != date:
            lines.append(_text(0, y - 10, new_date, 'font-weight="bold"'))
            date = new_date
    return lines


def _room_strip(plan: Plan, frame: Frame, units: Units) -> list[str]:
    """Draw the forecast of the first mixer's room; further right is warmer."""
    room_id = plan.day.bakery.mixers[0].room_id
    forecast = plan.conditions.rooms.get(room_id)
    if forecast is None:
        return []
    hours = [
        (forecast.start_utc + timedelta(hours=i), degrees)
        for i, degrees in enumerate(forecast.temperature_c)
    ]
    hours = [(m, degrees) for m, degrees in hours if frame.start_utc <= m <= frame.end_utc]
    if not hours:
        return []
    low, high = min(d for _, d in hours), max(d for _, d in hours)
    spread = max(high - low, 1.0)
    points = [
        (STRIP_X + (degrees - low) / spread * 20, frame.y(moment)) for moment, degrees in hours
    ]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    every = 2 if len(hours) > 8 else 1
    return [
        f'<polyline points="{path}" fill="none" stroke="#000" stroke-width="1.5"/>',
        _text(STRIP_X, TOP - 38, "room", 'font-weight="bold"'),
        _text(STRIP_X, TOP - 26, units.degree, 'font-weight="bold"'),
        *(
            _text(STRIP_X + 28, y + 4, dough_degrees(degrees, units), HALO)
            for (_, y), (_, degrees) in list(zip(points, hours, strict=True))[::every]
        ),
    ]


def _column_head(column: Column, x: float, frame: Frame) -> list[str]:
    width = frame.column_width(column)
    lines = _broken(column.name, int((width + COLUMN_GAP - 4) / LETTER))
    first = TOP - 12 - 12 * (len(lines) - 1)
    return [
        f'<path d="M{x:.1f} {TOP - 6:g}H{x + width:.1f}" stroke="#000" stroke-width="1.5"/>',
        *(_text(x, first + 12 * i, line, 'font-weight="bold"') for i, line in enumerate(lines)),
    ]


def _broken(name: str, letters: int) -> list[str]:
    """Break a name into at most three lines of so many letters."""
    lines: list[str] = []
    for word in name.split():
        if lines and len(lines[-1]) + 1 + len(word) <= letters:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return [
        line if len(line) <= letters else f"{line[: max(letters - 1, 1)]}." for line in lines[:3]
    ]


def _box(block: Block, x: float, width: float, frame: Frame, clock: Clock, units: Units) -> str:
    y = frame.y(block.start_utc)
    height = max(frame.y(block.end_utc) - y, 1.5)
    hint = (
        f"{block.mark} {block.name}, {mass_text(block.mass_kg, units)}:"
        f" {clock.time(block.start_utc)} to {clock.time(block.end_utc)}"
    )
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{max(width, 2.0):.1f}" height="{height:.1f}"'
        f" {FORMS[block.form]}><title>{escape(hint)}</title></rect>"
    )


def _bracket(block: Block, window: tuple[datetime, datetime], x: float, frame: Frame) -> str:
    """Draw the window; one that stays open long after the block's end has no lower end."""
    is_open = window[1] > block.end_utc + timedelta(hours=1)
    first = frame.y(window[0])
    last = frame.y(max(block.end_utc, window[0])) if is_open else frame.y(window[1])
    path = f"M{x - 4:.1f} {first:.1f}H{x + 4:.1f}V{last:.1f}{'' if is_open else f'H{x - 4:.1f}'}"
    return "".join(
        f'<path d="{path}" fill="none" stroke="{tone}" stroke-width="{weight}"/>'
        for tone, weight in (("#fff", "4.5"), ("#000", "2"))
    )


def _label(block: Block, x: float, width: float, frame: Frame) -> list[str]:
    top, bottom = frame.y(block.start_utc), frame.y(block.end_utc)
    letters = int((width - 6) / LETTER)
    if block.form is BlockForm.PREPARE:
        lines = _broken(block.mark, max(letters, 6))
        return [_text(x + 3, top + 13 + 12 * i, line, HALO) for i, line in enumerate(lines)]
    middle = (top + bottom) / 2 + 5 if bottom - top < 20 else top + 15
    is_narrow = width < 9 + 8 * len(block.mark)
    size, indent = (11, 1.5) if is_narrow else (14, 4)
    label = _text(x + indent, middle, block.mark, f'font-size="{size}" font-weight="bold" {HALO}')
    if bottom - top < 34 or letters < 6:
        return [label]
    room = int((bottom - top - 18) / 12)
    lines = _broken(block.name, letters)[:room]
    return [label, *(_text(x + 4, top + 28 + 12 * i, line, HALO) for i, line in enumerate(lines))]


def _legend() -> list[str]:
    parts, x, y = [], 0.0, HEIGHT - 20
    for form, words in FORM_WORDS.items():
        parts.append(f'<rect x="{x + 1:g}" y="{y:g}" width="22" height="13" {FORMS[form]}/>')
        parts.append(_text(x + 29, y + 11, words))
        x += 40 + LETTER * len(words)
    parts.append(f'<path d="M{x + 4:g} {y:g}h8v13h-8" fill="none" stroke="#000" stroke-width="2"/>')
    parts.append(_text(x + 19, y + 11, "may end from–by"))
    parts.append(
        _text(0, HEIGHT - 30, "A block is as wide as its dough is heavy; its number is the mix.")
    )
    return parts


def _description(plan: Plan, columns: tuple[Column, ...], clock: Clock) -> str:
    mixes = "; ".join(
        f"mix {block.mark}, {block.name}, from {clock.time(block.start_utc)}"
        for column in columns
        for block, _ in column.blocks
        if column.id in {mixer.id for mixer in plan.day.bakery.mixers}
    )
    places = ", ".join(column.name for column in columns)
    return f"Time runs down the page. Places from left to right: {places}. {mixes}."

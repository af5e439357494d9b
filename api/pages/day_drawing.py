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

from api.pages.day_blocks import Block, BlockForm, Column, columns_of
from api.pages.reader import Reader
from api.pages.wording import Clock, dough_degrees, mass_text
from planner.planned import Plan

WIDTH, HEIGHT = 760.0, 990.0
TOP, BOTTOM = 88.0, 896.0
AXIS_X, STRIP_X, STRIP_WIDTH, FIRST_COLUMN_X = 58.0, 66.0, 66.0, 150.0
COLUMN_GAP, COLUMN_LEAST = 22.0, 44.0
LETTERS = "Sheet Sans, Arial, Liberation Sans, sans-serif"
SIZE, LINE = 19.5, 20.0
"""Letters and lines: capitals of 3.3 mm when the drawing is as wide as the sheet."""

LETTER = 10.3
"""Width of a letter, for breaking names into lines."""

FIGURE = 11.4
"""Width of a bold figure."""

HOURS_THAT_FIT, HOURS_OF_ROOM = 30, 9
"""Most hours that are all written down, and how many of them have the room beside them."""

RIM = 'stroke="#fff" stroke-width="4.5" stroke-linejoin="round" aria-hidden="true"'
"""A white rim, drawn under letters so that lines behind do not cut them."""

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


def day_drawing(plan: Plan, reader: Reader) -> str:
    """Return a plan's day as an SVG drawing.

    Parameters
    ----------
    plan
        The plan.
    reader
        How the house reads time and quantities.

    Returns
    -------
    str
        One ``svg`` element with its title and description, black on white, without links.
    """
    columns = columns_of(plan)
    clock, frame = reader.clock, frame_of(columns, plan)
    places = list(_column_places(columns, frame))
    blocks = [
        (block, x + left * frame.per_kg, block.mass_kg * frame.per_kg)
        for column, x in places
        for block, left in column.blocks
    ]
    parts = [
        PATTERNS,
        *_hours(frame, clock),
        *_room_strip(plan, frame, reader),
        *(line for column, x in places for line in _column_head(column, x, frame)),
        *(_box(block, x, width, frame, reader) for block, x, width in blocks),
        *(
            _bracket(block, block.window, x + width, frame)
            for block, x, width in blocks
            if block.window
        ),
        *_labels(blocks, frame),
        *_legend(reader),
    ]
    title = reader.say(
        "The day of {date}, plan version {version}",
        date=plan.day.production_date.isoformat(),
        version=plan.version,
    )
    return (
        f'<svg class="day" viewBox="-2 0 {WIDTH + 4:g} {HEIGHT:g}" role="img"'
        f' aria-labelledby="day-title day-desc" font-family="{LETTERS}" font-size="{SIZE:g}">'
        f'<title id="day-title">{escape(title)}</title>'
        f'<desc id="day-desc">{escape(_description(plan, columns, reader))}</desc>'
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


def _rimmed(x: float, y: float, text: str, more: str = "") -> str:
    """Write letters over their white rim; drawn twice, since not every printer orders the two."""
    return _text(x, y, text, f"{RIM} {more}") + _text(x, y, text, more)


def _hours(frame: Frame, clock: Clock) -> list[str]:
    lines: list[str] = []
    count = int((frame.end_utc - frame.start_utc) / timedelta(hours=1))
    every = 1 if count <= HOURS_THAT_FIT else 2
    date = offset = ""
    for i in range(0, count + 1, every):
        moment = frame.start_utc + timedelta(hours=i)
        y, new_date, new_offset = frame.y(moment), clock.day(moment), clock.offset(moment).strip()
        is_midnight = bool(date) and new_date != date
        weight, dash = ("1.6", "none") if is_midnight else ("0.4", "1 3")
        lines.append(
            f'<path d="M{AXIS_X:g} {y:.1f}H{WIDTH:g}" stroke="#000" stroke-width="{weight}"'
            f' stroke-dasharray="{dash}"/>'
        )
        lines.append(_text(0, y + 7, clock.hand(moment)))
        if new_offset != offset:
            lines.append(_rimmed(0, y + 7 + LINE, new_offset))
        if new_date != date:
            lines.append(_rimmed(0, y - 12, new_date, 'font-weight="bold"'))
        date, offset = new_date, new_offset
    return lines


def _room_strip(plan: Plan, frame: Frame, reader: Reader) -> list[str]:
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
        (STRIP_X + (degrees - low) / spread * 14, frame.y(moment)) for moment, degrees in hours
    ]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    every = 1 + len(hours) // HOURS_OF_ROOM
    return [
        f'<polyline points="{path}" fill="none" stroke="#000" stroke-width="1.5"/>',
        _text(STRIP_X, TOP - 12 - 2 * LINE, reader.say("room"), 'font-weight="bold"'),
        _text(STRIP_X, TOP - 12 - LINE, reader.units.degree, 'font-weight="bold"'),
        *(
            _rimmed(STRIP_X + 18, y + 7, dough_degrees(degrees, reader.units))
            for (_, y), (_, degrees) in list(zip(points, hours, strict=True))[::every]
        ),
    ]


def _column_head(column: Column, x: float, frame: Frame) -> list[str]:
    width = frame.column_width(column)
    lines = _broken(column.name, int((width + COLUMN_GAP - 4) / LETTER))
    first = TOP - 12 - LINE * (len(lines) - 1)
    return [
        f'<path d="M{x:.1f} {TOP - 6:g}H{x + width:.1f}" stroke="#000" stroke-width="1.5"/>',
        *(_text(x, first + LINE * i, line, 'font-weight="bold"') for i, line in enumerate(lines)),
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


def _box(block: Block, x: float, width: float, frame: Frame, reader: Reader) -> str:
    y = frame.y(block.start_utc)
    height = max(frame.y(block.end_utc) - y, 1.5)
    hint = (
        f"{block.mark} {block.name}, {mass_text(block.mass_kg, reader.units)}:"
        f" {reader.clock.time(block.start_utc)}–{reader.clock.time(block.end_utc)}"
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


def _labels(blocks: Iterable[tuple[Block, float, float]], frame: Frame) -> list[str]:
    """Write each block's number in it, or beside it where another number stands already."""
    lines: list[str] = []
    taken: list[Area] = []
    for block, x, width in sorted(blocks, key=lambda one: (one[0].start_utc, one[1])):
        top, bottom = frame.y(block.start_utc), frame.y(block.end_utc)
        if block.form is BlockForm.PREPARE:
            lines.append(_along(block.mark, x + width / 2, top, bottom))
            continue
        area = _free_area(block, x, width, (top, bottom), taken)
        taken.append(area)
        lines.append(_rimmed(area[0], area[1] + 15, block.mark, 'font-weight="bold"'))
        letters = int((width - 6) / LETTER)
        if bottom - top >= 3 * LINE and letters >= 6:
            names = _broken(block.name, letters)[: int((bottom - top - LINE) / LINE)]
            lines += [_rimmed(x + 3, top + 17 + LINE * i, n) for i, n in enumerate(names, 1)]
    return lines


Area = tuple[float, float, float, float]
"""Left, top, right and bottom of some letters."""


def _free_area(
    block: Block, x: float, width: float, span: tuple[float, float], taken: list[Area]
) -> Area:
    """Return the first place near a block where its number meets no other; else the first tried."""
    top, bottom = span
    long = FIGURE * len(block.mark)
    inside = width >= long + 5 and bottom - top >= LINE
    y = top + 2 if inside else (top + bottom) / 2 - 8
    lefts = [
        x + 3 if inside else x + (width - long) / 2,
        x + width + 4,
        x - long - 3,
    ]
    areas = [(left, y, left + long, y + 15) for left in lefts]
    return next((a for a in areas if not any(_meet(a, other) for other in taken)), areas[0])


def _meet(one: Area, other: Area) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _along(words: str, middle: float, top: float, bottom: float) -> str:
    """Write along a block that stands for hours; what does not fit runs on below it."""
    turn = f'transform="rotate(90 {middle - 6:.1f} {top + 5:.1f})"'
    short = (
        words if LETTER * len(words) < bottom - top + 60 else words[: int((bottom - top) / LETTER)]
    )
    return _rimmed(middle - 6, top + 5, short, turn)


def _legend(reader: Reader) -> list[str]:
    says = {form: reader.say(words) for form, words in FORM_WORDS.items()}
    parts = [
        _text(
            0,
            HEIGHT - 54,
            reader.say("A block is as wide as its dough is heavy; its number is the mix."),
        )
    ]
    x, y = 0.0, HEIGHT - 42
    for form, words in says.items():
        if x + 44 + LETTER * len(words) > WIDTH:
            x, y = 0.0, y + LINE + 2
        parts.append(f'<rect x="{x + 1:g}" y="{y:g}" width="24" height="15" {FORMS[form]}/>')
        parts.append(_text(x + 32, y + 14, words))
        x += 50 + LETTER * len(words)
    words = reader.say("may end from–by")
    if x + 44 + LETTER * len(words) > WIDTH:
        x, y = 0.0, y + LINE + 2
    parts.append(f'<path d="M{x + 4:g} {y:g}h8v15h-8" fill="none" stroke="#000" stroke-width="2"/>')
    parts.append(_text(x + 20, y + 14, words))
    return parts


def _description(plan: Plan, columns: tuple[Column, ...], reader: Reader) -> str:
    clock, say = reader.clock, reader.say
    mixes = "; ".join(
        say(
            "mix {number}, {name}, from {time}",
            number=block.mark,
            name=block.name,
            time=clock.time(block.start_utc),
        )
        for column in columns
        for block, _ in column.blocks
        if column.id in {mixer.id for mixer in plan.day.bakery.mixers}
    )
    places = ", ".join(column.name for column in columns)
    return say(
        "Time runs down the page. Places from left to right: {places}. {mixes}.",
        places=places,
        mixes=mixes,
    )

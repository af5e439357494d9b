"""The day as a drawing: time runs down, one column per place, a block is as wide as its dough.

Nothing in it depends on colour: what is worked has a heavy frame, what waits is dotted, what
is prepared for later has a broken frame, what bakes is hatched. A bracket beside a block is
the window in which it may end.
"""

from __future__ import annotations

from datetime import timedelta
from html import escape

from api.pages.day_blocks import BlockForm, Column, columns_of
from api.pages.day_layout import (
    BOTTOM,
    HEIGHT,
    LINE,
    TOP,
    WIDTH,
    Box,
    Frame,
    Sheet,
    Spot,
    Strip,
    sheets_of,
)
from api.pages.letters import SIZE, broken, longest_word, width_of
from api.pages.reader import Reader
from api.pages.wording import Clock, dough_degrees, mass_text
from planner.planned import Plan

AXIS_X, ROOM_X = 58.0, 64.0
LETTERS = "Sheet Sans, Arial, Liberation Sans, sans-serif"
LEAST_HOUR = 20.0
"""Hours lower than this are not all written down; nor is the room, which needs twice as much."""

RIM = 'stroke="#fff" stroke-width="3.5" stroke-linejoin="round" aria-hidden="true"'
"""A white rim, drawn under letters so that lines behind do not cut them."""

HEAD_LINE = ' stroke-width="1.5"'

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


def day_drawings(plan: Plan, reader: Reader) -> tuple[str, ...]:
    """Return a plan's day as SVG drawings: one, or by the hour as many as it needs.

    Parameters
    ----------
    plan
        The plan.
    reader
        How the house reads time and quantities.

    Returns
    -------
    tuple of str
        One ``svg`` element per sheet with its title and description, black on white, without links.
    """
    columns = columns_of(plan, reader.say, reader.units)
    sheets = sheets_of(columns, (plan.day.start_utc, plan.day.end_utc))
    return tuple(_drawing(plan, columns, sheet, reader) for sheet in sheets)


def drawing_file(plan: Plan, reader: Reader) -> str:
    """Return a plan's day as one SVG document, its sheets one below the other.

    Parameters
    ----------
    plan, reader
        As in `day_drawings`.
    """
    drawings = day_drawings(plan, reader)
    placed = "".join(
        one.replace("<svg ", f'<svg x="0" y="{n * HEIGHT:g}" width="{WIDTH + 4:g}" ', 1).replace(
            " viewBox=", f' height="{HEIGHT:g}" viewBox=', 1
        )
        for n, one in enumerate(drawings)
    )
    width, height = WIDTH + 4, HEIGHT * len(drawings)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}" height="{height:g}"'
        f' viewBox="0 0 {width:g} {height:g}">'
        f'<rect width="{width:g}" height="{height:g}" fill="#fff"/>{placed}</svg>\n'
    )


def _drawing(plan: Plan, columns: tuple[Column, ...], sheet: Sheet, reader: Reader) -> str:
    frame = sheet.frame
    spots = [spot for strip in sheet.strips for spot in strip.spots]
    parts = [
        PATTERNS,
        *_hours(sheet, reader.clock),
        *_room_strip(plan, frame, reader),
        *(line for strip in sheet.strips for line in _column_head(strip)),
        *(_box(spot, reader) for spot in spots),
        *(_bracket(spot) for spot in spots),
        *(line for spot in spots for line in _label(spot)),
        *_legend(sheet, reader),
    ]
    words = reader.say(
        "The day of {date}, plan version {version}",
        date=plan.day.production_date.isoformat(),
        version=plan.version,
    )
    title = words if sheet.count == 1 else f"{words} ({sheet.number}/{sheet.count})"
    suffix = "" if sheet.number == 1 else f"-{sheet.number}"
    return (
        f'<svg class="day" viewBox="-2 0 {sheet.width + 4:.0f} {HEIGHT:g}" role="img"'
        f' aria-labelledby="day-title{suffix} day-desc{suffix}" font-family="{LETTERS}"'
        f' font-size="{SIZE:g}"><title id="day-title{suffix}">{escape(title)}</title>'
        f'<desc id="day-desc{suffix}">{escape(_description(plan, columns, reader))}</desc>'
        f"{''.join(parts)}</svg>"
    )


def _text(x: float, y: float, text: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" {more}>{escape(text)}</text>'


def _rimmed(x: float, y: float, text: str, more: str = "") -> str:
    """Write letters over their white rim; drawn twice, since not every printer orders the two."""
    return _text(x, y, text, f"{RIM} {more}") + _text(x, y, text, more)


def _hours(sheet: Sheet, clock: Clock) -> list[str]:
    frame, lines = sheet.frame, list[str]()
    count = int((frame.end_utc - frame.start_utc) / timedelta(hours=1))
    every = 1 if (BOTTOM - TOP) / count >= LEAST_HOUR else 2
    date = offset = ""
    for i in range(0, count + 1, every):
        moment = frame.start_utc + timedelta(hours=i)
        y, new_date, new_offset = frame.y(moment), clock.day(moment), clock.offset(moment).strip()
        is_midnight = bool(date) and new_date != date
        weight, dash = ("1.6", "none") if is_midnight else ("0.4", "1 3")
        lines.append(
            f'<path d="M{AXIS_X:g} {y:.1f}H{sheet.width:.0f}" stroke="#000" stroke-width="{weight}"'
            f' stroke-dasharray="{dash}"/>'
        )
        lines.append(_text(0, y + 7, clock.hand(moment)))
        if new_offset != offset:
            lines.append(_rimmed(0, y + 7 + LINE, new_offset))
        if new_date != date:
            day = " ".join(new_date.split()[:2])  # the month stands above, in the sheet's head
            lines.append(_rimmed(0, y - 12, day, 'font-weight="bold"'))
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
        (ROOM_X + (degrees - low) / spread * 14, frame.y(moment)) for moment, degrees in hours
    ]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    hour = (BOTTOM - TOP) * timedelta(hours=1) / (frame.end_utc - frame.start_utc)
    every = 1 + int(4 * LEAST_HOUR / hour)
    return [
        f'<polyline points="{path}" fill="none" stroke="#000" stroke-width="1.5"/>',
        _text(ROOM_X, TOP - 12 - 2 * LINE, reader.say("room"), 'font-weight="bold"'),
        _text(ROOM_X, TOP - 12 - LINE, reader.units.degree, 'font-weight="bold"'),
        *(
            _rimmed(ROOM_X + 18, y + 7, dough_degrees(degrees, reader.units))
            for (_, y), (_, degrees) in list(zip(points, hours, strict=True))[::every]
        ),
    ]


def _column_head(strip: Strip) -> list[str]:
    bold = [(line, 'font-weight="bold"') for line in strip.head]
    lines = [*bold, *((line, "") for line in strip.holds)]
    first = TOP - 12 - LINE * (len(lines) - 1)
    return [
        f'<path d="M{strip.x:.1f} {TOP - 6:g}h{strip.width:.1f}" stroke="#000"{HEAD_LINE}/>',
        *(_text(strip.x, first + LINE * i, *line) for i, line in enumerate(lines)),
    ]


def _box(spot: Spot, reader: Reader) -> str:
    block, box = spot.block, spot.box
    note = f", {block.note}" if block.note else ""
    hint = (
        f"{block.mark} {block.name}, {mass_text(block.mass_kg, reader.units)}{note}:"
        f" {reader.clock.time(block.start_utc)}–{reader.clock.time(block.end_utc)}"
    )
    return (
        f'<rect x="{box.x:.1f}" y="{box.y:.1f}" width="{box.width:.2f}" height="{box.height:.1f}"'
        f" {FORMS[block.form]}><title>{escape(hint)}</title></rect>"
    )


def _bracket(spot: Spot) -> str:
    """Draw the window beside its block; one that stays open has no lower end."""
    if spot.bracket is None:
        return ""
    area = spot.bracket
    x, end = area.x + area.width - 1, area.y + area.height
    lower = "" if spot.is_open else f"H{area.x:.1f}"
    path = f"M{area.x:.1f} {area.y:.1f}H{x:.1f}V{end:.1f}{lower}"
    return "".join(
        f'<path d="{path}" fill="none" stroke="{tone}" stroke-width="{weight}"/>'
        for tone, weight in (("#fff", "4.5"), ("#000", "2"))
    )


def _label(spot: Spot) -> list[str]:
    """Write a block's number in it or beside it; its note and name where they have room."""
    block, label = spot.block, spot.label
    if spot.is_along:
        x, y = label.x + 4, label.y + 5
        return [_rimmed(x, y, block.mark, f'transform="rotate(90 {x:.1f} {y:.1f})"')]
    weight = "" if block.form is BlockForm.PREPARE else 'font-weight="bold"'
    lines = [_rimmed(label.x, label.y + 16, block.mark, weight)]
    if not spot.is_inside:
        return lines
    width = spot.box.width - 6
    room = int((spot.box.height - LINE) / LINE)
    if block.note and width_of(block.note) > width:
        return lines + _note_along(spot)
    under = [block.note] if block.note and room else []
    if longest_word(block.name) <= width:
        name = broken(block.name, width, room + 1)
        under += name if len(under) + len(name) <= room else ()
    return lines + [
        _rimmed(label.x, label.y + 16 + LINE * i, line) for i, line in enumerate(under, 1)
    ]


def _note_along(spot: Spot) -> list[str]:
    """Write a note down a narrow block, under its number, where it has room."""
    box, words = spot.box, spot.block.note
    area = Box(box.x + 3, spot.label.y + LINE, LINE - 3, width_of(words) + 4)
    is_inside = area.y + area.height <= box.y + box.height and area.width + 3 <= box.width
    if not is_inside or (spot.bracket is not None and spot.bracket.meets(area)):
        return []
    x, y = area.x + 1, area.y + 2
    return [_rimmed(x, y, words, f'transform="rotate(90 {x:.1f} {y:.1f})"')]


def _legend(sheet: Sheet, reader: Reader) -> list[str]:
    says = {form: reader.say(words) for form, words in FORM_WORDS.items()}
    about = reader.say("A block is as wide as its dough is heavy; its number is the mix.")
    parts = [_text(0, HEIGHT - 54, about)]
    if sheet.number < sheet.count:
        goes_on = reader.say("goes on overleaf")
        x = WIDTH - width_of(goes_on)
        parts.append(_rimmed(x, HEIGHT - 54 - LINE, goes_on, 'font-weight="bold"'))
    x, y = 0.0, HEIGHT - 42
    for form, words in says.items():
        if x + 34 + width_of(words) > WIDTH:
            x, y = 0.0, y + LINE + 2
        parts.append(f'<rect x="{x + 1:g}" y="{y:g}" width="24" height="15" {FORMS[form]}/>')
        parts.append(_text(x + 32, y + 14, words))
        x += 46 + width_of(words)
    words = reader.say("may end from–by")
    if x + 24 + width_of(words) > WIDTH:
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
        for block in column.blocks
        if column.id in {mixer.id for mixer in plan.day.bakery.mixers}
    )
    places = ", ".join(column.name for column in columns)
    return say(
        "Time runs down the page. Places from left to right: {places}. {mixes}.",
        places=places,
        mixes=mixes,
    )

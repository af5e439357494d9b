"""The conditions of a production day: the air by the hour, what was measured, what stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from html import escape

from api.office.cells import Ask, Asking, Cell, Grid, keys_of, left_over, say
from api.office.edits import Clash
from api.office.forms import Document, Typed
from api.office.shell import Shell, page
from api.pages.reader import Reader
from api.pages.wording import dough_degrees, duration_text
from api.schemas.base import found_id
from planner.bakery import Bakery
from planner.conditions import HourlyForecast, Standing

ALL_ROOMS = (
    Ask("coolest_c", say("coolest of the night, all rooms"), "number"),
    Ask("hottest_c", say("hottest of the night, all rooms"), "number"),
)
ROOM = (
    Ask("coolest_c", say("coolest"), "number"),
    Ask("hottest_c", say("hottest"), "number"),
)
HOURS = (Ask("at", say("hour"), "time"), Ask("temperature_c", say("air"), "number"))
ICE = Ask("ice_stored_kg", say("ice in store when the work begins"), "number")
STANDING = (
    Ask("product", say("product"), "choice"),
    Ask("pieces", say("pieces"), "number"),
    Ask("stage", say("stands in"), "choice", (("", "–"), *((str(s), str(s)) for s in Standing))),
    Ask("place", say("where"), "choice"),
    Ask("since", say("since"), "time"),
    Ask("dough_c", say("its temperature then"), "number"),
    Ask("leave_by", say("leaves by"), "time"),
)
TABLES = ("water_c", "flour_c", "chambers_c")
SHOWN = keys_of((*ALL_ROOMS, *HOURS, ICE, *STANDING)) | {*TABLES, "water_f", "flour_f", "rooms"}
SHOWN |= {"chambers_f", "inherited", "hourly"}

WIDTH, HEIGHT, LEFT, BOTTOM, TOP = 640.0, 250.0, 62.0, 40.0, 14.0
STEP_C = 2.0


@dataclass(frozen=True, slots=True)
class RoomPart:
    """The forecast of one room: what is entered, and what comes of it."""

    name: str
    ends: tuple[Cell, ...]
    hours: Grid
    curve: str
    rows: tuple[tuple[str, str], ...]
    is_own: bool


@dataclass(frozen=True, slots=True)
class ConditionsForm:
    """The form of a day's conditions."""

    all_rooms: tuple[Cell, ...]
    rooms: tuple[RoomPart, ...]
    water: tuple[Cell, ...]
    flour: tuple[Cell, ...]
    chambers: tuple[Cell, ...]
    ice: Cell | None
    standing: Grid
    age: str
    rest: tuple[str, ...]


def to_form(stored: Document, bakery: Bakery) -> Document:
    """Return conditions as their page shows them: everything under the id of what it is about."""
    known: dict[str, list[str]] = {
        "rooms": [room.id for room in bakery.rooms],
        "water_c": [supply.id for supply in bakery.supplies],
        "flour_c": [store.id for store in bakery.flour_stores],
        "chambers_c": [chamber.id for chamber in bakery.chambers],
    }
    shown = dict(stored)
    for key, ids in known.items():
        if key in stored:
            shown[key] = {found_id(named, ids): one for named, one in stored[key].items()}
    return shown


def conditions_form(
    typed: Typed,
    shell: Shell,
    bakery: Bakery,
    products: tuple[tuple[str, str], ...],
    forecasts: Mapping[str, HourlyForecast],
    reader: Reader,
    age: timedelta | None,
) -> ConditionsForm:
    """Return the form of a day's conditions.

    Parameters
    ----------
    bakery
        Its rooms, waters, stores and chambers are asked for.
    forecasts
        What the stored conditions come to, by room.
    age
        How long ago the stored conditions were entered.
    """
    asking = Asking(typed, shell.say, shell.units)
    places = [(room.id, room.name) for room in bakery.rooms]
    places += [(chamber.id, chamber.name) for chamber in bakery.chambers]
    choices = {"product": (("", "–"), *products), "place": (("", "–"), *places)}
    standing = [replace(ask, choices=choices.get(ask.key, ask.choices)) for ask in STANDING]

    def table(key: str, named: Sequence[tuple[str, str]]) -> tuple[Cell, ...]:
        return asking.cells([Ask(f"{key}.{id}", name, "number") for id, name in named])

    all_rooms = asking.cells(ALL_ROOMS)
    rooms = tuple(
        _room(room.id, room.name, asking, forecasts.get(room.id), reader) for room in bakery.rooms
    )
    water = table("water_c", [(one.id, one.name) for one in bakery.supplies])
    flour = table("flour_c", [(one.id, one.name) for one in bakery.flour_stores])
    chambers = table("chambers_c", [(one.id, one.name) for one in bakery.chambers])
    ice = None if bakery.ice is None else asking.cell(ICE)
    grid = asking.grid("inherited", "", standing, say("another dough"))
    ends = [cell for room in rooms for cell in room.ends]
    cells = [*all_rooms, *ends, *water, *flour, *chambers, *(() if ice is None else (ice,))]
    rest = left_over(typed, cells, [grid, *(room.hours for room in rooms)])
    told = "" if age is None else entered_text(shell, age)
    return ConditionsForm(all_rooms, rooms, water, flour, chambers, ice, grid, told, rest)


def _room(
    id: str, name: str, asking: Asking, forecast: HourlyForecast | None, reader: Reader
) -> RoomPart:
    entered = asking.typed.document.get("rooms") or {}
    points = [] if forecast is None else list(_points(forecast))
    return RoomPart(
        name,
        asking.cells(ROOM, f"rooms.{id}"),
        asking.grid(f"rooms.{id}.hourly", "", HOURS, say("another hour")),
        "" if not points else curve(points, name, reader),
        tuple((reader.clock.full(at), dough_degrees(c, reader.units)) for at, c in points),
        id in entered,
    )


def _points(forecast: HourlyForecast) -> list[tuple[datetime, float]]:
    return [
        (forecast.start_utc + timedelta(hours=i), c) for i, c in enumerate(forecast.temperature_c)
    ]


def age_text(age: timedelta) -> str:
    """Return how long ago something was.

    Examples
    --------
    >>> age_text(timedelta(minutes=7)), age_text(timedelta(hours=30))
    ('7 min', '30:00 h')
    """
    return duration_text(age / timedelta(minutes=1))


def entered_text(shell: Shell, age: timedelta) -> str:
    """Return how old what is stored is."""
    say = shell.say
    return say("entered {age} ago", age=age_text(age))


def curve(points: Sequence[tuple[datetime, float]], name: str, reader: Reader) -> str:
    """Return temperatures by the hour as a drawing, with a title and a description."""
    low = STEP_C * (min(c for _, c in points) // STEP_C)
    high = STEP_C * -(-max(c for _, c in points) // STEP_C)
    high += STEP_C * (high == low)
    across = (WIDTH - LEFT - 10) / max(len(points) - 1, 1)
    up = (HEIGHT - BOTTOM - TOP) / (high - low)

    def spot(i: int, c: float) -> tuple[float, float]:
        return LEFT + across * i, HEIGHT - BOTTOM - up * (c - low)

    line = " ".join(f"{x:.1f},{y:.1f}" for x, y in (spot(i, c) for i, (_, c) in enumerate(points)))
    marks = []
    for k in range(round((high - low) / STEP_C) + 1):
        _, y = spot(0, low + k * STEP_C)
        label = dough_degrees(low + k * STEP_C, reader.units)
        marks.append(
            f'<line class="axis" x1="{LEFT}" x2="{WIDTH - 10}" y1="{y:.1f}" y2="{y:.1f}"/>'
        )
        marks.append(f'<text x="{LEFT - 6}" y="{y + 5:.1f}" text-anchor="end">{label}</text>')
    for i, (moment, _) in enumerate(points):
        if i % 6 == 0 and i < len(points) - 1:
            x, _ = spot(i, low)
            hour = reader.clock.hand(moment)
            marks.append(f'<text x="{x:.1f}" y="{HEIGHT - 12}" text-anchor="middle">{hour}</text>')
    say = reader.say
    title = escape(say("{name}, air by the hour, {unit}", name=name, unit=reader.units.degree))
    coolest, hottest = min(points, key=lambda p: p[1]), max(points, key=lambda p: p[1])
    told = escape(
        say(
            "From {low} at {first} to {high} at {last}.",
            low=dough_degrees(coolest[1], reader.units),
            first=reader.clock.full(coolest[0]),
            high=dough_degrees(hottest[1], reader.units),
            last=reader.clock.full(hottest[0]),
        )
    )
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" aria-label="{title}. {told}">'
        f"<title>{title}</title><desc>{told}</desc>{''.join(marks)}"
        f'<polyline class="line" points="{line}"/></svg>'
    )


def conditions_html(
    form: ConditionsForm,
    typed: Typed,
    shell: Shell,
    clash: Clash | None = None,
    *,
    saved: bool = False,
) -> str:
    """Return the page of a day's conditions."""
    return page("conditions.html", shell, form=form, typed=typed, clash=clash, saved=saved)

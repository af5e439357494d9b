"""The first dough of an empty bakery: what is asked, and the whole day it becomes.

What is asked is what a baker knows without a measuring tape. All else is assumed, marked in the
plan, and replaced where it is shown.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.office.cells import Ask, Asking, Cell, Grid, left_over, say
from api.office.choices import (
    FLOUR_CHOICES,
    ICE_CHOICES,
    MATERIAL_CHOICES,
    MIXER_CHOICES,
)
from api.office.forms import Document, Typed
from api.office.shell import Shell, page
from api.pages.wording import Units
from api.schemas.base import slug
from api.schemas.times import EVENING_FROM
from planner.errors import Fault

ABOUT = (
    Ask("formulas[0].name", say("What is the dough called?"), wide=True),
    Ask("mix_list[0].dough_kg", say("How much dough"), "number"),
    Ask("formulas[0].dough_c", say("Dough temperature you want"), "number"),
    Ask("start", say("Mixer starts at"), "time", hint=say("By the clock, within the next hours.")),
)
LINES = (
    Ask("material", say("material"), "choice", MATERIAL_CHOICES),
    Ask("percent", say("percent of all flour"), "number"),
)
WORK = (
    Ask("first_min", say("Minutes on first speed"), "number"),
    Ask("second_min", say("Minutes on second speed"), "number"),
    Ask("formulas[0].bulk.minutes", say("Bulk, as you do it today"), "number"),
)
HOUSE = (
    Ask("bakery.mixers[0].kind", say("Mixer"), "choice", MIXER_CHOICES),
    Ask("bakery.mixers[0].max_dough_kg", say("The most dough it takes"), "number"),
    Ask("conditions.coolest_c", say("Room, coolest until then"), "number"),
    Ask("conditions.hottest_c", say("Room, hottest until then"), "number"),
    Ask("bakery.water[0].temperature_c", say("Cold tap"), "number"),
    Ask("bakery.flour_stores[0].kind", say("Flour stands in"), "choice", FLOUR_CHOICES),
    Ask("bakery.ice.kind", say("Ice"), "choice", ICE_CHOICES),
)
NAMES = (
    Ask("bakery.name", say("Name of the bakery"), wide=True),
    Ask("bakery.zone", say("Time zone"), hint=say("Such as Europe/Vienna.")),
)
START_LINES = (
    ("wheat flour", "100"),
    ("water", ""),
    ("salt", ""),
    ("fresh yeast", ""),
)
"""Rows that nearly every first dough has."""

SPEEDS = (("first_min", "first speed"), ("second_min", "second speed"))
SOMEBODY = "baker"
BEFORE, AFTER = timedelta(hours=1), timedelta(hours=14)
"""From when to when somebody is taken to be there, about the start of the first dough (ours)."""

USUAL_BIN_SHARE = 0.5
"""Ice taken to be in store until somebody says how much, as a share of the dough (our guess)."""


@dataclass(frozen=True, slots=True)
class FirstDough:
    """The page that asks for the first dough."""

    typed: Typed
    about: tuple[Cell, ...]
    lines: Grid
    work: tuple[Cell, ...]
    house: tuple[Cell, ...]
    names: tuple[Cell, ...]
    rest: tuple[str, ...]

    @property
    def asked(self) -> int:
        """How many inputs there are, the empty row left out."""
        filled = sum(len(row) for row in self.lines.rows[:-1])
        return len(self.about) + len(self.work) + len(self.house) + len(self.names) + filled


def empty_form() -> Document:
    """Return the form as it is first shown."""
    lines = [
        {"material": material, **({"percent": percent} if percent else {})}
        for material, percent in START_LINES
    ]
    return {
        "formulas": [{"lines": lines}],
        "bakery": {
            "mixers": [{"kind": "spiral"}],
            "flour_stores": [{"kind": "sack"}],
        },
    }


def first_dough(typed: Typed, shell: Shell) -> FirstDough:
    """Return the content of the page."""
    typed = _at_boxes(typed, shell.units)
    asking = Asking(typed, shell.say, shell.units)
    parts = [asking.cells(asks) for asks in (ABOUT, WORK, HOUSE, NAMES)]
    lines = asking.grid("formulas[0].lines", "", LINES, say("another line"))
    rest = left_over(typed, [cell for part in parts for cell in part], [lines])
    about, work, house, names = parts
    return FirstDough(typed, about, lines, work, house, names, rest)


def _at_boxes(typed: Typed, units: Units) -> Typed:
    """Return what was typed; what is missing whole is told at the first of its boxes."""
    coolest = "coolest_f" if units is Units.US else "coolest_c"
    boxes = {"formulas[0].bulk": "formulas[0].bulk.minutes", "conditions": f"conditions.{coolest}"}
    return replace(typed, errors={boxes.get(at, at): told for at, told in typed.errors.items()})


def first_dough_html(typed: Typed, shell: Shell) -> str:
    """Return the page that asks for the first dough."""
    return page("first_dough.html", shell, form=first_dough(typed, shell))


def whole_day(typed: Document, now: datetime) -> tuple[Document, list[Fault]]:
    """Return the day that the first dough makes, as it would be entered, and what is missing.

    Parameters
    ----------
    typed
        What was typed, by the names of the form.
    now
        The moment [UTC].
    """
    day: Document = {key: one for key, one in typed.items() if key not in _OWN}
    faults: list[Fault] = []
    bakery = _entry(day, "bakery")
    zone = _zone(bakery.get("zone"))
    start, production_date = _start(typed.get("start"), zone, now, faults)
    formula = _first(day, "formulas")
    lines = formula.get("lines", ())
    filled = [line for line in lines if "percent" in line]
    # What is not filled stays on the page, behind the rest, where no number of a line changes.
    formula["lines"] = [*filled, *(line for line in lines if "percent" not in line)]
    formula = {**formula, "lines": filled}
    day["formulas"] = [formula]
    formula["steps"] = [
        {"speed": speed, "minutes": typed[key]} for key, speed in SPEEDS if key in typed
    ]
    if not formula["steps"]:
        faults.append(Fault("first_min", "nothing", "is missing", "enter the minutes of mixing"))
    mix = _first(day, "mix_list")
    _complete_house(bakery, mix)
    name = str(formula.get("name", ""))
    day["production_date"] = production_date.isoformat()
    mix["formula"] = name
    day["mix_list"] = [mix]
    day["shifts"] = [
        {"person": SOMEBODY, "from": _written(start - BEFORE), "to": _written(start + AFTER)}
    ]
    day["pins"] = [{"mix": slug(name) or "mix", "start": _written(start)}]
    faults += _too_much(mix, bakery)
    return day, faults


_OWN = frozenset({"start", *(key for key, _ in SPEEDS), "seen"})


def _complete_house(bakery: Document, mix: Document) -> None:
    mixer, store, tap = (_first(bakery, key) for key in ("mixers", "flour_stores", "water"))
    mixer.setdefault("kind", "spiral")
    mixer["name"] = f"{mixer['kind']} mixer" if "mixer" not in mixer["kind"] else mixer["kind"]
    store.setdefault("kind", "sack")
    store["name"] = store["kind"]
    tap["kind"] = "tap"
    ice = bakery.get("ice")
    if isinstance(ice, dict) and ice.get("kind"):
        ice.setdefault("bin_kg", _usual_ice(mix))
    else:
        bakery.pop("ice", None)


def _usual_ice(mix: Document) -> float:
    pounds = "dough_lb" in mix
    try:
        amount = float(str(mix.get("dough_lb" if pounds else "dough_kg", "")).replace(",", "."))
    except ValueError:
        return 1.0
    return round(amount * USUAL_BIN_SHARE * (0.45359237 if pounds else 1.0), 1) or 1.0


def _too_much(mix: Document, bakery: Document) -> list[Fault]:
    """One dough is one mix: more than the mixer takes would be several."""
    for key, most_key in (("dough_kg", "max_dough_kg"), ("dough_lb", "max_dough_lb")):
        try:
            wanted = float(str(mix[key]).replace(",", "."))
            most = float(str(bakery["mixers"][0][most_key]).replace(",", "."))
        except (KeyError, ValueError):
            continue
        if wanted > most:
            text = "is more than the mixer takes"
            remedy = "enter one mixer load; the rest of the day comes after this"
            return [Fault(f"mix_list[0].{key}", f"{wanted:g}", text, remedy)]
    return []


def _zone(name: object) -> ZoneInfo:
    """Return the zone that was typed; what is none is told by the check of the bakery."""
    try:
        return ZoneInfo(str(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return ZoneInfo("UTC")


def _start(
    text: object, zone: ZoneInfo, now: datetime, faults: list[Fault]
) -> tuple[datetime, date]:
    """Return when the mixer starts, in local time, and the production date of that.

    The next time the clock shows what was typed is meant; a time that has just passed is today's.
    """
    local_now = now.astimezone(zone).replace(tzinfo=None, second=0, microsecond=0)
    start = local_now + timedelta(minutes=10)
    if text is not None:
        try:
            hour, minute = (int(part) for part in str(text).split(":"))
            start = local_now.replace(hour=hour, minute=minute)
        except ValueError:
            faults.append(Fault("start", str(text), "is not a time", "write it as 14:30"))
    if start < local_now - timedelta(hours=2):
        start += timedelta(days=1)
    is_evening = start.time() >= EVENING_FROM
    return start, start.date() + timedelta(days=1 if is_evening else 0)


def _written(local: datetime) -> str:
    return f"{local:%Y-%m-%d %H:%M}"


def _entry(document: Document, key: str) -> Document:
    found = document.get(key)
    if not isinstance(found, dict):
        found = document[key] = {}
    return found


def _first(document: Document, key: str) -> Document:
    found = document.get(key)
    if not isinstance(found, list) or not found or not isinstance(found[0], dict):
        found = document[key] = [{}]
    first: Document = found[0]
    return first

"""Another night for the same day: warmer rooms, a mixer away, less ice; the plan itself stays."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, nan
from typing import Any

from pydantic_core import PydanticCustomError

from api.office.compare import point_lines
from api.office.forms import Document
from api.office.shell import Shell, page
from api.pages.alerts import alerts
from api.pages.changes import slip
from api.pages.reader import Reader
from api.pages.wording import Units, difference_text, mass_text
from api.schemas.base import found_id, slug
from api.schemas.units import number_from
from planner.bakery import Bakery
from planner.errors import Fault, InputError
from planner.planned import Plan
from planner.quantities import kelvin_from_fahrenheit_difference, kg_from_lb


@dataclass(frozen=True, slots=True)
class WhatIf:
    """What is asked: rooms warmer, one mixer away, only so much ice."""

    warmer_k: float = 0.0
    without: str = ""
    without_name: str = ""
    ice_kg: float | None = None


def asked_of(typed: Document, units: Units, bakery: Bakery) -> WhatIf:
    """Return what is asked, from what was typed.

    Raises
    ------
    InputError
        If nothing is asked, or what is typed is no number.
    """
    warmer, ice = _number("warmer", typed), _number("ice", typed)
    us = units is Units.US
    names = {mixer.id: mixer.name for mixer in bakery.mixers}
    without = str(typed.get("without", ""))
    if warmer is None and ice is None and without not in names:
        text, remedy = "nothing is asked", "fill in one of the three"
        raise InputError([Fault("what if", "nothing", text, remedy)])
    return WhatIf(
        0.0 if warmer is None else kelvin_from_fahrenheit_difference(warmer) if us else warmer,
        without if without in names else "",
        names.get(without, ""),
        kg_from_lb(ice) if us and ice is not None else ice,
    )


def _number(field: str, typed: Document) -> float | None:
    if field not in typed:
        return None
    try:
        asked = float(str(number_from(str(typed[field]))))
    except (PydanticCustomError, ValueError):
        asked = nan
    if not isfinite(asked):
        remedy = "enter a plain number such as 3"
        raise InputError([Fault(field, str(typed[field]), "is not a number", remedy)])
    return asked


def varied(made_from: Document, asked: WhatIf) -> Document:
    """Return the day that is asked for, as it would be entered.

    Examples
    --------
    >>> day = {"bakery": {"mixers": [{"name": "a"}, {"name": "b"}]}, "conditions": {}}
    >>> varied(day, WhatIf(without="a", ice_kg=2.0))["bakery"]["mixers"]
    [{'name': 'b'}]
    """
    day: dict[str, Any] = {**made_from}
    if asked.ice_kg is not None:
        day["conditions"] = {**day["conditions"], "ice_stored_kg": asked.ice_kg}
    if asked.without:
        mixers = [one for one in day["bakery"]["mixers"] if _id(one) != asked.without]
        day["bakery"] = {**day["bakery"], "mixers": mixers}
        for key in ("pins", "remembered"):
            if key in day:
                day[key] = [one for one in day[key] if not _names(one, asked.without)]
    return day


def _id(entry: Document) -> str:
    return str(entry.get("id") or slug(entry["name"]))


def _names(entry: Document, mixer_id: str) -> bool:
    return found_id(str(entry.get("mixer", "")), [mixer_id]) == mixer_id


def what_if_html(
    asked: WhatIf, before: Plan, after: Plan, reader: Reader, back: str, shell: Shell
) -> str:
    """Return the page that shows what would be."""
    told = [one for one in alerts(after, reader) if not one.is_caution]
    return page(
        "what_if.html",
        shell,
        asked=asked_text(asked, shell),
        told=told,
        changes=slip(before, after, reader),
        points=point_lines(before.points, after.points, shell),
        back=back,
    )


def asked_text(asked: WhatIf, shell: Shell) -> tuple[str, ...]:
    """Return what is asked in words."""
    say, units = shell.say, shell.units
    told = []
    if asked.warmer_k:
        told.append(say("rooms warmer by {much}", much=difference_text(asked.warmer_k, units)))
    if asked.without:
        told.append(say("without {name}", name=asked.without_name))
    if asked.ice_kg is not None:
        told.append(say("only {much} of ice", much=mass_text(asked.ice_kg, units)))
    return tuple(told)

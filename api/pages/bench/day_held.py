"""The day as a page holds it: finished screens, and what they need while the network is away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from api.pages.bench.boxes import milliseconds
from api.pages.bench.offline import ends_held, strip_held
from api.pages.bench.phrases import phrases
from api.pages.bench.screens import (
    MixState,
    mix_key,
    mix_screen,
    preparation_key,
    preparation_screen,
    shift_list,
    state_of,
)
from api.pages.bench.shift import Shift
from api.pages.names import Names
from api.pages.templating import templates
from api.pages.words import Words
from planner.planned import PlannedMix
from planner.planned_preparation import PlannedPreparation


@dataclass(frozen=True, slots=True)
class Screens:
    """Screens by their keys, and what belongs to them."""

    html: dict[str, str]
    mixes: dict[str, dict[str, Any]]


def screens_of(shift: Shift, mix_ids: frozenset[str] | None = None) -> Screens:
    """Return the screens of some mixes, and of the preparations they use; of all when None."""
    names = Names(shift.plan)
    mixes = [mix for mix in shift.mixes if mix_ids is None or mix.id in mix_ids]
    preparations = [
        one
        for one in shift.plan.preparations
        if mix_ids is None or mix_ids.intersection(one.mix_ids)
    ]
    html = {mix_key(names, mix.id): mix_html(shift, mix) for mix in mixes}
    html |= {preparation_key(shift, one): preparation_html(shift, one) for one in preparations}
    held = {mix_key(names, mix.id): _held(shift, mix) for mix in mixes}
    return Screens(html, held)


def _held(shift: Shift, mix: PlannedMix) -> dict[str, Any]:
    """Return what a page keeps of a mix beside its screen."""
    before = state_of(shift, mix) is MixState.BEFORE
    return {
        "mix_id": mix.id,
        "strip": strip_held(shift, mix) if before else None,
        "ends": ends_held(shift, mix),
    }


def day_held(shift: Shift, version: str) -> dict[str, Any]:
    """Return the whole day as a page holds it.

    Parameters
    ----------
    shift
        The shift.
    version
        Of the page's own files: a page that is older loads itself anew.
    """
    made = screens_of(shift)
    return {
        "bakery_id": shift.bakery_id,
        "plan_id": shift.plan_id,
        "version": version,
        "now": milliseconds(shift.now),
        "title": title(shift),
        "list": list_html(shift),
        "screens": made.html,
        "mixes": made.mixes,
        "offsets": offsets(shift.reader.clock.zone, shift.plan.day.start_utc),
        "words": phrases(shift.reader.say),
    }


def title(shift: Shift) -> str:
    """Return which day and plan it is, and whether it counts."""
    say, plan = shift.reader.say, shift.plan
    version = say("plan version {version}", version=plan.version)
    counts = say("in force") if shift.in_force else say("not approved")
    date = shift.reader.clock.day(_noon(plan.day.production_date, shift.reader.clock.zone))
    return f"{plan.day.bakery.name}, {date}, {version}, {counts}"


def _noon(day: Any, zone: ZoneInfo) -> datetime:  # noqa: ANN401  a date
    return datetime(day.year, day.month, day.day, 12, tzinfo=zone)


def offsets(zone: ZoneInfo, around: datetime) -> list[list[int]]:
    """Return the bakery's offsets from UTC around a moment, hour by hour where they change.

    Returns
    -------
    list
        Pairs of a moment [ms since 1970] and the offset from then on [min].
    """
    start = around.replace(minute=0, second=0, microsecond=0) - timedelta(days=2)
    found: list[list[int]] = []
    for hour in range(24 * 6):
        moment = start + timedelta(hours=hour)
        local = moment.astimezone(zone).utcoffset() or timedelta()
        minutes = round(local.total_seconds() / 60)
        if not found or found[-1][1] != minutes:
            found.append([milliseconds(moment), minutes])
    return found


def mix_html(shift: Shift, mix: PlannedMix) -> str:
    """Return the screen of a mix."""
    return _rendered("mix.html", shift, screen=mix_screen(shift, mix))


def preparation_html(shift: Shift, one: PlannedPreparation) -> str:
    """Return the screen of a preparation."""
    return _rendered("preparation.html", shift, screen=preparation_screen(shift, one))


def list_html(shift: Shift) -> str:
    """Return the list of the shift."""
    named = {"bakery_id": shift.bakery_id, "plan_id": shift.plan_id}
    return _rendered("list.html", shift, places=shift_list(shift), **named)


def shell_html(bakery_id: str, files: str, language: str, say: Words) -> str:
    """Return the page at the mixer before it has its day: the same for every day.

    Parameters
    ----------
    files
        Where its script and style lie.
    language, say
        Language and words of the house.
    """
    template = templates().get_template("bench/shell.html")
    return template.render(bakery_id=bakery_id, files=files, language=language, say=say)


def _rendered(name: str, shift: Shift, **content: Any) -> str:  # noqa: ANN401  any content
    template = templates().get_template(f"bench/{name}")
    reader = shift.reader
    return template.render(
        say=reader.say, degree=reader.units.degree, mass=reader.units.mass, **content
    )

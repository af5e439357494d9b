"""Two versions of a day's plan beside each other: what differs on paper, and what each costs."""

from __future__ import annotations

from dataclasses import dataclass, fields

from api.office.cells import say
from api.office.shell import Shell, page
from api.pages.changes import Slip
from api.pages.wording import number
from planner.plan_figures import Points

POINT_WORDS = {
    "late": say("orders that leave late"),
    "windows": say("doughs off their ripe time"),
    "ice": say("ice and chilled water"),
    "early": say("mixes that start early"),
    "unplaced": say("mixes without a place"),
    "freshness": say("bread that waits"),
    "builds": say("separate builds of levains and scalds"),
}


@dataclass(frozen=True, slots=True)
class PointLine:
    """What one kind of point comes to in both versions."""

    what: str
    before: str
    now: str


def point_lines(before: Points, now: Points, shell: Shell) -> tuple[PointLine, ...]:
    """Return the points of two plans by what they are for, those that are nothing left out."""
    found = []
    for field in fields(Points):
        old, new = getattr(before, field.name), getattr(now, field.name)
        if round(old) or round(new):
            label = shell.say(POINT_WORDS.get(field.name, field.name))
            found.append(PointLine(label, number(old), number(new)))
    return tuple(found)


def compare_html(changes: Slip, before: Points, now: Points, back: str, shell: Shell) -> str:
    """Return the page that compares two versions."""
    points = point_lines(before, now, shell)
    return page("compare.html", shell, changes=changes, points=points, back=back)

"""The ways in: the bakeries there are, and the day of one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import quote

from api.office.cells import say
from api.office.plan_page import Version
from api.office.shell import Shell, page
from api.schemas.heads import DocumentHead

SETUP_STEPS = (
    ("mixers", say("Mixers: bowl, cooling, work"), say("decides most of the water")),
    ("water", say("Water and ice"), say("what there is to cool and warm with")),
    ("flour_stores", say("Where flour stands"), say("half of the dough comes from there")),
    ("rooms", say("Rooms"), say("where bulk and mixing happen")),
    ("people", say("People and their hours"), say("when anything can be done")),
    ("ovens", say("Ovens"), say("what all doughs meet at")),
    ("chambers", say("Retarders and proofers"), say("where doughs wait")),
    ("vessels", say("Tubs, pans and trays"), say("how fast scalds and tubs cool")),
    ("house", say("Words, units, altitude"), say("how sheets read")),
)
"""Parts of the set-up in the order in which they sharpen plans."""


@dataclass(frozen=True, slots=True)
class DayStep:
    """One step towards the plan of a day, and whether it is done."""

    label: str
    href: str
    told: str
    is_done: bool


@dataclass(frozen=True, slots=True)
class DayPage:
    """A production day: what is there and what is missing."""

    steps: tuple[DayStep, ...]
    versions: tuple[Version, ...]
    can_plan: bool
    before: str
    after: str
    others: tuple[tuple[str, str], ...]


def bakeries_html(known: Sequence[DocumentHead], shell: Shell) -> str:
    """Return the page that lists the bakeries."""
    listed = [(one.name, f"/bakery/{quote(one.id, safe='')}") for one in known]
    return page("bakeries.html", shell, listed=listed)


def day_html(content: DayPage, shell: Shell, **more: object) -> str:
    """Return the page of a production day."""
    return page("day.html", shell, day=content, **more)


def day_steps(shell: Shell, doughs: int, lines: int, *, has_night: bool) -> tuple[DayStep, ...]:
    """Return the steps towards the plan of a day.

    Parameters
    ----------
    doughs, lines
        How many doughs the bakery has, and lines the day's mix list.
    has_night
        Whether there are conditions.
    """
    say = shell.say
    return (
        DayStep(
            say("Doughs"),
            shell.way("/bakery/{bakery}/doughs"),
            say.many("{n} dough", "{n} doughs", doughs),
            doughs > 0,
        ),
        DayStep(
            say("Mix list"),
            shell.way("/bakery/{bakery}/{day}/mix-list"),
            say.many("{n} line", "{n} lines", lines) if lines else say("nothing yet"),
            lines > 0,
        ),
        DayStep(
            say("Conditions"),
            shell.way("/bakery/{bakery}/{day}/conditions"),
            say("entered") if has_night else say("nothing yet"),
            has_night,
        ),
    )

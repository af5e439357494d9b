"""What stands around every page of the office: whose it is, where one is, and the way on."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from importlib import resources
from urllib.parse import quote

from api.addresses import at
from api.office.cells import say
from api.pages.templating import templates
from api.pages.wording import Units, day_text
from api.pages.words import LANGUAGES, Words

STATIC = {
    "screen.css": "text/css; charset=utf-8",
    "office.js": "text/javascript; charset=utf-8",
    "htmx.min.js": "text/javascript; charset=utf-8",
    "LICENCE-htmx.txt": "text/plain; charset=utf-8",
}
"""Files that pages load, with their kinds."""

PREFERENCE = "ovenward_reads"
"""Cookie that keeps language and units of whoever uses this browser: ``es.us``."""

PARTS = (
    ("day", say("The day"), "/bakery/{bakery}"),
    ("mix-list", say("Mix list"), "/bakery/{bakery}/{day}/mix-list"),
    ("conditions", say("Conditions"), "/bakery/{bakery}/{day}/conditions"),
    ("plan", say("Plan"), "/bakery/{bakery}/{day}/plan"),
    ("doughs", say("Doughs"), "/bakery/{bakery}/doughs"),
    ("products", say("Products"), "/bakery/{bakery}/products"),
    ("setup", say("Set-up"), "/bakery/{bakery}/setup"),
)


OWN = re.compile(r'\b(href|src|action|hx-get|hx-post)="/(?!/)')
"""Addresses of ours in a page: below the path under which a proxy serves us."""


@dataclass(frozen=True, slots=True)
class Link:
    """A way to another page."""

    label: str
    href: str
    is_here: bool = False


@dataclass(frozen=True, slots=True)
class Shell:
    """Whose page it is, and where.

    Attributes
    ----------
    say, units
        Words and units of whoever reads.
    bakery_id, bakery_name
        The bakery; empty before there is one.
    day
        The production day that pages of a day are about.
    here
        Part of the office that the page belongs to.
    person
        Who is signed in; empty for nobody.
    demo
        Whether anybody may do anything.
    """

    say: Words = field(default_factory=Words)
    units: Units = Units.METRIC
    bakery_id: str = ""
    bakery_name: str = ""
    day: date | None = None
    here: str = ""
    person: str = ""
    demo: bool = False

    @property
    def links(self) -> tuple[Link, ...]:
        """The parts of the office."""
        if not self.bakery_id or self.day is None:
            return ()
        return tuple(
            Link(self.say(label), self.way(path), key == self.here) for key, label, path in PARTS
        )

    @property
    def day_text(self) -> str:
        """The production day in short."""
        return "" if self.day is None else day_text(self.day, self.say.language)

    @property
    def languages(self) -> Mapping[str, str]:
        """Languages to choose from."""
        return LANGUAGES

    def way(self, path: str) -> str:
        """Return the address of a page of this bakery and day."""
        day = "" if self.day is None else self.day.isoformat()
        return path.format(bakery=quote(self.bakery_id, safe=""), day=day)


def page(template: str, shell: Shell, **content: object) -> str:
    """Return a page, or a part of one, of the office."""
    made = templates().get_template(f"office/{template}")
    html = made.render(shell=shell, say=shell.say, asset=asset, **content)
    return OWN.sub(rf'\1="{at("/")}', html) if at("/") != "/" else html


@cache
def static_bytes(name: str) -> bytes:
    """Return a file that pages load.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    if name not in STATIC:
        raise KeyError(name)
    return resources.files("api.pages").joinpath("static", name).read_bytes()


@cache
def asset(name: str) -> str:
    """Return the address of a file that pages load; another one when the file is another."""
    return f"/static/{name}?v={hashlib.sha256(static_bytes(name)).hexdigest()[:12]}"


def preference(cookie: str | None, language: str, units: Units) -> tuple[str, Units]:
    """Return language and units of a browser, or the bakery's own.

    Examples
    --------
    >>> preference("es.us", "en", Units.METRIC)
    ('es', <Units.US: 'us'>)
    >>> preference("xx", "en", Units.METRIC)
    ('en', <Units.METRIC: 'metric'>)
    """
    first, _, second = (cookie or "").partition(".")
    known = first if first in LANGUAGES else language
    return known, Units(second) if second in set(Units) else units

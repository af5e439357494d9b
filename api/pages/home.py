"""The first page: the plans there are, and the way to their sheets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from api.pages.templating import templates


@dataclass(frozen=True, slots=True)
class ListedPlan:
    """A plan as the first page lists it."""

    id: str
    bakery_id: str
    production_date: date
    version: int
    state: str


def home_html(plans: Iterable[ListedPlan], *, demo: bool = False) -> str:
    """Return the page that lists plans in the order they come; in demo mode it says so."""
    return templates().get_template("home.html").render(plans=list(plans), demo=demo)

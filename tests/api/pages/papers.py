"""Papers of a plan as the tests ask for them: one line instead of four."""

from __future__ import annotations

from api.pages.choice import Choice
from api.pages.reader import Reader, reader_of
from api.pages.sheet import SheetContent, sheet_content, sheet_html
from api.pages.wording import Units
from api.pages.words import Words
from planner.planned import Plan
from tests.api.pages.sample_house import ZONE


def reader_for(plan: Plan, units: Units = Units.METRIC, language: str = "en") -> Reader:
    """How the sample house reads."""
    return reader_of(plan, ZONE, units, Words(language))


def content_of(
    plan: Plan, units: Units = Units.METRIC, choice: Choice | None = None
) -> SheetContent:
    """What the papers of a plan say."""
    return sheet_content(plan, reader_for(plan, units), choice)


def html_of(
    plan: Plan,
    units: Units = Units.METRIC,
    choice: Choice | None = None,
    language: str = "en",
) -> str:
    """The page of a plan's papers."""
    return sheet_html(plan, reader_for(plan, units, language), choice)

"""Who reads a paper: clock, units, words and scales of one house, handed through all papers."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from api.pages.weighing import Scales
from api.pages.wording import (
    PLACEHOLDER,
    Clock,
    Units,
    clock_of,
    figure_text,
)
from api.pages.words import BETWEEN_LANGUAGES, Words
from planner.planned import Plan
from planner.remarks import Remark


@dataclass(frozen=True, slots=True)
class Reader:
    """How a house reads time and quantities, and in which words.

    Attributes
    ----------
    clock
        Its clock times.
    units
        Its units.
    say
        Its words.
    scales
        The steps of its scales.
    """

    clock: Clock
    units: Units = Units.METRIC
    say: Words = field(default_factory=Words)
    scales: Scales = field(default_factory=Scales)

    def remark(self, remark: Remark) -> str:
        """Return a remark's sentence with its figures, in each language of the house.

        A placeholder without a figure stands as its own name, so that a paper is printed even
        then.
        """
        return BETWEEN_LANGUAGES.join(
            dict.fromkeys(self._sentence(remark, language) for language in self.say.languages)
        )

    def _sentence(self, remark: Remark, language: str) -> str:
        say = self.say.only(language)
        texts = {
            figure.name: say.listed(figure_text(figure, self.clock, self.units))
            for figure in remark.figures
        }

        def filled(match: re.Match[str]) -> str:
            return texts.get(match[1], match[1].replace("_", " "))

        return PLACEHOLDER.sub(filled, say(remark.text))

    def span(self, first: datetime, last: datetime, earlier: datetime) -> str:
        """Return two moments with a dash; the date of the second only when it is another."""
        start = self.clock.dated(first, earlier)
        return f"{start}–{self.clock.dated(last, first)}"


def reader_of(
    plan: Plan,
    zone: ZoneInfo,
    units: Units = Units.METRIC,
    say: Words | None = None,
    scales: Scales | None = None,
) -> Reader:
    """Return how a plan's house reads.

    Parameters
    ----------
    plan
        The plan, for its production day and whether the clocks change in its span.
    zone, units, say, scales
        Clock zone, units, words and scales; the usual ones when left out.
    """
    words = say or Words()
    clock = replace(clock_of(plan, zone), language=words.language)
    return Reader(clock, units, words, scales or Scales())

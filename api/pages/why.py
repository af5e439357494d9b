"""Why each mix stands where it does: what binds it, and what a little either way would do."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import temperature_text
from planner.planned import Plan
from planner.remarks import RemarkKind


@dataclass(frozen=True, slots=True)
class WhyRow:
    """The reasons of one mix, as text.

    Attributes
    ----------
    number, dough, start, dough_c
        Which mix, when it starts, and at which dough temperature it is planned.
    binds
        What a little either way would cost in time, windows or places.
    free
        What it would do otherwise: ice, ripeness, or nothing.
    """

    number: str
    dough: str
    start: str
    dough_c: str
    binds: tuple[str, ...]
    free: tuple[str, ...]


def why_rows(plan: Plan, reader: Reader) -> tuple[WhyRow, ...]:
    """Return the reasons of the mixes that have some, in the order of starting.

    Parameters
    ----------
    plan
        The plan.
    reader
        How the house reads time and quantities.
    """
    names = Names(plan)
    return tuple(
        WhyRow(
            str(names.mix_number(mix.id)),
            names.dough(mix),
            reader.clock.time(mix.start_utc),
            temperature_text(mix.steered.dough_c, reader.units),
            tuple(reader.remark(r) for r in mix.reasons if r.kind is RemarkKind.REASON),
            tuple(reader.remark(r) for r in mix.reasons if r.kind is not RemarkKind.REASON),
        )
        for mix in sorted(plan.mixes, key=lambda one: one.start_utc)
        if mix.reasons
    )

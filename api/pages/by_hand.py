"""A blank sheet for a night when everything is down, with what last worked for each dough."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.mix_ticket import five_numbers, ticket_masses
from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import MISSING, dough_degrees, number, stock_number
from planner.planned import Plan, PlannedMix

BLANK_MIXES, BLANK_ROWS = 6, 14
"""Empty mixes and empty rows of work on the sheet."""


@dataclass(frozen=True, slots=True)
class LastFigures:
    """What this plan has for a dough, to start from.

    Attributes
    ----------
    flour
        Flour temperature it was reckoned for.
    numbers
        Dough °C, water °C, minutes, water and ice.
    per_degree
        Degrees of dough that one degree of water is worth.
    """

    dough: str
    dough_mass: str
    flour: str
    numbers: tuple[str, ...]
    per_degree: str
    bulk: str


@dataclass(frozen=True, slots=True)
class ByHand:
    """The blank sheet."""

    degree: str
    mass: str
    doughs: tuple[LastFigures, ...]
    mixes: int
    rows: int


def by_hand(plan: Plan, reader: Reader) -> ByHand:
    """Return the blank sheet of a house.

    Parameters
    ----------
    plan
        A plan, whose first mix of each dough is the one to start from.
    reader
        How the house reads time and quantities.
    """
    first: dict[str, PlannedMix] = {}
    for mix in sorted(plan.mixes, key=lambda one: one.start_utc):
        first.setdefault(mix.formula_id, mix)
    return ByHand(
        reader.units.degree,
        reader.units.mass,
        tuple(_last_figures(plan, mix, reader) for mix in first.values()),
        BLANK_MIXES,
        BLANK_ROWS,
    )


def _last_figures(plan: Plan, mix: PlannedMix, reader: Reader) -> LastFigures:
    names, units = Names(plan), reader.units
    printed = ticket_masses(mix, reader)
    bulk_min = (mix.divide_utc - mix.mix_end_utc).total_seconds() / 60
    hours, minutes = divmod(round(bulk_min), 60)
    return LastFigures(
        names.dough(mix),
        f"{stock_number(mix.dough_kg, units)} {units.mass}",
        dough_degrees(_flour_c(plan, mix), units),
        tuple(one.value for one in five_numbers(mix, printed, names, reader)),
        number(mix.ticket.dough_per_water_k, 2) + "°" if mix.ticket.dough_per_water_k else MISSING,
        f"{hours}:{minutes:02d}",
    )


def _flour_c(plan: Plan, mix: PlannedMix) -> float | None:
    strip = mix.ticket.strip
    if strip is not None:
        return strip.flour_c[len(strip.flour_c) // 2]
    labels = {line.label for line in plan.day.formula(mix.formula_id).lines}
    return next((line.temperature_c for line in mix.scaling if line.name in labels), None)

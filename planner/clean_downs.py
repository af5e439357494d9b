"""Cleaning between doughs: what must be cleaned away, what its order costs, what must be rechecked.

A mixer carries the allergens and the colour of its last dough. Adding an allergen is free, taking
one away is a clean of set minutes; so is another colour. This module names what the order of a plan
asks for. It never says that a dough is free of anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planner.day import Day
from planner.formula import Formula
from planner.mixers import Mixer
from planner.planned import Plan, PlannedMix
from planner.remarks import Figure, Remark, RemarkKind, minutes, moment, word
from planner.scheduling.changeovers import clean_minutes

MOST_KINDS = 9
"""Kinds of dough on one mixer up to which the order with the least cleaning is looked for."""


@dataclass(frozen=True, slots=True)
class Cleaning:
    """A clean of a mixer between two mixes.

    Attributes
    ----------
    lost
        Allergens of the first dough that the second has not.
    minutes
        How long it takes [min].
    """

    mixer_id: str
    before: PlannedMix
    after: PlannedMix
    lost: frozenset[str]
    minutes: int


def clean_min_between(mixer: Mixer, before: Formula, after: Formula) -> int:
    """Return the minutes of cleaning of a mixer from one dough to another [min]."""
    colours = {(c.before, c.after): c.minutes for c in mixer.colour_cleans}
    first, second = ((f.allergens, f.colour_class) for f in (before, after))
    return clean_minutes(mixer.clean_down_min, colours, first, second)


def cleanings(day: Day, mixes: Iterable[PlannedMix]) -> tuple[Cleaning, ...]:
    """Return the cleans that an order of mixes asks for, in order of time.

    Parameters
    ----------
    day
        The bakery and its formulas.
    mixes
        Mixes with their mixers and starts.
    """
    found = []
    for mixer_id, sequence in sequences(mixes).items():
        for before, after in pairwise(sequence):
            first, second = day.formula(before.formula_id), day.formula(after.formula_id)
            clean_min = clean_min_between(day.bakery.mixer(mixer_id), first, second)
            lost = first.allergens - second.allergens
            if clean_min or lost:
                found.append(Cleaning(mixer_id, before, after, lost, clean_min))
    return tuple(sorted(found, key=lambda c: (c.after.start_utc, c.mixer_id)))


def sequences(mixes: Iterable[PlannedMix]) -> dict[str, list[PlannedMix]]:
    """Return the mixes of each mixer in the order of their starts."""
    found: dict[str, list[PlannedMix]] = {}
    for mix in sorted(mixes, key=lambda m: (m.start_utc, m.id)):
        found.setdefault(mix.mixer_id, []).append(mix)
    return found


def least_cleaning(mixer: Mixer, doughs: Sequence[Formula]) -> tuple[int, tuple[Formula, ...]]:
    """Return the fewest minutes of cleaning in which a mixer makes some doughs, and their order.

    Parameters
    ----------
    mixer
        The mixer.
    doughs
        What it makes; doughs of the same allergens and colour follow each other.

    Notes
    -----
    The shortest way through all kinds of dough, each once (Held and Karp 1962, J. SIAM 10:196).
    """
    kinds: dict[tuple[frozenset[str], str], Formula] = {}
    for dough in doughs:
        kinds.setdefault((dough.allergens, dough.colour_class), dough)
    every = tuple(kinds.values())
    best: dict[tuple[frozenset[int], int], tuple[int, tuple[int, ...]]] = {
        (frozenset((i,)), i): (0, (i,)) for i in range(len(every))
    }
    for _ in range(len(every) - 1):
        longer: dict[tuple[frozenset[int], int], tuple[int, tuple[int, ...]]] = {}
        for (made, last), (cost, way) in best.items():
            for i in range(len(every)):
                if i in made:
                    continue
                step = (cost + clean_min_between(mixer, every[last], every[i]), (*way, i))
                key = (made | {i}, i)
                longer[key] = min(longer.get(key, step), step)
        best = longer
    cost, way = min(best.values(), default=(0, ()))
    alike = [
        [d for d in doughs if (d.allergens, d.colour_class) == (e.allergens, e.colour_class)]
        for e in (every[i] for i in way)
    ]
    return cost, tuple({dough.id: dough for kind in alike for dough in kind}.values())


def cleaning_remarks(day: Day, mixes: Sequence[PlannedMix]) -> list[Remark]:
    """Return, for each mixer, what its order costs in cleaning beyond the least possible."""
    found = []
    spent: dict[str, int] = {}
    for one in cleanings(day, mixes):
        spent[one.mixer_id] = spent.get(one.mixer_id, 0) + one.minutes
    for mixer_id, sequence in sequences(mixes).items():
        mixer = day.bakery.mixer(mixer_id)
        doughs = [day.formula(mix.formula_id) for mix in sequence]
        kinds = {(dough.allergens, dough.colour_class) for dough in doughs}
        if mixer_id not in spent or len(kinds) > MOST_KINDS:
            continue
        least_min, order = least_cleaning(mixer, doughs)
        if spent[mixer_id] > least_min:
            found.append(_order_remark(mixer, spent[mixer_id], least_min, order))
    return found


def _order_remark(mixer: Mixer, spent_min: int, least_min: int, order: Sequence[Formula]) -> Remark:
    return Remark(
        RemarkKind.NOTE,
        "cleaning_order",
        "{mixer} is cleaned for {spent} in all; in the order {order} it would be {least}. The "
        "times of the doughs cost {more} of cleaning.",
        (
            word("mixer", mixer.name),
            minutes("spent", spent_min),
            word("order", ", ".join(dough.name for dough in order)),
            minutes("least", least_min),
            minutes("more", spent_min - least_min),
        ),
    )


def rechecks(before: Plan, after: Plan) -> tuple[Remark, ...]:
    """Return what must be rechecked for allergens when one plan replaces another.

    Parameters
    ----------
    before, after
        The version in force, and the one that comes.

    Returns
    -------
    tuple of Remark
        Doughs whose ingredients brought in or lost an allergen, and doughs that now follow one from
        which an allergen must be cleaned away first.

    Notes
    -----
    What had begun when the second plan was made is done and not looked at.
    """
    return (*_changed_doughs(before.day, after.day, after.mixes), *_new_neighbours(before, after))


def _changed_doughs(before: Day, after: Day, mixes: Sequence[PlannedMix]) -> list[Remark]:
    known = {formula.id: formula.allergens for formula in before.formulas}
    planned = dict.fromkeys(mix.formula_id for mix in mixes)
    found = []
    for formula in (after.formula(one) for one in planned):
        was = known.get(formula.id, formula.allergens)
        came, went = formula.allergens - was, was - formula.allergens
        dough = word("dough", formula.name)
        if came:
            text = (
                "{dough} now contains {allergens}: recheck its label, its place in the order and "
                "what is made after it."
            )
            figures = (dough, _listed(came))
            found.append(Remark(RemarkKind.CAUTION, "allergen_came", text, figures))
        if went:
            text = "{dough} no longer lists {allergens}: recheck its label, and clean before it."
            figures = (dough, _listed(went))
            found.append(Remark(RemarkKind.CAUTION, "allergen_went", text, figures))
    return found


def _new_neighbours(before: Plan, after: Plan) -> list[Remark]:
    old = cleanings(before.day, before.mixes)
    known = {(c.mixer_id, c.before.id, c.after.id, c.lost) for c in old}
    found = []
    for one in cleanings(after.day, after.mixes):
        key = (one.mixer_id, one.before.id, one.after.id, one.lost)
        if not one.lost or key in known or one.after.id in after.begun:
            continue
        figures = (
            word("after", after.day.formula(one.after.formula_id).name),
            word("before", after.day.formula(one.before.formula_id).name),
            word("mixer", after.day.bakery.mixer(one.mixer_id).name),
            _listed(one.lost),
            minutes("clean", one.minutes),
            moment("start", one.after.start_utc),
        )
        text = (
            "{after} now follows {before} on {mixer}: clean {allergens} away for {clean} before "
            "{start}, and have it signed."
        )
        found.append(Remark(RemarkKind.CAUTION, "clean_recheck", text, figures, one.after.id))
    return found


def _listed(allergens: Iterable[str]) -> Figure:
    return word("allergens", ", ".join(sorted(allergens)))

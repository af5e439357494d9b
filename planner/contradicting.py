"""What was asked and cannot be, in plain sentences: the resource, the hour, the mixes, ways out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.batches import batches_of, mix_name
from planner.day import Day
from planner.planned import Plan
from planner.remarks import Figure, Remark, RemarkKind, mass, minutes, moment, word
from planner.scheduling.impossible import Contradiction, WayOut

MOST_NAMES = 6
"""Mixes named in one sentence; more are told by their number."""

CAUSES = {
    "too_short": (
        "{mixes} cannot leave in time: from its first start at {from} it takes {needed}, and there "
        "are {there} until {by}."
    ),
    "no_mixer": "No mixer takes {mixes}.",
    "no_oven": "No oven takes a load of {mixes}: it fills {needed} places, and there are {there}.",
    "no_start": "{mixes}: no start between {from} and {by} gives a dough that ripens in the span.",
    "nobody": "{mixes} needs hands for {needed} between {from} and {by}, and nobody works then.",
    "ovens": (
        "Between {from} and {by} there are {there} of one place in {resource}, and {needed} are "
        "needed for {mixes}."
    ),
    "mixers": (
        "Between {from} and {by} there are {there} on {resource}, and {needed} are needed for "
        "{mixes}."
    ),
    "hands": (
        "Between {from} and {by} there are {there} of work by {resource}, and {needed} are needed "
        "for {mixes}."
    ),
    "racks": (
        "Between {from} and {by} there are {there} of one rack in {resource}, and {needed} are "
        "needed for {mixes}."
    ),
    "overfull": "{resource} holds {there} racks, and {needed} stand in it when the day begins.",
    "builds": (
        "{resource} cannot serve {mixes}: they lie further apart than it stays ripe, and {there} "
        "builds of it are allowed."
    ),
    "store": "There will be {there} of {resource}, and at least {needed} are needed for {mixes}.",
    "pins": "{mixes}: what is fixed for {from} cannot be before {by}.",
    "order": "{mixes} cannot come in the order that is fixed.",
}

OUTS = {
    "leave_later": "Way out: the last of {mixes} leaves {amount} later.",
    "leave_out": "Way out: leave out {mixes}.",
    "divide_later": "Way out: divide {mixes} {amount} later, past its window.",
    "start_sooner": "Way out: start {mixes} {amount} sooner, if somebody works then.",
    "another_build": "Way out: allow {amount} more builds of {resource}.",
    "unpin": "Way out: free what is fixed about {mixes}.",
}

MORE = {
    "ovens": "Way out: {amount} more of one place in {resource} in these hours.",
    "mixers": "Way out: {amount} more on a mixer that takes them in these hours.",
    "hands": "Way out: somebody who works {amount} more in these hours.",
    "nobody": "Way out: somebody who works {amount} in these hours.",
    "racks": "Way out: {amount} more of one rack in these hours, or another place to proof.",
    "overfull": "Way out: another place for {amount} of the racks.",
    "store": "Way out: {amount} more of {resource}.",
    "no_mixer": "Way out: a mixer or a bowl that takes them.",
}

STORES = {"ice": "ice", "chilled water": "chilled water", "kettle": "boiling water"}


def with_contradictions(plan: Plan, found: Sequence[Contradiction]) -> Plan:
    """Return the plan with what cannot be told before all else, each with its ways out.

    Parameters
    ----------
    plan
        The nearest plan that the search gave.
    found
        What the sums found before the search.
    """
    names = names_of(plan.day)
    names |= {one.id: plan.day.product(one.product_id).name for one in plan.conditions.inherited}
    names |= {p.part_id: p.name for p in plan.preparations}
    names |= {p.id: p.name for p in plan.preparations}
    for mix in plan.mixes:
        names |= {load.id: names.get(mix.id, mix.id) for load in mix.loads}
    said = [r for one in found for r in contradiction_remarks(plan.day, one, names)]
    return replace(plan, remarks=(*said, *plan.remarks)) if said else plan


def names_of(day: Day) -> dict[str, str]:
    """Return what each mix, machine, place and person is called."""
    house = day.bakery
    names = {one.id: one.name for one in house.mixers}
    names |= {one.id: one.name for one in house.ovens}
    names |= {one.id: one.name for one in house.chambers}
    names |= {one.id: one.name for one in house.people}
    names |= {part.id: part.name for f in day.formulas for part in f.parts}
    for batch in batches_of(day):
        names[batch.id] = mix_name(batch.formula.name, batch.batch, batch.batches)
    return names


def contradiction_remarks(day: Day, one: Contradiction, names: dict[str, str]) -> list[Remark]:
    """Return one contradiction as a sentence, and each way out of it as another."""
    figures = (
        word("mixes", _list(one.job_ids, names)),
        word("resource", _list(one.resource_ids, names | STORES)),
        moment("from", day.moment(one.from_min)),
        moment("by", day.moment(one.by_min)),
        _amount("needed", one.needed, one.unit),
        _amount("there", one.there, one.unit),
    )
    subject = one.job_ids[0] if len(one.job_ids) == 1 else ""
    text = CAUSES[one.code]
    cause = Remark(RemarkKind.UNMET, f"cannot_{one.code}", text, _used(text, figures), subject)
    outs = [_way_out(one, way, names, subject) for way in one.ways_out]
    return [cause, *(way for way in outs if way is not None)]


def _way_out(one: Contradiction, way: WayOut, names: dict[str, str], subject: str) -> Remark | None:
    text = MORE.get(one.code) if way.code == "more" else OUTS.get(way.code)
    if text is None:
        return None
    unit = one.unit if way.code == "more" else "min"
    if way.code == "another_build":
        unit = "builds"
    figures = (
        word("mixes", _list(way.subjects, names)),
        word("resource", _list(one.resource_ids, names | STORES)),
        _amount("amount", way.amount, unit),
    )
    return Remark(RemarkKind.LEVER, f"way_{way.code}", text, _used(text, figures), subject)


def _used(text: str, figures: Sequence[Figure]) -> tuple[Figure, ...]:
    return tuple(f for f in figures if f"{{{f.name}}}" in text)


def _list(ids: Sequence[str], names: dict[str, str]) -> str:
    told = [names.get(one, one) for one in dict.fromkeys(ids)]
    more = f" (+ {len(told) - MOST_NAMES})" if len(told) > MOST_NAMES else ""
    return ", ".join(told[:MOST_NAMES]) + more


def _amount(name: str, value: float, unit: str) -> Figure:
    if unit in ("min", "place min", "rack min"):
        return minutes(name, float(value))
    if unit == "g":
        return mass(name, value / 1000)
    return word(name, f"{value:g}")

"""Why a mix stands where it does: it is really moved, a little either way, and the day judged.

Each mix is tried ten minutes sooner and later, half a degree cooler and warmer, and, where it is
planned off the baker's own number, at that; all other mixes stay. What then binds, or what it would
cost, is its reason, and the lever with its price.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.alternative import Alternative, Shifted
from planner.options import DOUGH_STEP_K, Offer
from planner.planned import PlannedMix
from planner.remarks import Figure, Remark, RemarkKind, difference, mass, minutes, temperature, word
from planner.scheduling.bindings import Beside, Neighbour, starts_of
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule

STEP_MIN = 10
"""How far a start is moved [min]; a whole number of slots."""

NEAR_K = 0.01
"""Two dough temperatures this near are one choice [K]."""

OFF_NUMBER_K = 0.25
"""A dough planned further than this off the baker's number is also tried at that number [K]."""

TOLD_POINTS = 1.0
"""What costs no more than this is told to cost nothing."""

SOME_ICE_KG = 0.05
"""Less ice than this is not spoken of [kg]."""

BINDS = {
    "breaks": "somebody has their break then",
    "people": "nobody is free when it needs hands",
    "mixers": "its mixer is taken",
    "ovens": "the oven has no room for it when it is ripe",
    "racks": "the chamber has no rack free for it",
    "vessels": "the vessels of its scald are in use",
    "bench": "no bench place is free when it is divided",
    "tubs": "no tubs are free for its bulk",
    "weight": "a chamber on its way bears no more weight",
    "ice": "there is not ice enough",
    "chilled water": "there is not chilled water enough",
    "kettle": "the kettle has not boiled water enough",
    "gluten": "wheat flour is handled in its room before it",
    "options": "no dough can be had so that is ripe in time",
    "several": "several things stand in its way",
}
"""What binds, in plain words."""


def with_reasons(
    mixes: Sequence[PlannedMix],
    offers: dict[str, Offer],
    problem: Problem,
    schedule: Schedule,
    held: frozenset[str] = frozenset(),
) -> tuple[PlannedMix, ...]:
    """Return the mixes with what binds them, and what little moves would do.

    Parameters
    ----------
    mixes
        As they are published.
    offers
        Their options, by id.
    problem, schedule
        What was searched, and what was found.
    held
        Mixes that have begun: nothing of them is chosen any more.
    """
    tables = starts_of(problem)
    there = {job.job_id for job in schedule.jobs}
    return tuple(
        _explained(mix, offers[mix.id], Beside(problem, schedule, mix.id, tables))
        if mix.id in there - held
        else mix
        for mix in mixes
    )


def _explained(mix: PlannedMix, offered: Offer, beside: Beside) -> PlannedMix:
    start, step = beside.placed.start, beside.problem.grid_min
    by_min = max(step, STEP_MIN // step * step)
    starts = [
        _alternative(Shifted.START, float(by), beside.at(start + by)) for by in (-by_min, by_min)
    ]
    option = offered.options[beside.placed.option]
    dough_c = offered.choices[option.choice].dough_c
    doughs = []
    for by_k in (-DOUGH_STEP_K, DOUGH_STEP_K):
        rows = _rows(offered, dough_c + by_k)
        if rows:
            doughs.append(_alternative(Shifted.DOUGH, by_k, beside.at(start, rows)))
    usual_k = offered.batch.formula.dough_c - dough_c
    at_usual = None
    if abs(usual_k) >= OFF_NUMBER_K and (rows := _rows(offered, offered.batch.formula.dough_c)):
        at_usual = _alternative(Shifted.DOUGH, usual_k, beside.at(start, rows))
        if all(abs(one.by - usual_k) > NEAR_K for one in doughs):
            doughs.append(at_usual)
    found = (*starts, *doughs)
    said = [_start_sentence(one) for one in starts]
    if at_usual is not None:
        said.append(_number_sentence(offered, at_usual))
    said += [_dough_sentence(one) for one in doughs if one is not at_usual]
    reasons = tuple(replace(remark, subject=mix.id) for remark in said)
    return replace(mix, alternatives=found, reasons=reasons)


def _rows(offered: Offer, dough_c: float) -> tuple[int, ...]:
    """Return the options of one dough temperature."""
    chosen = {i for i, c in enumerate(offered.choices) if abs(c.dough_c - dough_c) < NEAR_K}
    return tuple(r for r, option in enumerate(offered.options) if option.choice in chosen)


def _alternative(what: Shifted, by: float, found: Neighbour) -> Alternative:
    return Alternative(
        what,
        by,
        found.binds,
        float(found.late_min),
        float(found.window_min),
        found.ice_g / 1000,
        float(found.points),
        found.because,
    )


TEXTS: dict[str, dict[str, str]] = {
    "binds": {
        "sooner": "Not {by} sooner: {cause}.",
        "later": "Not {by} later: {cause}.",
        "cooler": "Not {by} cooler: {cause}.",
        "warmer": "Not {by} warmer: {cause}.",
        "number": "Not at your {usual}: {cause}.",
    },
    "late": {
        "sooner": "{by} sooner it would leave {more} late.",
        "later": "{by} later it would leave {more} late.",
        "cooler": "{by} cooler it would leave {more} late.",
        "warmer": "{by} warmer it would leave {more} late.",
        "number": "At your {usual} it would leave {more} late.",
    },
    "past": {
        "sooner": "{by} sooner it would lie {more} past its window.",
        "later": "{by} later it would lie {more} past its window.",
        "cooler": "{by} cooler it would lie {more} past its window.",
        "warmer": "{by} warmer it would lie {more} past its window.",
        "number": "At your {usual} it would lie {more} past its window.",
    },
    "late_because": {
        "sooner": "{by} sooner it would leave {more} late: {cause}.",
        "later": "{by} later it would leave {more} late: {cause}.",
        "cooler": "{by} cooler it would leave {more} late: {cause}.",
        "warmer": "{by} warmer it would leave {more} late: {cause}.",
        "number": "At your {usual} it would leave {more} late: {cause}.",
    },
    "past_because": {
        "sooner": "{by} sooner it would lie {more} past its window: {cause}.",
        "later": "{by} later it would lie {more} past its window: {cause}.",
        "cooler": "{by} cooler it would lie {more} past its window: {cause}.",
        "warmer": "{by} warmer it would lie {more} past its window: {cause}.",
        "number": "At your {usual} it would lie {more} past its window: {cause}.",
    },
    "more_ice": {
        "sooner": "{by} sooner it would take {more} more ice.",
        "later": "{by} later it would take {more} more ice.",
        "cooler": "{by} cooler it would take {more} more ice.",
        "warmer": "{by} warmer it would take {more} more ice.",
        "number": "At your {usual} it would take {more} more ice.",
    },
    "less_ice": {
        "sooner": "{by} sooner it would take {more} less ice.",
        "later": "{by} later it would take {more} less ice.",
        "cooler": "{by} cooler it would take {more} less ice.",
        "warmer": "{by} warmer it would take {more} less ice.",
        "number": "At your {usual} it would take {more} less ice.",
    },
    "less_ripe": {
        "sooner": "{by} sooner it would be less ripe or less fresh, and nothing worse.",
        "later": "{by} later it would be less ripe or less fresh, and nothing worse.",
        "cooler": "{by} cooler it would be less ripe or less fresh, and nothing worse.",
        "warmer": "{by} warmer it would be less ripe or less fresh, and nothing worse.",
        "number": "At your {usual} it would be less ripe or less fresh, and nothing worse.",
    },
    "as_well": {
        "sooner": "{by} sooner would do as well.",
        "later": "{by} later would do as well.",
        "cooler": "{by} cooler would do as well.",
        "warmer": "{by} warmer would do as well.",
        "number": "At your {usual} it would do as well.",
    },
}
"""Sentences, by what the move does and which way it goes."""


def _effect(one: Alternative) -> tuple[str, tuple[Figure, ...]]:
    """Return what a move does, the worst first, with its figure."""
    if one.binds:
        return "binds", (word("cause", BINDS[one.binds]),)
    if one.late_min > 0 or one.window_min > 0:
        effect = "late" if one.late_min > 0 else "past"
        more = minutes("more", one.late_min or one.window_min)
        if not one.because:
            return effect, (more,)
        return f"{effect}_because", (more, word("cause", BINDS[one.because]))
    if abs(one.ice_kg) > SOME_ICE_KG:
        return "more_ice" if one.ice_kg > 0 else "less_ice", (mass("more", abs(one.ice_kg)),)
    return ("less_ripe" if one.points > TOLD_POINTS else "as_well"), ()


def _sentence(one: Alternative, way: str, by: Figure) -> Remark:
    effect, more = _effect(one)
    hurts = bool(one.binds) or one.late_min > 0 or one.window_min > 0
    kind = RemarkKind.REASON if hurts else RemarkKind.LEVER
    return Remark(kind, f"why_not_{way}", TEXTS[effect][way], (by, *more))


def _start_sentence(one: Alternative) -> Remark:
    return _sentence(one, "sooner" if one.by < 0 else "later", minutes("by", abs(one.by)))


def _dough_sentence(one: Alternative) -> Remark:
    return _sentence(one, "warmer" if one.by > 0 else "cooler", difference("by", abs(one.by)))


def _number_sentence(offered: Offer, one: Alternative) -> Remark:
    """Say why a dough is not planned at the baker's own number."""
    return _sentence(one, "number", temperature("usual", offered.batch.formula.dough_c))

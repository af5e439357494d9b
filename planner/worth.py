"""Whether another plan of the same night is worth a word: paper on the wall should stay true.

It is if it meets or misses another wish, or if a mix that has not begun starts at another time or
takes other water or ice than a mixer hand would pass over. The limits are ours.
"""

from __future__ import annotations

from planner.planned import Plan, PlannedMix
from planner.remarks import RemarkKind

WATER_K = 1.0
ICE_FRACTION = 0.05
START_MIN = 5.0


def is_worth_telling(before: Plan, after: Plan) -> bool:
    """Return whether a new version of a plan saves a dough, loses one or moves a mix."""
    return _unmet(before) != _unmet(after) or bool(moved_mixes(before, after))


def moved_mixes(before: Plan, after: Plan) -> tuple[str, ...]:
    """Return the ids of mixes to come that are done otherwise, or are new, in order of time."""
    known = {mix.id: mix for mix in before.mixes}
    return tuple(
        mix.id
        for mix in after.mixes
        if mix.id not in after.begun and (mix.id not in known or _differs(known[mix.id], mix))
    )


def _differs(before: PlannedMix, after: PlannedMix) -> bool:
    minutes = abs((after.start_utc - before.start_utc).total_seconds()) / 60
    ice_kg = max(before.ticket.ice_kg, after.ticket.ice_kg)
    return (
        before.mixer_id != after.mixer_id
        or minutes > START_MIN
        or abs(after.ticket.ice_kg - before.ticket.ice_kg) > ICE_FRACTION * ice_kg
        or _water_differs(before.ticket.water_c, after.ticket.water_c)
    )


def _water_differs(before_c: float | None, after_c: float | None) -> bool:
    if before_c is None or after_c is None:
        return before_c is not after_c
    return abs(after_c - before_c) > WATER_K


def _unmet(plan: Plan) -> frozenset[tuple[str, str]]:
    wishes = {(one.code, one.subject) for one in plan.remarks if one.kind is RemarkKind.UNMET}
    return frozenset(wishes | {("unplaced", id) for id in plan.unplaced})

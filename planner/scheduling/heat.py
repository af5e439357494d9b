"""What an oven's heat asks for between two loads, beyond its places.

Loads that want unlike heat do not share an oven, and between them lies the time to heat up or cool
down. Shared by the list pass and the solver; the judge works it out for itself.
"""

from __future__ import annotations

from math import ceil

from planner.scheduling.problem import Load, OvenPlaces

ALIKE_K = 5
"""Set temperatures that differ by no more are one and the same (our guess) [K]."""


def least_between(oven: OvenPlaces, before: Load, after: Load) -> int | None:
    """Return the minutes from loading one load to loading another that comes after it.

    Parameters
    ----------
    oven
        The oven they share.
    before, after
        The loads, in this order.

    Returns
    -------
    int or None
        None where nothing but the oven's places keeps them apart, or both are in it already.

    Examples
    --------
    40 min at 240 °C, then down to 210 °C at 1 K/min:

    >>> from planner.scheduling.problem import OvenChoice
    >>> one, other = (Load(i, 0, (), (OvenChoice("o", 1),), 40, 0, bake_c=c)
    ...               for i, c in (("a", 240), ("b", 210)))
    >>> least_between(OvenPlaces("o", 2, 5, 3.0, 1.0), one, other)
    70
    """
    if before.held and after.held:
        return None
    if oven.gap_min is not None:
        dwells = [_dwell_min(oven, load) for load in (before, after)]
        if dwells[0] == dwells[1] and _apart_k(before, after) == 0:
            return None
        return hold_min(oven, before) + oven.gap_min
    change_k = _apart_k(before, after)
    rate = oven.heats_k_per_min if change_k > 0 else oven.cools_k_per_min
    if change_k == 0 or not (oven.heats_k_per_min or oven.cools_k_per_min):
        return None
    change_min = ceil(abs(change_k) / rate - 1e-9) if rate else 0
    return max(before.bake_min + change_min, hold_min(oven, before))


def _apart_k(before: Load, after: Load) -> int:
    """Return by how much an oven must be set higher [K]; 0 where they are alike."""
    if before.bake_c is None or after.bake_c is None:
        return 0
    apart = after.bake_c - before.bake_c
    return apart if abs(apart) > ALIKE_K else 0


def hold_min(oven: OvenPlaces, load: Load) -> int:
    """Return the minutes for which a load keeps its places in an oven, recovery included."""
    held = load.oven(oven.oven_id).hold_min
    return load.bake_min + oven.recovery_min if held is None else held


def _dwell_min(oven: OvenPlaces, load: Load) -> int:
    """Return the minutes that a piece is in a belt oven."""
    return load.bake_min - hold_min(oven, load)


def may_differ(oven: OvenPlaces) -> bool:
    """Return whether an oven asks for anything between loads."""
    return oven.gap_min is not None or bool(oven.heats_k_per_min or oven.cools_k_per_min)

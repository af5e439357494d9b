"""When mixes started in an earlier plan, so that a house need not learn a new night every night."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import timedelta

from planner.batches import Batch
from planner.day import Day
from planner.planned import Plan

Key = tuple[str, str]


def earlier_starts(day: Day, batches: Iterable[Batch], earlier: Plan | None) -> dict[str, float]:
    """Return when each mix would start if it started as in an earlier plan [min].

    Parameters
    ----------
    day
        The day to plan.
    batches
        Its mixes.
    earlier
        The earlier plan, such as yesterday's; None for none.

    Returns
    -------
    dict
        By mix id. The first mix of a product (of a dough, where it has none) goes with the first
        of that product in the earlier plan, and so on; what it did not have is not in it.

    Notes
    -----
    Days are told apart by their production dates and counted as 24 hours: after a night with a
    clock change an earlier start lies an hour off by the clock, for that one day.
    """
    if earlier is None:
        return {}
    later = timedelta(days=(day.production_date - earlier.day.production_date).days)
    started: dict[Key, list[float]] = defaultdict(list)
    for mix in sorted(earlier.mixes, key=lambda m: (m.start_utc, m.id)):
        started[mix.formula_id, mix.product_id or ""].append(day.minute(mix.start_utc + later))
    found: dict[str, float] = {}
    for batch in sorted(batches, key=_in_order):
        key = (batch.formula.id, "" if batch.product is None else batch.product.id)
        if started[key]:
            found[batch.id] = started[key].pop(0)
    return {one: minute for one, minute in found.items() if 0 <= minute <= day.span_min}


def _in_order(batch: Batch) -> tuple[float, str, int]:
    leaves = float("inf") if batch.leave_by is None else batch.leave_by.timestamp()
    return leaves, batch.line_id, batch.batch

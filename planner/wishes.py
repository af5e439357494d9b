"""What the baker cares for most, as weights of the search.

The order of the trade always stands: bread leaves in time, doughs meet bench and oven inside their
windows, everything has a place. A wish moves only what is weighed below that.
"""

from __future__ import annotations

from dataclasses import replace

from planner.bakery import Care
from planner.scheduling.problem import Weights

USUAL = Weights(fresh_trade=40)
"""Fresher bread may cost some minutes off the ideal bulk and a little ice over a whole day."""

WEIGHTS = {
    Care.IN_THE_USUAL_ORDER: USUAL,
    Care.RIPE_DOUGHS: replace(
        USUAL, ideal_per_slot=8, edge_per_slot=8, fresh_per_hour=2, fresh_trade=20
    ),
    Care.FRESH_BREAD: replace(
        USUAL, ideal_per_slot=3, edge_per_slot=2, gap_per_slot=0, fresh_per_hour=10, fresh_trade=100
    ),
    Care.LITTLE_ICE: replace(USUAL, ice_per_kg=24, chilled_per_10_kg=4, off_number_per_k=2),
    Care.LATE_START: replace(USUAL, early_per_mix=30),
    Care.FEW_CHANGES: replace(USUAL, change_per_half_hour=8),
}
"""Each wish turns up what it names, and turns down what stands against it."""


def weights_for(care: Care) -> Weights:
    """Return the weights of what a baker cares for most.

    Examples
    --------
    >>> weights_for(Care.LITTLE_ICE).ice_per_kg > weights_for(Care.FRESH_BREAD).ice_per_kg
    True
    >>> {w.late_per_slot for w in WEIGHTS.values()}
    {1000}
    """
    return WEIGHTS[care]

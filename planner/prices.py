"""What an option of a mix costs, in the points of the search."""

from __future__ import annotations

from dataclasses import dataclass

from planner.scheduling.problem import Weights

COST_PER_K_MISSED = 120
"""Points for each degree by which water and ice cannot reach the band."""

COST_FURTHER_MIX = 12
"""Points for each mix more than a dough could be made in: scaling, cleaning, a bowl in use."""

COST_NARROW_WINDOW = 40
"""Points for a length that is not inside the window for every start of its bucket."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What an option costs, in the points of the search.

    Attributes
    ----------
    per_slot_off_ideal
        Each grid slot that a bulk differs from its ripe time.
    per_k_off_number
        Each degree that a dough is planned away from the baker's own number.
    per_slot_near_end
        Each grid slot by which a bulk is nearer to an end of its window than its ripe time is sure.
    per_half_hour_changed
        Each half hour between its start and that of an earlier plan.
    per_k_missed
        Each degree by which water and ice cannot reach the band.
    narrow_window
        A length that is not inside the window for every start of its bucket.
    further_mix
        Each mix more than its dough could be made in.
    proofs_wanted
        Whether the options say which proof is wanted inside its window, so that it can be priced.
    """

    per_slot_off_ideal: int
    per_k_off_number: int
    per_slot_near_end: int = 0
    per_half_hour_changed: int = 0
    per_k_missed: int = COST_PER_K_MISSED
    narrow_window: int = COST_NARROW_WINDOW
    further_mix: int = COST_FURTHER_MIX
    proofs_wanted: bool = False


def prices_of(weights: Weights, share: int = 1) -> Prices:
    """Return what an option costs by what the baker cares for most.

    Parameters
    ----------
    weights
        Of the problem.
    share
        How often the weights count everything already.
    """
    return Prices(
        per_slot_off_ideal=weights.ideal_per_slot,
        per_k_off_number=weights.off_number_per_k,
        per_slot_near_end=weights.edge_per_slot,
        per_half_hour_changed=weights.change_per_half_hour,
        per_k_missed=share * COST_PER_K_MISSED,
        narrow_window=share * COST_NARROW_WINDOW,
        further_mix=share * COST_FURTHER_MIX,
    )

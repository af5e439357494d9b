"""A mix that does not come into its band: what it is measured against, and how a lever is told."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from planner.batches import Batch
from planner.mixers import Mixer
from planner.night import Night
from planner.physics.heat_balance import Ingredient
from planner.remarks import Figure, Remark, RemarkKind
from planner.tickets import MixCase, Mixed

MISSED_BY_K = 0.1
"""A dough no further outside its band than this is inside it [K]."""

TOLD_K = 0.05
"""A dough is told in tenths: nearer than this to an edge is on it [K]."""

NEAR_K = 0.02
"""A lever is told in tenths of a degree; the dough it gives lies this near [K]."""


@dataclass(frozen=True)
class Miss:
    """A mix that does not come into its band.

    Attributes
    ----------
    mixed
        The mix as it is planned or read, and what its ticket was made from.
    batch
        The bowl of dough, with the number it is aimed at.
    target_c
        The nearest edge of the band [°C].
    buckets
        Half hours in which it might start instead; None for those of its order and its shift.
    """

    mixed: Mixed
    batch: Batch
    target_c: float
    buckets: Collection[int] | None = None

    @property
    def case(self) -> MixCase:
        """What the ticket was made from."""
        return self.mixed.case

    @property
    def night(self) -> Night:
        """The night it is mixed in."""
        return self.mixed.case.night

    @property
    def mixer(self) -> Mixer:
        """The mixer it is planned on."""
        return self.mixed.case.mixer

    @property
    def start_min(self) -> float:
        """Its start [min]."""
        return float(np.asarray(self.mixed.case.start_min))

    @property
    def off_k(self) -> float:
        """Degrees above the target; negative below [K]."""
        return self.mixed.ticket.expected_c - self.target_c

    @property
    def too_warm(self) -> bool:
        """Whether it comes off too warm."""
        return self.off_k > 0

    def outside_k(self, dough_c: float) -> float:
        """Return by how much a dough lies outside the band [K]."""
        formula = self.batch.formula
        return max(0.0, abs(dough_c - formula.dough_c) - formula.band_k)

    def is_reached(self, dough_c: float) -> bool:
        """Return whether a dough lies in the band, as near as it is told."""
        return self.outside_k(dough_c) <= TOLD_K

    def is_nearer(self, dough_c: float) -> bool:
        """Return whether a dough lies so much nearer to the band that it is worth a word."""
        return self.outside_k(dough_c) <= self.outside_k(self.mixed.ticket.expected_c) - MISSED_BY_K


def lever(code: str, text: str, *figures: Figure) -> Remark:
    """Return one lever."""
    return Remark(RemarkKind.LEVER, code, text, figures)


def dough_of(case: MixCase, wanted_c: float) -> float:
    """Return the dough that a ticket made from something would give [°C]."""
    return float(case.drawn(case.balance(), wanted_c).expected_c)


def mean_c(ingredients: Sequence[Ingredient]) -> float:
    """Return the temperature of several ingredients together, weighed by their heat [°C]."""
    heat = [float(i.heat_capacity_kj_per_k) for i in ingredients]
    return float(np.average([float(i.temperature_c) for i in ingredients], weights=heat))

"""What a mix would be somewhere else: a few minutes sooner or later, a little cooler or warmer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Shifted(StrEnum):
    """What of a mix is put elsewhere."""

    START = "start"
    DOUGH = "dough temperature"


@dataclass(frozen=True, slots=True)
class Alternative:
    """A mix with its start or its dough elsewhere, all other mixes held.

    Attributes
    ----------
    what
        What of it is elsewhere.
    by
        By how much: minutes later, or degrees warmer [min, K]; less than zero for sooner or cooler.
    binds
        What leaves it no place there, such as ``ovens`` or ``people``; empty when it has one.
    late_min, window_min
        Minutes by which it then leaves later than it must, and lies past its windows, more than as
        planned [min].
    ice_kg
        Ice more than as planned [kg].
    points
        Points of the search more than as planned.
    because
        What makes it late or past its windows there, such as ``ovens``; else empty.
    """

    what: Shifted
    by: float
    binds: str = ""
    late_min: float = 0.0
    window_min: float = 0.0
    ice_kg: float = 0.0
    points: float = 0.0
    because: str = ""

    @property
    def is_possible(self) -> bool:
        """Whether it has a place there."""
        return not self.binds

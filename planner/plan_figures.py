"""The figures of a whole plan: what assumptions may cost, ice and water by hour, penalty points."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class AssumptionCost:
    """A default that nobody entered, and what it may cost.

    Attributes
    ----------
    name
        What was assumed, in plain words.
    value, unit
        The default.
    effect_k, effect_min
        One standard deviation of it in degrees of dough [K] or minutes [min].
    remedy
        The reading that would remove it.
    """

    name: str
    value: float
    unit: str
    basis: str
    effect_k: float
    effect_min: float
    remedy: str


@dataclass(frozen=True, slots=True)
class HourBudget:
    """Ice and chilled water of one hour [kg]."""

    hour_utc: datetime
    ice_used_kg: float
    ice_left_kg: float
    chilled_used_kg: float
    chilled_left_kg: float


@dataclass(frozen=True, slots=True)
class Points:
    """Penalty points of a plan, by what they are for."""

    late: float = 0.0
    windows: float = 0.0
    ice: float = 0.0
    early: float = 0.0
    unplaced: float = 0.0
    freshness: float = 0.0
    builds: float = 0.0
    moved: float = 0.0

    @property
    def first_stage(self) -> float:
        """Points of the first stage: all but freshness, and but for what lies off another plan."""
        return self.late + self.windows + self.ice + self.early + self.unplaced + self.builds

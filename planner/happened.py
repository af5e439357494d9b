"""What happens in a night, and what it changes: breakdowns, overrides, moves of a plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from planner.day import check_since
from planner.remarks import Remark


@dataclass(frozen=True, slots=True)
class Breakdown:
    """A mixer, oven or chamber that stops.

    Attributes
    ----------
    resource_id
        Its id.
    from_utc, until_utc
        Since when, and until when as far as anybody knows [UTC].
    power
        Whether the power is out, so that it comes back with the power.
    """

    resource_id: str
    from_utc: datetime
    until_utc: datetime | None = None
    power: bool = False

    def __post_init__(self) -> None:
        check_since(self.from_utc, self.until_utc)


@dataclass(frozen=True, slots=True)
class Override:
    """Something that a rule of the house forbids, and who allowed it: a trace that stays.

    Attributes
    ----------
    at_utc
        When it was allowed [UTC].
    by
        Who allowed it.
    remark
        What, in plain words.
    """

    at_utc: datetime
    by: str
    remark: Remark


@dataclass(frozen=True, slots=True)
class Moved:
    """By how much one mix lies off the plan before.

    Attributes
    ----------
    start_min, divide_min, load_min
        Later than before; earlier below zero [min]. Of its loads, the one that moved most.
    water_k, ice_share
        Water warmer than before [K]; how much of its ice is more or less than before, 0 to 1.
    other_mixer, other_oven
        Whether it is mixed, or one of its loads baked, elsewhere.
    """

    mix_id: str
    start_min: float
    divide_min: float
    load_min: float
    water_k: float
    ice_share: float
    other_mixer: bool
    other_oven: bool


@dataclass(frozen=True, slots=True)
class Change:
    """What a new version of a plan changes, and whether it is worth a word.

    Attributes
    ----------
    is_proposed
        Whether the shift hears of it: it saves a dough, or moves a mix by more than a trifle. A
        version that is not proposed leaves the one before in force.
    saved
        Ids of mixes and loads that the plan before would have lost.
    moved
        Mixes off the plan before, those that moved most first.
    remarks
        What changed, in plain sentences.
    """

    is_proposed: bool
    saved: tuple[str, ...]
    moved: tuple[Moved, ...]
    remarks: tuple[Remark, ...]

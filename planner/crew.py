"""The crew: what people can do, and the breaks that a house gives them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.errors import check_within, refuse


class Skill(StrEnum):
    """A kind of hands-on work that somebody can do or not."""

    SCALE = "scale"
    MIX = "mix"
    FOLD = "fold"
    MOVE = "move"
    DIVIDE = "divide"
    LOAD = "load"
    FEED = "feed"
    POUR = "pour"
    SOAK = "soak"


@dataclass(frozen=True, slots=True)
class BreakRule:
    """A break that is due when somebody works for long.

    Attributes
    ----------
    over_min
        Whoever works longer than this has the break; nobody works for longer without one [min].
    break_min
        How long it lasts [min].
    """

    over_min: int
    break_min: int

    def __post_init__(self) -> None:
        check_within("over_min", self.over_min, 30, 1440, "min")
        check_within("break_min", self.break_min, 1, 240, "min")
        if self.break_min >= self.over_min:
            raise refuse(
                "break_min",
                self.break_min,
                "the break is as long as the work before it",
                "enter a shorter break, or longer work",
            )

"""A number with its band, and whether it was entered, learned or assumed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.errors import check_finite, refuse


class Origin(StrEnum):
    """Where a number comes from."""

    ENTERED = "entered"
    ASSUMED = "assumed"
    MEASURED = "measured"
    LEARNED = "learned"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with its standard deviation.

    Attributes
    ----------
    value
        The number, in the unit of the field that holds it.
    sd
        One standard deviation, same unit.
    origin
        Entered, assumed, measured or learned. Only assumed numbers are marked in a plan.
    basis
        For an assumed number, where the default comes from.
    """

    value: float
    sd: float = 0.0
    origin: Origin = Origin.ENTERED
    basis: str = ""

    def __post_init__(self) -> None:
        check_finite("value", self.value)
        check_finite("sd", self.sd)
        if self.sd < 0:
            raise refuse("sd", self.sd, "is negative", "enter zero or a positive number")

    @property
    def is_assumed(self) -> bool:
        """Whether the number is a default that nobody entered."""
        return self.origin is Origin.ASSUMED

    @classmethod
    def entered_or(cls, entered: float | None, default: float, sd: float, basis: str) -> Estimate:
        """Return what was entered, or the default marked as assumed.

        Examples
        --------
        >>> Estimate.entered_or(None, 4.0, 1.0, "usual cold room").is_assumed
        True
        >>> Estimate.entered_or(6.0, 4.0, 1.0, "usual cold room").value
        6.0
        """
        if entered is None:
            return cls(default, sd, Origin.ASSUMED, basis)
        return cls(entered)

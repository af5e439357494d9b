"""The baker's own sum for the water, as it is entered: which convention, which number.

Two conventions lie a factor of the number of terms apart, and sources rarely say which they mean.
So no number stands here without its convention.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from planner.errors import OutOfRangeError, check_within, refuse


class SumKind(StrEnum):
    """What the baker's number is."""

    FRICTION = "friction in the sum"
    RISE = "rise of the dough"
    BASE = "base temperature"
    TWO_TERMS = "friction of two terms"


LIMITS: dict[SumKind, tuple[float, float, str, str]] = {
    SumKind.FRICTION: (
        -5.0,
        36.0,
        "K",
        "enter it in °C (a friction in °F divided by 1.8), or say that it is the rise of the dough",
    ),
    SumKind.RISE: (
        -2.0,
        20.0,
        "K",
        "enter what the dough itself gains, or say that it is the friction in the sum",
    ),
    SumKind.BASE: (
        24.0,
        100.0,
        "°C",
        "enter room, flour and water together, such as 60; a smaller number is a friction",
    ),
    SumKind.TWO_TERMS: (-5.0, 30.0, "K", "enter degrees Celsius taken off twice the dough"),
}
"""Between what a number of each convention lies in practice (trade texts), and what to do else."""


@dataclass(frozen=True, slots=True)
class HandSum:
    """A baker's own sum.

    Attributes
    ----------
    kind
        The convention: asked for, never guessed.
    value
        The number: a difference [K], or the base temperature [°C].
    part_id
        The preferment or scald that is a term of the sum; empty for flour and room alone.
    """

    kind: SumKind
    value: float
    part_id: str = ""

    def __post_init__(self) -> None:
        low, high, unit, remedy = LIMITS[self.kind]
        check_within("value", self.value, -1000, 1000, unit)
        if not low <= self.value <= high:
            raise refuse(
                "value",
                self.value,
                f"is no usual {self.kind}: {low:g} to {high:g} {unit}",
                remedy,
            )
        if self.part_id and self.kind is SumKind.TWO_TERMS:
            raise refuse("part", self.part_id, "is no term of a sum of flour alone", "leave it out")

    @property
    def terms(self) -> int:
        """Temperatures in the sum, the water's included."""
        if self.kind is SumKind.TWO_TERMS:
            return 2
        return 4 if self.part_id else 3


def converted(own: HandSum, kind: SumKind, dough_c: float) -> HandSum:
    """Return the same sum in another convention, for one desired dough temperature.

    Parameters
    ----------
    own
        A sum with its convention.
    kind
        The convention wanted.
    dough_c
        Desired dough temperature, which a base temperature contains [°C].

    Raises
    ------
    OutOfRangeError
        If one of the two is a sum of flour alone: it has another term less.
    InputError
        If the result is no usual number of its convention.

    Notes
    -----
    Of ``n`` terms: ``friction = n rise`` and ``base = n DDT - friction``.

    Examples
    --------
    >>> converted(HandSum(SumKind.RISE, 6.0), SumKind.FRICTION, 25.0).value
    18.0
    >>> converted(HandSum(SumKind.BASE, 58.0), SumKind.RISE, 25.0).value
    5.666666666666667
    """
    if SumKind.TWO_TERMS in (own.kind, kind) and own.kind is not kind:
        raise OutOfRangeError("converted: a sum of flour alone has no twin with the room in it")
    n, friction_k = own.terms, friction_in_sum_k(own, dough_c)
    value = {
        SumKind.FRICTION: friction_k,
        SumKind.RISE: friction_k / n,
        SumKind.BASE: n * dough_c - friction_k,
        SumKind.TWO_TERMS: friction_k,
    }[kind]
    return HandSum(kind, value, own.part_id)


def friction_in_sum_k(own: HandSum, dough_c: float) -> float:
    """Return what a baker's own sum takes off once for friction, for one dough temperature [K].

    Examples
    --------
    >>> friction_in_sum_k(HandSum(SumKind.RISE, 6.0), 25.0)
    18.0
    >>> friction_in_sum_k(HandSum(SumKind.BASE, 57.0), 25.0)
    18.0
    """
    if own.kind is SumKind.RISE:
        return own.terms * own.value
    return own.terms * dough_c - own.value if own.kind is SumKind.BASE else own.value


def water_by_sum_c(
    own: HandSum, dough_c: float, flour_c: float, others_c: Sequence[float]
) -> float:
    """Return the water of a baker's own sum [°C].

    Parameters
    ----------
    own
        The sum.
    dough_c, flour_c
        Desired dough and flour [°C].
    others_c
        Room and, for a sum with a part, the part [°C]; left out of account by a sum of two terms.

    Examples
    --------
    >>> water_by_sum_c(HandSum(SumKind.BASE, 60.0), 24.0, 20.0, [22.0])
    18.0
    """
    if own.kind is SumKind.BASE:
        return own.value - flour_c - sum(others_c)
    counted_c = 0.0 if own.kind is SumKind.TWO_TERMS else sum(others_c)
    return own.terms * dough_c - flour_c - counted_c - friction_in_sum_k(own, dough_c)

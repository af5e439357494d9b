"""The errors of the core, and the checks that raise them.

OvenwardError
├── InputError           what was entered cannot be right; carries every fault found
├── OutOfRangeError      a physics function was asked for something impossible
└── NotConvergedError    an iteration did not settle; names the function

A fault names the field, the value and the remedy, so that whoever typed it can mend it
without reading this source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass


class OvenwardError(Exception):
    """Base of every error the core raises on purpose."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input.

    Attributes
    ----------
    field
        Path of the field, such as ``formulas.rye.lines[2].percent``.
    value
        What was entered, as text.
    problem
        What is wrong with it, in plain words, without a full stop.
    remedy
        What to enter instead, in plain words, without a full stop.
    """

    field: str
    value: str
    problem: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.field}: {self.problem} (got {self.value}); {self.remedy}."

    def under(self, prefix: str) -> Fault:
        """Return the same fault with its field placed below ``prefix``."""
        joined = f"{prefix}{self.field}" if self.field.startswith("[") else f"{prefix}.{self.field}"
        return Fault(joined, self.value, self.problem, self.remedy)


class InputError(OvenwardError):
    """What was entered cannot be right.

    Attributes
    ----------
    faults
        Every fault found, in the order of the input.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class OutOfRangeError(OvenwardError, ValueError):
    """A physics function was asked for something that cannot be."""


class NotConvergedError(OvenwardError):
    """An iteration did not settle within its bound."""


LARGEST = 1e15
"""No quantity of a bakery is larger; a whole number beyond it does not even fit a float."""


def refuse(field: str, value: object, problem: str, remedy: str) -> InputError:
    """Build the `InputError` of a single fault."""
    return InputError([Fault(field, repr(value), problem, remedy)])


def no_such(field: str, value: str, what: str, known: Iterable[str]) -> Fault:
    """Return the fault of a name that nothing has."""
    choices = ", ".join(sorted(known)) or "none"
    return Fault(field, repr(value), f"no such {what}", f"use one of: {choices}")


def check_finite(field: str, value: float) -> None:
    """Refuse NaN and infinities.

    Raises
    ------
    InputError
        If ``value`` is not a finite number.
    """
    if abs(value) > LARGEST or not math.isfinite(value):
        raise refuse(field, value, "is not a finite number", "enter a plain number")


def check_within(field: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuse a number outside ``low`` to ``high`` (both allowed).

    Raises
    ------
    InputError
        If ``value`` is not finite or lies outside.
    """
    check_finite(field, value)
    if not low <= value <= high:
        remedy = f"enter {low:.10g} to {high:.10g} {unit}"
        if value > high and low <= value / 10 <= high:
            # 245 for 24.5: asked back, never guessed.
            remedy += f", such as {value / 10:.10g} if that was meant"
        raise refuse(field, value, "is out of range", remedy)


def check_positive(field: str, value: float, unit: str) -> None:
    """Refuse zero, negative and non-finite numbers.

    Raises
    ------
    InputError
        If ``value`` is not finite and above zero.
    """
    check_finite(field, value)
    if value <= 0:
        raise refuse(field, value, "must be above zero", f"enter a positive number of {unit}")


def check_name(field: str, value: str) -> None:
    """Refuse an empty name or id.

    Raises
    ------
    InputError
        If ``value`` is empty or blank.
    """
    if not value.strip():
        raise refuse(field, value, "is empty", "enter a name")

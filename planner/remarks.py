"""Sentences of a plan: reasons, cautions, unmet wishes, levers.

A remark keeps its figures apart from its words, so that the edges can show them in the
bakery's units and clock time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from planner.quantities import Unit


class RemarkKind(StrEnum):
    """What a remark is for."""

    REASON = "reason"
    CAUTION = "caution"
    UNMET = "unmet wish"
    LEVER = "lever"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Figure:
    """A number, moment or word inside a remark.

    Attributes
    ----------
    name
        The placeholder it fills, such as ``oven_free``.
    value
        A number in ``unit``, a moment in UTC, or a word.
    """

    name: str
    value: float | datetime | str
    unit: Unit


@dataclass(frozen=True, slots=True)
class Remark:
    """A sentence with placeholders, and what it is about.

    Attributes
    ----------
    code
        Stable short name, such as ``oven_full``.
    text
        Plain words with ``{name}`` placeholders, one per figure.
    subject
        Id of the mix or preparation it is about; empty for the whole plan.
    """

    kind: RemarkKind
    code: str
    text: str
    figures: tuple[Figure, ...] = ()
    subject: str = ""


def temperature(name: str, value_c: float) -> Figure:
    """Return a temperature figure [°C]."""
    return Figure(name, value_c, Unit.CELSIUS)


def difference(name: str, value_k: float) -> Figure:
    """Return a temperature difference figure [K]."""
    return Figure(name, value_k, Unit.KELVIN)


def mass(name: str, value_kg: float) -> Figure:
    """Return a mass figure [kg]."""
    return Figure(name, value_kg, Unit.KG)


def minutes(name: str, value_min: float) -> Figure:
    """Return a duration figure [min]."""
    return Figure(name, value_min, Unit.MINUTES)


def moment(name: str, value: datetime) -> Figure:
    """Return a moment figure [UTC]."""
    return Figure(name, value, Unit.TIME)


def word(name: str, value: str) -> Figure:
    """Return a word figure."""
    return Figure(name, value, Unit.TEXT)


def percent(name: str, value: float) -> Figure:
    """Return a percentage figure [%]."""
    return Figure(name, value, Unit.PERCENT)

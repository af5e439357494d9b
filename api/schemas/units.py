"""Units at the edge: other units become SI, and nothing is guessed.

A field's name carries its unit. Where a field of a temperature ends in ``_c``, ``_f`` is read
too; ``_kg`` may be written ``_lb``, ``_oz`` or ``_g``, and ``_k``, a difference, as
``_f_difference``. Numbers given as text may have a decimal comma.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pydantic_core import PydanticCustomError

from planner.quantities import (
    celsius_from_fahrenheit,
    kelvin_from_fahrenheit_difference,
    kg_from_lb,
    kg_from_oz,
)

Convert = Callable[[float], float]

GRAMS_PER_KG = 1000

LONGEST_SHOWN = 60
"""Characters of a value that a sentence shows at most."""

OTHER_UNITS: dict[str, dict[str, Convert]] = {
    "kg_per_h": {"lb_per_h": kg_from_lb},
    "kg": {"lb": kg_from_lb, "oz": kg_from_oz, "g": lambda mass_g: mass_g / GRAMS_PER_KG},
    "c": {"f": celsius_from_fahrenheit},
    "k": {"f_difference": kelvin_from_fahrenheit_difference},
}
"""Per unit of a field: the other units that are read, and how they become it."""

PLAIN_UNITS = ("percent", "fraction", "min", "h", "m")
"""Units of fields that have no other way to be written."""

_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_GROUPS_OF_THREE = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")


def wrong(key: str, value: object, problem: str, remedy: str) -> PydanticCustomError:
    """Return the error of one field in a baker's words.

    Parameters
    ----------
    key
        Field of the entry that is checked; empty when the error stands at the field itself.
    """
    return PydanticCustomError(
        "fault",
        "{problem}; {remedy}",
        {"key": key, "value": shown(value), "problem": problem, "remedy": remedy},
    )


def shown(value: object) -> str:
    """Return a value as it is told to whoever wrote it.

    Examples
    --------
    >>> shown(None), shown(True), shown("warm")
    ('nothing', 'true', "'warm'")
    """
    if value is None or value in ((), [], ""):
        return "nothing"
    text = repr(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 3]}..."


def number_from(value: object) -> object:
    """Return the number that a text with a decimal comma or point stands for.

    What is no text and no truth value comes back as it is.

    Raises
    ------
    PydanticCustomError
        If the text can be read in two ways, or is no number.

    Examples
    --------
    >>> number_from("24,5")
    24.5
    >>> number_from(24.5)
    24.5
    """
    if isinstance(value, bool):
        raise wrong("", value, "is not a number", "enter a plain number")
    if not isinstance(value, str):
        return value
    text = value.strip()
    if ("," in text and "." in text) or _GROUPS_OF_THREE.fullmatch(text):
        raise wrong(
            "",
            value,
            "can be read as two different numbers",
            "write it without a sign for thousands, such as 1234.5",
        )
    if _DECIMAL_COMMA.fullmatch(text):
        text = text.replace(",", ".")
    try:
        return float(text)
    except ValueError:
        raise wrong("", value, "is not a number", "enter a plain number such as 24.5") from None


def whole_number_from(value: object) -> object:
    """Return the whole number that a text stands for; other values as they are."""
    number = number_from(value)
    if isinstance(value, str) and isinstance(number, float) and number.is_integer():
        return int(number)
    return number


@dataclass
class Rewritten:
    """An entry with all its keys in SI.

    Attributes
    ----------
    data
        The entry, ready to be checked.
    written_as
        The key that was written, by the key it became.
    wrongs
        What is wrong with keys: key, value and error.
    """

    data: dict[str, Any] = field(default_factory=dict)
    written_as: dict[str, str] = field(default_factory=dict)
    wrongs: list[tuple[str, Any, PydanticCustomError]] = field(default_factory=list)


def in_si(fields: Collection[str], entry: Mapping[str, Any]) -> Rewritten:
    """Return an entry with keys of other units turned into the fields' own.

    Parameters
    ----------
    fields
        Names of the fields the entry may have.
    entry
        What was written.
    """
    others = other_keys(fields)
    result = Rewritten()
    for key, value in entry.items():
        if key in fields or key not in others:
            _keep(result, fields, key, value)
            continue
        si_key, convert = others[key]
        if si_key in entry or si_key in result.data:
            first = result.written_as.get(si_key, si_key)
            error = wrong("", value, f"says the same as {first}", "write only one of the two")
            result.wrongs.append((key, value, error))
            continue
        result.data[si_key] = _converted(value, convert)
        result.written_as[si_key] = key
    return result


def _keep(result: Rewritten, fields: Collection[str], key: str, value: object) -> None:
    meant = None if key in fields else field_without_unit(fields, key)
    if meant is None:
        result.data[key] = value
        return
    ways = " or ".join([meant, *(k for k, (si, _) in other_keys(fields).items() if si == meant)])
    problem = "has no unit in its name" if key == _stem(meant) else "has a unit that is not known"
    result.wrongs.append((key, value, wrong("", value, problem, f"write {ways}")))
    # The field itself is then not also missing: its value is unknown, and said to be so once.
    result.written_as[meant] = key


def other_keys(fields: Collection[str]) -> dict[str, tuple[str, Convert]]:
    """Return the keys in other units, each with the field it stands for and its conversion.

    Examples
    --------
    >>> sorted(other_keys(["dough_c", "piece_kg", "rise_k"]))
    ['dough_f', 'piece_g', 'piece_lb', 'piece_oz', 'rise_f_difference']
    """
    return {
        (f"{_stem(name)}_{other}"): (name, convert)
        for name in fields
        for other, convert in OTHER_UNITS.get(_unit(name) or "", {}).items()
    }


def field_without_unit(fields: Collection[str], key: str) -> str | None:
    """Return the field that a key means but for its unit, or None.

    Examples
    --------
    >>> field_without_unit(["max_dough_kg", "name"], "max_dough_stone")
    'max_dough_kg'
    """
    fitting = [
        name
        for name in fields
        if _unit(name) and (key == _stem(name) or key.rpartition("_")[0] == _stem(name))
    ]
    return fitting[0] if fitting else None


def _unit(name: str) -> str | None:
    units = (*OTHER_UNITS, *PLAIN_UNITS)
    fits = [u for u in units if name.endswith(f"_{u}") and not name.endswith(f"_per_{u}")]
    return max(fits, key=len) if fits else None


def _stem(name: str) -> str:
    return name.removesuffix(f"_{_unit(name)}")


def _converted(value: object, convert: Convert) -> object:
    """Convert numbers, also those in a list or table; anything else is left to be refused."""
    if isinstance(value, Mapping):
        return {key: _converted(one, convert) for key, one in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_converted(one, convert) for one in value]
    try:
        number = number_from(value)
    except PydanticCustomError:
        return value
    return convert(number) if isinstance(number, int | float) else value

"""Cells of forms: what is asked, in whose units, with what stands there and what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.office.forms import STEP, Typed
from api.pages.wording import Units
from api.pages.words import Words
from planner.quantities import (
    fahrenheit_difference_from_kelvin,
    fahrenheit_from_celsius,
    lb_from_kg,
)

US_FORMS: dict[str, tuple[str, Callable[[float], float]]] = {
    "_kg_per_h": ("_lb_per_h", lb_from_kg),
    "_kg": ("_lb", lb_from_kg),
    "_c": ("_f", fahrenheit_from_celsius),
    "_k": ("_f_difference", fahrenheit_difference_from_kelvin),
}
"""How a field is asked for in US units: the end of its name, and its stored value."""

UNIT_WORDS = {
    "_kg_per_h": ("kg/h", "lb/h"),
    "_kg": ("kg", "lb"),
    "_c": ("°C", "°F"),
    "_k": ("°C", "°F"),
    "_min": ("min", "min"),
    "_h": ("h", "h"),
    "_m": ("m", "m"),
    "percent": ("%", "%"),
    "minutes": ("min", "min"),
}
BLANK_ROWS = 1
"""Empty rows below those that are filled."""


def say(text: str) -> str:
    """Mark a word for the catalogue; it is said when the page is made."""
    return text


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing that a form asks for.

    Attributes
    ----------
    key
        Path of the field below its entry.
    label
        What is asked.
    kind
        ``text``, ``number``, ``time``, ``choice``, ``check`` or ``hidden``.
    choices
        Values and what they are called.
    assumed
        What is taken when it is left empty.
    hint
        One more sentence under it.
    """

    key: str
    label: str
    kind: str = "text"
    choices: tuple[tuple[str, str], ...] = ()
    assumed: str = ""
    hint: str = ""
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """An input, ready to be drawn."""

    name: str
    label: str
    kind: str
    value: str
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    errors: tuple[str, ...] = ()
    assumed: str = ""
    hint: str = ""
    wide: bool = False

    @property
    def id(self) -> str:
        """Its id in the page."""
        return "f-" + "".join(c if c.isalnum() else "-" for c in self.name)


@dataclass(frozen=True, slots=True)
class Grid:
    """A list of entries as a table: a row for each, and an empty one."""

    name: str
    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    blank: tuple[Cell, ...]
    add: str
    errors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asking:
    """Makes cells of what is asked.

    Attributes
    ----------
    typed
        What stands in the form.
    say, units
        Words and units of whoever reads it.
    """

    typed: Typed
    say: Words
    units: Units

    def cell(self, ask: Ask, prefix: str = "") -> Cell:
        """Return the input of one thing."""
        key, convert = _written(ask.key, self.units)
        si_name = f"{prefix}.{ask.key}" if prefix else ask.key
        name = f"{prefix}.{key}" if prefix else key
        return Cell(
            name,
            self.say(ask.label),
            ask.kind,
            self._value(name, si_name, convert),
            unit_of(ask.key, self.units) if ask.kind != "choice" else "",
            tuple((value, self.say(label)) for value, label in ask.choices),
            (*self.typed.errors.get(name, ()), *self._other_errors(name, si_name)),
            ask.assumed,
            self.say(ask.hint),
            ask.wide,
        )

    def cells(self, asks: Sequence[Ask], prefix: str = "") -> tuple[Cell, ...]:
        """Return the inputs of some things."""
        return tuple(self.cell(ask, prefix) for ask in asks)

    def grid(self, name: str, caption: str, asks: Sequence[Ask], add: str) -> Grid:
        """Return the table of a list of entries."""
        entries = at(self.typed.document, name)
        count = len(entries) if isinstance(entries, list) else 0
        told = [ask for ask in asks if ask.kind != "hidden"]
        heads = [
            f"{self.say(ask.label)} {unit_of(ask.key, self.units)}".strip()
            if ask.kind != "choice"
            else self.say(ask.label)
            for ask in told
        ]
        return Grid(
            name,
            self.say(caption),
            tuple(heads),
            tuple(self.cells(asks, f"{name}[{i}]") for i in range(count + BLANK_ROWS)),
            self.cells(asks, f"{name}[999]"),
            self.say(add),
            self.typed.errors.get(name, ()),
        )

    def _value(self, name: str, si_name: str, convert: Callable[[float], float] | None) -> str:
        written = at(self.typed.document, name)
        if written is not None:
            return plain(written)
        stored = at(self.typed.document, si_name)
        if convert is not None and isinstance(stored, int | float):
            return plain(round(convert(stored), 4))
        return plain(stored)

    def _other_errors(self, name: str, si_name: str) -> tuple[str, ...]:
        return self.typed.errors.get(si_name, ()) if si_name != name else ()


def left_over(typed: Typed, shown: Sequence[Cell], grids: Sequence[Grid] = ()) -> tuple[str, ...]:
    """Return the faults that no input shows, with their paths, so that none is lost."""
    cells = [*shown, *(cell for grid in grids for row in grid.rows for cell in row)]
    names = {cell.name for cell in cells if cell.errors} | {grid.name for grid in grids}
    told = {text for cell in cells for text in cell.errors}
    return tuple(
        f"{name}: {text}"
        for name, texts in typed.errors.items()
        for text in texts
        if name not in names and text not in told
    )


def at(document: object, path: str) -> Any:  # noqa: ANN401  whatever stands there
    """Return what stands at a path of a document, or None."""
    node = document
    for index, key in STEP.findall(path):
        if index and isinstance(node, list):
            node = node[int(index)] if int(index) < len(node) else None
        else:
            node = node.get(int(index) if index else key) if isinstance(node, Mapping) else None
    return node


def plain(value: object) -> str:
    """Return a stored value as one would type it.

    Examples
    --------
    >>> plain(24.0), plain(0.85), plain(None), plain([30, 60]), plain(True)
    ('24', '0.85', '', '30 60', 'yes')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, int | float):
        return f"{value:.6g}"
    if isinstance(value, list):
        return " ".join(plain(one) for one in value)
    return str(value)


def _written(key: str, units: Units) -> tuple[str, Callable[[float], float] | None]:
    """Return the name under which a field is asked for, and how its stored value becomes it.

    Of a table of values, such as ``water_c.tap``, the first step carries the unit.
    """
    if units is Units.METRIC:
        return key, None
    head, dot, tail = key.partition(".") if key.partition(".")[0].endswith("_c") else (key, "", "")
    for si_end, (us_end, convert) in US_FORMS.items():
        if head.endswith(si_end):
            return f"{head.removesuffix(si_end)}{us_end}{dot}{tail}", convert
    return key, None


def unit_of(key: str, units: Units) -> str:
    """Return the unit that stands beside a field.

    Examples
    --------
    >>> unit_of("max_dough_kg", Units.METRIC), unit_of("band_k", Units.US)
    ('kg', '°F')
    """
    head = key.partition(".")[0] if key.partition(".")[0].endswith("_c") else key
    for end, (metric, us) in UNIT_WORDS.items():
        if head.endswith(end):
            return us if units is Units.US else metric
    return ""


def keys_of(asks: Iterable[Ask]) -> frozenset[str]:
    """Return every step of the paths that some asks have, in either units.

    Examples
    --------
    >>> sorted(keys_of([Ask("ice.bin_kg", "")]))
    ['bin_kg', 'bin_lb', 'ice']
    """
    steps: set[str] = set()
    for ask in asks:
        for units in Units:
            steps |= set(_written(ask.key, units)[0].split("."))
    return frozenset(steps)

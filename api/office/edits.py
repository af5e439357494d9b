"""Two people at one form: what differs between what is stored now and what was typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from api.office.cells import plain

MOST_LINES = 40


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that differs."""

    what: str
    theirs: str
    yours: str


@dataclass(frozen=True, slots=True)
class Clash:
    """Somebody else stored something since the form was opened.

    Attributes
    ----------
    lines
        What differs, field by field.
    again
        Where the form is opened anew.
    """

    lines: tuple[Difference, ...]
    again: str


def clash_of(stored: object, typed: object, again: str) -> Clash:
    """Return what differs between what is stored now and what was typed.

    Examples
    --------
    >>> clash_of({"percent": 62.0}, {"percent": "65"}, "/again").lines
    (Difference(what='percent', theirs='62', yours='65'),)
    """
    theirs, yours = dict(_leaves(stored, "")), dict(_leaves(typed, ""))
    names = [*theirs, *(name for name in yours if name not in theirs)]
    lines = [
        Difference(name, theirs.get(name, ""), yours.get(name, ""))
        for name in names
        if theirs.get(name, "") != yours.get(name, "")
    ]
    return Clash(tuple(lines[:MOST_LINES]), again)


def _leaves(node: object, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(node, dict):
        for key, one in node.items():
            yield from _leaves(one, f"{path}.{key}" if path else str(key))
    elif isinstance(node, list) and any(isinstance(one, dict) for one in node):
        for i, one in enumerate(node):
            yield from _leaves(one, f"{path}[{i}]")
    else:
        yield path, _text(node)


def _text(value: object) -> str:
    text = plain(value)
    try:
        return plain(float(text.replace(",", ".")))
    except ValueError:
        return text

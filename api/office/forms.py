"""Forms as documents: the name of an input is the path of its field, so a fault finds its cell.

A form's ``lines[2].percent`` is the third line's percent of the document that is checked; what a
check finds wrong carries the same path, and is shown at the input of that name.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from api.files.faults import entry_name
from planner.errors import Fault

STEP = re.compile(r"\[([0-9]{1,6})\]|([^.\[\]]+)")
MOST_STEPS = 12
"""Steps of an input's name; what has more is none of ours."""
MOST_ROWS = 2000
"""Rows of a list that a form may have; a page shows far fewer."""

Pairs = Iterable[tuple[str, str]]
Document = dict[str, Any]


def version_of(document: object) -> str:
    """Return a short mark of a document that changes whenever anything in it does.

    Examples
    --------
    >>> version_of({"a": 1, "b": 2}) == version_of({"b": 2, "a": 1})
    True
    """
    text = json.dumps(document, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def document_of_form(pairs: Pairs, *, closed_up: bool = True) -> Document:
    """Return what was typed as a document; what was left empty is left out.

    Parameters
    ----------
    pairs
        Names and values of the inputs, in the order of the form.
    closed_up
        Whether lists are lists, empty rows closed up; else tables by index.

    Examples
    --------
    >>> document_of_form([("name", "Rye"), ("lines[0].percent", "60"), ("lines[1].percent", "")])
    {'name': 'Rye', 'lines': [{'percent': '60'}]}
    """
    tree: Document = {}
    for name, value in pairs:
        steps = [int(i) if i else key for i, key in STEP.findall(name)]
        if 0 < len(steps) <= MOST_STEPS and isinstance(steps[0], str) and value.strip():
            _put(tree, steps, value.strip())
    found = _compact(tree) if closed_up else tree
    return found if isinstance(found, dict) else {}


def _put(tree: Document, steps: Sequence[int | str], value: str) -> None:
    node: dict[Any, Any] = tree
    for step in steps[:-1]:
        below = node.setdefault(step, {})
        if not isinstance(below, dict):
            return
        node = below
    node[steps[-1]] = value


def _compact(node: object) -> object:
    """Turn what is keyed by numbers into lists, gaps closed up."""
    if not isinstance(node, dict):
        return node
    filled = {key: _compact(one) for key, one in node.items()}
    if filled and all(isinstance(key, int) for key in filled):
        rows = [filled[key] for key in sorted(filled)]
        return [row for row in rows if not isinstance(row, dict) or set(row) - {"id"}][:MOST_ROWS]
    return filled


def typed_rows(document: Document, name: str) -> list[Document]:
    """Return the rows of a list that was typed; what is no row is no part of it.

    Examples
    --------
    >>> typed_rows({"parts": [{"kind": "scald"}, "x"]}, "parts")
    [{'kind': 'scald'}]
    >>> typed_rows({"parts": "x"}, "parts")
    []
    """
    rows = document.get(name)
    return [one for one in rows if isinstance(one, dict)] if isinstance(rows, list) else []


@dataclass(frozen=True, slots=True)
class Typed:
    """What a form shows: a document, what is wrong in it, and what it was made from.

    Attributes
    ----------
    document
        As typed, or as stored.
    errors
        Sentences by the name of the input they belong to.
    general
        Sentences that belong to no input.
    seen
        Mark of the stored document that the page was made from.
    """

    document: Document
    errors: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    general: tuple[str, ...] = ()
    seen: str = ""

    @property
    def is_wrong(self) -> bool:
        """Whether anything is wrong."""
        return bool(self.errors or self.general)


def with_faults(
    typed: Document,
    faults: Iterable[Fault],
    seen: str,
    ids: Mapping[str, Sequence[str]] | None = None,
) -> Typed:
    """Return a typed document with its faults at their inputs.

    Parameters
    ----------
    typed
        What was typed.
    faults
        What is wrong, by the paths of a day file.
    ids
        Ids of the entries of a list, where their own fields do not tell.
    """
    errors: dict[str, tuple[str, ...]] = {}
    for fault in faults:
        name = input_name(fault.field, typed, ids or {})
        errors[name] = (*errors.get(name, ()), f"{fault.problem}; {fault.remedy}.")
    return Typed(typed, errors, (), seen)


def input_name(path: str, document: object, ids: Mapping[str, Sequence[str]]) -> str:
    """Return the name of the input that a fault's path means.

    Examples
    --------
    >>> input_name("mixers.large_spiral.max_dough_kg", {"mixers": [{"name": "Large spiral"}]}, {})
    'mixers[0].max_dough_kg'
    """
    name, node, last = "", document, ""
    for index, key in STEP.findall(path):
        place = int(index) if index else key
        if isinstance(node, list) and isinstance(place, str):
            known = ids.get(last) or [entry_name(one) for one in node]
            place = known.index(place) if place in known else place
        name += f"[{place}]" if isinstance(place, int) else f".{place}" if name else str(place)
        last = place if isinstance(place, str) else last
        node = _below(node, place)
    return name


def _below(node: object, place: int | str) -> object:
    if isinstance(node, dict):
        return node.get(place)
    if isinstance(node, list) and isinstance(place, int) and place < len(node):
        return node[place]
    return None


def overlaid(stored: object, typed: object) -> object:
    """Return a stored entry with what was typed over it, for forms that show not every field.

    Parameters
    ----------
    stored, typed
        Entries; of lists, those at the same place belong together.
    """
    if isinstance(stored, dict) and isinstance(typed, dict):
        kept = {key: one for key, one in stored.items() if key not in typed}
        return {**kept, **{key: overlaid(stored.get(key), one) for key, one in typed.items()}}
    if isinstance(stored, list) and isinstance(typed, dict):
        return [overlaid(one, typed[i]) if i in typed else one for i, one in enumerate(stored)]
    if isinstance(stored, list) and isinstance(typed, list):
        pairs = [stored[i] if i < len(stored) else None for i in range(len(typed))]
        return [overlaid(old, new) for old, new in zip(pairs, typed, strict=True)]
    return typed


def with_hidden(stored: object, typed: object, shown: frozenset[str]) -> object:
    """Return what was typed with those fields of the stored entry that the form does not show.

    Parameters
    ----------
    stored, typed
        Entries; rows of a list belong together by what they are called.
    shown
        Every step of the paths that the form asks for: what is empty there was emptied.
    """
    if isinstance(typed, list) and isinstance(stored, list):
        waiting = list(stored)
        return [with_hidden(_taken(waiting, one), one, shown) for one in typed]
    if isinstance(typed, dict) and isinstance(stored, dict):
        kept = {key: one for key, one in stored.items() if key not in shown}
        own = {key: with_hidden(stored.get(key), one, shown) for key, one in typed.items()}
        return {**kept, **own}
    return typed


def _taken(waiting: list[object], typed: object) -> object:
    """Return the first entry called like the typed one, which is then no longer waiting."""
    for i, one in enumerate(waiting):
        if isinstance(one, dict) and _called(one) == _called(typed):
            return waiting.pop(i)
    return None


def _called(entry: object) -> tuple[str, ...]:
    if not isinstance(entry, dict):
        return ()
    names = ("id", "name", "kind", "material", "speed", "product", "formula", "person")
    told = next((str(entry[name]) for name in names if entry.get(name)), "")
    return (told.casefold(), str(entry.get("material", "")).casefold())


def hidden_kept(stored: Document, typed: Document, shown: frozenset[str]) -> Document:
    """Return what was typed with what the form does not show of what is stored.

    Examples
    --------
    >>> hidden_kept({"name": "tin", "exponent": 1.1}, {"name": "Tin"}, frozenset({"name"}))
    {'exponent': 1.1, 'name': 'Tin'}
    """
    merged = with_hidden(stored, typed, shown)
    return merged if isinstance(merged, dict) else typed

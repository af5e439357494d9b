"""Faults of files and requests: where, what was written, what to write instead."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from api.schemas.base import slug
from api.schemas.sentences import sentence
from api.schemas.units import shown
from planner.errors import Fault

KINDS_OF_ENTRIES = frozenset({"order", "ready mix", "preferment", "scald", "soaker"})
"""Words that the checking library puts into a path to tell sorts of entries apart."""

WHERE_IT_CAME_FROM = frozenset({"body", "query", "path", "header"})
"""Words that the web framework puts before a path."""

SECRETS = frozenset({"password", "key", "code"})
"""Fields whose value is never said again."""
KEPT_BACK = "…"

Location = Sequence[str | int]


def faults_of_validation(error: ValidationError, data: object = None) -> list[Fault]:
    """Return every fault that checking an entry found.

    Parameters
    ----------
    error
        What was raised.
    data
        What was written: gives entries of lists their names in the paths.
    """
    return faults_of(error.errors(include_url=False), data)


def faults_of(errors: Iterable[ErrorDetails | dict[str, Any]], data: object = None) -> list[Fault]:
    """Return errors of the checking library as faults in plain words, in order.

    Parameters
    ----------
    errors
        As the library, or the web framework, lists them.
    data
        What was written: gives entries of lists their names in the paths.
    """
    return [_fault(error, data) for error in errors]


def _fault(error: ErrorDetails | dict[str, Any], data: object) -> Fault:
    context = error.get("ctx", {})
    location: list[str | int] = list(error["loc"])
    if error["type"] == "fault":
        if context.get("key"):
            location.append(context["key"])
        told = KEPT_BACK if SECRETS.intersection(location) else context["value"]
        return Fault(path(location, data), told, context["problem"], context["remedy"])
    problem, remedy = sentence(error, None, [])  # type: ignore[arg-type]
    value = None if error["type"] == "missing" else error.get("input")
    told = KEPT_BACK if SECRETS.intersection(location) else shown(value)
    return Fault(path(location, data), told, problem, remedy)


def path(location: Location, data: object = None) -> str:
    """Return a location as a path in the words of a day file.

    Examples
    --------
    >>> path(["formulas", 0, "lines", 2, "percent"], {"formulas": [{"name": "Rye"}]})
    'formulas.rye.lines[2].percent'
    >>> path(["formulas", 0, "lines", 2, "percent"])
    'formulas[0].lines[2].percent'
    """
    text = ""
    steps = list(location)
    if steps and steps[0] in WHERE_IT_CAME_FROM:
        steps = steps[1:]
    for step in steps:
        if step in KINDS_OF_ENTRIES:
            continue
        listed = isinstance(data, list)
        data = _below(data, step)
        if isinstance(step, str):
            text = f"{text}.{step}" if text else step
        elif name := entry_name(data):
            text = f"{text}.{name}"
        elif listed or data is None:
            text = f"{text}[{step}]"
    return text or "the whole entry"


def entry_name(entry: object) -> str:
    """Return the id of an entry as written, or its name or kind in short; else empty."""
    if not isinstance(entry, dict):
        return ""
    if isinstance(entry.get("id"), str) and entry["id"].strip():
        return str(entry["id"]).strip()
    name = entry.get("name") or entry.get("kind")
    # A line's name is only for the sheet: two lines may share it.
    return slug(name) if isinstance(name, str) and "material" not in entry else ""


def _below(data: object, step: str | int) -> object:
    if isinstance(data, dict) and isinstance(step, str):
        return data.get(step)
    if isinstance(data, list) and isinstance(step, int) and step < len(data):
        return data[step]
    # A single entry may stand where a list of them is wanted.
    return data if isinstance(data, dict) and isinstance(step, int) else None

"""Day files: one production day in TOML, readable by the baker and by the core."""

from __future__ import annotations

import re
import tomllib
from contextlib import suppress
from typing import Any

from pydantic import ValidationError

from api.files.faults import entry_name, faults_of_validation
from api.schemas.base import Faults, slug
from api.schemas.day import DayInput, PlanInput
from api.schemas.house import NOT_JUST_ONE
from planner.errors import Fault, InputError

_POSITION = re.compile(r"\(at (line \d+, column \d+|end of document)\)")

Location = tuple[str | int, ...]


def read_day(text: str) -> DayInput:
    """Return a day as it was entered.

    Parameters
    ----------
    text
        Contents of a day file.

    Raises
    ------
    InputError
        If it is not TOML, or an entry cannot be read.
    """
    data = parsed(text)
    try:
        return DayInput.model_validate(data)
    except ValidationError as error:
        raise InputError(faults_of_validation(error, data)) from None


def load(text: str) -> PlanInput:
    """Return the day, the conditions and the pins of a day file.

    Parameters
    ----------
    text
        Contents of a day file.

    Raises
    ------
    InputError
        With every fault of the file, not only the first.
    """
    return loaded(parsed(text))


def loaded(data: dict[str, Any]) -> PlanInput:
    """Return day, conditions and pins of a day given as plain data.

    Entries that cannot be read are set aside, so that what is wrong with the others is told in
    the same breath.

    Raises
    ------
    InputError
        With every fault.
    """
    faults = Faults()
    try:
        return DayInput.model_validate(data).to_core(faults)
    except ValidationError as error:
        faults.found.extend(faults_of_validation(error, data))
        _check_the_rest(data, error, faults)
        raise InputError(faults.found) from None


def parsed(text: str) -> dict[str, Any]:
    """Return a TOML text as plain data.

    Raises
    ------
    InputError
        If it is not TOML, with line and column.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        position = _POSITION.search(message)
        where = position[1] if position else "the file"
        found = _POSITION.sub("", message).strip()
        raise InputError(
            [
                Fault(
                    where,
                    _line_at(text, where),
                    f"is not written as TOML ({found[:1].lower()}{found[1:]})",
                    "look for a missing quote, bracket, comma or equals sign here or just before",
                )
            ]
        ) from None


def _line_at(text: str, where: str) -> str:
    number = re.match(r"line (\d+)", where)
    lines = text.splitlines() or [""]
    shown = lines[min(int(number[1]), len(lines)) - 1] if number else lines[-1]
    return repr(shown.strip()[:60])


def _check_the_rest(data: dict[str, Any], error: ValidationError, faults: Faults) -> None:
    """Add the faults of all that can be read when the unreadable entries are set aside."""
    bad = {loc for one in error.errors() if (loc := _entry_of(one["loc"], data))}
    kept, left_out = _without(data, bad)
    rest = Faults()
    # What stays unreadable without those entries has been told already.
    with suppress(ValidationError, InputError):
        DayInput.model_validate(kept).to_core(rest, left_out=frozenset(left_out))
    faults.found.extend(fault for fault in rest.found if not _only_follows(fault, left_out))


def _only_follows(fault: Fault, left_out: list[str]) -> bool:
    """Return whether something is missing only because an entry was set aside."""
    return (
        slug(fault.value.strip("'")) in left_out
        or fault.problem in {NOT_JUST_ONE, "is empty", "nobody works", "this room has no forecast"}
        or fault.remedy == "use one of: none"
    )


def _entry_of(location: Location, data: dict[str, Any]) -> Location:
    """Return the entry of a list that an error lies in; nothing when it is not inside one."""
    below: Any = data
    for depth, step in enumerate(location):
        if isinstance(step, int):
            return location[: depth + 1] if isinstance(below, list) else ()
        below = below.get(step) if isinstance(below, dict) else None
    return ()


def _without(data: dict[str, Any], bad: set[Location]) -> tuple[dict[str, Any], list[str]]:
    """Return the data without some entries of lists, and the ids of what was left out."""
    left_out: list[str] = []

    def copied(value: Any, at: Location) -> Any:  # noqa: ANN401  plain data of any shape
        if isinstance(value, dict):
            return {key: copied(one, (*at, key)) for key, one in value.items()}
        if not isinstance(value, list):
            return value
        left_out.extend(entry_name(one) for i, one in enumerate(value) if (*at, i) in bad)
        return [copied(one, (*at, i)) for i, one in enumerate(value) if (*at, i) not in bad]

    return copied(data, ()), left_out

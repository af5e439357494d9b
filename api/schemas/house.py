"""The house as other entries see it: what they may name, and what they may leave unnamed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar
from zoneinfo import ZoneInfo

from api.schemas.base import Faults, check_ids, found_id
from planner.errors import Fault, InputError

USUAL_ROOM_C = 24.0
"""Air temperature of a room of which nothing is known yet [°C] (our guess)."""

NOT_JUST_ONE = "is missing, and there is not just one"
"""Problem of a reference that may be left out only where there is no choice."""


class HasKey(Protocol):
    """An entry that has an id."""

    @property
    def key(self) -> str:
        """Its id."""


Listed = TypeVar("Listed", bound=HasKey)
Made = TypeVar("Made")


@dataclass(frozen=True)
class House:
    """What formulas, products and conditions must know of the bakery to be read.

    Attributes
    ----------
    zone
        The bakery's zone.
    rooms, chambers, ovens, flour_stores, vessels
        Ids.
    usual_c
        Usual air temperature by room and chamber id [°C].
    """

    zone: ZoneInfo = field(default_factory=lambda: ZoneInfo("UTC"))
    rooms: tuple[str, ...] = ()
    chambers: tuple[str, ...] = ()
    ovens: tuple[str, ...] = ()
    flour_stores: tuple[str, ...] = ()
    vessels: tuple[str, ...] = ()
    usual_c: dict[str, float] = field(default_factory=dict)

    @property
    def places(self) -> tuple[str, ...]:
        """Ids of rooms and chambers."""
        return (*self.rooms, *self.chambers)

    def place(self, named: str | None) -> str:
        """Return the id of a named place; of the only room when none is named.

        Raises
        ------
        InputError
            If none is named and there are several rooms.
        """
        return the_only("place", named, self.places, self.rooms)

    def oven_ids(self, named: Sequence[str]) -> tuple[str, ...]:
        """Return the ids of named ovens; of the only oven when none is named.

        Raises
        ------
        InputError
            If none is named and there are several ovens.
        """
        if named:
            return tuple(found_id(one, self.ovens) for one in named)
        return (the_only("ovens", None, self.ovens, self.ovens),)


def the_only(field_name: str, named: str | None, known: Sequence[str], few: Sequence[str]) -> str:
    """Return the id of what is named, or of the only one there is.

    Raises
    ------
    InputError
        If nothing is named and there is not exactly one.
    """
    if named:
        return found_id(named, known)
    if len(few) == 1:
        return few[0]
    choices = ", ".join(few) or "none"
    raise InputError([Fault(field_name, "nothing", NOT_JUST_ONE, f"use one of: {choices}")])


def all_of(
    faults: Faults,
    list_name: str,
    entries: Sequence[Listed],
    to_core: Callable[[Listed], Made],
) -> tuple[Made, ...]:
    """Return the core's values of all entries of a list that can be built, each id once.

    Parameters
    ----------
    faults
        Takes what is wrong, below the list's name and the entry's id.
    """
    check_ids(faults, list_name, [entry.key for entry in entries])
    first = {entry.key: entry for entry in reversed(entries)}
    made = {
        entry.key: faults.at(f"{list_name}.{entry.key}").build(to_core, entry)
        for entry in entries
        if first[entry.key] is entry
    }
    return tuple(one for one in made.values() if one is not None)


def ids_of(entries: Sequence[HasKey]) -> tuple[str, ...]:
    """Return the ids of some entries."""
    return tuple(entry.key for entry in entries)

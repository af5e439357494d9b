"""Pages of a list: where the last one ended, and how many rows the next one has."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from planner.errors import InputError, refuse

KeyPart = str | int | date
FIELD = "after"


@dataclass(frozen=True, slots=True)
class Page:
    """Which rows of a list are wanted.

    Attributes
    ----------
    limit
        At most so many.
    after
        Only what stands behind this key; from the beginning when None.
    """

    limit: int
    after: tuple[KeyPart, ...] | None = None

    @property
    def rows(self) -> int:
        """How many rows to ask for: one more tells whether another page follows."""
        return self.limit + 1


def cursor_of(key: Sequence[KeyPart]) -> str:
    """Return a key as a cursor, to be handed back and not to be read.

    Examples
    --------
    >>> key_of(cursor_of(["weir", date(2026, 7, 16), 3]), (str, date, int))
    ('weir', datetime.date(2026, 7, 16), 3)
    """
    parts = [one.isoformat() if isinstance(one, date) else one for one in key]
    written = json.dumps(parts, ensure_ascii=False, separators=(",", ":")).encode()
    return base64.urlsafe_b64encode(written).decode().rstrip("=")


def key_of(cursor: str, kinds: Sequence[type[KeyPart]]) -> tuple[KeyPart, ...]:
    """Return the key of a cursor.

    Raises
    ------
    InputError
        If it is not one of this list.
    """
    try:
        padded = cursor.encode("ascii") + b"=" * (-len(cursor) % 4)
        parts = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
        if not isinstance(parts, list) or len(parts) != len(kinds):
            raise _wrong(cursor)
        return tuple(_part(cursor, one, kind) for one, kind in zip(parts, kinds, strict=True))
    except (ValueError, binascii.Error, RecursionError):
        raise _wrong(cursor) from None


def _part(cursor: str, part: object, kind: type[KeyPart]) -> KeyPart:
    if kind is str and isinstance(part, str) and "\0" not in part:
        part.encode()  # a lone half of a pair of code units is no letter
        return part
    if kind is int and isinstance(part, int) and abs(part) < 2**31:
        return part
    if kind is datetime and isinstance(part, str):
        moment = datetime.fromisoformat(part)
        if moment.tzinfo is not None:
            return moment
    if kind is date and isinstance(part, str):
        return date.fromisoformat(part)
    raise _wrong(cursor)


def _wrong(cursor: str) -> InputError:
    return refuse(FIELD, cursor[:80], "is no place in this list", "take it from the `Link` header")

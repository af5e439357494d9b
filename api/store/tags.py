"""Entity tags: what a stored document is now, in a few letters, and what a writer expects of it.

References
----------
R. Fielding, M. Nottingham, J. Reschke: HTTP Semantics. RFC 9110, 2022, sections 8.8.3 and 13.1.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from hashlib import sha256

from api.errors import ChangedMeanwhileError
from api.store.tables import Document

LETTERS = 24
"""Of a digest's 64: two versions of one document will never share them by chance."""


def tag_of(document: Document) -> str:
    """Return the strong entity tag of a document.

    Examples
    --------
    >>> tag_of({"a": 1, "b": 2}) == tag_of({"b": 2, "a": 1})
    True
    >>> tag_of({"a": 1}) == tag_of({"a": 2})
    False
    """
    written = json.dumps(document, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return f'"{sha256(written.encode()).hexdigest()[:LETTERS]}"'


@dataclass(frozen=True, slots=True)
class Expected:
    """What a writer expects of the document that stands there.

    Attributes
    ----------
    tags
        It has one of these tags, or any when ``*`` is among them; None for no such wish.
    not_tags
        It has none of these; with ``*`` nothing may stand there yet.
    """

    tags: tuple[str, ...] | None = None
    not_tags: tuple[str, ...] = ()

    @property
    def is_anything(self) -> bool:
        """Whether nothing is expected."""
        return self.tags is None and not self.not_tags

    def check(self, current: Document | None) -> None:
        """Refuse to write over a document that is not what was expected.

        Raises
        ------
        ChangedMeanwhileError
            With the tag of what stands there.
        """
        tag = None if current is None else tag_of(current)
        if self.tags is not None and (tag is None or not {tag, "*"} & set(self.tags)):
            raise ChangedMeanwhileError(tag)
        if tag is not None and {tag, "*"} & set(self.not_tags):
            raise ChangedMeanwhileError(tag, was_to_be_new="*" in self.not_tags)


ANYTHING = Expected()


def tags_in(header: str) -> tuple[str, ...] | None:
    """Return the tags of an ``If-Match`` or ``If-None-Match``; None when it is none.

    Examples
    --------
    >>> tags_in('"a", W/"b"')
    ('"a"', 'W/"b"')
    >>> tags_in("*"), tags_in("a")
    (('*',), None)
    """
    tags = tuple(one.strip() for one in header.split(",") if one.strip())
    good = all(one.removeprefix("W/").startswith('"') and _closed(one) for one in tags)
    return tags if tags and (tags == ("*",) or good) else None


def _closed(tag: str) -> bool:
    inner = tag.removeprefix("W/")
    return len(inner) >= 2 and inner.endswith('"') and '"' not in inner[1:-1]

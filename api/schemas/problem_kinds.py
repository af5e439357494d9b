"""The kinds of problems there are, as they are told."""

from __future__ import annotations

from typing import Annotated

from api.schemas.reader import Read, shown


class ProblemKindRead(Read):
    """One kind of problem; its type never changes."""

    type: Annotated[
        str,
        shown("Name that every problem of this kind carries as `type`.", "/problems/not-found"),
    ]
    title: Annotated[str, shown("The kind in a few words.", "Not found")]
    status: Annotated[int | None, shown("HTTP status code; null where it differs by case.", 404)]

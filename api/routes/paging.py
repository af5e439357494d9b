"""Lists in pages: the answer is the list, and its `Link` header says where it goes on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, TypeVar

from fastapi import Depends, Query, Request, Response

from api.store.paging import KeyPart, Page, cursor_of, key_of

Listed = TypeVar("Listed")

AtMost = Annotated[int, Query(description="At most so many.", ge=1, le=1000, examples=[100])]
AfterCursor = Annotated[
    str | None,
    Query(
        description="Where the last page ended, taken from its `Link` header.",
        max_length=800,
        examples=["WyJsb2FmIl0"],
    ),
]
USUAL = 500
"""Rows of a page when none are asked for: all there are, for almost every bakery."""


@dataclass(frozen=True, slots=True)
class Paging:
    """The page that a request asks for, and the way to the next one.

    Attributes
    ----------
    page
        Which rows are wanted.
    """

    page: Page
    _request: Request
    _response: Response

    def cut(
        self, rows: Sequence[Listed], key: Callable[[Listed], Sequence[KeyPart]]
    ) -> list[Listed]:
        """Return the rows of the page, having told where the next one begins.

        Parameters
        ----------
        rows
            One more than wanted, when there are more.
        key
            Returns what a row is ordered by.
        """
        kept = list(rows[: self.page.limit])
        if len(rows) > len(kept):
            url = self._request.url.include_query_params(
                after=cursor_of(key(kept[-1])), limit=self.page.limit
            )
            self._response.headers["Link"] = f'<{url.path}?{url.query}>; rel="next"'
        return kept


def paged_by(*kinds: type[KeyPart]) -> Callable[..., Paging]:
    """Return the dependency that reads which page of a list is wanted.

    Parameters
    ----------
    kinds
        Kinds of the parts of the key by which the list is ordered.
    """

    def paging(
        request: Request, response: Response, limit: AtMost = USUAL, after: AfterCursor = None
    ) -> Paging:
        key = None if after is None else key_of(after, kinds)
        return Paging(Page(limit, key), request, response)

    return paging


ById = Annotated[Paging, Depends(paged_by(str))]
"""The page of a list that is ordered by ids."""

ByDay = Annotated[Paging, Depends(paged_by(date))]
"""The page of a list that is ordered by production days."""

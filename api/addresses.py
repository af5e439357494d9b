"""Addresses as pages write them: below the path under which a proxy serves us."""

from __future__ import annotations

from contextvars import ContextVar

BASE: ContextVar[str] = ContextVar("base", default="")
"""The path of the request at hand below which everything of ours stands; empty for the root."""


def at(path: str) -> str:
    """Return a path of ours as a browser has to ask for it.

    Examples
    --------
    >>> at("/sign-in")
    '/sign-in'
    """
    return f"{BASE.get()}{path}"

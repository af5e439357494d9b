"""Bodies that JSON allows and a bakery cannot mean: refused before anything is read from them.

Python reads ``NaN``, ``Infinity``, ``1e999`` and whole numbers of any length, keeps the last of
two equal keys, and takes characters that PostgreSQL cannot store. Each is named with its place.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Coroutine, Iterator
from dataclasses import dataclass
from typing import Any

from fastapi import Request, Response
from fastapi.routing import APIRoute

from api.routes.once import answered
from api.store.tags import tags_in
from planner.errors import Fault, InputError

LONGEST_NUMBER = 15
"""Figures of the longest whole number that every reader of JSON keeps exact."""

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


class StrictRoute(APIRoute):
    """A route that refuses such bodies."""

    def get_route_handler(self) -> Handler:
        """Return the handler with the check before it."""
        handle = super().get_route_handler()

        async def checked(request: Request) -> Response:
            check_body(await request.body())
            return _unless_known(request, await answered(request, handle))

        return checked


def _unless_known(request: Request, response: Response) -> Response:
    """Return 304 instead of a document that its reader still has."""
    tag, known = response.headers.get("etag"), request.headers.get("if-none-match")
    if request.method != "GET" or response.status_code != 200 or tag is None or known is None:
        return response
    if not {tag, f"W/{tag}", "*"} & set(tags_in(known) or ()):
        return response
    return Response(status_code=304, headers={"ETag": tag})


def check_body(body: bytes) -> None:
    """Refuse a body with something in it that cannot be meant.

    A body that is no JSON at all is left to the framework, which says so.

    Raises
    ------
    InputError
        With every such place.
    """
    try:
        read = json.loads(
            body,
            parse_constant=_NotANumber,
            parse_float=_finite,
            parse_int=_countable,
            object_pairs_hook=_single_keys,
        )
        faults = list(_faults(read, ""))
    except RecursionError:
        faults = [Fault("body", "…", "is nested too deeply", "send it with fewer levels")]
    except UnicodeDecodeError:
        faults = [Fault("body", "…", "is not text in UTF-8", "send JSON in UTF-8")]
    except ValueError:
        return
    if faults:
        raise InputError(faults)


@dataclass(frozen=True, slots=True)
class _NotANumber:
    text: str


@dataclass(frozen=True, slots=True)
class _Twice:
    key: str


def _finite(text: str) -> float | _NotANumber:
    number = float(text)
    return number if math.isfinite(number) else _NotANumber(text)


def _countable(text: str) -> int | _NotANumber:
    return int(text) if len(text) <= LONGEST_NUMBER else _NotANumber(f"{text[:12]}…")


def _single_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read: dict[str, Any] = {}
    for key, value in pairs:
        read[key] = _Twice(key) if key in read else value
    return read


def _faults(read: object, path: str) -> Iterator[Fault]:
    if isinstance(read, _NotANumber):
        yield Fault(
            path or "body", read.text, "is not a number to reckon with", "enter a plain one"
        )
    elif isinstance(read, _Twice):
        yield Fault(path, read.key, "stands twice", "send it once")
    elif isinstance(read, str):
        yield from _text_faults(read, path)
    elif isinstance(read, list):
        for i, one in enumerate(read):
            yield from _faults(one, f"{path}[{i}]")
    elif isinstance(read, dict):
        for key, one in read.items():
            yield from _text_faults(key, path)
            yield from _faults(one, f"{path}.{key}" if path else key)


def _text_faults(text: str, path: str) -> Iterator[Fault]:
    if "\0" in text or any("\ud800" <= letter <= "\udfff" for letter in text):
        yield Fault(path or "body", ascii(text), "holds a character that is none", "leave it out")

"""The pages' own scripts and styles: under an address that changes when one of them does."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib import resources
from importlib.resources.abc import Traversable

MEDIA = {".js": "text/javascript", ".css": "text/css"}
FOLDER = "bench"


@cache
def bench_files() -> dict[str, bytes]:
    """Return the files of the bench by name."""
    folder = resources.files("api.pages").joinpath("static", FOLDER)
    return {one.name: one.read_bytes() for one in sorted(folder.iterdir(), key=_name)}


def _name(one: Traversable) -> str:
    return one.name


@cache
def bench_version() -> str:
    """Return a short name of what the files hold."""
    whole = sha256()
    for name, content in bench_files().items():
        whole.update(name.encode() + b"\0" + content)
    return whole.hexdigest()[:12]


def bench_folder() -> str:
    """Return the address under which the files of the bench lie."""
    return f"/bench-files/{bench_version()}"


def media_of(name: str) -> str:
    """Return the media type of a file.

    Raises
    ------
    KeyError
        If it is none of ours.
    """
    return MEDIA[name[name.rindex(".") :]]

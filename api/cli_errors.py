"""How commands end that cannot do what was asked: a sentence and an exit code, no traceback."""

# ruff: noqa: PLC0415  (imports stand where they are needed: help must come at once)

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NoReturn

import typer

from api.scenario_files import UnknownScenarioError

if TYPE_CHECKING:
    from planner.errors import Fault

FAULTS, USAGE, BROKE_OFF = 1, 2, 3


@contextmanager
def plain_errors() -> Iterator[None]:
    """Turn what can go wrong with input into sentences and an exit code, never a traceback."""
    try:
        yield
    except UnknownScenarioError as error:
        stop(str(error), USAGE)
    except Exception as error:
        from planner.errors import InputError, OvenwardError

        if isinstance(error, InputError):
            stop(faults_text(error.faults), FAULTS)
        if isinstance(error, OvenwardError):
            stop(f"Planning broke off: {error}", BROKE_OFF)
        raise


def faults_text(faults: tuple[Fault, ...]) -> str:
    """Return one line per fault and their count."""
    count = len(faults)
    return "\n".join([*map(str, faults), f"{count} fault{'' if count == 1 else 's'}."])


def stop(text: str, code: int) -> NoReturn:
    """End a command with a sentence and an exit code."""
    typer.echo(text, err=True)
    raise typer.Exit(code)

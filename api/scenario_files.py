"""The demo days: data files in the wheel, or beside the package in a source checkout."""

from __future__ import annotations

from pathlib import Path

PACKED = Path(__file__).with_name("scenarios")
CHECKOUT = Path(__file__).parent.with_name("scenarios")


class UnknownScenarioError(LookupError):
    """There is no demo day of this name; the message lists those there are."""


def folder() -> Path:
    """Return where the demo days are."""
    return PACKED if PACKED.is_dir() else CHECKOUT


def scenario_names() -> tuple[str, ...]:
    """Return the names of all demo days."""
    return tuple(sorted(path.stem for path in folder().glob("*.toml")))


def scenario_text(name: str) -> str:
    """Return the text of a demo day.

    Raises
    ------
    UnknownScenarioError
        If there is none of this name.
    """
    if name not in scenario_names():
        known = ", ".join(scenario_names()) or "none"
        raise UnknownScenarioError(f"There is no demo day {name!r}; there are: {known}.")
    return (folder() / f"{name}.toml").read_text(encoding="utf-8")


def first_comment(text: str) -> str:
    r"""Return the first comment of a data file as one line.

    Examples
    --------
    >>> first_comment("# A hot night.\n# Ice is short.\n\n# More.\nid = 'x'")
    'A hot night. Ice is short.'
    """
    lines: list[str] = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        lines.append(line.lstrip("# ").rstrip())
    return " ".join(line for line in lines if line)

"""How long last night's papers take to type: `python -m tests.benchmarks.entries`.

Counts cells and keys of the grid for a night and times them by the keystroke-level model of
Card, Moran and Newell (Commun. ACM 23:396, 1980): 0.28 s a key for somebody who types 40 words a
minute, and 1.35 s to find and take in each figure on the paper. Turning a paper costs 2 s (ours).
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from api.pages.bench.morning import Grid, grid
from api.pages.bench.shift import Shift
from planner.planned import Plan
from tests.api.pages.papers import reader_for
from tests.benchmarks.papers import shift_of

KEY_S, TAKE_IN_S, PAPER_S = 0.28, 1.35, 2.0
DEGREES, TIME = len("24,5"), len("2315")
ENTER = 1


@dataclass(frozen=True)
class Entries:
    """What is typed for a night, and how long that takes."""

    papers: int
    cells: int
    keys: int

    @property
    def seconds(self) -> float:
        """By the model."""
        return self.papers * PAPER_S + self.cells * TAKE_IN_S + self.keys * KEY_S


def entries_of(typed: Grid) -> Entries:
    """Count what is typed in every cell of a grid, each with Enter and no other key."""
    cells = [cell for row in typed.rows for cell in row.cells if cell is not None]
    keys = sum((TIME if cell.is_time else DEGREES) + ENTER for cell in cells)
    return Entries(len(typed.rows), len(cells), keys)


def night(plan: Plan) -> Grid:
    """The grid of a night of which nothing was read yet."""
    at = datetime(2026, 7, 16, 8, tzinfo=UTC)
    return grid(Shift("weir", "p", plan, in_force=True, reader=reader_for(plan), noted=(), now=at))


if __name__ == "__main__":
    counted = entries_of(night(shift_of(40)))
    print(f"{counted.papers} mixes: {counted.cells} cells, {counted.keys} keys")
    print(f"by the model {counted.seconds / 60:.1f} min")

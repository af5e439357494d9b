"""Lists of weights as printed: to the scale's step, adding up to what stands below them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from api.pages.wording import Units, decimals_of, in_units, number, scale_step


@dataclass(frozen=True, slots=True)
class Scales:
    """The steps of a house's two scales, in the unit that is printed [kg or lb].

    Attributes
    ----------
    step
        Step of the scale for flour and water; None for 0.01, or 0.001 for a small batch.
    small_step, small_below
        Step of the small scale, and below which weight a line is weighed on it.
    """

    step: float | None = None
    small_step: float = 0.001
    small_below: float = 1.0

    def steps(self, shown: Sequence[float], whole_kg: float, units: Units) -> list[float]:
        """Return the step for each line of a list of so many kilograms."""
        step = scale_step(whole_kg, units) if self.step is None else self.step
        return [self.small_step if value < self.small_below else step for value in shown]


def round_to_total(values: Sequence[float], step: float) -> tuple[int, ...]:
    """Round values to whole steps that add up to the rounded total (largest remainder).

    Parameters
    ----------
    values
        Amounts, none negative.
    step
        The scale's step, same unit.

    Returns
    -------
    tuple of int
        Whole steps, in the order of ``values``; their sum is the total's own rounding.

    Examples
    --------
    >>> round_to_total([0.333, 0.333, 0.334], 0.01)
    (33, 33, 34)
    >>> round_to_total([1.4, 1.4, 1.4], 1)
    (2, 1, 1)
    """
    exact = [value / step for value in values]
    floors = [math.floor(one + 1e-9) for one in exact]
    missing = math.floor(sum(exact) + 0.5 + 1e-9) - sum(floors)
    by_remainder = sorted(range(len(exact)), key=lambda i: floors[i] - exact[i])
    for i in by_remainder[:missing]:
        floors[i] += 1
    return tuple(floors)


@dataclass(frozen=True, slots=True)
class PrintedMasses:
    """Masses as printed, and the total to which they add up as printed.

    Attributes
    ----------
    lines, total
        Without their unit.
    """

    lines: tuple[str, ...]
    total: str


def printed_masses(
    masses_kg: Sequence[float], units: Units, scales: Scales | None = None, *, together: int = 0
) -> PrintedMasses:
    """Round the lines of one list so that they add up, as printed, to its printed total.

    Lines below 1 kg (or lb) are rounded to the fine step first, since yeast, salt and spices
    are weighed on the small scale; the coarse step is shared out among the others.

    Parameters
    ----------
    masses_kg
        What is weighed [kg].
    units, scales
        Units and scales of the house.
    together
        So many lines at the front, water and ice, share out their rounding among themselves, so
        that the other lines do not depend on how the water was split.

    Examples
    --------
    >>> printed_masses([20.0149, 12.0149, 0.4126], Units.METRIC)
    PrintedMasses(lines=('20.02', '12.01', '0.413'), total='32.443')
    """
    scales = scales or Scales()
    shown = [in_units(mass, units) for mass in masses_kg]
    steps = scales.steps(shown, sum(masses_kg), units)
    counts = [
        *_shared_out(shown[:together], steps[:together]),
        *_shared_out(shown[together:], steps[together:]),
    ]
    lines = tuple(
        number(count * step, decimals_of(step)) for count, step in zip(counts, steps, strict=True)
    )
    total = sum(count * step for count, step in zip(counts, steps, strict=True))
    finest = max((decimals_of(step) for step in steps), default=2)
    return PrintedMasses(lines, number(total, finest))


def _shared_out(shown: Sequence[float], steps: Sequence[float]) -> list[int]:
    """Round to each line's own step; lines of one step share out what rounding leaves."""
    counts = [0] * len(shown)
    for step in dict.fromkeys(steps):
        places = [i for i, its_step in enumerate(steps) if its_step == step]
        rounded = round_to_total([shown[i] for i in places], step)
        for place, count in zip(places, rounded, strict=True):
            counts[place] = count
    return counts

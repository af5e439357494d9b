"""Rows of the option table: which are worth keeping, and how sure a ripe time is."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem import Option

UNSURE_SHARE = 0.10
"""Uncertainty of a ripe time as a share of it: the scatter from batch to batch (judgement)."""


def on_grid(minute: float, grid_min: int) -> float:
    """Return the grid minute at or after a minute [min]."""
    return float(np.ceil(minute / grid_min - 1e-9)) * grid_min


def bounds_on_grid(
    low_min: NDArray[np.float64], high_min: NDArray[np.float64], grid_min: int
) -> tuple[NDArray[np.int_], NDArray[np.int_], NDArray[np.int_]]:
    """Return bounds on the grid [min], and which had to be widened to a slot (1).

    Examples
    --------
    >>> low, high, tight = bounds_on_grid(np.array([11.0, 11.0]), np.array([14.0, 26.0]), 5)
    >>> low.tolist(), high.tolist(), tight.tolist()
    ([10, 15], [10, 25], [1, 0])
    """
    first = np.ceil(low_min / grid_min - 1e-9)
    last = np.trunc(high_min / grid_min + 1e-9)
    tight = last < first
    nearest = np.maximum(1, np.rint((low_min + high_min) / 2 / grid_min))
    low = np.where(tight, nearest, first) * grid_min
    high = np.where(tight, nearest, last) * grid_min
    return low.astype(np.int_), high.astype(np.int_), tight.astype(np.int_)


def near_end_min(ripe_min: float, low_min: float, high_min: float) -> float:
    """Return how far from the ends of its window a ripe time had better be [min].

    As far as it is uncertain, at most half of the window.

    Examples
    --------
    >>> near_end_min(100.0, 90.0, 115.0), near_end_min(100.0, 96.0, 104.0)
    (10.0, 4.0)
    """
    return max(0.0, min(UNSURE_SHARE * ripe_min, (high_min - low_min) / 2))


def pruned(options: tuple[Option, ...]) -> tuple[Option, ...]:
    """Drop options that another of the same bucket and bulk beats or equals in everything."""
    groups: dict[tuple[int, int], list[Option]] = {}
    for option in options:
        groups.setdefault((option.bucket, option.bulk_min), []).append(option)
    kept: list[Option] = []
    for group in groups.values():
        group.sort(key=lambda o: (o.cost, o.ice_g, o.chilled_g, o.cold))
        best: list[Option] = []
        for option in group:
            if not any(_beats(other, option) for other in best):
                best.append(option)
        kept += best
    return tuple(kept)


def _beats(one: Option, other: Option) -> bool:
    return (
        one.cost <= other.cost
        and one.cold <= other.cold
        and one.ice_g <= other.ice_g
        and one.chilled_g <= other.chilled_g
        and one.ripe_proofs_min == other.ripe_proofs_min
        and all(
            a[0] <= b[0] and a[1] >= b[1]
            for a, b in zip(one.proofs_min, other.proofs_min, strict=True)
        )
    )

"""Time read backwards: what would have a dough ripe at a wanted time.

The dough temperature first, inside the baker's band; and where it hardly matters, since a long bulk
in a small tub follows the room, that is said, with what does: dose, place, or time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.formula import Formula
from planner.night import Night
from planner.physics.ferment_constants import MOST_DOSE_FACTOR, SEED_EXPONENT, YEAST_DOSE_EXPONENT
from planner.ripening import Curve
from planner.rises import Rise, dough_rise

Numbers = NDArray[np.float64]

COLDEST_C, WARMEST_C = 5.0, 33.0
"""Dough temperatures looked at [°C]."""

STEP_K = 0.5
NEAR_MIN = 0.5
ROUNDS = 40

ROOM_DECIDES_SHARE = 0.03
"""Where a degree of dough moves the ripe time by less than this share, the room decides."""


@dataclass(frozen=True, slots=True)
class ForRipeTime:
    """What would have a dough ripe at a wanted time.

    Attributes
    ----------
    dough_c
        Dough temperature off the mixer [°C]; None when none between 5 and 33 °C does it.
    in_band
        Whether it lies in the baker's band.
    nearest_min
        Minutes from the mixer at which it is ripe inside the band, nearest to the wish [min].
    minutes_per_degree
        How much sooner it is ripe for a degree at the formula's own temperature [min/K].
    room_decides
        Whether the dough temperature hardly matters here.
    dose_factor
        Yeast or seed beside the usual that does it at the formula's own temperature; None beyond
        a third to three times.
    places
        Rooms and chambers with the minutes after which it is ripe there, nearest first.
    start_earlier_min
        Minutes by which the mix would have to come off sooner, later when negative, to be ripe at
        the wanted moment at its own temperature; None when no start in the span does it.
    """

    dough_c: float | None
    in_band: bool
    nearest_min: float
    minutes_per_degree: float
    room_decides: bool
    dose_factor: float | None
    places: tuple[tuple[str, float], ...]
    start_earlier_min: float | None


def for_ripe_time(
    night: Night, formula: Formula, dough_kg: float, mix_end: float, ripe_min: float
) -> ForRipeTime:
    """Return what would have a dough ripe so many minutes after it comes off the mixer.

    Parameters
    ----------
    night
        Temperatures of the night.
    formula, dough_kg
        The dough, and how much stands together [kg].
    mix_end
        When it comes off the mixer [min].
    ripe_min
        Wanted minutes from then until it is ripe [min].

    Notes
    -----
    Ripe times of all dough temperatures in one sweep, then halving between the two that bracket
    the wish. Warmer is sooner up to the curve's optimum, so the coolest answer is taken.
    """
    rise = dough_rise(night, formula.bulk, dough_kg, formula.dough_c)
    doughs = np.arange(COLDEST_C, WARMEST_C + STEP_K / 2, STEP_K)
    ripe = ripe_after(rise, mix_end, doughs)
    own = float(ripe_after(rise, mix_end, np.array([formula.dough_c]))[0])
    warmer = float(ripe_after(rise, mix_end, np.array([formula.dough_c + 1]))[0])
    per_degree = own - warmer if np.isfinite(own) and np.isfinite(warmer) else 0.0
    dough_c = _solved(rise, mix_end, doughs, ripe, ripe_min)
    low, high = formula.dough_c - formula.band_k, formula.dough_c + formula.band_k
    inside = ripe[(doughs >= low - 1e-9) & (doughs <= high + 1e-9)]
    inside = inside[np.isfinite(inside)]
    nearest = float(inside[np.argmin(np.abs(inside - ripe_min))]) if len(inside) else own
    return ForRipeTime(
        dough_c=dough_c,
        in_band=dough_c is not None and low - 1e-6 <= dough_c <= high + 1e-6,
        nearest_min=nearest,
        minutes_per_degree=per_degree,
        room_decides=np.isfinite(own) and abs(per_degree) < ROOM_DECIDES_SHARE * own,
        dose_factor=_dose(rise, formula, ripe_min, mix_end),
        places=_places(night, formula, dough_kg, mix_end, ripe_min),
        start_earlier_min=_earlier(night, rise, formula, mix_end, ripe_min),
    )


def ripe_after(
    rise: Rise, mix_end: float, dough_c: Numbers, rate: Numbers | float = 1.0
) -> Numbers:
    """Return minutes after which doughs are ripe; infinite when never [min]."""
    path = rise.path(np.full(dough_c.shape, mix_end), dough_c, rate=rate)
    return rise.window(path)[1]


def _solved(
    rise: Rise, mix_end: float, doughs: Numbers, ripe: Numbers, ripe_min: float
) -> float | None:
    for n in range(len(doughs) - 1):
        if not ripe[n] >= ripe_min >= ripe[n + 1]:
            continue
        low, high = float(doughs[n]), float(doughs[n + 1])
        for _ in range(ROUNDS):
            middle = (low + high) / 2
            got = float(ripe_after(rise, mix_end, np.array([middle]))[0])
            if abs(got - ripe_min) < NEAR_MIN:
                return middle
            low, high = (middle, high) if got > ripe_min else (low, middle)
        return (low + high) / 2
    return None


def _dose(rise: Rise, formula: Formula, ripe_min: float, mix_end: float) -> float | None:
    most = MOST_DOSE_FACTOR.value
    power = YEAST_DOSE_EXPONENT if formula.bulk.curve is Curve.YEAST else SEED_EXPONENT
    doses = np.geomspace(1 / most, most, 41)
    ripe = ripe_after(rise, mix_end, np.full(41, formula.dough_c), doses**power.value)
    known = np.isfinite(ripe)
    if not np.any(known) or not ripe[known].min() <= ripe_min <= ripe[known].max():
        return None
    # More seed is sooner: the ripe times fall, np.interp wants them rising.
    return float(np.interp(ripe_min, ripe[known][::-1], doses[known][::-1]))


def _places(
    night: Night, formula: Formula, dough_kg: float, mix_end: float, ripe_min: float
) -> tuple[tuple[str, float], ...]:
    found = []
    bakery = night.day.bakery
    for place_id in (*(r.id for r in bakery.rooms), *(c.id for c in bakery.chambers)):
        if place_id == formula.bulk.place_id:
            continue
        there = formula.bulk.in_place(place_id)
        rise = dough_rise(night, there, dough_kg, formula.dough_c)
        got = float(ripe_after(rise, mix_end, np.array([formula.dough_c]))[0])
        if np.isfinite(got):
            found.append((place_id, got))
    return tuple(sorted(found, key=lambda place: abs(place[1] - ripe_min)))


def _earlier(
    night: Night, rise: Rise, formula: Formula, mix_end: float, ripe_min: float
) -> float | None:
    """Return how much sooner the mix must come off to be ripe at the same moment [min]."""
    ends = np.arange(0.0, night.day.span_min, 10.0)
    path = rise.path(ends, np.full(ends.shape, formula.dough_c))
    off = ends + rise.window(path)[1] - (mix_end + ripe_min)
    known = np.isfinite(off)
    ends, off = ends[known], off[known]
    crossing = np.nonzero((off[:-1] <= 0) & (off[1:] > 0))[0]
    if not len(crossing):
        return None
    n = int(crossing[-1])
    end = ends[n] + (ends[n + 1] - ends[n]) * -off[n] / (off[n + 1] - off[n])
    return float(mix_end - end)

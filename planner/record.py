"""The record: how near doughs came to what was wanted, beside what the baker's own sum had given.

A mix counts once its dough was read off the mixer. What the sum's water would have given that night
is not known; it is reckoned with the same error that the balance turned out to have.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from planner.planned import PlannedMix

NEAR_K = 1.0
"""A dough within so much of what was wanted is called near [K]."""

EQUAL_K = 0.05
"""Nights whose doughs lie this close on average are won by nobody [K]."""


@dataclass(frozen=True, slots=True)
class MixRecord:
    """One dough that was read off its mixer.

    Attributes
    ----------
    production_date, mix_id, mixer_id, formula_id
        Which mix it was.
    wanted_c, foreseen_c, read_c
        Chosen for the day, foreseen with what was read before the mix, and read [°C].
    sum_c
        What the sum's water would have given [°C]; None where no sum stands beside.
    is_own_sum
        Whether the baker stated the sum; else it is the trade's, tuned on a mild day.
    """

    production_date: date
    mix_id: str
    mixer_id: str
    formula_id: str
    wanted_c: float
    foreseen_c: float
    read_c: float
    sum_c: float | None
    is_own_sum: bool = False

    @property
    def off_k(self) -> float:
        """How far the dough came off from what was wanted [K]."""
        return self.read_c - self.wanted_c

    @property
    def sum_off_k(self) -> float | None:
        """The same with the sum's water [K]; None without a sum."""
        return None if self.sum_c is None else self.sum_c - self.wanted_c


def mix_record(production_date: date, mix: PlannedMix, read_c: float) -> MixRecord:
    """Return the record of a mix.

    Parameters
    ----------
    production_date
        Its day.
    mix
        The mix with the ticket it was mixed by: that of the last answer before it began.
    read_c
        The dough off the mixer [°C].
    """
    ticket = mix.ticket
    beside = ticket.hand_sum
    error_k = read_c - ticket.expected_c
    return MixRecord(
        production_date=production_date,
        mix_id=mix.id,
        mixer_id=mix.mixer_id,
        formula_id=mix.formula_id,
        wanted_c=mix.steered.dough_c,
        foreseen_c=ticket.expected_c,
        read_c=read_c,
        sum_c=None if beside is None else beside.dough_c + error_k,
        is_own_sum=beside is not None and beside.is_own,
    )


@dataclass(frozen=True, slots=True)
class Tally:
    """Doughs together.

    Attributes
    ----------
    count
        How many.
    near
        Share of them within ``NEAR_K`` of what was wanted.
    mean_k, mean_off_k
        Mean of how far they came off, with its sign and without [K].
    sum_near, sum_mean_off_k
        The same for the sum's water, of those that a sum stands beside; None without any.
    """

    count: int
    near: float
    mean_k: float
    mean_off_k: float
    sum_near: float | None
    sum_mean_off_k: float | None


def tally(records: Iterable[MixRecord]) -> Tally | None:
    """Return doughs together, or None without any."""
    found = list(records)
    if not found:
        return None
    sums = [abs(one.sum_off_k) for one in found if one.sum_off_k is not None]
    return Tally(
        count=len(found),
        near=fmean(_is_near(one.off_k) for one in found),
        mean_k=fmean(one.off_k for one in found),
        mean_off_k=fmean(abs(one.off_k) for one in found),
        sum_near=fmean(_is_near(off_k) for off_k in sums) if sums else None,
        sum_mean_off_k=fmean(sums) if sums else None,
    )


def _is_near(off_k: float) -> bool:
    return abs(off_k) <= NEAR_K + 1e-9


@dataclass(frozen=True, slots=True)
class Nights:
    """Nights that the balance won, the sum won, and nobody won."""

    won: int
    lost: int
    equal: int


def nights(records: Iterable[MixRecord]) -> Nights:
    """Return how many nights each won: whose doughs came off nearer on average.

    Only mixes that a sum stands beside count, in both.
    """
    by_night: dict[date, list[tuple[float, float]]] = {}
    for one in records:
        if one.sum_off_k is not None:
            pair = (abs(one.off_k), abs(one.sum_off_k))
            by_night.setdefault(one.production_date, []).append(pair)
    gains = [fmean(b for _, b in pairs) - fmean(a for a, _ in pairs) for pairs in by_night.values()]
    won, lost = sum(k > EQUAL_K for k in gains), sum(k < -EQUAL_K for k in gains)
    return Nights(won, lost, len(gains) - won - lost)

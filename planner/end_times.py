"""Finished times for a dough that comes off warmer or cooler than foreseen.

As the correction strip has finished kilos, this has finished times: for whoever stands at the
mixer while nothing can be asked. An answer to the reading itself is nearer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.planned import PlannedMix

END_OFFSETS_K = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
"""Ends around the one foreseen [K]."""


@dataclass(frozen=True, slots=True)
class EndTimes:
    """When a dough that came off at a temperature is ripe, and when it is divided.

    Attributes
    ----------
    end_c
        Its temperature off the mixer [°C].
    divide_from_utc, divide_by_utc, divide_utc
        Its window, and the planned divide or the end of the window that is nearest to it.
    """

    end_c: float
    divide_from_utc: datetime
    divide_by_utc: datetime
    divide_utc: datetime


def end_times(mix: PlannedMix) -> tuple[EndTimes, ...]:
    """Return the times for ends of whole degrees around the one foreseen.

    Parameters
    ----------
    mix
        The mix as it is planned now.

    Notes
    -----
    The window moves by ``minutes_per_degree`` for each degree, as the ticket says; exact for small
    differences. Nothing is ripe before it is off the mixer.
    """
    return tuple(_times(mix, k) for k in END_OFFSETS_K)


def _times(mix: PlannedMix, off_k: float) -> EndTimes:
    sooner = timedelta(minutes=round(off_k * mix.minutes_per_degree))
    first = max(mix.divide_from_utc - sooner, mix.mix_end_utc)
    last = max(mix.divide_by_utc - sooner, first)
    divide = min(max(mix.divide_utc, first), last)
    return EndTimes(mix.ticket.expected_c + off_k, first, last, divide)

"""Learning from readings: the one entry for everything that a bakery's readings teach.

First version: end temperatures teach the mixing work. Flour, room, vessels and fermentation
are read but not yet learned.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from planner.corrections import Corrections
from planner.learning.mixing_heat import forget_mixes, learn_mixing_work
from planner.readings import MixOutcome


def learn(readings: Sequence[MixOutcome], prior: Corrections) -> Corrections:
    """Return what is known after some finished mixes.

    Parameters
    ----------
    readings
        Finished mixes in order of time.
    prior
        What was known before.
    """
    return learn_mixing_work(readings, prior)


def forget(sources: Collection[str], prior: Corrections) -> Corrections:
    """Return what is known without some mixes, whose readings were taken back.

    Parameters
    ----------
    sources
        The mixes, as `MixOutcome.source` names them.
    prior
        What was known before.
    """
    return forget_mixes(sources, prior)

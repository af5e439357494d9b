"""Learning the mixing work of a mixer from end temperatures.

First version: one factor per mixer and dough class, updated reading by reading. Doughs of
different classes do not yet share what they learn, and speeds are not told apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from planner.corrections import Corrections, MixingWorkCorrection
from planner.readings import MixOutcome

PRIOR_FACTOR_SD = 0.4
"""Spread of the first guess of mixing work, as a share of it: 0.6 of 1.6 kJ/kg min for a spiral
at second speed, rounded up."""

MODEL_SD_K = 0.6
"""Scatter of a calibrated heat balance besides mixing work [K]: flour, bowl, air, ice."""

OUTLIER_SDS = 2.5
"""A reading further off than this many standard deviations is pulled in to it."""

LEAST_DEGREES_K = 0.3
"""A mix whose work hardly warms it teaches nothing about the work [K per factor 1]."""


def learn_mixing_work(outcomes: Sequence[MixOutcome], prior: Corrections) -> Corrections:
    """Update the mixing work from finished mixes.

    Parameters
    ----------
    outcomes
        Finished mixes in the order of time, each with what was predicted *with the corrections
        in force then*.
    prior
        What was known before.

    Returns
    -------
    Corrections
        With one updated factor per mixer and dough class that was read.

    Notes
    -----
    A scalar Kalman update: ``measured - predicted = d (f - f0) + noise``, where ``d`` is the
    degrees that 100 % more work would give and ``f0`` the factor in force. A reading more than
    2.5 standard deviations off is pulled in to that distance (Huber), so that one bad probe
    cannot move a bakery.

    References
    ----------
    Huber 1964, Ann. Math. Statist. 35:73, section 1.

    Examples
    --------
    >>> mix = MixOutcome("a", "spiral", "wheat", 25.0, 26.5, 0.5, 6.0)
    >>> learned = learn_mixing_work([mix, mix, mix], Corrections()).mixing_work[0]
    >>> 1.1 < learned.factor < 1.3 and learned.readings == 3
    True
    """
    known = {(c.mixer_id, c.dough_class): c for c in prior.mixing_work}
    in_force = {key: (1.0 if c.ignored else c.factor) for key, c in known.items()}
    for outcome in outcomes:
        if outcome.overloaded or outcome.degrees_per_work_factor_k < LEAST_DEGREES_K:
            continue
        key = (outcome.mixer_id, outcome.dough_class)
        before = known.get(key) or MixingWorkCorrection(*key, 1.0, PRIOR_FACTOR_SD, 0)
        known[key] = updated(before, outcome, in_force.get(key, 1.0))
    return replace(prior, mixing_work=tuple(known[key] for key in sorted(known)))


def updated(
    before: MixingWorkCorrection, outcome: MixOutcome, factor_in_force: float
) -> MixingWorkCorrection:
    """Return a correction after one more reading."""
    d = outcome.degrees_per_work_factor_k
    noise_sd = sqrt(outcome.measured_sd_k**2 + MODEL_SD_K**2)
    expected_k = d * (before.factor - factor_in_force)
    surprise_k = outcome.measured_c - outcome.predicted_c - expected_k
    total_sd = sqrt((d * before.factor_sd) ** 2 + noise_sd**2)
    bounded_k = max(-OUTLIER_SDS * total_sd, min(OUTLIER_SDS * total_sd, surprise_k))
    gain = d * before.factor_sd**2 / total_sd**2
    return replace(
        before,
        factor=max(0.05, before.factor + gain * bounded_k),
        factor_sd=before.factor_sd * noise_sd / total_sd,
        readings=before.readings + 1,
    )

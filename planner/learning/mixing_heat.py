"""Learning the mixing work of a mixer from end temperatures and meters.

The unknowns of a mixer are a factor per speed on the first guess of its work, and a deviation
per dough class: what is read of one class is shared by the others as far as their speeds agree.
A finished mix says how many degrees the work gave; that is linear in the unknowns, so that with
Gaussian spreads the estimate is closed. Mixers do not learn from each other: what two mixers of a
bakery have in common is its thermometer and its flour, and that is not their work.

References
----------
.. [1] Gelman and Hill 2007, Data Analysis Using Regression and Multilevel Models, chapter 12:
   partial pooling.
.. [2] Kalman 1960, J. Basic Eng. 82:35: filtering of linear systems.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.corrections import (
    Belief,
    Corrections,
    MixingWorkCorrection,
    WorkEvidence,
    WorkUnknowns,
    nothing_learned,
    widened,
)
from planner.learning.robust_filter import Gaussian, Numbers, Observation, Step, taken, trusts
from planner.readings import MixOutcome

KEPT = 24
"""So many of the latest mixes of a mixer can still lose or gain trust by what comes after them."""

WORK_KEEPS = 0.998
"""Share of its deviation that a speed keeps from one mix of the mixer to the next (ours): with a
spread of 40 % it drifts by 2.5 % a mix, and a change is followed within about ten."""

CLASS_KEEPS = 0.998
"""The same for a dough class, from one mix of that class to the next: what a mixer learns of rye
on Saturday is there the Saturday after."""

LEAST_DEGREES_K = 0.3
"""A mix whose work hardly warms it teaches nothing about the work [K]."""

METERED_SD = 0.05
"""Spread of a metered energy from mix to mix, as a share of it (ours); what all mixes of a mixer
have in common, its motor and gears, is an unknown of its own."""


def learn_mixing_work(outcomes: Sequence[MixOutcome], prior: Corrections) -> Corrections:
    """Update the mixing work from finished mixes.

    Parameters
    ----------
    outcomes
        Finished mixes in the order of time, each with what was predicted and the factors in force
        when it was.
    prior
        What was known before.

    Returns
    -------
    Corrections
        With one correction per mixer that was read.

    Notes
    -----
    Each mix says ``sum_s d_s (f_s + g_c) = rise + noise``, with ``d_s`` the degrees per unit of a
    speed's factor, ``f_s`` that factor and ``g_c`` the deviation of its dough class [1]_. Prior:
    ``f_s`` is 1 with the spread of the mixer's first guess, ``g_c`` is 0 with 0.15. The unknowns
    drift a little from mix to mix, and the mixes are taken in one after the other [2]_; the trust
    in each of the latest is found anew with each mix, so that a bad probe on the first morning is
    outvoted by the next. A metered mix is read twice: its meter says
    ``D (sum_s d_s (f_s + g_c) / D + m)``, with ``D`` the sum of ``d_s`` and ``m`` what the meter
    shows too much, and its thermometer as ever.

    Examples
    --------
    >>> from planner.mixers import Speed
    >>> mix = MixOutcome("a", "spiral", "wheat", 25.0, 26.5, 0.5,
    ...                  ((Speed.SECOND, 6.0),), ((Speed.SECOND, 1.0),), ((Speed.SECOND, 0.375),))
    >>> learned = learn_mixing_work([mix, mix, mix], Corrections()).mixing_work[0]
    >>> 1.15 < learned.factor(Speed.SECOND, "wheat")[0] < 1.3 and learned.readings == 3
    True
    """
    known = {c.mixer_id: c for c in prior.mixing_work}
    read = set()
    for outcome in outcomes:
        evidence = evidence_of(outcome)
        before = known.get(outcome.mixer_id) or nothing_learned(outcome.mixer_id)
        if evidence is None or before.frozen:
            continue
        known[outcome.mixer_id] = _put_to(before, outcome, evidence)
        read.add(outcome.mixer_id)
    return replace(
        prior,
        mixing_work=tuple(
            _fitted(known[key]) if key in read else known[key] for key in sorted(known)
        ),
    )


def evidence_of(outcome: MixOutcome) -> WorkEvidence | None:
    """Return what a finished mix says about the work; None when it is no ordinary mix.

    Parameters
    ----------
    outcome
        The mix.
    """
    factors = dict(outcome.factor_by_speed)
    degrees = tuple((s, k / factors[s]) for s, k in outcome.degrees_by_speed if k > 0)
    total_k = sum(k for _, k in outcome.degrees_by_speed)
    if outcome.overloaded or total_k < LEAST_DEGREES_K:
        return None
    share = outcome.metered_work_share
    return WorkEvidence(
        outcome.dough_class,
        degrees,
        rise_k=outcome.measured_c - outcome.predicted_c + total_k,
        sd_k=float(np.hypot(outcome.measured_sd_k, outcome.other_sd_k)),
        metered_rise_k=None if share is None else share * total_k,
    )


def _put_to(
    correction: MixingWorkCorrection, outcome: MixOutcome, evidence: WorkEvidence
) -> MixingWorkCorrection:
    """Return a correction with one more mix; what falls out of the latest is settled for good."""
    wider = correction.unknowns.joined(dict(outcome.work_prior_sd), outcome.dough_class)
    more = replace(
        correction,
        unknowns=wider,
        before=widened(correction.before, correction.unknowns, wider),
        readings=correction.readings + 1,
        evidence=(*correction.evidence, evidence),
    )
    if len(more.evidence) <= KEPT:
        return more
    steps, prior = _steps(more), wider.prior()
    first, state = steps[0], _gaussian(more.before)
    trust = trusts(state, prior, steps)[: len(first.seen)]
    return replace(
        more,
        before=Belief.of(*taken(state, prior, first, trust)),
        evidence=more.evidence[1:],
        earlier_trust=more.earlier_trust + trust[-1],
    )


def _fitted(correction: MixingWorkCorrection) -> MixingWorkCorrection:
    """Return a correction whose estimate is that of its evidence."""
    state, prior = _gaussian(correction.before), correction.unknowns.prior()
    steps = _steps(correction)
    left = list(trusts(state, prior, steps))
    shown = []
    for step in steps:
        own, left = left[: len(step.seen)], left[len(step.seen) :]
        state = taken(state, prior, step, own)
        shown.append(own[-1])
    return replace(correction, now=Belief.of(*state), trust=tuple(shown))


def _gaussian(belief: Belief) -> Gaussian:
    return np.array(belief.mean), np.array(belief.covariance)


def _steps(correction: MixingWorkCorrection) -> list[Step]:
    unknowns = correction.unknowns
    return [Step(_keeps(unknowns, e.dough_class), _seen(unknowns, e)) for e in correction.evidence]


def _keeps(unknowns: WorkUnknowns, dough_class: str) -> Numbers:
    return np.array(
        [WORK_KEEPS] * len(unknowns.speeds)
        + [CLASS_KEEPS if one == dough_class else 1.0 for one in unknowns.dough_classes]
        + [1.0]
    )


def _seen(unknowns: WorkUnknowns, evidence: WorkEvidence) -> tuple[Observation, ...]:
    """Return what a mix shows: its meter first, where there is one, then its thermometer."""
    degrees = dict(evidence.degrees_by_speed)
    row = unknowns.row(degrees, evidence.dough_class)
    read = Observation(row, evidence.rise_k, evidence.sd_k)
    if evidence.metered_rise_k is None:
        return (read,)
    whole = sum(degrees.values())
    metered = Observation(
        unknowns.row(degrees, evidence.dough_class, meter=whole),
        evidence.metered_rise_k,
        METERED_SD * max(whole, evidence.metered_rise_k),
    )
    return (metered, read)

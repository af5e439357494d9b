"""Learning the mixing work of a mixer from end temperatures.

The unknowns of a mixer are a factor per speed on the first guess of its work, and a deviation
per dough class: what is read of one class is shared by the others as far as their speeds agree.
A finished mix says how many degrees the work gave; that is linear in the unknowns, so that with
Gaussian spreads the estimate is closed.

References
----------
.. [1] Gelman and Hill 2007, Data Analysis Using Regression and Multilevel Models, chapter 12:
   partial pooling.
.. [2] Lange, Little, Taylor 1989, J. Am. Statist. Assoc. 84:881: robust regression with the t
   distribution, by reweighting.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.corrections import (
    CLASS_SD,
    Corrections,
    MixingWorkCorrection,
    WorkEvidence,
)
from planner.mixers import Speed
from planner.readings import MixOutcome

Numbers = NDArray[np.float64]

KEPT = 40
"""So many of the latest mixes are kept as evidence per mixer."""

FADES = 0.93
"""Weight of a mix beside the one after it: a mixer and its flour change over some weeks (ours)."""

HEAVY_TAILS = 4.0
"""Degrees of freedom of the t distribution of what a thermometer says [2]."""

ROUNDS = 3
"""Reweighting rounds: few, so that one reading alone does not talk itself into being right."""

LEAST_DEGREES_K = 0.3
"""A mix whose work hardly warms it teaches nothing about the work [K]."""

METERED_SD = 0.10
"""Spread of a metered energy as a measure of the work in the dough, as a share of it (ours)."""


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
    ``f_s`` is 1 with the spread of the mixer's first guess, ``g_c`` is 0 with 0.15. All mixes kept
    are fitted together, older ones with less weight, and each with the weight
    ``5/(4 + r²)`` of its own residual in standard deviations [2]_, so that the order of good and
    bad readings does not matter and one bad probe cannot move a bakery.

    Examples
    --------
    >>> mix = MixOutcome("a", "spiral", "wheat", 25.0, 26.5, 0.5,
    ...                  ((Speed.SECOND, 6.0),), ((Speed.SECOND, 1.0),), ((Speed.SECOND, 0.375),))
    >>> learned = learn_mixing_work([mix, mix, mix], Corrections()).mixing_work[0]
    >>> 1.15 < learned.factor(Speed.SECOND, "wheat")[0] < 1.3 and learned.readings == 3
    True
    """
    known = {c.mixer_id: c for c in prior.mixing_work}
    for outcome in outcomes:
        evidence = evidence_of(outcome)
        if evidence is None:
            continue
        before = known.get(outcome.mixer_id) or _nothing(outcome)
        if before.frozen:
            continue
        kept, more = _with_evidence(before, evidence)
        known[outcome.mixer_id] = fitted(
            replace(
                before,
                evidence=kept,
                readings=before.readings + more,
                prior_sd=_priors(before, outcome),
            )
        )
    return replace(prior, mixing_work=tuple(known[key] for key in sorted(known)))


def forget_mixes(sources: Collection[str], prior: Corrections) -> Corrections:
    """Return what is known of the mixing work without the mixes of some sources.

    A correction that rests on nothing else is dropped; one that is frozen stays as it is.

    Examples
    --------
    >>> mix = MixOutcome("a", "spiral", "wheat", 25.0, 26.5, 0.5, ((Speed.SECOND, 6.0),),
    ...                  ((Speed.SECOND, 1.0),), ((Speed.SECOND, 0.375),), source="monday a")
    >>> forget_mixes(["monday a"], learn_mixing_work([mix], Corrections())).mixing_work
    ()
    """
    kept = [_without(one, sources) for one in prior.mixing_work]
    return replace(prior, mixing_work=tuple(one for one in kept if one is not None))


def _without(before: MixingWorkCorrection, sources: Collection[str]) -> MixingWorkCorrection | None:
    left = tuple(e for e in before.evidence if not e.source or e.source not in sources)
    fewer = len(before.evidence) - len(left)
    if before.frozen or not fewer:
        return before
    if not left:
        return None
    return fitted(replace(before, evidence=left, readings=before.readings - fewer))


def evidence_of(outcome: MixOutcome) -> WorkEvidence | None:
    """Return what a finished mix says about the work; None when it is no ordinary mix."""
    factors = dict(outcome.factor_by_speed)
    degrees = tuple((s, k / factors[s]) for s, k in outcome.degrees_by_speed if k > 0)
    total_k = sum(k for _, k in outcome.degrees_by_speed)
    if outcome.overloaded or total_k < LEAST_DEGREES_K:
        return None
    spread_k = float(np.hypot(outcome.measured_sd_k, outcome.other_sd_k))
    rise_k = outcome.measured_c - outcome.predicted_c + total_k
    if outcome.metered_work_share is not None:
        # The work itself was measured: the temperature then speaks of something else.
        rise_k, spread_k = outcome.metered_work_share * total_k, METERED_SD * total_k
    return WorkEvidence(outcome.dough_class, degrees, rise_k, spread_k, outcome.source)


def _with_evidence(
    before: MixingWorkCorrection, evidence: WorkEvidence
) -> tuple[tuple[WorkEvidence, ...], int]:
    """Return the evidence with one more mix, and how many mixes that is more.

    A mix that was told before keeps its place in time.
    """
    told = [e.source for e in before.evidence]
    if not evidence.source or evidence.source not in told:
        return (*before.evidence, evidence)[-KEPT:], 1
    at = told.index(evidence.source)
    return (*before.evidence[:at], evidence, *before.evidence[at + 1 :]), 0


def _nothing(outcome: MixOutcome) -> MixingWorkCorrection:
    return MixingWorkCorrection(outcome.mixer_id, (), (), (), (), 0, (), ())


def _priors(before: MixingWorkCorrection, outcome: MixOutcome) -> tuple[tuple[Speed, float], ...]:
    """Return the spread of the first guess of every speed read so far."""
    return tuple(sorted((dict(before.prior_sd) | dict(outcome.work_prior_sd)).items()))


def fitted(correction: MixingWorkCorrection) -> MixingWorkCorrection:
    """Return a correction whose estimate is that of its evidence."""
    evidence = correction.evidence
    prior_sd = dict(correction.prior_sd)
    speeds = tuple(sorted({s for e in evidence for s, _ in e.degrees_by_speed}))
    classes = tuple(sorted({e.dough_class for e in evidence}))
    start = np.array([1.0] * len(speeds) + [0.0] * len(classes))
    spread = [prior_sd[s] for s in speeds] + [CLASS_SD] * len(classes)
    precision = np.diag(1 / np.array(spread) ** 2)
    rows = np.array([_row(e, speeds, classes) for e in evidence])
    rise = np.array([e.rise_k for e in evidence])
    noise = np.array([e.sd_k for e in evidence])
    age = np.arange(len(evidence))[::-1]
    mean, covariance = start, np.linalg.inv(precision)
    for _ in range(ROUNDS):
        residual = (rise - rows @ mean) / noise
        trust = (HEAVY_TAILS + 1) / (HEAVY_TAILS + residual**2)
        weight = FADES**age * np.minimum(trust, 1.0) / noise**2
        information = precision + rows.T @ (weight[:, None] * rows)
        covariance = np.linalg.inv(information)
        covariance = (covariance + covariance.T) / 2
        mean = covariance @ (precision @ start + rows.T @ (weight * rise))
    return replace(
        correction,
        speeds=speeds,
        dough_classes=classes,
        mean=tuple(float(m) for m in mean),
        covariance=tuple(tuple(float(c) for c in row) for row in covariance),
    )


def _row(e: WorkEvidence, speeds: Sequence[Speed], classes: Sequence[str]) -> list[float]:
    by_speed = dict(e.degrees_by_speed)
    whole = sum(by_speed.values())
    return [by_speed.get(s, 0.0) for s in speeds] + [
        whole if one == e.dough_class else 0.0 for one in classes
    ]

"""A Kalman filter of slowly drifting unknowns, whose readings are trusted by their neighbours.

References
----------
.. [1] Kalman 1960, J. Basic Eng. 82:35: filtering of linear systems.
.. [2] Bucy and Joseph 1968, Filtering for Stochastic Processes, chapter 16: the form of the
   covariance that stays symmetric and positive.
.. [3] Huber 1964, Ann. Math. Statist. 35:73: robust estimation of a location.
.. [4] Lange, Little, Taylor 1989, J. Am. Statist. Assoc. 84:881: robust regression with the t
   distribution, by reweighting.
.. [5] Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, section 5.4.2: each
   reading foreseen from all the others, closed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Gaussian = tuple[Numbers, Numbers]
"""Mean and covariance."""

HEAVY_TAILS = 4.0
"""Degrees of freedom of the t distribution of what is read [4]."""

ROUNDS = 6
"""Reweighting rounds; the weights have settled to a few percent by then."""


@dataclass(frozen=True, slots=True)
class Observation:
    """One figure read: a weighted sum of the unknowns, with noise.

    Attributes
    ----------
    row
        Weights of the unknowns.
    value, sd
        What was read, and its spread.
    """

    row: Numbers
    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class Step:
    """What is read at one time, and how much of the unknowns is kept on the way to it.

    Attributes
    ----------
    keeps
        Share of its deviation that each unknown keeps, 0 to 1; 1 does not drift.
    seen
        What was read.
    """

    keeps: Numbers
    seen: tuple[Observation, ...]


def drifted(state: Gaussian, prior: Gaussian, keeps: Numbers) -> Gaussian:
    """Return what is known one step later, nothing being read.

    Parameters
    ----------
    state, prior
        What is known, and what was before anything was read.
    keeps
        As in `Step`; the prior may correlate only unknowns that keep the same.

    Returns
    -------
    tuple of ndarray
        Mean and covariance.

    Notes
    -----
    ``x' = m + r (x - m) + w`` with ``w`` of covariance ``S - r S r``: the prior ``(m, S)`` is what
    this settles to, so that forgetting never leads beyond it.

    Examples
    --------
    >>> prior = (np.array([1.0]), np.array([[0.16]]))
    >>> mean, covariance = drifted((np.array([1.5]), np.array([[0.0]])), prior, np.array([0.9]))
    >>> round(float(mean[0]), 3), round(float(covariance[0, 0]), 4)
    (1.45, 0.0304)
    """
    mean, covariance = state
    both = np.outer(keeps, keeps)
    return prior[0] + keeps * (mean - prior[0]), both * covariance + (1 - both) * prior[1]


def observed(state: Gaussian, seen: Observation, trust: float = 1.0) -> Gaussian:
    """Return what is known after a reading, in the form that keeps a covariance one.

    Parameters
    ----------
    state
        What is known.
    seen
        What was read.
    trust
        Divides the variance of its noise.

    Returns
    -------
    tuple of ndarray
        Mean and covariance.

    Notes
    -----
    ``K = P h / (h'P h + R)``, ``x + K (y - h'x)`` [1]_ and ``(I - K h') P (I - K h')' + K R K'``
    [2]_.

    Examples
    --------
    >>> prior = (np.array([1.0]), np.array([[0.25]]))
    >>> mean, covariance = observed(prior, Observation(np.array([2.0]), 3.0, 1.0))
    >>> float(mean[0]), float(covariance[0, 0])  # gain 0.5 / 2
    (1.25, 0.125)
    """
    mean, covariance = state
    noise = seen.sd**2 / trust
    gain = covariance @ seen.row / (seen.row @ covariance @ seen.row + noise)
    left = np.eye(len(mean)) - np.outer(gain, seen.row)
    after = left @ covariance @ left.T + noise * np.outer(gain, gain)
    return mean + gain * (seen.value - seen.row @ mean), (after + after.T) / 2


def taken(state: Gaussian, prior: Gaussian, step: Step, trust: Sequence[float]) -> Gaussian:
    """Return what is known after a step: drift first, then what was read.

    Parameters
    ----------
    state, prior
        As in `drifted`.
    step
        What was read.
    trust
        How far each of it is trusted.

    Returns
    -------
    tuple of ndarray
        Mean and covariance.

    Examples
    --------
    >>> prior = (np.array([1.0]), np.array([[0.25]]))
    >>> step = Step(np.array([0.9]), (Observation(np.array([2.0]), 3.0, 1.0),))
    >>> float(taken(prior, prior, step, [1.0])[0][0])
    1.25
    """
    state = drifted(state, prior, step.keeps)
    for seen, share in zip(step.seen, trust, strict=True):
        state = observed(state, seen, share)
    return state


def foreseen(state: Gaussian, prior: Gaussian, steps: Sequence[Step]) -> Gaussian:
    """Return mean and covariance of what all steps together will show, without their noise.

    Parameters
    ----------
    state, prior
        As in `drifted`.
    steps
        Their rows and drift; what they read is not used.

    Returns
    -------
    tuple of ndarray
        In the order of the observations.

    Notes
    -----
    For steps ``i <= j`` the unknowns have the covariance ``V_i r_{i+1} ... r_j``.

    Examples
    --------
    >>> prior = (np.array([1.0]), np.array([[0.25]]))
    >>> step = Step(np.array([0.5]), (Observation(np.array([2.0]), 0.0, 1.0),))
    >>> foreseen(prior, prior, [step, step])[1].tolist()
    [[1.0, 0.5], [0.5, 1.0]]
    """
    mean, shared = [], []
    # Covariance of each earlier reading with the unknowns, carried along as these drift.
    carried: list[Numbers] = []
    for step in steps:
        state = drifted(state, prior, step.keeps)
        carried = [step.keeps * one for one in carried]
        for seen in step.seen:
            mean.append(float(seen.row @ state[0]))
            carried.append(state[1] @ seen.row)
            shared.append([float(seen.row @ one) for one in carried])
    covariance = np.zeros((len(mean), len(mean)))
    for n, row in enumerate(shared):
        covariance[n, : n + 1] = row
        covariance[: n + 1, n] = row
    return np.array(mean), covariance


def trusts(state: Gaussian, prior: Gaussian, steps: Sequence[Step]) -> tuple[float, ...]:
    """Return how far each reading is to be trusted, by how it fits all the others.

    Parameters
    ----------
    state, prior
        As in `drifted`.
    steps
        What was read.

    Returns
    -------
    tuple of float
        0 to 1, in the order of the observations; 1 up to one standard deviation.

    Notes
    -----
    ``w = min(1, 5 / (4 + z²))``, the weight of a t distribution [4]_ and as Huber's [3]_ one in
    the middle; ``z`` is what the reading differs from the forecast of all the other readings, in
    standard deviations of that forecast and of its own noise [5]_. So a first reading is judged by
    how little the first guess was worth, and no reading is its own witness. What a single reading
    may do is thereby bounded: its pull goes as ``z / (4 + z²)``.

    Examples
    --------
    >>> prior = (np.array([1.0]), np.array([[0.25]]))
    >>> read = [Step(np.array([1.0]), (Observation(np.array([2.0]), y, 0.5),)) for y in (2, 2, 9)]
    >>> [round(w, 1) for w in trusts(prior, prior, read)]
    [1.0, 1.0, 0.0]
    """
    seen = [one for step in steps for one in step.seen]
    mean, covariance = foreseen(state, prior, steps)
    off = np.array([one.value for one in seen]) - mean
    noise = np.array([one.sd**2 for one in seen])
    weights = np.ones(len(seen))
    for _ in range(ROUNDS):
        precision = np.linalg.inv(covariance + np.diag(noise / weights))
        own = np.diag(precision)
        differs = precision @ off / own
        variance = 1 / own - noise / weights + noise
        weights = np.minimum(1.0, (HEAVY_TAILS + 1) / (HEAVY_TAILS + differs**2 / variance))
    return tuple(float(w) for w in weights)

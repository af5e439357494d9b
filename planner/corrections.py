"""What a bakery's readings have taught: corrections that enter the next plan as plain input."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import check_within, refuse
from planner.estimate import Estimate, Origin
from planner.mixers import Mixer, Speed

Numbers = NDArray[np.float64]

CLASS_SD = 0.15
"""How far a dough class may differ from its mixer's usual work, as a share of it (our guess)."""

SPEEDS_TOGETHER = 0.6
"""Correlation of the first guesses of a mixer's speeds: they come from one table, for one kind of
mixer, and a heavy or a worn one errs at all speeds (our guess)."""

METER_SD = 0.12
"""How far the share of metered energy that ends in the dough may differ from what was taken, the
same for every mix of a mixer, as a share of the work (our guess)."""

LEAST_FACTOR = 0.05
"""No learned work is less than this share of the first guess."""

LEAST_PRIOR_SD = 0.05
"""Work that was entered as certain is still learned, as if known to this share."""


@dataclass(frozen=True, slots=True)
class WorkEvidence:
    """One finished mix as evidence about mixing work.

    Attributes
    ----------
    dough_class
        What was mixed.
    degrees_by_speed
        Degrees that each speed gave per unit of its factor [K].
    rise_k
        Degrees that the work gave in all [K]: the sum of the above at the true factors.
    sd_k
        Spread of that figure [K]: of the thermometer, and of all that was not the work.
    metered_rise_k
        The same by the meter [K]; None when it was not metered.
    """

    dough_class: str
    degrees_by_speed: tuple[tuple[Speed, float], ...]
    rise_k: float
    sd_k: float
    metered_rise_k: float | None = None

    def __post_init__(self) -> None:
        check_within("rise_k", self.rise_k, -60, 120, "K")
        check_within("sd_k", self.sd_k, 0.01, 30, "K")
        if self.metered_rise_k is not None:
            check_within("metered_rise_k", self.metered_rise_k, 0, 600, "K")


@dataclass(frozen=True, slots=True)
class Belief:
    """Several unknowns taken as Gaussian.

    Attributes
    ----------
    mean, covariance
        In the order of the `WorkUnknowns` beside it.
    """

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        if {len(row) for row in self.covariance} | {len(self.covariance)} != {len(self.mean)}:
            raise refuse("covariance", len(self.mean), "is not square", "a row for each mean")

    @classmethod
    def of(cls, mean: Numbers, covariance: Numbers) -> Belief:
        """Return the belief of a vector and a matrix."""
        return cls(
            tuple(float(m) for m in mean), tuple(tuple(float(c) for c in row) for row in covariance)
        )

    def along(self, row: Numbers) -> tuple[float, float]:
        """Return a weighted sum of the unknowns, and its standard deviation."""
        variance = float(row @ np.array(self.covariance) @ row)
        return float(row @ np.array(self.mean)), float(np.sqrt(max(variance, 0.0)))


@dataclass(frozen=True, slots=True)
class WorkUnknowns:
    """What is unknown of a mixer's work: a factor per speed, a deviation per class, its meter.

    The factor of a speed for a dough class is the sum of the speed's own and of the class's
    deviation. The last of the unknowns is how much more the meter shows than the dough receives.

    Attributes
    ----------
    prior_sd
        Spread of the first guess by speed, as a share of it.
    dough_classes
        Classes with a deviation.
    """

    prior_sd: tuple[tuple[Speed, float], ...] = ()
    dough_classes: tuple[str, ...] = ()

    @property
    def speeds(self) -> tuple[Speed, ...]:
        """Speeds with a factor."""
        return tuple(speed for speed, _ in self.prior_sd)

    def joined(self, prior_sd: Mapping[Speed, float], dough_class: str) -> WorkUnknowns:
        """Return these unknowns with the speeds and the class put in; what was first told stays."""
        spreads = dict(prior_sd) | dict(self.prior_sd)
        return WorkUnknowns(
            tuple(sorted(spreads.items())), tuple(sorted({*self.dough_classes, dough_class}))
        )

    def prior(self) -> tuple[Numbers, Numbers]:
        """Return mean and covariance before anything was read."""
        spread = np.array([sd for _, sd in self.prior_sd])
        together = SPEEDS_TOGETHER + (1 - SPEEDS_TOGETHER) * np.eye(len(spread))
        rest = [CLASS_SD**2] * len(self.dough_classes) + [METER_SD**2]
        covariance = np.diag(np.concatenate([spread**2, rest]))
        covariance[: len(spread), : len(spread)] = np.outer(spread, spread) * together
        return np.array([1.0] * len(spread) + [0.0] * len(rest)), covariance

    def row(self, degrees: Mapping[Speed, float], dough_class: str, meter: float = 0.0) -> Numbers:
        """Return the weights of the unknowns in the rise of a mix [K]."""
        whole = sum(degrees.values())
        return np.array(
            [degrees.get(speed, 0.0) for speed in self.speeds]
            + [whole if one == dough_class else 0.0 for one in self.dough_classes]
            + [meter]
        )

    def places_in(self, wider: WorkUnknowns) -> list[int]:
        """Return where each of these stands among wider unknowns."""
        count = len(wider.speeds)
        classes = [count + wider.dough_classes.index(one) for one in self.dough_classes]
        return [
            *(wider.speeds.index(speed) for speed in self.speeds),
            *classes,
            count + len(wider.dough_classes),
        ]


def widened(belief: Belief, unknowns: WorkUnknowns, wider: WorkUnknowns) -> Belief:
    """Return what a belief says of more unknowns.

    Parameters
    ----------
    belief, unknowns
        What is believed, and of what.
    wider
        The same and more: what is new is believed as far as its prior goes with that of the old.

    Returns
    -------
    Belief
        Of the wider unknowns.

    Notes
    -----
    With prior covariance ``S`` and ``B = S_no S_oo⁻¹`` the new is ``m_n + B (x_o - m_o)`` and an
    independent rest of covariance ``S_nn - B S_on``: a speed never read moves with the others.

    Examples
    --------
    >>> one = WorkUnknowns(((Speed.FIRST, 0.4),))
    >>> two = WorkUnknowns(((Speed.FIRST, 0.4), (Speed.SECOND, 0.2)))
    >>> sure = Belief((1.4, 0.0), ((0.0, 0.0), (0.0, 0.0)))  # a factor, and the meter
    >>> [round(m, 3) for m in widened(sure, one, two).mean]  # 1 + 0.6 * 0.2 / 0.4 * 0.4
    [1.4, 1.12, 0.0]
    """
    if unknowns == wider:
        return belief
    prior_mean, prior = wider.prior()
    old = unknowns.places_in(wider)
    new = [n for n in range(len(prior_mean)) if n not in old]
    share = prior[np.ix_(new, old)] @ np.linalg.inv(prior[np.ix_(old, old)])
    own = np.array(belief.covariance)
    mean, covariance = prior_mean.copy(), prior.copy()
    mean[old] = belief.mean
    mean[new] += share @ (mean[old] - prior_mean[old])
    covariance[np.ix_(old, old)] = own
    covariance[np.ix_(new, old)] = share @ own
    covariance[np.ix_(old, new)] = (share @ own).T
    covariance[np.ix_(new, new)] += share @ (own - prior[np.ix_(old, old)]) @ share.T
    return Belief.of(mean, (covariance + covariance.T) / 2)


@dataclass(frozen=True, slots=True)
class MixingWorkCorrection:
    """What is known of the mixing work of one mixer: factors on its first guess.

    Attributes
    ----------
    unknowns
        Speeds and dough classes.
    now
        What is believed of them.
    before
        What was believed before the oldest mix of the evidence.
    readings
        Mixes it rests on.
    evidence
        The latest of them, oldest first.
    trust
        How much each of these counts, 0 to 1: less when it fits none of the others.
    earlier_trust
        Sum of the trust of the mixes before them.
    ignored
        The baker's switch to leave it out; it goes on learning quietly.
    frozen
        The baker's switch to keep it as it is.
    """

    mixer_id: str
    unknowns: WorkUnknowns
    now: Belief
    before: Belief
    readings: int = 0
    evidence: tuple[WorkEvidence, ...] = ()
    trust: tuple[float, ...] = ()
    earlier_trust: float = 0.0
    ignored: bool = False
    frozen: bool = False

    @property
    def counting_readings(self) -> float:
        """Mixes it rests on, each counted by how much it is trusted."""
        return self.earlier_trust + sum(self.trust)

    def factor(self, speed: Speed, dough_class: str) -> tuple[float, float]:
        """Return the factor of a known speed for any class, and its standard deviation."""
        value, sd = self._along({speed: 1.0}, dough_class, {})
        return max(LEAST_FACTOR, value), sd

    def _along(
        self, degrees: Mapping[Speed, float], dough_class: str, prior_sd: Mapping[Speed, float]
    ) -> tuple[float, float]:
        wider = self.unknowns.joined(prior_sd, dough_class)
        row = wider.row(degrees, dough_class)
        return widened(self.now, self.unknowns, wider).along(row)


def nothing_learned(mixer_id: str) -> MixingWorkCorrection:
    """Return the correction of a mixer nothing was read of."""
    unknowns = WorkUnknowns()
    belief = Belief.of(*unknowns.prior())
    return MixingWorkCorrection(mixer_id, unknowns, belief, belief)


@dataclass(frozen=True, slots=True)
class Corrections:
    """Everything learned, each with its evidence."""

    mixing_work: tuple[MixingWorkCorrection, ...] = ()

    def of_mixer(self, mixer_id: str) -> MixingWorkCorrection | None:
        """Return what counts for a mixer, or None when nothing was learned or it is left out."""
        return next((c for c in self.mixing_work if c.mixer_id == mixer_id and not c.ignored), None)

    def work_factors(self, mixer: Mixer, dough_class: str) -> dict[Speed, tuple[float, float]]:
        """Return factor and standard deviation by speed; the first guess where nothing is known.

        Parameters
        ----------
        mixer, dough_class
            Where and what is mixed.
        """
        known, speeds = self._believed(mixer, dough_class)
        factors = {}
        for speed in speeds:
            value, sd = known.now.along(known.unknowns.row({speed: 1.0}, dough_class))
            factors[speed] = (max(LEAST_FACTOR, value), sd)
        return factors

    def corrected_work(self, mixer: Mixer, dough_class: str) -> dict[Speed, Estimate]:
        """Return mixing work by speed with what was learned applied [kJ/kg min].

        Parameters
        ----------
        mixer, dough_class
            Where and what is mixed.
        """
        correction = self.of_mixer(mixer.id)
        work = mixer.work_kj_per_kg_min
        if correction is None:
            return work
        factors = self.work_factors(mixer, dough_class)
        return {
            speed: Estimate(
                estimate.value * factors[speed][0],
                estimate.value * factors[speed][1],
                Origin.LEARNED if speed in correction.unknowns.speeds else estimate.origin,
                f"{correction.readings} readings",
            )
            for speed, estimate in work.items()
        }

    def work_sd_k(
        self, mixer: Mixer, dough_class: str, degrees_by_speed: Sequence[tuple[Speed, float]]
    ) -> float:
        """Return what the uncertain work does to a dough, one standard deviation [K].

        Parameters
        ----------
        mixer, dough_class
            Where and what is mixed.
        degrees_by_speed
            Degrees that 100 % more work than is now believed would give, by speed [K].

        Notes
        -----
        ``sqrt(d' P d)`` with the full covariance ``P``: after some mixes the sum of the speeds is
        known better than each of them.
        """
        factors = self.work_factors(mixer, dough_class)
        known, _ = self._believed(mixer, dough_class)
        degrees = {s: k / factors[s][0] for s, k in degrees_by_speed if s in factors}
        return known.now.along(known.unknowns.row(degrees, dough_class))[1]

    def _believed(
        self, mixer: Mixer, dough_class: str
    ) -> tuple[MixingWorkCorrection, tuple[Speed, ...]]:
        """Return what is believed of all speeds of a mixer and a class, read or not."""
        own = self.of_mixer(mixer.id) or nothing_learned(mixer.id)
        spreads = {s: prior_share(e) for s, e in mixer.work_kj_per_kg_min.items()}
        wider = own.unknowns.joined(spreads, dough_class)
        now = widened(own.now, own.unknowns, wider)
        return MixingWorkCorrection(mixer.id, wider, now, now), tuple(spreads)


def prior_share(estimate: Estimate) -> float:
    """Return the spread of a first guess of mixing work as a share of it."""
    if estimate.value <= 0:
        return LEAST_PRIOR_SD
    return max(LEAST_PRIOR_SD, estimate.sd / estimate.value)

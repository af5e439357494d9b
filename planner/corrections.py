"""What a bakery's readings have taught: corrections that enter the next plan as plain input."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.errors import check_within
from planner.estimate import Estimate, Origin
from planner.mixers import Mixer, Speed

CLASS_SD = 0.15
"""How far a dough class may differ from its mixer's usual work, as a share of it (our guess)."""

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
    source
        The one mix of one day that it is; empty for one that stands for itself.
    """

    dough_class: str
    degrees_by_speed: tuple[tuple[Speed, float], ...]
    rise_k: float
    sd_k: float
    source: str = ""

    def __post_init__(self) -> None:
        check_within("rise_k", self.rise_k, -60, 120, "K")
        check_within("sd_k", self.sd_k, 0.01, 30, "K")


@dataclass(frozen=True, slots=True)
class MixingWorkCorrection:
    """What is known of the mixing work of one mixer: factors on its first guess.

    The factor of a speed for a dough class is the sum of the speed's own and of the class's
    deviation; a class that was never read has none, and so profits from the others.

    Attributes
    ----------
    speeds, dough_classes
        What the rows stand for: first a factor per speed, then a deviation per class.
    mean, covariance
        Of these, in this order.
    readings
        Mixes it rests on.
    evidence
        The latest of them, oldest first.
    prior_sd
        Spread of the first guess by speed, as a share of it.
    ignored
        The baker's switch to leave it out; it goes on learning quietly.
    frozen
        The baker's switch to keep it as it is.
    """

    mixer_id: str
    speeds: tuple[Speed, ...]
    dough_classes: tuple[str, ...]
    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    readings: int
    evidence: tuple[WorkEvidence, ...]
    prior_sd: tuple[tuple[Speed, float], ...]
    ignored: bool = False
    frozen: bool = False

    def factor(self, speed: Speed, dough_class: str) -> tuple[float, float]:
        """Return the factor of a speed for a class, and its standard deviation."""
        pick = self._picks({speed: 1.0}, dough_class)
        value = float(pick @ np.array(self.mean))
        variance = float(pick @ np.array(self.covariance) @ pick)
        if dough_class not in self.dough_classes:
            variance += CLASS_SD**2
        return max(LEAST_FACTOR, value), float(np.sqrt(max(variance, 0.0)))

    def rise_sd_k(self, degrees: Sequence[tuple[Speed, float]], dough_class: str) -> float:
        """Return the spread of the rise that speeds which were read give a mix [K].

        Parameters
        ----------
        degrees
            Degrees per unit of factor, by speed [K]; each speed one of ``speeds``.
        dough_class
            What is mixed.
        """
        pick = self._picks(dict(degrees), dough_class)
        variance = float(pick @ np.array(self.covariance) @ pick)
        if dough_class not in self.dough_classes:
            variance += (CLASS_SD * sum(k for _, k in degrees)) ** 2
        return float(np.sqrt(max(variance, 0.0)))

    def _picks(self, by_speed: dict[Speed, float], dough_class: str) -> np.ndarray:
        whole = sum(by_speed.values())
        return np.array(
            [by_speed.get(speed, 0.0) for speed in self.speeds]
            + [whole if one == dough_class else 0.0 for one in self.dough_classes]
        )


@dataclass(frozen=True, slots=True)
class Corrections:
    """Everything learned, each with its evidence."""

    mixing_work: tuple[MixingWorkCorrection, ...] = ()

    def of_mixer(self, mixer_id: str) -> MixingWorkCorrection | None:
        """Return what counts for a mixer, or None when nothing was learned or it is left out."""
        return next((c for c in self.mixing_work if c.mixer_id == mixer_id and not c.ignored), None)

    def work_factors(self, mixer: Mixer, dough_class: str) -> dict[Speed, tuple[float, float]]:
        """Return factor and standard deviation by speed; the first guess where nothing is known."""
        correction = self.of_mixer(mixer.id)
        factors = {}
        for speed, estimate in mixer.work_kj_per_kg_min.items():
            if correction is not None and speed in correction.speeds:
                factors[speed] = correction.factor(speed, dough_class)
            else:
                factors[speed] = (1.0, prior_share(estimate))
        return factors

    def corrected_work(self, mixer: Mixer, dough_class: str) -> dict[Speed, Estimate]:
        """Return mixing work by speed with what was learned applied [kJ/kg min]."""
        correction = self.of_mixer(mixer.id)
        work = mixer.work_kj_per_kg_min
        if correction is None:
            return work
        return {
            speed: Estimate(
                estimate.value * factor,
                estimate.value * sd,
                Origin.LEARNED,
                f"{correction.readings} readings",
            )
            if speed in correction.speeds
            else estimate
            for (speed, estimate), (factor, sd) in zip(
                work.items(), self.work_factors(mixer, dough_class).values(), strict=True
            )
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
        A speed of which nothing was read keeps the spread of its first guess, whatever was learned
        of the others. First guesses of one mixer come from one table and err together.
        """
        factors = self.work_factors(mixer, dough_class)
        known = [(s, k / factors[s][0]) for s, k in degrees_by_speed if s in factors]
        correction = self.of_mixer(mixer.id)
        if correction is None:
            return sum(k * factors[s][1] for s, k in known)
        read = [(s, k) for s, k in known if s in correction.speeds]
        unread_k = sum(k * factors[s][1] for s, k in known if s not in correction.speeds)
        return float(np.hypot(correction.rise_sd_k(read, dough_class), unread_k))


def prior_share(estimate: Estimate) -> float:
    """Return the spread of a first guess of mixing work as a share of it."""
    if estimate.value <= 0:
        return LEAST_PRIOR_SD
    return max(LEAST_PRIOR_SD, estimate.sd / estimate.value)

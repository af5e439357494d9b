"""A cool-down corrected by one or two thermometer readings, and how sure its end is then.

References
----------
.. [1] Rodgers 2000, Inverse Methods for Atmospheric Sounding, section 5.3: the most probable state
   given a prior and a few readings, by Gauss and Newton.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.errors import OutOfRangeError
from planner.physics.cooling import (
    CoolingLeg,
    CoolingPath,
    OverTime,
    cooling_courses,
    minutes_to_cool,
)

Numbers = NDArray[np.float64]

FACTOR_SD, SKIN_SD, AIR_SD_K = 0.3, 0.4, 1.0
"""Spread of what is not known: logarithms of all coefficients of a vessel and of the evaporation of
an open top, and the air [K]. Read off their ranges in `ferment_constants` (ours)."""

MODEL_SD_K, MIDDLE_SD_K = 0.4, 0.8
"""What the column itself is wrong by, beside the thermometer, for the mean and for the middle, that
hangs on what lies above and below it [K] (ours, against the fine model with other bottoms)."""

ROUNDS = 4
STEPS = np.array([0.05, 0.5, 0.5, 0.1])
"""Differences by which the slopes are taken: factor, start [K], air [K], skin."""

SECOND_READING_TAU, SECOND_IN_THE_MIDDLE_TAU = 0.3, 0.45
"""A second reading tells most from this share of the time constant on: sooner, noise drowns it. In
the middle of a still paste later, since the middle lags behind (ours, by simulated scalds)."""


@dataclass(frozen=True, slots=True)
class ScaldReading:
    """One thermometer reading of a scald.

    Attributes
    ----------
    minutes
        After the pour [min].
    value_c, sd_k
        What was read, and how sure [°C, K].
    stirred
        Read after stirring through, so that it is the mean; otherwise in the middle.
    """

    minutes: float
    value_c: float
    sd_k: float = 0.5
    stirred: bool = True


@dataclass(frozen=True)
class FittedCooling:
    """A cool-down as readings have corrected it.

    Attributes
    ----------
    factor
        Learned factor on the coefficients of its vessel, cover and place.
    start_c
        Temperature right after the pour [°C].
    path
        The most probable curve.
    """

    factor: float
    start_c: float
    path: CoolingPath
    _others: tuple[CoolingPath, ...]
    _steps: Numbers
    _covariance: Numbers

    def ready(self, target_c: float) -> tuple[float, float]:
        """Return minutes from the pour until its mean is at a temperature, and their spread [min].

        Parameters
        ----------
        target_c
            Wanted [°C].

        Returns
        -------
        tuple of float
            The most probable, infinite if never, and one standard deviation.
        """
        at = float(minutes_to_cool(self.path, target_c))
        if not np.isfinite(at):
            return at, np.inf
        moved = np.array([float(minutes_to_cool(p, target_c)) for p in self._others])
        if not np.all(np.isfinite(moved)):
            return at, np.inf
        slope = (moved - at) / self._steps
        return at, float(np.sqrt(slope @ self._covariance @ slope))

    def mean_c(self, minutes: float) -> tuple[float, float]:
        """Return its mean some minutes after the pour, and its spread [°C, K]."""
        at = float(self.path.mean_at(minutes))
        slope = (np.array([float(p.mean_at(minutes)) for p in self._others]) - at) / self._steps
        return at, float(np.sqrt(slope @ self._covariance @ slope))


def fit_cooling(
    legs: Sequence[CoolingLeg],
    readings: Sequence[ScaldReading],
    *,
    start_c: float,
    start_sd_k: float = 5.0,
    start_minute: float = 0.0,
    air_sd_k: float = AIR_SD_K,
) -> FittedCooling:
    """Return the cool-down that agrees best with its readings and with what is usual.

    Parameters
    ----------
    legs
        Where it stands, as in `cooling_course`; what is stirred in at a leg stays so.
    readings
        None, one or more; each later than the pour. A stirred one mixes the paste.
    start_c, start_sd_k
        Temperature after the pour as foreseen, and its spread [°C, K].
    start_minute
        Minute of the pour [min].
    air_sd_k
        Spread of the air [K].

    Returns
    -------
    FittedCooling
        Without readings the usual curve with its wide band.

    Raises
    ------
    OutOfRangeError
        If a reading lies outside the course.

    Notes
    -----
    Unknown are a factor on all coefficients, the start, the air and the evaporation of an open top,
    each with its usual spread; the readings weigh against them by their own [1]_.
    """
    span = sum(leg.minutes for leg in legs)
    if any(not 0 <= r.minutes <= span for r in readings):
        raise OutOfRangeError("fit_cooling: a reading lies before the pour or after the course")
    split = _split(legs, sorted({r.minutes for r in readings if r.stirred}))
    prior = np.array([0.0, start_c, 0.0, 0.0])
    sd = np.array([FACTOR_SD, start_sd_k, air_sd_k, SKIN_SD])
    value = np.array([r.value_c for r in readings])
    weight = np.array([1 / (r.sd_k**2 + _model_sd_k(r) ** 2) for r in readings])
    state, precision = prior.copy(), np.diag(1 / sd**2)
    paths = _paths(split, state, start_minute)
    for _ in range(ROUNDS if readings else 0):
        now, slopes = _seen(paths, readings)
        precision = np.diag(1 / sd**2) + slopes.T @ (weight[:, None] * slopes)
        pull = slopes.T @ (weight * (value - now)) - (state - prior) / sd**2
        moved = np.linalg.solve(precision, pull)
        state = state + np.clip(moved, -3 * sd, 3 * sd)
        paths = _paths(split, state, start_minute)
        if np.all(np.abs(moved) < 0.02 * sd):
            break
    return FittedCooling(
        float(np.exp(state[0])),
        float(state[1]),
        paths[0],
        tuple(paths[1:]),
        STEPS,
        np.asarray(np.linalg.inv(precision), dtype=np.float64),
    )


def _model_sd_k(reading: ScaldReading) -> float:
    return MODEL_SD_K if reading.stirred else MIDDLE_SD_K


def _split(legs: Sequence[CoolingLeg], stirs: Sequence[float]) -> list[CoolingLeg]:
    """Return the legs cut at every stir, after which the paste is even again."""
    found, clock = [], 0.0
    for leg in legs:
        end, here, first = clock + leg.minutes, clock, leg
        for at in stirs:
            if here + 0.5 < at < end - 0.5:
                found.append(replace(first, minutes=at - here))
                here, first = at, replace(leg, mixed_to_c=None, stirred_first=True)
        found.append(replace(first, minutes=end - here))
        clock = end
    return found


def _paths(legs: Sequence[CoolingLeg], state: Numbers, start_minute: float) -> list[CoolingPath]:
    """Return the course at a state, and with each unknown a step further."""
    states = [state, *(state + np.diag(STEPS))]
    return cooling_courses(
        [_variant(legs, one) for one in states],
        start_c=[one[1] for one in states],
        start_minute=start_minute,
        step_min=10.0,
    )


def _variant(legs: Sequence[CoolingLeg], state: Numbers) -> list[CoolingLeg]:
    """Return the legs at a state; its start is given beside them."""
    factor, air_k, skin = float(np.exp(state[0])), float(state[2]), float(np.exp(state[3]))
    return [
        replace(
            leg,
            body=replace(
                leg.body,
                surface_factor=leg.body.surface_factor * factor,
                skin_factor=leg.body.skin_factor * skin,
            ),
            air_c=_warmer(leg, air_k),
        )
        for leg in legs
    ]


def _warmer(leg: CoolingLeg, by_k: float) -> OverTime:
    return lambda minute: leg.air_c(minute) + by_k


def _seen(
    paths: Sequence[CoolingPath], readings: Sequence[ScaldReading]
) -> tuple[Numbers, Numbers]:
    """Return what the readings should be, and how each moves with the unknowns."""
    by_path = np.array([[_reads(path, r) for r in readings] for path in paths])
    return by_path[0], ((by_path[1:] - by_path[0]) / STEPS[:, None]).T


def _reads(path: CoolingPath, reading: ScaldReading) -> float:
    curve = path.mean_c if reading.stirred else path.centre_c
    return float(np.interp(reading.minutes, path.minutes, curve.reshape(-1)))


def second_reading_min(path: CoolingPath, air_c: float, *, stirred: bool = True) -> float:
    """Return when a second reading tells most: minutes after the pour [min].

    Parameters
    ----------
    path
        The cool-down from one pour.
    air_c
        Air of its place [°C].
    stirred
        Whether it will be stirred through first.

    Notes
    -----
    From 0.3 of the time in which the excess falls to a third on: of two readings with half a
    degree of noise, closer ones leave the end open by a third of its time (ours, by simulation).
    """
    start_c = float(path.mean_c.reshape(-1)[0])
    third_c = air_c + (start_c - air_c) / np.e
    tau = float(minutes_to_cool(path, third_c).reshape(-1)[0])
    share = SECOND_READING_TAU if stirred else SECOND_IN_THE_MIDDLE_TAU
    return share * (tau if np.isfinite(tau) else float(path.minutes[-1]))

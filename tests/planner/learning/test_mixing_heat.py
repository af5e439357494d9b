"""Recover a hidden mixing work from noisy readings, and stay put when readings are bad."""

import numpy as np
import pytest

from planner.corrections import Corrections
from planner.learning.readings import learn
from planner.readings import MixOutcome

DEGREES = 6.0  # what 100 % of the first guess of work is worth in this dough


def readings(true_factor: float, count: int, seed: int = 1, noise_k: float = 0.6):
    """End temperatures of mixes whose true work is ``true_factor`` of the first guess."""
    noise = np.random.default_rng(seed).normal(0.0, noise_k, count)
    return [
        MixOutcome(
            f"m{i}",
            "spiral",
            "wheat",
            25.0,
            25.0 + DEGREES * (true_factor - 1.0) + float(noise[i]),
            0.3,
            DEGREES,
        )
        for i in range(count)
    ]


def factor_after(outcomes) -> float:
    return learn(outcomes, Corrections()).mixing_work[0].factor


def test_one_reading_by_hand():
    """Prior 1 ± 0.4 is 2.4 K here; noise is √(0.5² + 0.6²) = 0.781 K, one sigma.

    Gain 0.4² · 6 / (2.4² + 0.61) = 0.1507 per K; +1.5 K gives a factor of 1.226.
    """
    one = MixOutcome("m", "spiral", "wheat", 25.0, 26.5, 0.5, DEGREES)
    learned = learn([one], Corrections()).mixing_work[0]
    assert learned.factor == pytest.approx(1.226, abs=0.001)
    assert learned.readings == 1


@pytest.mark.parametrize("true_factor", [0.6, 0.9, 1.3])
def test_five_mixes_find_the_hidden_work(true_factor):
    """After five mixes the dough is known to about 0.5 K: 0.08 of this factor."""
    misses = [abs(factor_after(readings(true_factor, 5, seed)) - true_factor) for seed in range(40)]
    assert np.sqrt(np.mean(np.square(misses))) * DEGREES < 0.5


def test_three_mixes_at_one_and_a_half_degrees_do_not_stay_there():
    """Each mix is predicted with what the mixes before it taught."""
    corrections, misses = Corrections(), []
    for i in range(3):
        known = corrections.work_factor("spiral", "wheat")
        factor = 1.0 if known is None else known.factor
        predicted = 25.0 + DEGREES * (factor - 1.0)
        misses.append(26.5 - predicted)
        corrections = learn(
            [MixOutcome(f"m{i}", "spiral", "wheat", predicted, 26.5, 0.5, DEGREES)], corrections
        )
    assert misses[0] == pytest.approx(1.5)
    assert abs(misses[2]) < 0.3


def test_one_bad_probe_moves_a_bakery_little():
    good = readings(1.0, 6)
    bad = MixOutcome("x", "spiral", "wheat", 25.0, 45.0, 0.3, DEGREES)
    assert abs(factor_after([*good, bad]) - factor_after(good)) * DEGREES < 0.7


def test_an_overloaded_bowl_teaches_nothing():
    over = MixOutcome("x", "spiral", "wheat", 25.0, 29.0, 0.3, DEGREES, overloaded=True)
    assert learn([over], Corrections()).mixing_work == ()


def test_a_remembered_mix_counts_for_less_than_a_reading():
    sure = MixOutcome("a", "spiral", "wheat", 25.0, 27.0, 0.3, DEGREES)
    about = MixOutcome("a", "spiral", "wheat", 25.0, 27.0, 2.0, DEGREES)
    assert 1.0 < factor_after([about]) < factor_after([sure])


def test_classes_and_mixers_are_kept_apart():
    mixes = [
        MixOutcome("a", "spiral", "wheat", 25.0, 27.0, 0.3, DEGREES),
        MixOutcome("b", "spiral", "rye", 25.0, 24.0, 0.3, DEGREES),
        MixOutcome("c", "fork", "wheat", 25.0, 25.0, 0.3, DEGREES),
    ]
    learned = learn(mixes, Corrections())
    assert len(learned.mixing_work) == 3
    rye, wheat = learned.work_factor("spiral", "rye"), learned.work_factor("spiral", "wheat")
    assert rye is not None
    assert wheat is not None
    assert rye.factor < 1 < wheat.factor

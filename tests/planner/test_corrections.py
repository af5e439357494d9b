"""What was learned, as the next plan takes it."""

import pytest

from planner.corrections import CLASS_SD, Corrections
from planner.learning.readings import learn
from planner.mixers import MixerKind, Speed, mixer
from planner.readings import MixOutcome

SPIRAL = mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 60.0)
BOTH = ((Speed.FIRST, 1.0), (Speed.SECOND, 5.0))


def first_speed_only(mixes: int) -> Corrections:
    """Mixes at first speed, each six degrees of work and as foreseen."""
    slow = MixOutcome(
        "a", "spiral", "wheat", 25.0, 25.0, 0.5,
        ((Speed.FIRST, 6.0),), ((Speed.FIRST, 1.0),), ((Speed.FIRST, 0.43),),
    )  # fmt: skip
    return learn([slow] * mixes, Corrections())


def test_a_speed_never_read_keeps_the_spread_of_its_first_guess():
    """Second speed 5 K by a guess of so much; the learned first speed only adds its own."""
    learned = first_speed_only(5)
    guess_sd = SPIRAL.work_kj_per_kg_min[Speed.SECOND].sd / (
        SPIRAL.work_kj_per_kg_min[Speed.SECOND].value
    )
    first_sd = learned.work_factors(SPIRAL, "wheat")[Speed.FIRST][1]
    by_hand_k = (first_sd**2 + (5 * guess_sd) ** 2) ** 0.5
    assert learned.work_sd_k(SPIRAL, "wheat", BOTH) == pytest.approx(by_hand_k, rel=1e-6)
    alone_k = learned.work_sd_k(SPIRAL, "wheat", BOTH[1:])
    assert alone_k == pytest.approx(Corrections().work_sd_k(SPIRAL, "wheat", BOTH[1:]), rel=1e-6)


def test_what_was_learned_of_the_first_speed_still_narrows_the_band():
    unread_k, learned_k = (
        known.work_sd_k(SPIRAL, "wheat", BOTH) for known in (Corrections(), first_speed_only(5))
    )
    assert learned_k < unread_k


def test_a_class_never_read_is_less_sure_than_one_that_was():
    first = BOTH[:1]
    known = first_speed_only(40)
    sweet, wheat = (known.work_sd_k(SPIRAL, c, first) for c in ("sweet", "wheat"))
    assert sweet > wheat
    assert sweet >= CLASS_SD

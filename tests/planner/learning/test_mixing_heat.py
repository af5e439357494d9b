"""Learning mixing work: hidden truths are found, bad readings change little, switches are kept."""

from dataclasses import replace
from random import Random
from statistics import mean

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.corrections import Corrections
from planner.learning.mixing_heat import learn_mixing_work
from planner.learning.readings import learn
from planner.mixers import MixerKind, Speed, mixer
from planner.readings import MixOutcome
from tests.benchmarks.learning import after, first_night, through_a_year
from tests.planner.learning.simulated_bakery import HiddenBakery, Season, mixed

PRIOR = ((Speed.FIRST, 0.43), (Speed.SECOND, 0.375))
SPIRAL = mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 60.0)


def outcome(surprise_k: float, *, first_k=1.0, second_k=3.0, factors=(1.0, 1.0), **changes):
    """A mix foreseen at 25 °C that came off so much warmer."""
    values = {
        "mix_id": "m",
        "mixer_id": "spiral",
        "dough_class": "wheat",
        "predicted_c": 25.0,
        "measured_c": 25.0 + surprise_k,
        "measured_sd_k": 0.4,
        "degrees_by_speed": ((Speed.FIRST, first_k), (Speed.SECOND, second_k)),
        "factor_by_speed": ((Speed.FIRST, factors[0]), (Speed.SECOND, factors[1])),
        "work_prior_sd": PRIOR,
    }
    return MixOutcome(**(values | changes))


def rise_k(known: Corrections, dough_class: str = "wheat") -> float:
    """Degrees that the ordinary mix is now thought to rise by its work."""
    factors = known.work_factors(SPIRAL, dough_class)
    return 1.0 * factors[Speed.FIRST][0] + 3.0 * factors[Speed.SECOND][0]


# ---- by hand -----------------------------------------------------------------------------------


def test_one_reading_against_the_closed_form():
    """One speed, spread 0.375, 4 K a unit, noise 0.7: gain 4·0.1406·/(16·0.1406 + 0.49).

    With a reading one standard deviation off, its weight is one: factor 1 + 0.205·2 K = 1.41.
    """
    one = outcome(
        1.0,
        degrees_by_speed=((Speed.SECOND, 4.0),),
        factor_by_speed=((Speed.SECOND, 1.0),),
        work_prior_sd=((Speed.SECOND, 0.375),),
        measured_sd_k=0.7,
        other_sd_k=0.0,
    )
    learned = learn_mixing_work([one], Corrections()).mixing_work[0]
    value, _ = learned.factor(Speed.SECOND, "wheat")
    spread = 0.375**2 + 0.15**2  # the speed's own and its class's
    assert value == pytest.approx(1 + 4 * spread / (16 * spread + 0.49) * 1.0, abs=0.02)


def test_speeds_share_a_surprise_by_their_degrees_and_spreads():
    """By hand: the covariance of each with the rise, d sd², is 1·0.185 against 3·0.141."""
    known = learn_mixing_work([outcome(1.0)], Corrections()).mixing_work[0]
    first, second = (m - 1 for m in known.mean[:2])
    assert second / first == pytest.approx(3 * 0.375**2 / (0.43**2), rel=0.01)


def test_a_metered_batch_sets_its_work_directly():
    """The meter says 30 % more than was foreseen, the thermometer nothing."""
    metered = [outcome(0.0, metered_work_share=1.3) for _ in range(6)]
    assert rise_k(learn_mixing_work(metered, Corrections())) == pytest.approx(4 * 1.3, rel=0.03)


# ---- what a bakery sees ------------------------------------------------------------------------


def test_three_mixes_that_come_off_warm_do_not_stay_warm():
    """+1.5 °C three times running: the next is foreseen within half a degree of the truth."""
    known, true_rise_k = Corrections(), 4.0 + 1.5
    for _ in range(3):
        factors = known.work_factors(SPIRAL, "wheat")
        believed = rise_k(known)
        known = learn(
            [
                outcome(
                    true_rise_k - believed,
                    first_k=factors[Speed.FIRST][0],
                    second_k=3 * factors[Speed.SECOND][0],
                    factors=(factors[Speed.FIRST][0], factors[Speed.SECOND][0]),
                )
            ],
            known,
        )
    assert rise_k(known) == pytest.approx(true_rise_k, abs=0.5)


def test_one_bad_probe_after_good_ones_moves_little():
    """Five degrees off, after five mixes as foreseen: under 0.3 °C."""
    good = [outcome(0.1), outcome(-0.2), outcome(0.0), outcome(0.2), outcome(-0.1)]
    before = learn(good, Corrections())
    spoiled = learn([outcome(5.0)], before)
    assert abs(rise_k(spoiled) - rise_k(before)) < 0.3


def test_a_bad_first_reading_is_outvoted():
    known = learn([outcome(5.0), outcome(0.0), outcome(0.1), outcome(-0.1)], Corrections())
    assert abs(rise_k(known) - 4.0) < 0.6


def test_the_order_of_a_bad_reading_hardly_matters():
    readings = [outcome(5.0), outcome(0.2), outcome(0.0), outcome(-0.2)]
    rises = [rise_k(learn(order, Corrections())) for order in (readings, readings[::-1])]
    assert rises[0] == pytest.approx(rises[1], abs=0.5)


def test_a_real_change_of_the_mixer_is_followed():
    """Twenty as foreseen, then a new tool, two degrees warmer: after twelve more most is known."""
    known = learn([outcome(0.0)] * 20, Corrections())
    known = learn([outcome(2.0)] * 12, known)
    assert rise_k(known) > 4.0 + 1.2


def test_a_class_never_read_profits_from_the_mixer():
    """Sweet dough was never read: it gets what the mixer's speeds have shown, less surely."""
    known = learn([outcome(2.0)] * 5, Corrections())
    assert rise_k(known, "sweet") > 4.8
    assert rise_k(known, "wheat") >= rise_k(known, "sweet")
    degrees = ((Speed.FIRST, 1.0), (Speed.SECOND, 3.0))
    sweet, wheat = (known.work_sd_k(SPIRAL, c, degrees) for c in ("sweet", "wheat"))
    assert sweet > wheat


def test_two_classes_can_differ():
    both = [outcome(1.0), outcome(-1.0, dough_class="rye")] * 6
    known = learn(both, Corrections())
    assert rise_k(known, "wheat") > 4.4
    assert rise_k(known, "rye") < 3.6


def test_an_overloaded_mixer_and_a_dough_hardly_worked_teach_nothing():
    nothing = [outcome(4.0, overloaded=True), outcome(4.0, first_k=0.1, second_k=0.1)]
    assert learn(nothing, Corrections()) == Corrections()


def test_what_is_ignored_learns_quietly_and_what_is_frozen_stays():
    known = learn([outcome(1.0)] * 3, Corrections())
    off = Corrections((replace(known.mixing_work[0], ignored=True),))
    assert rise_k(off) == 4.0
    assert learn([outcome(1.0)], off).mixing_work[0].readings == 4
    kept = Corrections((replace(known.mixing_work[0], frozen=True),))
    assert learn([outcome(-3.0)] * 5, kept) == kept


def test_one_by_one_is_the_same_as_together():
    readings = [outcome(k, dough_class=c) for k, c in ((1, "wheat"), (0.4, "rye"), (0.7, "wheat"))]
    one_by_one = Corrections()
    for reading in readings:
        one_by_one = learn([reading], one_by_one)
    assert one_by_one == learn(readings, Corrections())


surprises = st.lists(st.floats(-6, 6), min_size=1, max_size=30)


@given(surprises)
def test_the_spread_never_grows_and_stays_a_covariance(ks):
    known = learn([outcome(k) for k in ks], Corrections()).mixing_work[0]
    covariance = np.array(known.covariance)
    assert np.linalg.eigvalsh(covariance).min() > 0
    prior = [0.43, 0.375, 0.15]
    assert all(c <= p**2 + 1e-12 for c, p in zip(np.diag(covariance), prior, strict=True))


@given(surprises, st.floats(0.05, 0.4))
def test_a_warmer_last_reading_never_lowers_the_work(ks, more_k):
    """As long as it agrees with the others: a reading far off loses weight by design."""
    ks = [max(-0.3, min(0.3, k)) for k in ks]
    cooler = learn([outcome(k) for k in ks], Corrections())
    warmer = learn([outcome(k) for k in [*ks[:-1], ks[-1] + more_k]], Corrections())
    assert rise_k(warmer) >= rise_k(cooler) - 1e-9


def test_mixers_do_not_learn_from_each_other():
    other = [outcome(2.0, mixer_id="fork")] * 4
    mine = [outcome(0.5)] * 4
    alone, beside = learn(mine, Corrections()), learn([*other, *mine], Corrections())
    assert rise_k(alone) == rise_k(beside)


# ---- hidden bakeries ---------------------------------------------------------------------------


def test_the_first_night_is_no_worse_than_the_bakers_memory():
    """Mean error of the dough without, with one and with two remembered mixes of the mixer.

    A first guess of work is good to about 2 °C of dough; a remembered mix to about 1.5 °C.
    """
    none, one, two = (first_night(40, memories) for memories in (0, 1, 2))
    assert two < one < none
    assert none < 2.0
    assert one < 1.2


def test_after_five_mixes_a_dough_is_known_to_half_a_degree():
    """0.8 °C, one standard deviation, is what is said of a calibrated mixer."""
    five, twenty = after(30, 5), after(15, 20)
    assert five < 0.8
    assert twenty <= five + 0.05


def test_through_a_year_the_learned_balance_beats_the_tuned_sum():
    ours, tuned, kept = through_a_year(5, step=9)
    assert ours < 0.6 * tuned < kept


def test_water_is_colder_after_warm_doughs():
    hidden = HiddenBakery(Random(1), first=1.0, second=2.2)
    season = Season(22.0, 23.0, 14.0)
    errors, known = [], Corrections()
    for _ in range(6):
        error, known = mixed(hidden, season, known)
        errors.append(error)
    assert errors[0] > 1.0
    assert abs(mean(errors[3:])) < 0.6

"""Readings of a cooling scald: simulated scalds with hidden coefficients, by the fine model."""

from dataclasses import dataclass

import numpy as np
import pytest

from planner.bakery import Cover
from planner.errors import OutOfRangeError
from planner.physics.cooling import CoolingLeg
from planner.physics.scald_reading import ScaldReading, fit_cooling, second_reading_min
from tests.planner.physics.fine_scald import Fine
from tests.planner.physics.fine_scald import hours_to as fine_hours
from tests.planner.physics.scald_bodies import body, path

OPEN, FILM = Cover.OPEN, Cover.FILM
VESSELS = [(2, 0.22, None), (20, 0.53, 0.38), (13, 0.60, 0.40), (60, 0.65, None)]
FORESEEN_ROOM_C, FORESEEN_START_C, SPAN_H = 23.0, 75.0, 30.0


@dataclass(frozen=True)
class Hidden:
    """One scald as it really is."""

    paste: object
    fine: Fine
    room_c: float
    start_c: float
    target_c: float


def hidden_scalds(count, seed):
    """Coefficients, bottom, skin, humidity, room and pour differ from what is foreseen."""
    rng = np.random.default_rng(seed)
    found = []
    for i in range(count):
        mass_kg, length_m, width_m = VESSELS[i % len(VESSELS)]
        is_open = bool(i // len(VESSELS) % 2)
        paste = body(mass_kg, length_m, width_m, OPEN if is_open else FILM)
        fine = Fine(
            length_m,
            paste.depth_m,
            width_m,
            is_open=is_open,
            factor=float(np.exp(rng.normal(0, 0.25))),
            bottom=float(rng.uniform(4.0, 8.5)),
            skin=float(rng.uniform(0.3, 0.9)),
            humidity=float(rng.uniform(0.35, 0.65)),
            k=float(rng.uniform(0.46, 0.54)),
        )
        room_c = FORESEEN_ROOM_C + float(rng.normal(0, 1.0))
        start_c = FORESEEN_START_C + float(rng.normal(0, 4.0))
        found.append(Hidden(paste, fine, room_c, start_c, 35.0))
    return found


def leg_of(one):
    return CoolingLeg(
        one.paste,
        SPAN_H * 60,
        lambda m: np.full_like(m, FORESEEN_ROOM_C),
        lambda m: np.full_like(m, 0.5),
    )


def second_min(one, *, stirred):
    """As the planner asks for it, to five minutes."""
    usual = path(one.paste, FORESEEN_START_C, FORESEEN_ROOM_C, span_h=SPAN_H)
    asked = second_reading_min(usual, FORESEEN_ROOM_C, stirred=stirred)
    return max(15.0, 5.0 * np.ceil(asked / 5))


def error_of(one, when, *, stirred, rng):
    """Ready time after readings at some minutes, as a share of the true one off it."""
    stir_at = when if stirred else ()
    run = one.fine.run(one.start_c, one.room_c, SPAN_H, cells=(6, 10), stir_at=stir_at)
    readings = [
        ScaldReading(
            m,
            float(np.interp(m, run[0], run[1 if stirred else 3])) + float(rng.normal(0, 0.5)),
            0.5,
            stirred,
        )
        for m in when
    ]
    fit = fit_cooling([leg_of(one)], readings, start_c=FORESEEN_START_C)
    found, sd = fit.ready(one.target_c)
    true = fine_hours(run, one.target_c) * 60
    return (found - true) / true, (found - true) / sd


@pytest.fixture(scope="module")
def errors():
    """Relative errors by what was read: nothing, one, two stirred, two in the middle."""
    scalds, rng = hidden_scalds(12, 5), np.random.default_rng(6)
    kinds = {"none": ((), True), "one stirred": ((0,), True), "two stirred": ((5, 0), True)}
    kinds["two middle"] = ((5, 0), False)
    return {
        name: np.array(
            [
                error_of(
                    one,
                    tuple(m or second_min(one, stirred=stirred) for m in firsts),
                    stirred=stirred,
                    rng=rng,
                )
                for one in scalds
            ]
        )
        for name, (firsts, stirred) in kinds.items()
    }


def rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


@pytest.mark.parametrize("kind", ["two stirred", "two middle"])
def test_two_readings_bring_the_ready_time_within_ten_per_cent(errors, kind):
    assert rms(errors[kind][:, 0]) < 0.10


def test_each_reading_helps(errors):
    """Root mean square of the ready time: without 15 to 40 %, then less and less."""
    without, one, two = (rms(errors[k][:, 0]) for k in ("none", "one stirred", "two stirred"))
    assert 0.15 < without < 0.40
    assert one < 0.7 * without
    assert two <= one * 1.02


@pytest.mark.parametrize("kind", ["none", "one stirred", "two stirred", "two middle"])
def test_the_band_is_honest(errors, kind):
    """Errors in units of their own spread: neither far above one nor far below."""
    assert 0.5 < rms(errors[kind][:, 1]) < 1.4


def test_a_reading_as_foreseen_changes_nothing_but_the_band():
    paste = body(20, 0.53, 0.38)
    usual = path(paste, 75.0, 23.0, span_h=30, step_min=10)
    one = Hidden(paste, None, 23.0, 75.0, 35.0)
    before, wide = fit_cooling([leg_of(one)], [], start_c=75.0).ready(35.0)
    asked = ScaldReading(120.0, float(np.interp(120, usual.minutes, usual.centre_c)), 0.3, False)
    after, narrow = fit_cooling([leg_of(one)], [asked], start_c=75.0).ready(35.0)
    assert after == pytest.approx(before, rel=0.02)
    assert narrow < 0.8 * wide


def test_a_warmer_reading_makes_it_later():
    paste = body(20, 0.53, 0.38)
    one = Hidden(paste, None, 23.0, 75.0, 35.0)
    usual = path(paste, 75.0, 23.0, span_h=30)
    at = float(usual.mean_at(150))
    later, sooner = (
        fit_cooling([leg_of(one)], [ScaldReading(150.0, at + off)], start_c=75.0).ready(35.0)[0]
        for off in (3.0, -3.0)
    )
    assert later > sooner + 30


def test_two_readings_far_apart_tell_more_than_two_close_ones():
    """By the band alone: the second at 0.3 of the time constant, or a quarter of an hour on."""
    one = Hidden(body(20, 0.53, 0.38), None, 23.0, 75.0, 35.0)
    usual = path(one.paste, 75.0, 23.0, span_h=30)
    bands = {}
    for second in (20.0, second_reading_min(usual, 23.0)):
        readings = [ScaldReading(m, float(usual.mean_at(m))) for m in (5.0, second)]
        bands[second] = fit_cooling([leg_of(one)], readings, start_c=75.0).ready(35.0)[1]
    close, far = bands.values()
    assert far < 0.75 * close


def test_a_reading_before_the_pour_is_refused():
    one = Hidden(body(2, 0.22), None, 23.0, 75.0, 35.0)
    with pytest.raises(OutOfRangeError, match="fit_cooling"):
        fit_cooling([leg_of(one)], [ScaldReading(-5.0, 60.0)], start_c=75.0)


def test_what_is_never_reached_has_no_band():
    one = Hidden(body(2, 0.22), None, 23.0, 75.0, 35.0)
    ready, sd = fit_cooling([leg_of(one)], [], start_c=75.0).ready(20.0)
    assert ready == np.inf
    assert sd == np.inf


def test_the_second_reading_is_asked_for_at_a_third_of_the_time_constant():
    """Stirred and covered the curve is one exponential: tau by hand from its areas."""
    tub = body(20, 0.53, 0.38, stirred=True)
    area, around = 0.53 * 0.38, 2 * (0.53 + 0.38)
    watts_per_k = area * (9 + 6) + around * tub.depth_m * 9
    tau_min = 20 * 3420 / watts_per_k / 60
    usual = path(tub, 75.0, 23.0, span_h=30)
    assert second_reading_min(usual, 23.0) == pytest.approx(0.3 * tau_min, rel=0.01)
    assert second_reading_min(usual, 23.0, stirred=False) == pytest.approx(0.45 * tau_min, rel=0.01)

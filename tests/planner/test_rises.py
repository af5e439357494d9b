"""A baker's statement by the clock comes back by the clock."""

import numpy as np
import pytest

from planner.corrections import Corrections
from planner.night import Night
from planner.ripening import (
    ByTheClock,
    Curve,
    HoursAt,
    Ripening,
)
from planner.rises import dough_rise, on_the_bench_c, piece_rise
from tests.planner.builders import day, loaf, night_of


def night(temperature_c: float) -> Night:
    return Night(day(), night_of(temperature_c), Corrections())


@pytest.mark.parametrize("curve", list(Curve))
@pytest.mark.parametrize(("minutes", "dough_c"), [(45, 26.0), (120, 24.0), (300, 25.0)])
def test_the_usual_night_gives_the_usual_minutes(curve, minutes, dough_c):
    """Same room, same dough, same mass: ripe after the minutes the baker stated."""
    ripening = Ripening(ByTheClock(minutes, 23.0), curve, "room")
    rise = dough_rise(night(23.0), ripening, 20.0, dough_c)
    ripe = float(rise.window(rise.path(600.0, dough_c, step_min=1.0))[1])
    assert ripe == pytest.approx(minutes, abs=1.0)


def test_a_warmer_night_is_faster_and_a_cooler_one_slower():
    ripening = Ripening(ByTheClock(120, 24.0), Curve.YEAST, "room")
    ripe = {}
    for room_c in (19.0, 24.0, 29.0):
        rise = dough_rise(night(room_c), ripening, 20.0, 25.0)
        ripe[room_c] = float(rise.window(rise.path(600.0, 25.0))[1])
    assert ripe[29.0] < ripe[24.0] < ripe[19.0]


def test_a_bigger_batch_keeps_its_heat():
    """Stated for 10 kg in a cool room; 60 kg stay warmer and are ripe sooner."""
    ripening = Ripening(ByTheClock(180, 20.0, dough_kg=10.0), Curve.YEAST, "room")
    small, big = (dough_rise(night(20.0), ripening, kg, 27.0) for kg in (10.0, 60.0))
    minutes = [float(r.window(r.path(600.0, 27.0))[1]) for r in (small, big)]
    assert minutes[1] < minutes[0]
    assert minutes[0] == pytest.approx(180, abs=2)


def test_hours_at_a_dough_temperature_hold_when_the_dough_stays_there():
    """Ten hours at 25 °C in a 25 °C room: only its own heat makes it a little sooner."""
    ripening = Ripening(HoursAt(10, 25), Curve.LEVAIN, "room")
    rise = dough_rise(night(25.0), ripening, 1.0, 25.0)
    ripe_h = float(rise.window(rise.path(0.0, 25.0))[1]) / 60
    assert 9.5 <= ripe_h <= 10.0


def test_the_window_is_in_order():
    rise = piece_rise(night(26.0), loaf(), 0, 25.0)
    low, ripe, high = (float(m) for m in rise.window(rise.path(600.0, 26.0)))
    assert low < ripe < high


def test_a_slower_rate_and_a_cooler_room_are_both_later():
    ripening = Ripening(ByTheClock(120, 24.0), Curve.YEAST, "room")
    rise = dough_rise(night(24.0), ripening, 20.0, 25.0)
    usual = float(rise.window(rise.path(600.0, 25.0))[1])
    slow = float(rise.window(rise.path(600.0, 25.0, rate=0.9))[1])
    cool = float(rise.window(rise.path(600.0, 25.0, air_offset_k=-3.0))[1])
    assert slow > usual
    assert cool > usual


def test_pieces_on_the_bench_go_towards_the_room():
    one = night(15.0)
    cooled = on_the_bench_c(one, "room", 0.8, 26.0, 600.0, 20.0)
    assert 15 < float(cooled) < 26
    assert float(on_the_bench_c(one, "room", 0.8, 26.0, 600.0, 0.0)) == pytest.approx(26.0)


def test_a_steady_room_needs_no_tricks_to_be_seen_as_long_enough():
    rise = dough_rise(night(24.0), lean := loaf().routes[0], 20.0, 25.0)
    assert rise.longest_min >= 60 * rise.reference_hours * lean.by_progress
    assert np.isfinite(rise.longest_min)

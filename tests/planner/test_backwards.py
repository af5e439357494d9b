"""Time read backwards: each answer, put forwards again, is ripe when it was wanted."""

from dataclasses import replace

import numpy as np
import pytest

from planner.backwards import for_ripe_time, ripe_after
from planner.bakery import Chamber, ChamberKind
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.night import Night
from planner.ripening import Curve, HoursAt, Ripening
from planner.rises import dough_rise
from tests.planner.builders import bakery, day, lean_dough, night_of


def a_night(room_c: float, **house) -> Night:
    return Night(day(bakery=bakery(**house)), night_of(room_c), Corrections())


def ripe(night, formula, kg, mix_end, dough_c) -> float:
    rise = dough_rise(night, formula.bulk, kg, formula.dough_c)
    return float(ripe_after(rise, mix_end, np.array([dough_c]))[0])


@pytest.mark.parametrize("wanted_min", [80.0, 90.0, 105.0])
def test_the_dough_temperature_that_is_ripe_in_time(wanted_min):
    night, formula = a_night(24.0), lean_dough(band_k=4.0)
    answer = for_ripe_time(night, formula, 30.0, 200.0, wanted_min)
    assert ripe(night, formula, 30.0, 200.0, answer.dough_c) == pytest.approx(wanted_min, abs=1)


def test_outside_the_band_is_refused_by_name_and_the_nearest_told():
    """Ninety minutes at 25 ± 1 °C; sixty would take a dough far warmer."""
    answer = for_ripe_time(a_night(24.0), lean_dough(), 30.0, 200.0, 60.0)
    assert not answer.in_band
    assert 75 < answer.nearest_min < 90


def test_an_impossible_wish_has_no_dough_temperature():
    assert for_ripe_time(a_night(24.0), lean_dough(), 30.0, 200.0, 5.0).dough_c is None


def test_a_long_bulk_in_a_small_tub_is_decided_by_the_room():
    """Ten hours of levain, 5 kg: a degree of dough is worth 1 to 3 %; in a 60 kg tub more."""
    slow = lean_dough(bulk=Ripening(HoursAt(10, 25), Curve.LEVAIN, "room"))
    small = for_ripe_time(a_night(25.0), slow, 5.0, 100.0, 500.0)
    assert small.room_decides
    assert 0.005 <= small.minutes_per_degree / 600 <= 0.03
    quick = for_ripe_time(a_night(25.0), lean_dough(), 20.0, 100.0, 80.0)
    assert not quick.room_decides


def test_the_dose_that_does_it():
    """Yeast as time to the power −0.85: ripe in 120 instead of 90 minutes."""
    night, formula = a_night(25.0), lean_dough()
    own = ripe(night, formula, 30.0, 200.0, 25.0)
    dose = for_ripe_time(night, formula, 30.0, 200.0, own * 1.3).dose_factor
    assert dose == pytest.approx(1.3 ** (-1 / 0.85), abs=0.04)


def test_a_cooler_place_is_told_with_its_time():
    cellar = Chamber("cellar", "cellar", ChamberKind.COOLER, Estimate(16.0), 2)
    night, formula = a_night(26.0, chambers=(cellar,)), lean_dough()
    ((place, minutes),) = for_ripe_time(night, formula, 10.0, 100.0, 150.0).places
    assert place == "cellar"
    assert minutes > ripe(night, formula, 10.0, 100.0, 25.0) * 1.2


def test_an_earlier_mix_is_ripe_at_the_same_moment():
    night, formula = a_night(24.0), lean_dough()
    own = ripe(night, formula, 30.0, 300.0, 25.0)
    earlier = for_ripe_time(night, formula, 30.0, 300.0, own - 30).start_earlier_min
    assert earlier == pytest.approx(30, abs=2)


def test_two_hours_at_78_fahrenheit_measured_at_80_6():
    """Trade: 2 h at 25.6 °C; the dough reads 27.0: 98 to 113 minutes."""
    formula = lean_dough(dough_c=25.6, bulk=Ripening(HoursAt(2, 25.6), Curve.YEAST, "room"))
    assert 98 <= ripe(a_night(25.6), formula, 30.0, 200.0, 27.0) <= 113


@pytest.mark.parametrize("kg", [5.0, 60.0])
def test_a_statement_by_the_clock_comes_back_within_a_minute(kg):
    """5 and 60 kg of one formula, each stated in its own room."""
    formula = lean_dough()
    same = replace(
        formula, bulk=replace(formula.bulk, reference=replace(formula.bulk.reference, dough_kg=kg))
    )
    assert ripe(a_night(24.0), same, kg, 200.0, 25.0) == pytest.approx(90, abs=1)

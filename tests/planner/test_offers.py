"""Options hold for every start of their bucket; the true curve is the judge."""

import numpy as np
import pytest

from planner.balances import dough_balance
from planner.batches import batches_of
from planner.corrections import Corrections
from planner.day import BulkWindow, MixRequest
from planner.night import Night
from planner.offers import offer, pruned
from planner.options import BUCKET_MIN, Allowance, water_for
from planner.pins import Pin
from planner.scheduling.problem import Option
from tests.planner.builders import day, lean_dough, night_of
from tests.planner.conftest import small_day

BUCKETS = np.arange(8, 24)


def offered(temperature_c=27.0, one_day=None, pin=None):
    night = Night(one_day or day(), night_of(temperature_c), Corrections())
    (batch, *_) = batches_of(night.day)
    return night, offer(night, batch, pin, 5, BUCKETS, {})


@pytest.mark.parametrize("inside_min", [0, 7, 13, 22, 29])
def test_bulk_lengths_lie_in_the_window_at_any_start_of_their_bucket(inside_min):
    night, o = offered()
    mix_min = o.batch.formula.mix_min
    for option in o.options[::7]:
        start = option.bucket * BUCKET_MIN + inside_min
        balance = dough_balance(night, o.batch, o.mixer, start, {})
        drawn, _ = water_for(night, o.batch, balance, o.choices[option.choice])
        path = o.bulk.path(start + mix_min, float(drawn.expected_c), step_min=1.0)
        low, _, high = (float(m) for m in o.bulk.window(path))
        assert low - 1 <= option.bulk_min <= high + 1


@pytest.mark.parametrize("inside_min", [0, 11, 29])
def test_ice_of_an_option_is_enough_at_any_start_of_its_bucket(inside_min):
    night, o = offered(32.0, small_day())
    for option in o.options[::5]:
        start = option.bucket * BUCKET_MIN + inside_min
        balance = dough_balance(night, o.batch, o.mixer, start, {})
        choice = o.choices[option.choice]
        allowed = Allowance() if choice.use_ice else Allowance(ice_kg=0.0)
        drawn, _ = water_for(night, o.batch, balance, choice, allowed)
        assert float(drawn.ice_kg) * 1000 <= option.ice_g + 1


def test_a_dough_can_do_without_ice_at_the_price_of_its_temperature():
    """So that a mix is never left out for lack of ice."""
    _, o = offered(33.0, small_day())
    without = [option for option in o.options if option.ice_g == 0]
    assert without
    assert min(option.cost for option in without) > min(option.cost for option in o.options)


def test_a_hotter_room_gives_shorter_bulks_and_more_ice():
    _, mild = offered(24.0, small_day())
    _, hot = offered(32.0, small_day())
    assert min(o.bulk_min for o in hot.options) < min(o.bulk_min for o in mild.options)
    assert max(o.ice_g for o in hot.options) > max(o.ice_g for o in mild.options)


def test_the_dough_stays_in_the_bakers_band():
    _, o = offered()
    assert {c.dough_c for c in o.choices} == {24.0, 24.5, 25.0, 25.5, 26.0}


def test_a_pinned_dough_is_the_only_choice():
    _, o = offered(pin=Pin("o1", dough_c=22.5))
    assert {c.dough_c for c in o.choices} == {22.5}


def test_a_widened_band_offers_more():
    _, o = offered(one_day=day(formulas=(lean_dough(band_k=2.0),)))
    assert min(c.dough_c for c in o.choices) == 23.0


def test_a_window_of_the_mix_list_bounds_every_bulk():
    one_day = day(lines=(MixRequest("m1", "white", 30.0, BulkWindow(80, 95)),))
    _, o = offered(one_day=one_day)
    assert o.options
    assert all(75 <= option.bulk_min <= 95 for option in o.options)


def test_pruning_keeps_what_is_best_at_something():
    cheap = Option(3, 60, 0, cost=1, ice_g=500, chilled_g=0)
    cold = Option(3, 60, 1, cost=5, ice_g=0, chilled_g=0)
    worse = Option(3, 60, 2, cost=6, ice_g=500, chilled_g=100)
    other = Option(4, 60, 3, cost=9, ice_g=900, chilled_g=0)
    assert pruned((cheap, cold, worse, other)) == (cheap, cold, other)


def test_no_buckets_no_options():
    night, _ = offered()
    (batch,) = batches_of(night.day)
    assert offer(night, batch, None, 5, np.array([], dtype=np.int_), {}).options == ()

"""Options hold for every start of their bucket; the true curve is the judge."""

from dataclasses import replace
from math import ceil

import numpy as np
import pytest

from planner import Limits, make_plan
from planner.balances import dough_balance
from planner.batches import batches_of
from planner.corrections import Corrections
from planner.day import BulkWindow, MixRequest, Order
from planner.estimate import Estimate
from planner.evaluation import MixTimes, planned_mix
from planner.night import Night
from planner.offers import offer
from planner.option_rows import pruned
from planner.options import BUCKET_MIN, Allowance, Choice, water_for
from planner.pins import Pin
from planner.scheduling.problem import Option
from planner.scheduling.schedule import ScheduledLoad
from planner.stores import chilled_kg
from planner.tickets import make_ticket
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import at, bakery, day, lean_dough, night_of
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


# ---- a chiller that holds less than a mix would take --------------------------------------------


def small_tank(tank_kg: float):
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(20.0))
    cold = WaterSupply(
        "cold", "chiller", SupplyKind.CHILLER, Estimate(3.0), tank_kg=tank_kg, recovery_kg_per_h=0.0
    )
    return bakery(supplies=(tap, cold))


def test_a_mix_may_take_all_that_a_small_tank_holds():
    """Room 34 °C, 12.5 kg of water wanted cold, 9 kg in the tank: rows that take the 9 kg."""
    _, o = offered(34.0, day(bakery=small_tank(9.0)))
    assert max(option.chilled_g for option in o.options) == 9000
    with_tank, without = (
        min(option.cost for option in o.options if (option.chilled_g > 0) is chilled)
        for chilled in (True, False)
    )
    assert with_tank < without - 300  # five degrees nearer


def test_the_plan_takes_what_is_in_the_tank_and_says_that_it_is_short():
    one_day = day(bakery=small_tank(9.0))
    mix = make_plan(one_day, night_of(34.0), limits=Limits(list_only=True)).mixes[0]
    night = Night(one_day, night_of(34.0), Corrections())
    (batch,) = batches_of(one_day)
    start = one_day.minute(mix.start_utc)
    choice, allowed = Choice(25.0, use_chilled=True), Allowance(0.0, 9.0)
    alone = make_ticket(night, batch, batch.mixers[0], start, choice, {}, allowed=allowed)
    assert chilled_kg(mix.ticket.water) == pytest.approx(9.0)
    assert mix.ticket.expected_c == pytest.approx(alone.ticket.expected_c, abs=0.01)
    assert "chiller_short" in [r.code for r in mix.remarks]


def test_the_second_mix_takes_what_the_first_left_in_the_tank():
    """14 kg for two mixes: whoever goes without in the search still gets what is spare."""
    one_day = day(
        bakery=small_tank(14.0),
        lines=(Order("o1", "loaf", 40, at(13)), Order("o2", "loaf", 40, at(14))),
    )
    plan = make_plan(one_day, night_of(34.0), limits=Limits(list_only=True))
    taken = [chilled_kg(mix.ticket.water) for mix in plan.mixes]
    assert min(taken) > 1.0
    assert 13.5 < sum(taken) <= 14.0 + 1e-6


def test_the_ice_set_aside_is_enough_for_a_bowl_as_warm_as_the_dough_before():
    """A cool room: the dough before left the bowl at 26 °C, not at the room's 20."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 2.0, 20.0)
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(20.0))
    formula = lean_dough(dough_c=24.0, band_k=0.0)
    night, o = offered(20.0, day(bakery=bakery(ice=ice, supplies=(tap,)), formulas=(formula,)))
    (iced, *_) = [option for option in o.options if o.choices[option.choice].use_ice]
    start = iced.bucket * BUCKET_MIN
    balance = dough_balance(night, o.batch, o.mixer, start, {}, bowl_c=24.0)
    drawn, _ = water_for(night, o.batch, balance, o.choices[iced.choice])
    from_the_room, _ = water_for(
        night, o.batch, dough_balance(night, o.batch, o.mixer, start, {}), o.choices[iced.choice]
    )
    assert float(drawn.ice_kg) > float(from_the_room.ice_kg) + 0.02
    assert iced.ice_g >= 1000 * float(drawn.ice_kg) - 1


def test_a_mix_searched_without_ice_has_its_window_though_ice_is_spare():
    """In a room of 25 °C it comes off at about 25.6 °C without ice. The search divides it by that
    dough; at the 24 °C of the row, with ice, it would not be ripe then."""
    wide = tuple(replace(formula, band_k=3.0) for formula in small_day().formulas)
    night, o = offered(25.0, replace(small_day(), formulas=wide))
    choice, start, low = Choice(24.0, use_chilled=False, use_ice=False), 360, Allowance(ice_kg=0.0)
    balance = dough_balance(night, o.batch, o.mixer, start, {})
    reached_c = float(water_for(night, o.batch, balance, choice, low)[0].expected_c)
    mix_end = start + o.batch.formula.mix_min
    sooner, _, _ = (float(m) for m in o.bulk.window(o.bulk.path(mix_end, reached_c, step_min=1.0)))
    divide = ceil(mix_end + sooner) + 1
    proofs = [divide + offset for offset in o.proof_offsets_min]
    loads = [ScheduledLoad("x", 0, at, at + 60, at + 90, "deck", 1) for at in proofs]
    times = MixTimes(start, divide, divide + o.divide_min)
    mix = planned_mix(night, o, times, o.mixer.id, choice, loads, {}, ())
    assert mix.ticket.ice_kg == 0
    assert mix.ticket.wanted_c == pytest.approx(reached_c, abs=0.1)
    assert mix.divide_from_utc <= mix.divide_utc <= mix.divide_by_utc

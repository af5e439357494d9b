import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.physics.heat_balance import Air, Ice, Ingredient, MixBalance, bowl
from planner.physics.water import SupplyTemperatures, draw

ICE = Ice(-2.0, 0.9)
SUPPLIES = SupplyTemperatures(tap_c=18.0, chilled_c=4.0, hot_c=55.0)


def mix(flour_c: float, work_kj: float = 150.0, water_kg: float = 6.5) -> MixBalance:
    return MixBalance(
        (Ingredient("flour", 10.0, 1.83, flour_c, wetting_heat_kj=93.0),),
        water_kg,
        bowl(8.0, flour_c),
        Air(7.0, 10.0, flour_c),
        work_kj,
    )


def drawn(flour_c, dough_c, *, use_chilled=True, cap=2.0, supplies=SUPPLIES, ice=ICE):
    return draw(mix(flour_c), dough_c, supplies, ice, use_chilled=use_chilled, ice_cap_kg=cap)


def test_winter_blends_tap_and_hot():
    d = drawn(8.0, 26.0)
    assert float(d.hot_kg) > 0
    assert float(d.chilled_kg) == float(d.ice_kg) == 0
    blend = (float(d.tap_kg) * 18 + float(d.hot_kg) * 55) / 6.5
    assert blend == pytest.approx(float(d.liquid_c))


def test_a_mild_day_blends_tap_and_chilled():
    d = drawn(26.0, 24.0)
    assert float(d.chilled_kg) > 0
    assert float(d.hot_kg) == float(d.ice_kg) == 0


def test_a_hot_day_takes_ice_when_the_chiller_does_not_reach():
    d = drawn(34.0, 22.0)
    assert float(d.ice_kg) > 0
    assert float(d.liquid_c) == 4.0
    assert float(d.expected_c) == pytest.approx(22.0, abs=1e-6)


def test_ice_makes_up_for_a_chiller_that_may_not_be_used():
    with_chiller, without = drawn(30.0, 24.0), drawn(30.0, 24.0, use_chilled=False)
    assert float(without.ice_kg) > float(with_chiller.ice_kg)
    assert float(without.chilled_kg) == 0
    assert float(without.expected_c) == pytest.approx(24.0, abs=1e-6)


def test_what_cannot_be_reached_comes_as_near_as_it_can():
    d = drawn(38.0, 18.0, cap=0.3)
    assert float(d.ice_kg) == pytest.approx(0.3)
    assert float(d.expected_c) > 18.5


def test_no_hot_tap_and_a_cold_room():
    d = drawn(5.0, 28.0, supplies=SupplyTemperatures(15.0))
    assert float(d.liquid_c) == 15.0
    assert float(d.expected_c) < 27


def test_a_dough_without_water_comes_as_it_comes():
    d = draw(mix(22.0, water_kg=0.0), 24.0, SUPPLIES, ICE, use_chilled=True, ice_cap_kg=0.0)
    assert float(d.tap_kg) == float(d.ice_kg) == 0
    assert np.isfinite(d.expected_c)


@given(st.floats(-5, 40), st.floats(14, 33), st.booleans(), st.floats(0, 3))
def test_kilos_always_add_up_to_the_water(flour_c, dough_c, use_chilled, cap):
    d = drawn(flour_c, dough_c, use_chilled=use_chilled, cap=cap)
    total = d.tap_kg + d.chilled_kg + d.hot_kg + d.ice_kg
    assert float(total) == pytest.approx(6.5, abs=1e-9)
    assert min(float(k) for k in (d.tap_kg, d.chilled_kg, d.hot_kg, d.ice_kg)) >= -1e-12
    assert 0 <= float(d.ice_kg) <= cap + 1e-12


def test_a_whole_night_at_once():
    together = drawn(30.0, np.array([22.0, 24.0, 26.0]))
    alone = [float(drawn(30.0, t).ice_kg) for t in (22.0, 24.0, 26.0)]
    assert list(together.ice_kg) == pytest.approx(alone)


def test_a_negative_cap_is_refused():
    with pytest.raises(OutOfRangeError):
        drawn(30.0, 24.0, cap=-1.0)

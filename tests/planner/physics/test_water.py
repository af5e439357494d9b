import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.physics.heat_balance import Air, Ice, Ingredient, MixBalance, bowl, one_step
from planner.physics.water import SupplyTemperatures, draw, needs_loading_order

ICE = Ice(-2.0, 0.9)
SUPPLIES = SupplyTemperatures(tap_c=18.0, chilled_c=4.0, hot_c=55.0)


def mix(flour_c: float, work_kj: float = 150.0, water_kg: float = 6.5) -> MixBalance:
    return one_step(
        (Ingredient("flour", 10.0, 1.83, flour_c, wetting_heat_kj=93.0),),
        water_kg,
        bowl(8.0, flour_c),
        Air(7.0, flour_c),
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


def test_no_more_ice_than_water_whatever_the_cap():
    hot = mix(45.0, water_kg=0.5)
    d = draw(hot, 20.0, SUPPLIES, ICE, use_chilled=False, ice_cap_kg=100.0)
    assert float(d.ice_kg) == pytest.approx(0.5)
    assert float(d.tap_kg) == pytest.approx(0.0, abs=1e-12)
    assert float(d.expected_c) > 20.0


def test_a_hot_tap_that_ends_is_said_in_the_dough():
    d = drawn(-5.0, 33.0)
    assert float(d.hot_kg) == pytest.approx(6.5)
    assert float(d.liquid_c) == 55.0
    assert float(d.expected_c) < 33.0


def test_a_chiller_warmer_than_the_winter_tap_is_not_used():
    d = drawn(30.0, 20.0, supplies=SupplyTemperatures(tap_c=3.0, chilled_c=4.0))
    assert float(d.chilled_kg) == 0
    assert float(d.liquid_c) == 3.0


def test_starts_and_doughs_make_a_table():
    """Three starts across, two doughs down: each cell as if it were asked alone."""
    flour_c, dough_c = np.array([18.0, 26.0, 34.0]), np.array([[22.0], [26.0]])
    table = drawn(flour_c, dough_c)
    assert table.ice_kg.shape == table.expected_c.shape == (2, 3)
    for i, wanted in enumerate((22.0, 26.0)):
        for j, start in enumerate((18.0, 26.0, 34.0)):
            alone = drawn(start, wanted)
            for name in ("tap_kg", "chilled_kg", "hot_kg", "ice_kg", "liquid_c", "expected_c"):
                assert getattr(table, name)[i, j] == pytest.approx(float(getattr(alone, name)))


@given(st.floats(-5, 40), st.floats(14, 33), st.booleans())
def test_the_dough_is_reached_or_a_supply_has_ended(flour_c, dough_c, use_chilled):
    d = drawn(flour_c, dough_c, use_chilled=use_chilled)
    if float(d.expected_c) > dough_c + 1e-6:
        assert float(d.ice_kg) == pytest.approx(2.0)
    elif float(d.expected_c) < dough_c - 1e-6:
        assert float(d.hot_kg) == pytest.approx(6.5)


def test_a_dough_without_water_has_a_shape_and_no_holes():
    dry, doughs_c = mix(22.0, water_kg=0.0), np.array([20.0, 24.0])
    d = draw(dry, doughs_c, SUPPLIES, ICE, use_chilled=True, ice_cap_kg=2)
    assert d.expected_c.shape == d.liquid_c.shape == (2,)
    assert np.all(np.isfinite(d.liquid_c))
    assert d.expected_c[0] == d.expected_c[1]


def test_water_above_forty_five_degrees_needs_an_order():
    """Water first, then flour as a barrier, then the living parts."""
    assert not needs_loading_order(45.0)
    assert needs_loading_order(45.1)


def test_water_that_is_none_is_refused():
    with pytest.raises(OutOfRangeError):
        SupplyTemperatures(tap_c=101.0)

"""The baker's own sum: its convention is asked for, and its gap to our number is told in parts."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import Corrections, Limits, make_plan, sum_reasons
from planner.batches import batches_of
from planner.errors import InputError, OutOfRangeError
from planner.hand_sum import HandSum, SumKind, converted, water_by_sum_c
from planner.hand_sum_gap import gap_parts, on_a_mild_day, sum_beside, tuned
from planner.night import Night
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import equivalent_water_c
from planner.tickets import MixTemperatures, mix_balance
from tests.planner.builders import bakery, day, lean_dough, night_of
from tests.planner.conftest import levain_dough

# Published sums, dough / flour, room (and preferment) / number -> water, all in °C: a student text
# (base 70), a blog (base 48), an Italian school (friction 2), a working baker (rise 3), a
# Japanese text (rise 6), a South American school (friction 8: ice, not a refusal).
PUBLISHED = [
    (SumKind.BASE, 70, 24, 27, 28, 15),
    (SumKind.BASE, 48, 24, 21, 21, 6),
    (SumKind.FRICTION, 2, 18, 19, 20, 13),
    (SumKind.RISE, 3, 26, 22, 22, 25),
    (SumKind.RISE, 6, 27, 20, 20, 23),
    (SumKind.FRICTION, 8, 17, 22, 28, -7),
    (SumKind.TWO_TERMS, 0, 21, 27, 99, 15),
]


@pytest.mark.parametrize(("kind", "value", "dough_c", "flour_c", "room_c", "water_c"), PUBLISHED)
def test_published_sums(kind, value, dough_c, flour_c, room_c, water_c):
    got = water_by_sum_c(HandSum(kind, value), dough_c, flour_c, [room_c])
    assert got == pytest.approx(water_c)


@given(st.floats(0, 11), st.floats(20, 28))
def test_the_same_sum_in_three_conventions_gives_the_same_water(rise_k, dough_c):
    rise = HandSum(SumKind.RISE, rise_k)
    waters = [
        water_by_sum_c(converted(rise, kind, dough_c), dough_c, 21.0, [23.0])
        for kind in (SumKind.RISE, SumKind.FRICTION, SumKind.BASE)
        if kind is not SumKind.BASE or 3 * dough_c - 3 * rise_k >= 24
    ]
    assert waters == pytest.approx([waters[0]] * len(waters))


@pytest.mark.parametrize(
    ("kind", "value", "remedy"),
    [
        (SumKind.FRICTION, 42.0, "divided by 1.8"),
        (SumKind.RISE, 24.0, "friction in the sum"),
        (SumKind.BASE, 12.0, "a smaller number is a friction"),
    ],
)
def test_a_number_of_another_convention_is_asked_back(kind, value, remedy):
    with pytest.raises(InputError, match=remedy):
        HandSum(kind, value)


def test_a_sum_of_flour_alone_has_no_twin():
    with pytest.raises(OutOfRangeError, match="no twin"):
        converted(HandSum(SumKind.TWO_TERMS, 5.0), SumKind.FRICTION, 25.0)


def mixed(room_c=30.0, flour_c=26.0, formula=None, part_c=None):
    formula = formula or lean_dough()
    night = Night(day(formulas=(replace(formula, id="white"),)), night_of(room_c), Corrections())
    batch = batches_of(night.day)[0]
    balance = mix_balance(
        night, batch, bakery().mixers[0], 300.0, part_c or {}, MixTemperatures(flour_c=flour_c)
    )
    return batch, balance


def test_a_tuned_sum_is_right_on_its_mild_day():
    batch, balance = mixed()
    mild = on_a_mild_day(balance)
    own = tuned(balance, 25.0)
    beside = sum_beside(replace(batch, formula=replace(batch.formula, hand_sum=own)), mild, 25.0, 0)
    assert beside.water_c == pytest.approx(float(equivalent_water_c(mild, 25.0)), abs=1e-6)
    assert beside.dough_c == pytest.approx(25.0, abs=1e-6)


@pytest.mark.parametrize(("room_c", "flour_c"), [(30.0, 26.0), (14.0, 10.0), (24.0, 35.0)])
def test_the_parts_add_up_to_the_gap(room_c, flour_c):
    batch, balance = mixed(room_c, flour_c)
    own = HandSum(SumKind.FRICTION, 17.0)
    gap = water_by_sum_c(own, 25.0, flour_c, [room_c]) - float(equivalent_water_c(balance, 25.0))
    assert sum(p.gap_k for p in gap_parts(batch, balance, 25.0, own)) == pytest.approx(
        gap, abs=1e-6
    )


def test_a_part_left_out_of_the_sum_is_its_own_reason():
    batch, balance = mixed(22.0, 22.0, levain_dough(), {"levain": 6.0})
    parts = {
        p.what: p.gap_k for p in gap_parts(batch, balance, 25.0, HandSum(SumKind.FRICTION, 15))
    }
    assert abs(parts["flour"]) < 0.01
    assert abs(parts["room"]) < 0.5
    # A cold levain asks for warmer water, which the sum does not know.
    assert parts["levain"] < -4


def test_the_dough_beside_is_what_that_water_gives():
    batch, balance = mixed()
    beside = sum_beside(batch, balance, 25.0, 10.0)
    assert not beside.is_own
    assert beside.dough_c == pytest.approx(float(dough_temperature_c(balance, beside.water_c)))


def test_a_plan_says_why_the_bakers_number_is_not_ours():
    own = replace(lean_dough(), hand_sum=HandSum(SumKind.BASE, 60.0))
    plan = make_plan(day(formulas=(own,)), night_of(31.0), limits=Limits(list_only=True))
    mix = plan.mixes[0]
    assert mix.ticket.hand_sum.is_own
    assert mix.ticket.hand_sum.convention == "base temperature"
    reasons = sum_reasons(plan, mix.id)
    assert 1 <= len(reasons) <= 3
    assert {r.code for r in reasons} == {"hand_sum_gap"}


def test_a_sum_with_a_part_that_the_dough_has_not_is_refused():
    with pytest.raises(InputError, match="no such part"):
        lean_dough(hand_sum=HandSum(SumKind.FRICTION, 17.0, "levain"))

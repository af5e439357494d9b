"""Bowls from mix to mix, by hand: exp(−t/25 min) of the gap to the room is left."""

from math import exp

import pytest

from planner.bowls import Bowls
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.night import Night
from tests.planner.builders import bakery, day, steady_room

SPIRAL = bakery().mixers[0]


@pytest.fixture
def bowls() -> Bowls:
    return Bowls(Night(day(), Conditions(rooms={"room": steady_room(20.0)}), Corrections()))


def test_the_first_mix_meets_a_bowl_as_warm_as_the_room(bowls):
    assert bowls.at(SPIRAL, 60.0) == pytest.approx(20.0)


def test_the_next_mix_meets_the_bowl_of_the_last_dough(bowls):
    bowls.leave("spiral", 100.0, 26.0)
    assert bowls.at(SPIRAL, 100.0) == pytest.approx(26.0)
    assert bowls.at(SPIRAL, 125.0) == pytest.approx(20 + 6 * exp(-1))


def test_after_two_hours_it_is_as_good_as_new(bowls):
    bowls.leave("spiral", 100.0, 26.0)
    assert bowls.at(SPIRAL, 220.0) == pytest.approx(20.0, abs=0.1)


def test_each_mixer_has_its_own_bowl(bowls):
    bowls.leave("another", 100.0, 30.0)
    assert bowls.at(SPIRAL, 100.0) == pytest.approx(20.0)

"""Worked sums of schools and bakers, each in the convention its author used."""

import pytest

from planner.errors import OutOfRangeError
from planner.physics.hand_sums import (
    base_from_friction_c,
    corrected_base_c,
    dough_from_rise_c,
    friction_from_base_k,
    friction_from_mix_k,
    friction_from_rise_k,
    friction_from_weights_k,
    rise_from_friction_k,
    water_from_base_c,
    water_from_rise_c,
    water_from_sum_c,
    water_two_terms_c,
)
from planner.quantities import (
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    kelvin_from_fahrenheit_difference,
)


def test_no_friction_for_stretch_and_fold():
    """Bakers' teaching page: 75 °F, room 71, flour 68, friction 0: water 86 °F."""
    water_c = water_from_sum_c(
        celsius_from_fahrenheit(75), [celsius_from_fahrenheit(t) for t in (71, 68)], 0.0
    )
    assert fahrenheit_from_celsius(water_c) == pytest.approx(86, abs=0.5)


def test_rise_of_three_degrees():
    """Working baker's blog: 26 °C, rise 3, room and flour 22: water 25 °C."""
    assert water_from_rise_c(26, [22, 22], 3) == pytest.approx(25, abs=0.5)


def test_a_japanese_text_both_ways():
    """Water 23, flour and room 20, rise 6: dough 27; and back."""
    assert dough_from_rise_c([23, 20, 20], 6) == pytest.approx(27, abs=0.5)
    assert water_from_rise_c(27, [20, 20], 6) == pytest.approx(23, abs=0.5)


def test_a_biga_by_hand():
    """Catering-school text: 18 °C, room 20, flour 19, friction 2: water 13 °C."""
    assert water_from_sum_c(18, [20, 19], 2) == pytest.approx(13, abs=0.5)


def test_a_worksheet_below_freezing():
    """South American trade school: 17 °C, room 28, flour 22, friction 8: −7 °C."""
    assert water_from_sum_c(17, [28, 22], 8) == pytest.approx(-7, abs=0.5)


@pytest.mark.parametrize(
    ("base", "others", "water_c"),
    [
        (70, [27, 28], 15),  # student text on ideal dough temperature
        (64, [27, 28], 9),  # the same, corrected next day
        (48, [21, 21], 6),  # French baking blog
        (48, [21, 14], 13),  # with flour from a cellar
        (48, [27, 27], -6),  # a hot day
        (50, [20, 22], 8),  # French school table, intensive mix, low end
        (56, [20, 22], 14),  # the same, high end
    ],
)
def test_base_temperature(base, others, water_c):
    assert water_from_base_c(base, others) == pytest.approx(water_c, abs=0.5)


def test_a_friction_read_off_a_mix_is_a_difference():
    """Chinese teaching text: flour 78, room 80, water 65, dough 76 °F: 5 °F, 2.78 K."""
    inputs_c = [celsius_from_fahrenheit(t) for t in (78, 80, 65)]
    friction_k = friction_from_mix_k(celsius_from_fahrenheit(76), inputs_c)
    assert friction_k == pytest.approx(kelvin_from_fahrenheit_difference(5), abs=0.05)
    assert friction_k == pytest.approx(2.78, abs=0.05)


def test_the_two_term_rule():
    """Baking blog: 21 °C with flour at 27: 15 °C."""
    assert water_two_terms_c(21, 27) == pytest.approx(15, abs=0.5)


def test_sum_and_rise_differ_by_the_number_of_terms():
    """A rise of 3 K is a friction of 9 K when everything stands at one temperature."""
    assert water_from_rise_c(26, [22, 22], 3) == water_from_sum_c(26, [22, 22], 9)


def test_a_base_temperature_corrected_by_three():
    """Student text: base 70, dough 26 for a wanted 24: next base 64, water 9 °C."""
    base_c = corrected_base_c(70, 24, 26)
    assert base_c == pytest.approx(64, abs=0.5)
    assert water_from_base_c(base_c, [27, 28]) == pytest.approx(9, abs=0.5)


def test_correcting_by_three_overshoots_what_the_balance_says_by_half():
    """A 65 % dough asks for 1.8 to 2.0 °C of water per degree: base 66 to 66.4 instead of 64."""
    for water_per_dough in (1.8, 2.0):
        assert 66 <= corrected_base_c(70, 24, 26, water_per_dough) <= 66.4


def test_base_and_friction_are_the_same_number_seen_from_two_sides():
    """French school table: base 50 to 56 for a dough of 24 °C is a friction of 22 to 16."""
    assert base_from_friction_c(24, 22) == 50
    assert base_from_friction_c(24, 16) == 56
    assert water_from_sum_c(24, [20, 22], 22) == water_from_base_c(50, [20, 22]) == 8


def test_equal_weights_make_friction_and_rise_agree():
    assert friction_from_weights_k([0.25] * 4, [10, 20, 30, 5], 3.0) == pytest.approx(12)


def test_four_terms():
    """Rule of the schools with a preferment: 4 · 78 − 72 − 72 − 70 − 5 °F is 93 °F."""
    others = [celsius_from_fahrenheit(t) for t in (72, 72, 70)]
    friction_k = kelvin_from_fahrenheit_difference(5)
    water_c = water_from_sum_c(celsius_from_fahrenheit(78), others, friction_k)
    assert fahrenheit_from_celsius(water_c) == pytest.approx(93, abs=0.5)


def test_four_terms_in_rise_space():
    """By hand: 4 · (26 − 3) − 22 − 22 − 24 = 24 °C; 3 K of dough are 12 K of that sum."""
    assert water_from_rise_c(26, [22, 22, 24], 3) == 24
    assert water_from_sum_c(26, [22, 22, 24], friction_from_rise_k(3, terms=4)) == 24


@pytest.mark.parametrize("terms", [3, 4])
def test_a_number_goes_to_the_other_convention_and_back(terms):
    assert rise_from_friction_k(friction_from_rise_k(5.5, terms), terms) == 5.5
    base_c = base_from_friction_c(24.0, 18.0, terms)
    assert friction_from_base_k(24.0, base_c, terms) == 18.0


def test_no_temperatures_are_refused():
    for refused in (
        lambda: dough_from_rise_c([], 3),
        lambda: water_from_sum_c(25, [], 3),
        lambda: water_from_rise_c(25, [], 3),
        lambda: friction_from_mix_k(25, []),
        lambda: friction_from_weights_k([0.5, 0.4], [20, 20], 3),
        lambda: friction_from_weights_k([1.0], [20, 20], 3),
    ):
        with pytest.raises(OutOfRangeError):
            refused()

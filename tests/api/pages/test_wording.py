"""Figures as text: exact conversions, sums that hold as printed, differences as differences."""

from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pages.weighing import printed_masses, round_to_total
from api.pages.wording import (
    Clock,
    Units,
    difference_text,
    dough_degrees,
    duration_text,
    mass_text,
    number,
    render_remark,
    value_text,
    water_degrees,
)
from planner.quantities import Unit
from planner.remarks import (
    Figure,
    Remark,
    RemarkKind,
    difference,
    mass,
    minutes,
    moment,
    percent,
    temperature,
    word,
)

VIENNA = ZoneInfo("Europe/Vienna")
MASSES = st.lists(st.floats(0.0005, 400), min_size=1, max_size=20)


def said(text, *figures, units=Units.METRIC, production_date=None):
    remark = Remark(RemarkKind.NOTE, "test", text, figures)
    return render_remark(remark, VIENNA, units, production_date=production_date)


# -- rounding ----------------------------------------------------------------------------------


@given(st.lists(st.floats(0, 1e4), min_size=1, max_size=30), st.sampled_from([1, 0.5, 0.01]))
def test_rounded_steps_add_up_to_the_rounded_total(values, step):
    steps = round_to_total(values, step)
    assert abs(sum(steps) - sum(values) / step) <= 0.5 + 1e-6 * sum(values) + 1e-6


@given(st.lists(st.floats(0, 1e4), min_size=1, max_size=30))
def test_no_line_moves_by_a_whole_step(values):
    assert all(
        abs(steps - value) < 1 + 1e-6
        for steps, value in zip(round_to_total(values, 1), values, strict=True)
    )


def test_the_largest_remainder_is_rounded_up():
    """Shares 41.4, 32.35 and 26.25 of 100: floors 41, 32, 26 leave one; 0.40 is the largest."""
    assert round_to_total([41.4, 32.35, 26.25], 1) == (42, 32, 26)


@given(MASSES, st.sampled_from(Units))
def test_printed_lines_add_up_to_the_printed_total(masses_kg, units):
    printed = printed_masses(masses_kg, units)
    assert sum(Decimal(line) for line in printed.lines) == Decimal(printed.total)


def test_yeast_is_printed_to_the_gram_beside_flour():
    assert printed_masses([50.0, 0.0155], Units.METRIC).lines == ("50.00", "0.016")


# -- units -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [(0.0, "32.0"), (100.0, "212.0"), (37.0, "98.6"), (-40.0, "−40.0")]
)
def test_fixed_points_of_the_fahrenheit_scale(celsius, fahrenheit):
    assert dough_degrees(celsius, Units.US) == fahrenheit


def test_a_difference_is_converted_as_a_difference():
    """1 K is 1.8 °F by definition; 10 K would read 50 °F if taken for a temperature."""
    assert difference_text(10.0, Units.US) == "18.0 °F"


@pytest.mark.parametrize(("exact", "shown"), [(7.74, "7.5"), (7.75, "8"), (3.0, "3"), (-0.1, "0")])
def test_water_is_printed_to_half_degrees(exact, shown):
    assert water_degrees(exact, Units.METRIC) == shown


def test_a_pound_is_453_59237_grams():
    assert mass_text(0.45359237 * 3, Units.US) == "3.000 lb"
    assert mass_text(0.45359237 / 2, Units.US) == "8.0 oz"


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize("unit", list(Unit))
@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_no_unit_prints_a_nan(value, unit, units):
    assert value_text(value, unit, units) == "—"


def test_minus_zero_is_zero():
    assert number(-0.04, 1) == "0.0"


@pytest.mark.parametrize(("minutes_", "text"), [(0, "0 min"), (90, "90 min"), (720.2, "12:00 h")])
def test_durations(minutes_, text):
    assert duration_text(minutes_) == text


# -- remarks -----------------------------------------------------------------------------------


def test_a_remark_is_filled_in_the_house_units():
    figures = (temperature("t", 25.0), difference("d", 2.0), mass("m", 10.0), minutes("n", 12.0))
    text = "{t}, {d} more, {m}, {n}"
    assert said(text, *figures) == "25.0 °C, 2.0 °C more, 10.00 kg, 12 min"
    assert said(text, *figures, units=Units.US) == "77.0 °F, 3.6 °F more, 22.05 lb, 12 min"


def test_words_percents_and_counts():
    figures = (word("w", "rye"), percent("p", 65.0), Figure("c", 3.0, Unit.COUNT))
    assert said("{c} of {w} at {p}", *figures) == "3 of rye at 65 %"


def test_a_moment_is_local_and_dated_unless_on_the_production_date():
    evening = moment("at", datetime(2026, 7, 15, 21, 40, tzinfo=UTC))
    assert said("{at}", evening, production_date=date(2026, 7, 15)) == "23:40"
    assert said("{at}", evening, production_date=date(2026, 7, 16)) == "Wed 15 Jul 23:40"


def test_figures_cannot_smuggle_placeholders():
    assert said("{a} {b}", word("a", "{b}"), word("b", "rye")) == "{b} rye"


def test_a_placeholder_without_figure_stands_as_its_name():
    assert said("until {oven_free}.") == "until oven free."


def test_the_repeated_hour_of_a_clock_change_is_told_apart():
    """On 25 October 2026 at 01:00 UTC Vienna goes from 03:00 summer time back to 02:00."""
    clock = Clock(VIENNA, date(2026, 10, 25), offset_shown=True)
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    second = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert [clock.time(first), clock.time(second)] == ["02:30 UTC+2", "02:30 UTC+1"]


def test_a_time_more_than_twelve_hours_later_has_its_date():
    clock = Clock(VIENNA, date(2026, 7, 16))
    start = datetime(2026, 7, 16, 10, 0, tzinfo=UTC)
    assert clock.after(datetime(2026, 7, 16, 23, 0, tzinfo=UTC), start) == "Fri 17 Jul 01:00"
    assert clock.after(datetime(2026, 7, 16, 21, 0, tzinfo=UTC), start) == "23:00"

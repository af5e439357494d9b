"""Air over time: what lies between the hours, the day's curve, and a room that follows outdoors."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.conditions import HourlyForecast
from planner.errors import OutOfRangeError
from planner.physics.rooms import (
    daily_curve_c,
    humidity_at,
    room_from_outdoor_c,
    sd_at,
    temperature_at,
)

EVENING = datetime(2026, 10, 24, 18, tzinfo=UTC)
FORECAST = HourlyForecast(EVENING, (24.0, 22.0, 23.0), (1.0, 1.2, 1.5), (0.4, 0.5, 0.6))


def test_between_two_hours_the_air_is_in_between():
    # A quarter past: 24 - 0.25 * 2. Three quarters into the second hour: 22 + 0.75 * 1.
    assert temperature_at(FORECAST, EVENING, [15, 105]) == pytest.approx([23.5, 22.75])


def test_outside_the_forecast_the_nearest_hour_holds():
    assert temperature_at(FORECAST, EVENING, [-500, 9999]) == pytest.approx([24.0, 23.0])


def test_minutes_count_from_the_origin_not_from_the_forecast():
    origin = EVENING - timedelta(minutes=90)
    assert float(temperature_at(FORECAST, origin, 150)) == pytest.approx(22.0)


def test_humidity_and_spread_follow_the_same_hours():
    assert float(humidity_at(FORECAST, EVENING, 30)) == pytest.approx(0.45)
    assert float(sd_at(FORECAST, EVENING, 90)) == pytest.approx(1.35)


def test_an_array_of_minutes_keeps_its_shape():
    assert temperature_at(FORECAST, EVENING, np.zeros((3, 1, 2))).shape == (3, 1, 2)


@given(
    coolest=st.floats(0, 25),
    swing=st.floats(0, 15),
    coolest_hour=st.floats(0, 23),
    rising_h=st.floats(2, 22),
)
def test_a_day_hits_both_extremes_and_repeats(coolest, swing, coolest_hour, rising_h):
    hottest_hour = (coolest_hour + rising_h) % 24
    hours = np.linspace(0, 24, 289)
    day = daily_curve_c(hours, coolest, coolest + swing, coolest_hour, hottest_hour)
    again = daily_curve_c(hours + 24, coolest, coolest + swing, coolest_hour, hottest_hour)
    ends = daily_curve_c(
        [coolest_hour, hottest_hour], coolest, coolest + swing, coolest_hour, hottest_hour
    )
    assert ends == pytest.approx([coolest, coolest + swing], abs=1e-6)
    assert day.min() >= coolest - 1e-9
    assert day.max() <= coolest + swing + 1e-9
    assert again == pytest.approx(day, abs=1e-6)


def test_a_day_has_no_jump_and_no_kink():
    minutes = np.arange(0, 48, 1 / 60)
    steps = np.diff(daily_curve_c(minutes, 18.0, 28.0))
    # 10 K in 10 h as a half cosine rises by at most pi/2 K in an hour.
    assert np.abs(steps).max() <= np.pi / 2 / 60 + 1e-6
    assert np.abs(np.diff(steps)).max() < 2e-4


@pytest.mark.parametrize(("coolest", "hottest", "hour"), [(25.0, 20.0, 15.0), (18.0, 24.0, 5.0)])
def test_an_impossible_day_is_refused(coolest, hottest, hour):
    with pytest.raises(OutOfRangeError, match="daily_curve_c"):
        daily_curve_c(12.0, coolest, hottest, 5.0, hour)


# One resistance, one capacity passes a sine of a day damped by 1/sqrt(1 + (w tau)^2) and late by
# atan(w tau)/w: 0.79 at 3 h, 0.54 at 6 h, 0.30 at 12 h, 0.19 at 20 h, 0.10 at 40 h (linear systems
# theory). Half-hour steps agree within 0.01.
@pytest.mark.parametrize(("tau_h", "passed"), [(3, 0.79), (6, 0.54), (12, 0.30), (20, 0.19)])
def test_a_room_damps_the_day_outdoors(tau_h, passed):
    hours = np.arange(0, 24 * 20, 0.1)
    outdoors = 10 * np.sin(2 * np.pi * hours / 24)
    room = room_from_outdoor_c(outdoors, start_c=0.0, time_constant_h=tau_h, step_h=0.1)
    assert room[-240:].max() / 10 == pytest.approx(passed, abs=0.01)


def test_ovens_hold_the_room_above_outdoors():
    room = room_from_outdoor_c([12.0] * 200, start_c=12.0, time_constant_h=8.0, gain_k=6.0)
    assert room[-1] == pytest.approx(18.0)


def test_after_one_time_constant_63_percent_is_done():
    room = room_from_outdoor_c([10.0] * 9, start_c=20.0, time_constant_h=8.0)
    assert room[8] == pytest.approx(10 + 10 * np.exp(-1))


def test_a_room_without_inertia_is_refused():
    with pytest.raises(OutOfRangeError, match="room_from_outdoor_c"):
        room_from_outdoor_c([10.0], start_c=20.0, time_constant_h=0.0)

from datetime import timedelta

import pytest

from planner.conditions import Conditions, HourlyForecast
from planner.errors import InputError
from tests.planner.builders import START, at, steady_room


def test_a_forecast_from_points_in_any_order():
    forecast = HourlyForecast.from_points([(at(1), 21.0), (at(0), 20.0)])
    assert forecast.temperature_c == (20.0, 21.0)
    assert forecast.end_utc == at(1)


def test_a_hole_names_the_hour_before_it():
    with pytest.raises(InputError, match=r"hole or a double hour after 2026-07-13T17"):
        HourlyForecast.from_points([(at(0), 20.0), (at(1), 20.0), (at(3), 20.0)])


def test_a_double_hour_is_refused():
    with pytest.raises(InputError, match="double hour"):
        HourlyForecast.from_points([(at(0), 20.0), (at(0), 21.0)])


@pytest.mark.parametrize("temperature", [float("nan"), float("inf"), 245.0])
def test_impossible_air_is_refused(temperature):
    with pytest.raises(InputError, match=r"temperature_c\[1\]"):
        HourlyForecast(START, (20.0, temperature), (1.0, 1.0), (0.5, 0.5))


def test_an_empty_forecast_is_refused():
    with pytest.raises(InputError, match="empty"):
        HourlyForecast.from_points([])


def test_a_shifted_night_is_warmer_in_every_room():
    warmer = Conditions({"room": steady_room(20.0, 3)}).shifted(6.0)
    assert warmer.rooms["room"].temperature_c == (26.0, 26.0, 26.0)


def test_negative_ice_is_refused():
    with pytest.raises(InputError, match="ice_stored_kg"):
        Conditions({"room": steady_room(20.0)}, ice_stored_kg=-1.0)


def test_a_forecast_keeps_to_utc():
    with pytest.raises(InputError, match="UTC"):
        HourlyForecast(START.replace(tzinfo=None), (20.0, 21.0), (1.0, 1.0), (0.5, 0.5))
    assert steady_room(20.0, 4).end_utc - START == timedelta(hours=3)

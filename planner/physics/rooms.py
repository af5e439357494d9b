"""Air of rooms over time: interpolated forecasts, a daily curve, a room from outdoors."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.conditions import HourlyForecast
from planner.errors import OutOfRangeError

Numbers = NDArray[np.float64]


def temperature_at(forecast: HourlyForecast, origin_utc: datetime, minute: ArrayLike) -> Numbers:
    """Return the air temperature at minutes from an origin, linear between hours [°C].

    Before the first and after the last hour the nearest value holds.
    """
    return _interpolated(forecast, forecast.temperature_c, origin_utc, minute)


def humidity_at(forecast: HourlyForecast, origin_utc: datetime, minute: ArrayLike) -> Numbers:
    """Return the relative humidity at minutes from an origin, 0 to 1."""
    return _interpolated(forecast, forecast.humidity, origin_utc, minute)


def sd_at(forecast: HourlyForecast, origin_utc: datetime, minute: ArrayLike) -> Numbers:
    """Return one standard deviation of the forecast at minutes from an origin [K]."""
    return _interpolated(forecast, forecast.sd_k, origin_utc, minute)


def _interpolated(
    forecast: HourlyForecast, values: Sequence[float], origin_utc: datetime, minute: ArrayLike
) -> Numbers:
    first = (forecast.start_utc - origin_utc) / timedelta(minutes=1)
    hours = first + 60.0 * np.arange(len(values))
    return np.asarray(
        np.interp(np.asarray(minute, dtype=np.float64), hours, values), dtype=np.float64
    )


def daily_curve_c(
    local_hour: ArrayLike,
    coolest_c: float,
    hottest_c: float,
    coolest_hour: float = 5.0,
    hottest_hour: float = 15.0,
) -> Numbers:
    """Return a smooth day from its coolest and hottest [°C].

    Parameters
    ----------
    local_hour
        Hours by the clock of the place; any real number, wrapped to a day.
    coolest_c, hottest_c
        Extremes [°C].
    coolest_hour, hottest_hour
        When they come.

    Raises
    ------
    OutOfRangeError
        If the coolest is above the hottest.

    Examples
    --------
    >>> [float(round(t, 1)) for t in daily_curve_c([5, 10, 15], 21, 31)]
    [21.0, 26.0, 31.0]
    """
    if coolest_c > hottest_c:
        raise OutOfRangeError(
            f"daily_curve_c: the coolest, {coolest_c:g} °C, is above the hottest, {hottest_c:g} °C"
        )
    rising_h = (hottest_hour - coolest_hour) % 24
    since = (np.asarray(local_hour, dtype=np.float64) - coolest_hour) % 24
    phase = np.where(
        since <= rising_h,
        since / rising_h,
        1 + (since - rising_h) / (24 - rising_h),
    )
    middle, swing = (coolest_c + hottest_c) / 2, (hottest_c - coolest_c) / 2
    return np.asarray(middle - swing * np.cos(np.pi * phase), dtype=np.float64)


def room_from_outdoor_c(
    outdoor_c: ArrayLike,
    *,
    start_c: float,
    time_constant_h: float,
    gain_k: ArrayLike = 0.0,
    step_h: float = 1.0,
) -> Numbers:
    """Return a room's temperature from the outdoor forecast, hour by hour [°C].

    Parameters
    ----------
    outdoor_c
        Outdoor temperature per step [°C].
    start_c
        The room at the first step [°C].
    time_constant_h
        Time constant of the room: 4 to 20 h for a bakery (judgement) [h].
    gain_k
        Degrees that ovens and people would hold the room above outdoors, per step [K].
    step_h
        Step [h].

    Notes
    -----
    One resistance and one capacity: ``T[k+1] = a T[k] + (1 - a)(T_out[k] + gain[k])`` with
    ``a = exp(-dt/tau)``.
    """
    if time_constant_h <= 0:
        raise OutOfRangeError("room_from_outdoor_c: time_constant_h must be above zero")
    outdoor = np.asarray(outdoor_c, dtype=np.float64)
    toward = outdoor + np.broadcast_to(np.asarray(gain_k, dtype=np.float64), outdoor.shape)
    keeps = float(np.exp(-step_h / time_constant_h))
    room = np.empty_like(outdoor)
    room[0] = start_c
    for k in range(len(outdoor) - 1):
        room[k + 1] = keeps * room[k] + (1 - keeps) * toward[k]
    return room

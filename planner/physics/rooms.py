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

    Parameters
    ----------
    forecast
        Air of the room, hour by hour.
    origin_utc
        Moment of minute 0 [UTC].
    minute
        Minutes from the origin, number or array [min].

    Returns
    -------
    ndarray
        Shape of ``minute``. Before the first and after the last hour the nearest value holds.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> night = datetime(2026, 7, 1, 20, tzinfo=UTC)
    >>> air = HourlyForecast.from_points([(night, 26.0), (night + timedelta(hours=1), 24.0)])
    >>> [float(t) for t in temperature_at(air, night, [-60, 30, 600])]
    [26.0, 25.0, 24.0]
    """
    return _interpolated(forecast, forecast.temperature_c, origin_utc, minute)


def humidity_at(forecast: HourlyForecast, origin_utc: datetime, minute: ArrayLike) -> Numbers:
    """Return the relative humidity at minutes from an origin, 0 to 1.

    Parameters as `temperature_at`.
    """
    return _interpolated(forecast, forecast.humidity, origin_utc, minute)


def sd_at(forecast: HourlyForecast, origin_utc: datetime, minute: ArrayLike) -> Numbers:
    """Return one standard deviation of the forecast at minutes from an origin [K].

    Parameters as `temperature_at`.
    """
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
        Hours by the clock of the place; any real number, wrapped to a day [h].
    coolest_c, hottest_c
        Extremes [°C].
    coolest_hour, hottest_hour
        When they come [h].

    Returns
    -------
    ndarray
        Shape of ``local_hour``.

    Raises
    ------
    OutOfRangeError
        If the coolest is above the hottest, or both come at the same hour.

    Notes
    -----
    Two half cosines, one rising and one falling, level where they meet: the curve hits both
    extremes and repeats every 24 hours. It knows no ovens; a learned or hourly forecast does.

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
    if rising_h == 0:
        raise OutOfRangeError("daily_curve_c: coolest and hottest come at the same hour")
    since_h = (np.asarray(local_hour, dtype=np.float64) - coolest_hour) % 24
    phase = np.where(
        since_h <= rising_h, since_h / rising_h, 1 + (since_h - rising_h) / (24 - rising_h)
    )
    middle_c, swing_k = (coolest_c + hottest_c) / 2, (hottest_c - coolest_c) / 2
    return np.asarray(middle_c - swing_k * np.cos(np.pi * phase), dtype=np.float64)


def room_from_outdoor_c(
    outdoor_c: ArrayLike,
    *,
    start_c: float,
    time_constant_h: float,
    gain_k: ArrayLike = 0.0,
    step_h: float = 1.0,
) -> Numbers:
    """Return a room's temperature from the outdoor forecast, step by step [°C].

    Parameters
    ----------
    outdoor_c
        Outdoor temperature per step [°C].
    start_c
        The room at the first step [°C].
    time_constant_h
        Time constant of the room: 4 to 20 h for a bakery (our judgement) [h].
    gain_k
        Degrees that ovens and people would in the end hold the room above outdoors, per step: 3
        to 8 with the ovens on (our judgement) [K].
    step_h
        Step [h].

    Returns
    -------
    ndarray
        As many values as ``outdoor_c``.

    Raises
    ------
    OutOfRangeError
        If ``time_constant_h`` or ``step_h`` is not above zero.

    Notes
    -----
    One resistance and one capacity: ``T[k+1] = a T[k] + (1 - a)(T_out[k] + gain[k])`` with
    ``a = exp(-dt/tau)``. Sun and opened doors are left out unless given as gains. One state is
    enough to forecast [1]_.

    References
    ----------
    .. [1] Lin, Middelkoop, Barooah 2012, Issues in identification of control-oriented thermal
       models of zones, IEEE CDC 51.

    Examples
    --------
    >>> room = room_from_outdoor_c([10.0, 10.0, 10.0], start_c=20.0, time_constant_h=10.0)
    >>> [float(round(t, 2)) for t in room]
    [20.0, 19.05, 18.19]
    """
    if not min(time_constant_h, step_h) > 0:
        raise OutOfRangeError("room_from_outdoor_c: time_constant_h and step_h must be above zero")
    outdoor = np.asarray(outdoor_c, dtype=np.float64)
    toward = outdoor + np.broadcast_to(np.asarray(gain_k, dtype=np.float64), outdoor.shape)
    keeps = float(np.exp(-step_h / time_constant_h))
    room = np.empty_like(outdoor)
    room[0] = start_c
    for k in range(len(outdoor) - 1):
        room[k + 1] = keeps * room[k] + (1 - keeps) * toward[k]
    return room

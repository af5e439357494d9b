"""Written lines for cooling cooked food, by country, and what a scald's curve says about them.

The figures are those of the texts named; whether a scald that is baked later falls under them is
for the authority of the place to say. Nothing here judges: times are told on the slowest point, and
the line beside them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.bakery import FoodLines
from planner.physics.cooling import CoolingPath, minutes_between
from planner.remarks import Figure, Remark, RemarkKind, minutes, temperature, word

READ = "2026"
"""When the texts were read, in excerpts; a code changes, and a place may go by an older one."""


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of temperatures, and within how long it should be passed.

    Attributes
    ----------
    high_c, low_c
        From and to [°C].
    within_min
        The line [min]; None where the text gives no time.
    """

    high_c: float
    low_c: float
    within_min: float | None


@dataclass(frozen=True, slots=True)
class CoolingLines:
    """What one country writes.

    Attributes
    ----------
    bands
        Stretches of the cool-down.
    hot_hold_c
        Above this, food kept warm is outside the bands [°C].
    source
        The text.
    """

    bands: tuple[Band, ...]
    hot_hold_c: float
    source: str


LINES = {
    FoodLines.UNITED_STATES: CoolingLines(
        (Band(57.0, 21.0, 120.0), Band(57.0, 5.0, 360.0)),
        57.0,
        "Food Code 3-501.14, as in 16 Del. Admin. Code 3-501.14",
    ),
    FoodLines.AUSTRALIA: CoolingLines(
        (Band(60.0, 21.0, 120.0), Band(21.0, 5.0, 240.0)), 60.0, "Standard 3.2.2 clause 7(3)"
    ),
    FoodLines.NEW_ZEALAND: CoolingLines(
        (Band(60.0, 21.0, 120.0), Band(21.0, 5.0, 240.0)),
        60.0,
        "guidance of the food-safety authority, second-hand",
    ),
    FoodLines.UNITED_KINGDOM: CoolingLines(
        (Band(63.0, 8.0, None),), 63.0, "Regulation 852/2004 and FSA temperature guidance 2016"
    ),
    FoodLines.GERMANY: CoolingLines(
        (Band(60.0, 15.0, None),),
        60.0,
        "BfR opinion 037/2020 for 60 °C, Gilbert and others 1974 on rice for 15 °C",
    ),
}

LONG_HOLD_MIN = 120.0
"""A stand below the hot-hold line that is longer than this is named [min]."""

# Whole sentences, so that each can be looked up in another language. All defer to the authority.
HELD_BELOW = (
    "Held below {line}, the hot-hold line of {country} ({source}, read {read}). Ask your"
    " food-safety authority what holds for a scald that is baked."
)
NO_TIME_WRITTEN = (
    "Its slowest point is {spent} between {high} and {low} before it is used ({country}: no time is"
    " written; {source}, read {read}). Ask your food-safety authority what holds for a scald that"
    " is baked."
)
WITHIN_WHAT_IS_WRITTEN = (
    "Its slowest point is {spent} between {high} and {low} before it is used; {country} writes"
    " {within} ({source}, read {read}). Ask your food-safety authority what holds for a scald that"
    " is baked."
)
LONGER_THAN_WRITTEN = (
    "Its slowest point is {spent} between {high} and {low} before it is used, longer than the"
    " {within} that {country} writes for cooked food ({source}, read {read}). Ask your"
    " food-safety authority what holds for a scald that is baked."
)


def food_remarks(
    path: CoolingPath,
    used_min: float,
    country: FoodLines,
    hold_c: tuple[float, float] | None = None,
) -> tuple[Remark, ...]:
    """Return what is said about one cool-down: each band, and a long warm stand.

    Parameters
    ----------
    path
        The cool-down from one pour.
    used_min
        When it goes into its dough, minutes after the pour [min].
    country
        Whose lines are shown.
    hold_c
        Warmest at the start and the end of a stand that is held, if any [°C].

    Notes
    -----
    Without a country nothing is said here: the card has its general caution. Times are those of
    the slowest point, from the pour to the use: in the dough other rules hold.
    """
    if country is FoodLines.NONE:
        return ()
    lines = LINES[country]
    found = [_band_remark(band, _band_min(path, used_min, band), country) for band in lines.bands]
    if hold_c is not None and max(hold_c) < lines.hot_hold_c:
        figures = (temperature("line", lines.hot_hold_c), *_named(country))
        found.append(Remark(RemarkKind.CAUTION, "food_hold", HELD_BELOW, figures))
    return tuple(r for r in found if r is not None)


def _band_min(path: CoolingPath, used_min: float, band: Band) -> float:
    """Return the minutes that the slowest point spends in a band before the use [min]."""
    here = _until(path, used_min)
    return float(minutes_between(here, band.low_c, band.high_c, warmest=True).reshape(-1)[0])


def _until(path: CoolingPath, used_min: float) -> CoolingPath:
    """Return a cool-down up to a minute."""
    minutes_ = np.append(path.minutes[path.minutes < used_min], used_min)
    curves = [
        np.interp(minutes_, path.minutes, curve.reshape(len(path.minutes), -1)[:, 0])
        for curve in (path.mean_c, path.warmest_c, path.centre_c)
    ]
    return CoolingPath(minutes_, *curves)


def _named(country: FoodLines) -> tuple[Figure, ...]:
    return (
        word("country", str(country).title()),
        word("source", LINES[country].source),
        word("read", READ),
    )


def _band_remark(band: Band, spent_min: float, country: FoodLines) -> Remark | None:
    if spent_min < 1.0:
        return None
    figures = (
        minutes("spent", spent_min),
        temperature("high", band.high_c),
        temperature("low", band.low_c),
        *_named(country),
    )
    if band.within_min is None:
        return Remark(RemarkKind.CAUTION, "food_band", NO_TIME_WRITTEN, figures)
    figures = (*figures, minutes("within", band.within_min))
    if spent_min <= band.within_min:
        return Remark(RemarkKind.NOTE, "food_band", WITHIN_WHAT_IS_WRITTEN, figures)
    return Remark(RemarkKind.CAUTION, "food_line_passed", LONGER_THAN_WRITTEN, figures)

"""The one home of figures as text: kilograms, degrees, durations, clock times, remarks.

Everything a reader sees is rounded here and nowhere else, so that a weight on the mix ticket
and the same weight in the table can never differ.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from planner.planned import Plan
from planner.quantities import (
    Unit,
    fahrenheit_difference_from_kelvin,
    fahrenheit_from_celsius,
    lb_from_kg,
)
from planner.remarks import Figure, Remark

MISSING = "—"
"""Printed where there is no figure; never a NaN, never an empty cell."""

OUNCES_PER_LB = 16
PLACEHOLDER = re.compile(r"\{(\w+)\}")


class Units(StrEnum):
    """The units a house reads in."""

    METRIC = "metric"
    US = "us"

    @property
    def mass(self) -> str:
        """Unit of mass as printed."""
        return "lb" if self is Units.US else "kg"

    @property
    def degree(self) -> str:
        """Unit of temperature as printed."""
        return "°F" if self is Units.US else "°C"


# -- numbers -----------------------------------------------------------------------------------


def number(value: float | None, decimals: int = 0) -> str:
    """Return a number with so many decimals, a true minus sign, and no minus zero.

    Examples
    --------
    >>> number(-3.26, 1), number(-0.01, 1), number(float("nan"), 1)
    ('−3.3', '0.0', '—')
    """
    if value is None or not math.isfinite(value):
        return MISSING
    text = f"{_half_up(value, decimals):.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def _half_up(value: float, decimals: int) -> float:
    """Round half away from zero, as people do on paper."""
    factor = 10**decimals
    return math.copysign(math.floor(abs(value) * factor + 0.5 + 1e-9) / factor, value)


# -- mass --------------------------------------------------------------------------------------


def scale_step(whole_kg: float, units: Units) -> float:
    """Return the step of the scale on which a batch is weighed [kg or lb].

    A batch under 10 kg is weighed to the gram, a larger one to 10 g; in pounds to 0.001 lb
    under 22 lb and to 0.01 lb above.
    """
    if units is Units.US:
        return 0.001 if lb_from_kg(whole_kg) < 22 else 0.01
    return 0.001 if whole_kg < 10 else 0.01


def decimals_of(step: float) -> int:
    """Return how many decimals a step needs: 0.005 three, 0.5 one, 5 none."""
    return next((n for n in range(5) if abs(step * 10**n - round(step * 10**n)) < 1e-9), 5)


def in_units(mass_kg: float, units: Units) -> float:
    """Return a mass in the unit that is printed [kg or lb]."""
    return lb_from_kg(mass_kg) if units is Units.US else mass_kg


def mass_number(mass_kg: float | None, units: Units, *, whole_kg: float | None = None) -> str:
    """Return a mass without its unit, to the step of the scale for ``whole_kg``.

    Examples
    --------
    >>> mass_number(24.3512, Units.METRIC), mass_number(0.0, Units.METRIC)
    ('24.35', '0')
    """
    if mass_kg is None or not math.isfinite(mass_kg):
        return MISSING
    if abs(mass_kg) < 5e-4:
        return "0"
    step = scale_step(mass_kg if whole_kg is None else whole_kg, units)
    return number(in_units(mass_kg, units), decimals_of(step))


def mass_text(mass_kg: float | None, units: Units) -> str:
    """Return a mass with its unit: grams or ounces below one kilogram or pound.

    Examples
    --------
    >>> mass_text(24.35, Units.METRIC), mass_text(0.612, Units.METRIC)
    ('24.35 kg', '612 g')
    >>> mass_text(45.359237, Units.US), mass_text(0.2267961850, Units.US)
    ('100.00 lb', '8.0 oz')
    """
    if mass_kg is None or not math.isfinite(mass_kg):
        return MISSING
    if units is Units.US:
        pounds = lb_from_kg(mass_kg)
        if 0 < abs(pounds) < 1:
            return f"{number(pounds * OUNCES_PER_LB, 1)} oz"
        return f"{mass_number(mass_kg, units)} lb"
    if 0 < abs(mass_kg) < 0.9995:
        return f"{number(mass_kg * 1000)} g"
    return f"{mass_number(mass_kg, units)} kg"


def ounces_aside(mass_kg: float, units: Units) -> str:
    """Return a weight below a pound in ounces, to stand behind a name where pounds are printed.

    Examples
    --------
    >>> ounces_aside(0.2267961850, Units.US), ounces_aside(0.2, Units.METRIC)
    (' (8.0 oz)', '')
    """
    pounds = lb_from_kg(mass_kg)
    if units is not Units.US or not 0 < pounds < 1:
        return ""
    return f" ({number(pounds * OUNCES_PER_LB, 1)} oz)"


def stock_number(mass_kg: float | None, units: Units) -> str:
    """Return ice or water in store without its unit, to one decimal: nobody weighs a store.

    Examples
    --------
    >>> stock_number(36.6512, Units.METRIC)
    '36.7'
    """
    return number(None if mass_kg is None else in_units(mass_kg, units), 1)


# -- temperature -------------------------------------------------------------------------------


def dough_degrees(temperature_c: float | None, units: Units) -> str:
    """Return a dough, room or flour temperature to one decimal, without its unit."""
    if temperature_c is None:
        return MISSING
    shown = fahrenheit_from_celsius(temperature_c) if units is Units.US else temperature_c
    return number(shown, 1)


def water_degrees(temperature_c: float | None, units: Units) -> str:
    """Return a water temperature to half degrees Celsius or whole degrees Fahrenheit.

    Examples
    --------
    >>> water_degrees(11.8, Units.METRIC), water_degrees(11.3, Units.METRIC)
    ('12', '11.5')
    >>> water_degrees(10.0, Units.US)
    '50'
    """
    if temperature_c is None or not math.isfinite(temperature_c):
        return MISSING
    if units is Units.US:
        return number(fahrenheit_from_celsius(temperature_c))
    halves = _half_up(temperature_c * 2, 0) / 2
    return number(halves, 0 if halves == int(halves) else 1)


def temperature_text(temperature_c: float | None, units: Units) -> str:
    """Return a temperature to one decimal with its unit."""
    text = dough_degrees(temperature_c, units)
    return text if text == MISSING else f"{text} {units.degree}"


def difference_text(difference_k: float | None, units: Units) -> str:
    """Return a *difference* of temperatures with its unit; 5 K is 9.0 °F, never 41 °F.

    Examples
    --------
    >>> difference_text(5.0, Units.US), difference_text(-1.5, Units.METRIC)
    ('9.0 °F', '−1.5 °C')
    """
    if difference_k is None or not math.isfinite(difference_k):
        return MISSING
    us = units is Units.US
    shown = fahrenheit_difference_from_kelvin(difference_k) if us else difference_k
    return f"{number(shown, 1)} {units.degree}"


def signed_difference(difference_k: float, units: Units) -> str:
    """Return a difference with its sign always shown, for the head of a strip."""
    text = difference_text(difference_k, units)
    return text if text.startswith(("−", MISSING)) else f"+{text}"


# -- time --------------------------------------------------------------------------------------


def duration_text(minutes: float | None) -> str:
    """Return a duration: minutes below two hours, hours and minutes above.

    Examples
    --------
    >>> duration_text(12.0), duration_text(119.6), duration_text(185.0)
    ('12 min', '2:00 h', '3:05 h')
    """
    if minutes is None or not math.isfinite(minutes):
        return MISSING
    whole = int(_half_up(minutes, 0))
    if abs(whole) < 120:
        return f"{number(whole)} min"
    hours, rest = divmod(abs(whole), 60)
    return f"{'−' if whole < 0 else ''}{hours}:{rest:02d} h"


def minutes_number(minutes: float) -> str:
    """Return minutes for the mixer's timer: whole, or halves where the formula has them."""
    halves = _half_up(minutes * 2, 0) / 2
    return number(halves, 0 if halves == int(halves) else 1)


@dataclass(frozen=True, slots=True)
class Clock:
    """Clock times of one production day.

    Attributes
    ----------
    zone
        The bakery's zone.
    production_date
        Moments of this date need no date beside them; None when every one does.
    offset_shown
        Whether each time carries its offset from UTC, as on a night when clocks change.
    language
        Language of the names of days and months.
    """

    zone: ZoneInfo
    production_date: date | None = None
    offset_shown: bool = False
    language: str = "en"

    def time(self, moment: datetime) -> str:
        """Return the time of day only."""
        return f"{self.hand(moment)}{self.offset(moment)}"

    def hand(self, moment: datetime) -> str:
        """Return the time of day as the clock on the wall shows it, without any offset."""
        return f"{moment.astimezone(self.zone):%H:%M}"

    def day(self, moment: datetime) -> str:
        """Return the weekday and date only."""
        local = moment.astimezone(self.zone)
        return day_text(local.date(), self.language)

    def full(self, moment: datetime) -> str:
        """Return the time, with the date before it when it is not the production date."""
        if moment.astimezone(self.zone).date() == self.production_date:
            return self.time(moment)
        return f"{self.day(moment)} {self.time(moment)}"

    def after(self, moment: datetime, earlier: datetime) -> str:
        """Return a later time of the same chain of work: with its date only when in doubt.

        Up to twelve hours after a printed time the hour alone is clear; beyond that, or on a
        date of its own, the date is printed unless it is the production date.
        """
        same_day = moment.astimezone(self.zone).date() == earlier.astimezone(self.zone).date()
        if same_day or moment - earlier <= timedelta(hours=12):
            return self.time(moment)
        return self.full(moment)

    def dated(self, moment: datetime, earlier: datetime) -> str:
        """Return a later time; whenever it lies on another date, the date stands beside it."""
        dates = (one.astimezone(self.zone).date() for one in (moment, earlier))
        return self.time(moment) if next(dates) == next(dates) else self.short(moment)

    def short(self, moment: datetime) -> str:
        """Return the time with weekday and day of the month before it."""
        local = moment.astimezone(self.zone)
        weekday = day_text(local.date(), self.language).split()[0].rstrip(".,")
        return f"{weekday} {local.day} {self.time(moment)}"

    def offset(self, moment: datetime) -> str:
        """Return the offset from UTC to print behind a time; empty on an ordinary night."""
        if not self.offset_shown:
            return ""
        local = moment.astimezone(self.zone)
        minutes = int((local.utcoffset() or timedelta()).total_seconds() // 60)
        hours, rest = divmod(abs(minutes), 60)
        tail = f":{rest:02d}" if rest else ""
        return f" UTC{'−' if minutes < 0 else '+'}{hours}{tail}"


def date_text(day: date, language: str = "en") -> str:
    """Return a date in full.

    Examples
    --------
    >>> date_text(date(2026, 7, 15)), date_text(date(2026, 7, 15), "es")
    ('Wednesday 15 July 2026', 'miércoles, 15 de julio de 2026')
    """
    if language == "en":
        return f"{day:%A} {day.day} {day:%B %Y}"
    from babel.dates import format_date  # noqa: PLC0415  (paid for when it is needed)

    return format_date(day, "full", locale=language)


def day_text(day: date, language: str = "en") -> str:
    """Return weekday and date in short.

    Examples
    --------
    >>> day_text(date(2026, 7, 15)), day_text(date(2026, 7, 15), "es")
    ('Wed 15 Jul', 'mié 15 jul')
    """
    if language == "en":
        return f"{day:%a} {day.day} {day:%b}"
    from babel.dates import format_date  # noqa: PLC0415  (paid for when it is needed)

    return format_date(day, "EEE d MMM", locale=language)


def clock_of(plan: Plan, zone: ZoneInfo) -> Clock:
    """Return the clock of a plan; it shows the offset when the clocks change in its span."""
    start, end = plan.day.start_utc.astimezone(zone), plan.day.end_utc.astimezone(zone)
    return Clock(zone, plan.day.production_date, start.utcoffset() != end.utcoffset())


# -- remarks -----------------------------------------------------------------------------------


def figure_text(figure: Figure, clock: Clock, units: Units) -> str:
    """Return a remark's figure as text."""
    if isinstance(figure.value, datetime):
        return clock.full(figure.value)
    if isinstance(figure.value, str):
        return figure.value
    return value_text(figure.value, figure.unit, units)


def value_text(value: float, unit: Unit | str, units: Units) -> str:
    """Return a number in one of the core's units as text.

    Examples
    --------
    >>> value_text(24.5, Unit.CELSIUS, Units.METRIC), value_text(2.0, Unit.KELVIN, Units.US)
    ('24.5 °C', '3.6 °F')
    """
    if not math.isfinite(value):
        return MISSING
    known = _VALUE_TEXTS.get(str(unit))
    if known is not None:
        return known(value, units)
    return f"{_plain(value, units)} {unit}"


def _plain(value: float, _units: Units) -> str:
    return number(value, 0 if value == int(value) else 2)


def _percent(value: float, _units: Units) -> str:
    return f"{number(value, 0 if abs(value) >= 10 or value == int(value) else 1)} %"


_VALUE_TEXTS: dict[str, Callable[[float, Units], str]] = {
    Unit.CELSIUS: temperature_text,
    "°C": temperature_text,
    Unit.KELVIN: difference_text,
    Unit.KG: mass_text,
    Unit.KG_PER_HOUR: lambda value, units: f"{mass_text(value, units)} an hour",
    Unit.MINUTES: lambda value, _: duration_text(value),
    Unit.PERCENT: _percent,
    Unit.COUNT: _plain,
    Unit.FRACTION: _plain,
    "": _plain,
}


def render_remark(
    remark: Remark,
    zone: ZoneInfo,
    units: Units = Units.METRIC,
    *,
    production_date: date | None = None,
    clock: Clock | None = None,
) -> str:
    """Return a remark's sentence with its figures filled in.

    Parameters
    ----------
    remark
        A sentence with placeholders.
    zone, units
        How the house reads time and quantities.
    production_date
        Moments of this date are printed without their date.
    clock
        The clock of a plan, instead of ``zone`` and ``production_date``.

    Returns
    -------
    str
        A placeholder without a figure stands as its own name, so that a sheet is printed even
        then.
    """
    shown = clock or Clock(zone, production_date)
    texts = {figure.name: figure_text(figure, shown, units) for figure in remark.figures}
    return PLACEHOLDER.sub(
        lambda match: texts.get(match[1], match[1].replace("_", " ")), remark.text
    )

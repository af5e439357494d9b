"""Conversions between the units of bakers and the units of the core.

Inside the core everything is SI with °C for temperatures, kg for masses and minutes where a
name says so. Fahrenheit, pounds and ounces exist only at the edges, and only through these
functions. A difference of temperatures is converted as a difference: a rise of 5 °F is a rise
of 2.8 K, never of −15 °C.

References
----------
NIST SP 811 (2008), appendix B.8: exact factors for the pound, the ounce and the degree
Fahrenheit.
"""

from __future__ import annotations

from enum import StrEnum

KG_PER_LB = 0.45359237
KG_PER_OZ = KG_PER_LB / 16
F_PER_K = 1.8
F_AT_ZERO_C = 32.0


class Unit(StrEnum):
    """Units that a figure shown to a reader can have."""

    CELSIUS = "degC"
    KELVIN = "K"
    KG = "kg"
    MINUTES = "min"
    PERCENT = "%"
    COUNT = "count"
    TIME = "time"
    TEXT = "text"
    KG_PER_HOUR = "kg/h"
    KJ_PER_KG_MIN = "kJ/kg min"
    FRACTION = "fraction"


def celsius_from_fahrenheit(temperature_f: float) -> float:
    """Return the temperature in °C.

    Examples
    --------
    >>> round(celsius_from_fahrenheit(78.0), 1)
    25.6
    """
    return (temperature_f - F_AT_ZERO_C) / F_PER_K


def fahrenheit_from_celsius(temperature_c: float) -> float:
    """Return the temperature in °F.

    Examples
    --------
    >>> fahrenheit_from_celsius(100.0)
    212.0
    """
    return temperature_c * F_PER_K + F_AT_ZERO_C


def kelvin_from_fahrenheit_difference(difference_f: float) -> float:
    """Return a temperature *difference* given in °F as K.

    Examples
    --------
    >>> round(kelvin_from_fahrenheit_difference(5.0), 1)
    2.8
    """
    return difference_f / F_PER_K


def fahrenheit_difference_from_kelvin(difference_k: float) -> float:
    """Return a temperature *difference* given in K as °F.

    Examples
    --------
    >>> fahrenheit_difference_from_kelvin(10.0)
    18.0
    """
    return difference_k * F_PER_K


def kg_from_lb(mass_lb: float) -> float:
    """Return the mass in kg.

    Examples
    --------
    >>> round(kg_from_lb(100.0), 3)
    45.359
    """
    return mass_lb * KG_PER_LB


def lb_from_kg(mass_kg: float) -> float:
    """Return the mass in lb.

    Examples
    --------
    >>> round(lb_from_kg(45.359237), 6)
    100.0
    """
    return mass_kg / KG_PER_LB


def kg_from_oz(mass_oz: float) -> float:
    """Return the mass in kg.

    Examples
    --------
    >>> round(kg_from_oz(16.0), 5)
    0.45359
    """
    return mass_oz * KG_PER_OZ

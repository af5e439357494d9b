"""Specific heats and melting of what goes into a dough.

References
----------
.. [1] Geankoplis, Transport Processes and Unit Operations, table A.4: flour of 12 to 13.5 % water
   1.80 to 1.88 kJ/kgK.
.. [2] Choi and Okos 1986, in Food Engineering and Process Applications, vol. 1, p. 93.
.. [3] Milk fat by dilatometry and calorimetry: half solid at 5 °C, a fifth at 20, none from 36.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.constants import DRY_FLOUR_KJ_PER_KG_K, WATER_KJ_PER_KG_K
from planner.errors import OutOfRangeError

Numbers = NDArray[np.float64]

USUAL_FLOUR_MOISTURE = 0.14

# Solid share of milk fat [3]; below 5 °C drawn on towards the deep freeze.
_FAT_C = (-20.0, 5.0, 10.0, 18.0, 20.0, 25.0, 30.0, 36.0)
_FAT_SOLID = (0.75, 0.50, 0.45, 0.25, 0.20, 0.12, 0.05, 0.0)

# Choi and Okos: c = a + b T + d T², kJ/kgK, T in °C [2]. Some handbooks print 4.1289 for water.
_COMPONENTS = {
    "water": (4.1762, -9.0864e-5, 5.4731e-6),
    "ice": (2.0623, 6.0769e-3, 0.0),
    "protein": (2.0082, 1.2089e-3, -1.3129e-6),
    "fat": (1.9842, 1.4733e-3, -4.8008e-6),
    "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
    "fibre": (1.8459, 1.8306e-3, -4.6509e-6),
    "ash": (1.0926, 1.8896e-3, -3.6817e-6),
}


def flour_specific_heat(moisture_fraction: float) -> float:
    """Return the specific heat of flour of a moisture, wet basis [kJ/kg K].

    Parameters
    ----------
    moisture_fraction
        Mass of water per mass of flour, 0 to 0.2.

    Raises
    ------
    OutOfRangeError
        If the moisture is not a flour's.

    Notes
    -----
    ``c = 1.45 (1 - w) + 4.18 w``, within 0.1 of measured flours near 20 °C [1]. Wholemeal and rye
    differ from white flour by less than 1 % in composition, and have no rows of their own.

    References
    ----------
    Geankoplis, Transport Processes and Unit Operations, table A.4.

    Examples
    --------
    >>> round(flour_specific_heat(0.14), 2)
    1.83
    """
    if not 0 <= moisture_fraction <= 0.2:
        raise OutOfRangeError(f"flour_specific_heat: moisture_fraction is {moisture_fraction}")
    dry = DRY_FLOUR_KJ_PER_KG_K.value * (1 - moisture_fraction)
    return dry + WATER_KJ_PER_KG_K.value * moisture_fraction


def paste_specific_heat(
    water_per_flour: float, moisture_fraction: float = USUAL_FLOUR_MOISTURE
) -> float:
    """Return the specific heat of flour and water: a levain, a sponge, a scald [kJ/kg K].

    Parameters
    ----------
    water_per_flour
        Mass of added water per mass of flour.
    moisture_fraction
        Moisture of the flour.

    Raises
    ------
    OutOfRangeError
        If the water is negative.

    Notes
    -----
    ``(c_flour + 4.18 r)/(1 + r)``, the additive rule; good to about 3 %.

    Examples
    --------
    >>> round(paste_specific_heat(1.0), 2)
    3.01
    """
    if water_per_flour < 0:
        raise OutOfRangeError(f"paste_specific_heat: water_per_flour is {water_per_flour}")
    water = WATER_KJ_PER_KG_K.value * water_per_flour
    return (flour_specific_heat(moisture_fraction) + water) / (1 + water_per_flour)


def ice_specific_heat(temperature_c: float) -> float:
    """Return the specific heat of ice at a temperature [kJ/kg K].

    Raises
    ------
    OutOfRangeError
        If it lies above 0 °C, where there is no ice.

    Examples
    --------
    >>> round(ice_specific_heat(0.0), 2)
    2.06
    """
    if temperature_c > 0:
        raise OutOfRangeError(f"ice_specific_heat: no ice at {temperature_c} °C")
    return composition_specific_heat({"ice": 1.0}, temperature_c)


def composition_specific_heat(fractions: Mapping[str, float], temperature_c: float) -> float:
    """Return the specific heat of a wet food from its composition [kJ/kg K].

    Parameters
    ----------
    fractions
        Mass fractions of water, ice, protein, fat, carbohydrate, fibre and ash.
    temperature_c
        Temperature [°C].

    Raises
    ------
    OutOfRangeError
        If a component has no row, or the fractions do not add up to one.

    Notes
    -----
    ``c = sum x_i (a_i + b_i T + d_i T²)``, for wet foods, seeds and fruit, −40 to 150 °C [2]. It
    overstates dry flour by a tenth, and crystals by more.

    References
    ----------
    Choi and Okos 1986, Food Engineering and Process Applications, vol. 1, p. 93.

    Examples
    --------
    >>> round(composition_specific_heat({"water": 1.0}, 20.0), 3)
    4.177
    """
    unknown = set(fractions) - set(_COMPONENTS)
    if unknown:
        raise OutOfRangeError(f"composition_specific_heat: no component {sorted(unknown)}")
    if abs(sum(fractions.values()) - 1) > 0.01:
        raise OutOfRangeError("composition_specific_heat: the fractions do not add up to one")
    return sum(
        share * (a + b * temperature_c + d * temperature_c**2)
        for name, share in fractions.items()
        for a, b, d in [_COMPONENTS[name]]
    )


def solid_fat_fraction(temperature_c: ArrayLike) -> Numbers:
    """Return the solid share of milk fat, 0 to 1.

    Parameters
    ----------
    temperature_c
        Temperature of fat that has stood there for hours [°C].

    Notes
    -----
    Read between the points of a table [3]. Laminating margarine and cocoa butter melt higher.

    Examples
    --------
    >>> float(solid_fat_fraction(20.0)), float(solid_fat_fraction(40.0))
    (0.2, 0.0)
    """
    return np.asarray(
        np.interp(np.asarray(temperature_c, dtype=np.float64), _FAT_C, _FAT_SOLID), dtype=np.float64
    )

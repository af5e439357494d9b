"""Specific heats and melting of what goes into a dough.

References
----------
.. [1] Geankoplis, Transport Processes and Unit Operations, table A.4: flour of 12 to 13.5 % water
   1.80 to 1.88 kJ/kgK.
.. [2] Choi and Okos 1986, in Food Engineering and Process Applications, vol. 1, p. 93.
.. [3] Milk fat by dilatometry and DSC: half solid at 5 °C, a fifth at 20, none from 36 °C.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import OutOfRangeError

Numbers = NDArray[np.float64]

WATER_KJ_PER_KG_K = 4.18
DRY_FLOUR_KJ_PER_KG_K = 1.45
"""Dry flour, so that flour of 12 to 13.5 % moisture comes to 1.78 to 1.82 [1]."""

ICE_MELTING_KJ_PER_KG = 334.0
MILK_FAT_MELTING_KJ_PER_KG = 80.0
"""Melting of milk fat from -20 to 37 °C [3]."""

_FAT_C = (-20.0, 5.0, 10.0, 18.0, 20.0, 25.0, 30.0, 36.0)
_FAT_SOLID = (0.75, 0.50, 0.45, 0.25, 0.20, 0.12, 0.05, 0.0)

# Choi and Okos: c = a + b T + d T², kJ/kgK, T in °C [2].
_COMPONENTS = {
    "water": (4.1762, -9.0864e-5, 5.4731e-6),
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
    ``c = 1.45 (1 - w) + 4.18 w``, within 0.1 of measured flours [1].

    Examples
    --------
    >>> round(flour_specific_heat(0.14), 2)
    1.83
    """
    if not 0 <= moisture_fraction <= 0.2:
        raise OutOfRangeError(f"flour_specific_heat: moisture_fraction is {moisture_fraction}")
    return DRY_FLOUR_KJ_PER_KG_K * (1 - moisture_fraction) + WATER_KJ_PER_KG_K * moisture_fraction


def ice_specific_heat(temperature_c: float) -> float:
    """Return the specific heat of ice [kJ/kg K].

    Examples
    --------
    >>> round(ice_specific_heat(0.0), 2)
    2.06
    """
    return 2.06 + 0.006 * temperature_c


def composition_specific_heat(fractions: Mapping[str, float], temperature_c: float) -> float:
    """Return the specific heat of a wet food from its composition [kJ/kg K].

    Parameters
    ----------
    fractions
        Mass fractions of water, protein, fat, carbohydrate, fibre and ash.
    temperature_c
        Temperature [°C].

    Notes
    -----
    For wet foods, seeds and fruit [2]; it overstates dry flour by a tenth and crystals by more.

    Examples
    --------
    >>> round(composition_specific_heat({"water": 1.0}, 20.0), 3)
    4.177
    """
    unknown = set(fractions) - set(_COMPONENTS)
    if unknown:
        raise OutOfRangeError(f"composition_specific_heat: no component {sorted(unknown)}")
    return sum(
        share * (a + b * temperature_c + d * temperature_c**2)
        for name, share in fractions.items()
        for a, b, d in [_COMPONENTS[name]]
    )


def solid_fat_fraction(temperature_c: ArrayLike) -> Numbers:
    """Return the solid share of milk fat, 0 to 1 [3].

    Examples
    --------
    >>> float(solid_fat_fraction(20.0)), float(solid_fat_fraction(40.0))
    (0.2, 0.0)
    """
    return np.asarray(
        np.interp(np.asarray(temperature_c, dtype=np.float64), _FAT_C, _FAT_SOLID), dtype=np.float64
    )

"""Heat set free while mixing: by wetting flour, and by working the dough.

References
----------
.. [1] Trade dictionary and trade magazine: flour of 11 to 12 % moisture gives 6.5 BTU/lb on
   wetting, 15.1 kJ/kg; dry flour about 105 kJ/kg (25 cal/g).
.. [2] Hlynka 1962, Cereal Chem. 39:286: the mobility of dough has an activation energy of about
   4 kcal/mol; absorption changes by 0.52 % per °C at equal consistency.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp

from planner.constants import (
    DRY_WETTING_KJ_PER_KG,
    FILL_EXPONENT,
    USUAL_HYDRATION,
    WETTING_DECAY,
    WORK_FALL_PER_HYDRATION_POINT,
)
from planner.errors import OutOfRangeError
from planner.mixers import Speed

LEAST_STIFFNESS, MOST_STIFFNESS = 0.5, 1.5
"""Work of the softest and the stiffest dough beside the usual one. The slope was read between 55
and 80 % of water; beyond 32 and 98 % a straight line would promise work without any ground."""


def wetting_heat_kj_per_kg(moisture_fraction: float) -> float:
    """Return the heat that fresh flour gives when it is wetted [kJ per kg of flour].

    Parameters
    ----------
    moisture_fraction
        Moisture of the flour, wet basis, 0 to 0.2.

    Raises
    ------
    OutOfRangeError
        If the moisture is not a flour's.

    Notes
    -----
    ``q = (1 - w) 105 exp(-14 w/(1 - w))``, drawn through the two published points [1]; good to
    30 %. Per kilo of *flour*: read as 15 kJ per kilo of dough it would be two or three times it.
    Flour that is wet already (levain, sponge, scald, soaker) gives none.

    References
    ----------
    Trade dictionary and trade magazine: 6.5 BTU/lb for flour of 11 to 12 % moisture.

    Examples
    --------
    >>> round(wetting_heat_kj_per_kg(0.14), 1)
    9.2
    """
    if not 0 <= moisture_fraction <= 0.2:
        raise OutOfRangeError(f"wetting_heat_kj_per_kg: moisture_fraction is {moisture_fraction}")
    dry = 1 - moisture_fraction
    held = exp(-WETTING_DECAY.value * moisture_fraction / dry)
    return dry * DRY_WETTING_KJ_PER_KG.value * held


def stiffness(hydration: float) -> float:
    """Return the work of a dough beside one of 65 % water.

    Parameters
    ----------
    hydration
        Water per flour.

    Notes
    -----
    1.5 % less heat for each point of water more, between 0.5 and 1.5. No law is published: equal
    consistency at constant speed would give 4 % [2], but a soft dough is thrown and folded as
    well as sheared.

    Examples
    --------
    >>> stiffness(0.55) > stiffness(0.65) == 1.0 > stiffness(0.75)
    True
    """
    points = 100 * (hydration - USUAL_HYDRATION.value)
    share = 1 - WORK_FALL_PER_HYDRATION_POINT.value * points
    return min(MOST_STIFFNESS, max(LEAST_STIFFNESS, share))


def mixing_work_kj(
    dough_kg: float,
    steps: Sequence[tuple[Speed, float]],
    work_kj_per_kg_min: Mapping[Speed, float],
    hydration: float,
    fill_fraction: float,
) -> float:
    """Return the heat of working a dough, at 25 °C dough [kJ].

    Parameters
    ----------
    dough_kg
        Mass of dough [kg].
    steps
        Speed and minutes of each step [min]; rests and folds give nothing.
    work_kj_per_kg_min
        Work by speed at 65 % hydration and full load [kJ/kg min].
    hydration
        Water per flour.
    fill_fraction
        Load over the most the mixer takes.

    Raises
    ------
    OutOfRangeError
        If the mass or the load is not above zero, or minutes are negative.

    Notes
    -----
    ``M sum(e_s t_s) F``; the fall of 2.3 % per degree of dough [2] is applied by the balance.
    A speed without a figure gives no heat: folds, rests, and speeds the mixer does not have.
    Per kilo the load counts as ``fill^0``, its exponent being known to ± 0.3 only.

    Examples
    --------
    >>> mixing_work_kj(10.0, [(Speed.SECOND, 5.0)], {Speed.SECOND: 1.6}, 0.65, 1.0)
    80.0
    """
    if dough_kg <= 0 or fill_fraction <= 0:
        raise OutOfRangeError("mixing_work_kj: dough_kg and fill_fraction must be above zero")
    if hydration < 0 or any(minutes < 0 for _, minutes in steps):
        raise OutOfRangeError("mixing_work_kj: hydration or minutes are negative")
    per_kg = sum(work_kj_per_kg_min.get(speed, 0.0) * minutes for speed, minutes in steps)
    return float(dough_kg * per_kg * stiffness(hydration) * fill_fraction**FILL_EXPONENT.value)

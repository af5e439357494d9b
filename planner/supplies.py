"""Water and ice on the way to the bowl: what to weigh from each supply, and when to draw it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from planner.night import Night
from planner.physics.waiting import draw_ahead_min
from planner.water_sources import SupplyKind
from planner.water_ticket import (
    WaterLine,
)

LEAST_KG = 1e-9


def supplies_of(night: Night) -> list[WaterLine | None]:
    """Return tap, chiller and hot tap with nothing drawn; None for one the house lacks."""
    found: list[WaterLine | None] = []
    for kind in (SupplyKind.TAP, SupplyKind.CHILLER, SupplyKind.HOT):
        supply = night.supply(kind)
        if supply is None:
            found.append(None)
        else:
            temperature_c = min(night.supply_c(supply).value, night.boiling_c)
            found.append(WaterLine(supply.id, kind, 0.0, temperature_c))
    return found


def lines_from(
    supplies: Sequence[WaterLine | None], kilos: Sequence[float]
) -> tuple[WaterLine, ...]:
    """Return what to draw from each supply, leaving out what is nothing [kg]."""
    return tuple(
        WaterLine(one.supply_id, one.kind, kg, one.temperature_c)
        for one, kg in zip(supplies, kilos, strict=True)
        if one is not None and kg > LEAST_KG
    )


def water_lines(
    night: Night, tap_kg: float, chilled_kg: float, hot_kg: float
) -> tuple[WaterLine, ...]:
    """Return what to draw from each supply, leaving out what is nothing [kg]."""
    return lines_from(supplies_of(night), (tap_kg, chilled_kg, hot_kg))


def draw_not_before(
    night: Night, room_id: str, poured_min: float, water_c: float, water_kg: float
) -> datetime | None:
    """Return when the water of a mix may be drawn at the earliest, or None when it may wait.

    Parameters
    ----------
    night, room_id
        The night, and the room in which the water waits.
    poured_min
        When it goes into the bowl [min].
    water_c, water_kg
        The blend: its temperature [°C] and mass [kg].
    """
    room_c = float(night.air_c(room_id)(np.asarray(poured_min)))
    ahead_min = draw_ahead_min(water_c, water_kg, room_c)
    return None if ahead_min is None else night.day.moment(poured_min - ahead_min)

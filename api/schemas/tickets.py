"""The water ticket as it is sent."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from api.schemas.reader import Read, shown
from planner.bakery import IceKind, SupplyKind


class WaterLineRead(Read):
    """Water of one supply that goes into a mix."""

    supply_id: Annotated[str, shown("Id of the water supply.", "tap")]
    kind: Annotated[SupplyKind, shown("Where the water comes from.", "tap")]
    water_kg: Annotated[float, shown("Water to weigh [kg].", 24.35)]
    temperature_c: Annotated[float, shown("Its temperature [°C].", 12.5)]


class BalanceTermRead(Read):
    """One term of the heat balance and what it does to the dough."""

    name: Annotated[str, shown("What it is.", "flour")]
    mass_kg: Annotated[float | None, shown("Mass [kg]; null where there is none.", 60.0)]
    start_c: Annotated[
        float | None, shown("Start temperature [°C]; null where there is none.", 23.0)
    ]
    heat_kj: Annotated[
        float, shown("Heat it gives the dough [kJ]; negative where it takes heat.", -210.0)
    ]
    effect_k: Annotated[float, shown("The same in degrees of dough [K].", -0.8)]


class StripCellRead(Read):
    """Finished figures for one reading that differs from its forecast."""

    reading: Annotated[str, shown("Which reading differs.", "flour")]
    offset_k: Annotated[float, shown("By how much it differs [K].", 2.0)]
    reading_c: Annotated[float, shown("The reading for which these figures hold [°C].", 25.0)]
    water: Annotated[
        list[WaterLineRead],
        shown(
            "What to weigh then, per supply.",
            [{"supply_id": "tap", "kind": "tap", "water_kg": 22.9, "temperature_c": 12.5}],
        ),
    ]
    ice_kg: Annotated[float, shown("Ice to weigh then [kg].", 1.45)]
    expected_c: Annotated[float, shown("Dough temperature that gives [°C].", 25.0)]


class TicketRead(Read):
    """The numbers a mixer hand needs."""

    wanted_c: Annotated[float, shown("Desired dough temperature [°C].", 25.0)]
    water_c: Annotated[
        float | None,
        shown("Temperature of all liquid water together [°C]; null without water.", 12.5),
    ]
    water_kg: Annotated[float, shown("Liquid water of all supplies [kg].", 24.35)]
    water: Annotated[
        list[WaterLineRead],
        shown(
            "Water per supply; with the ice it adds up to the formula's water.",
            [{"supply_id": "tap", "kind": "tap", "water_kg": 24.35, "temperature_c": 12.5}],
        ),
    ]
    ice_kg: Annotated[float, shown("Ice to weigh [kg].", 0.0)]
    ice_kind: Annotated[IceKind | None, shown("Kind of ice; null without ice.", "flake")]
    formula_water_kg: Annotated[float, shown("Water the formula asks for [kg].", 24.35)]
    expected_c: Annotated[float, shown("Dough temperature these figures give [°C].", 25.0)]
    expected_sd_k: Annotated[float, shown("One standard deviation of it [K].", 0.7)]
    dough_per_water_k: Annotated[
        float, shown("Degrees of dough that one degree of water is worth [K/K].", 0.45)
    ]
    hand_sum_c: Annotated[
        float | None,
        shown("Water by the trade's hand sum [°C]; null where it does not apply.", 14.0),
    ]
    terms: Annotated[
        list[BalanceTermRead],
        shown(
            "The heat balance, term by term.",
            [
                {
                    "name": "flour",
                    "mass_kg": 60.0,
                    "start_c": 23.0,
                    "heat_kj": -210.0,
                    "effect_k": -0.8,
                }
            ],
        ),
    ]
    strip: Annotated[
        list[StripCellRead],
        shown(
            "Finished figures for readings that differ from the forecast.",
            [
                {
                    "reading": "flour",
                    "offset_k": 2.0,
                    "reading_c": 25.0,
                    "water": [],
                    "ice_kg": 1.45,
                    "expected_c": 25.0,
                }
            ],
        ),
    ]
    draw_not_before_utc: Annotated[
        datetime | None,
        shown("Earliest moment to draw the water; null when any will do.", "2026-07-15T20:55:00Z"),
    ]

"""The water ticket as it is sent."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from api.schemas.reader import Read, shown
from planner.water_sources import IceKind, SupplyKind


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
    """Finished figures for readings that differ from their forecast."""

    water: Annotated[
        list[WaterLineRead],
        shown(
            "What to weigh then, per supply.",
            [{"supply_id": "tap", "kind": "tap", "water_kg": 22.9, "temperature_c": 12.5}],
        ),
    ]
    ice_kg: Annotated[float, shown("Ice to weigh then [kg].", 1.45)]
    expected_c: Annotated[float, shown("Dough temperature that gives [°C].", 25.0)]


class StripRead(Read):
    """Finished water and ice for other readings than the forecast: a row per flour reading."""

    column: Annotated[str, shown("What the columns are readings of.", "levain")]
    flour_c: Annotated[list[float], shown("Flour readings of the rows [°C].", [22.0, 23.0, 24.0])]
    column_c: Annotated[list[float], shown("Readings of the columns [°C].", [22.0, 24.0, 26.0])]
    cells: Annotated[
        list[list[StripCellRead]],
        shown("What to weigh, by row and column.", [[]]),
    ]


class HeldBackRead(Read):
    """Water, and the ice that goes with it, kept for a later step of the mix."""

    step: Annotated[int, shown("Mixing step at whose start it goes in; 0 is the first.", 2)]
    water_kg: Annotated[float, shown("How much of the water it is [kg].", 2.0)]
    ice_kg: Annotated[float, shown("Ice that goes in with it [kg].", 0.0)]


class SumBesideRead(Read):
    """A sum of the trade beside our number."""

    convention: Annotated[str, shown("Which sum it is.", "friction in the sum")]
    is_own: Annotated[bool, shown("Whether the baker stated it.", example=True)]
    water_c: Annotated[float, shown("Its water [°C].", 14.0)]
    dough_c: Annotated[float, shown("Dough that this water would give [°C].", 26.1)]
    ours_c: Annotated[
        float, shown("What the balance asks for, ice counted as colder water [°C].", 11.8)
    ]


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
    hand_sum: Annotated[
        SumBesideRead | None,
        shown(
            "The baker's own sum, or the trade's tuned on a mild day; null without either.",
            {
                "convention": "friction in the sum",
                "is_own": True,
                "water_c": 14.0,
                "dough_c": 26.1,
                "ours_c": 11.8,
            },
        ),
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
        StripRead | None,
        shown(
            "Finished figures for readings that differ from the forecast; null without water.",
            {"column": "levain", "flour_c": [23.0], "column_c": [24.0], "cells": [[]]},
        ),
    ]
    draw_not_before_utc: Annotated[
        datetime | None,
        shown("Earliest moment to draw the water; null when any will do.", "2026-07-15T20:55:00Z"),
    ]
    water_step: Annotated[
        int, shown("Step at whose start the first water goes in, and all the ice; 0 the first.", 0)
    ]
    held_back: Annotated[
        list[HeldBackRead],
        shown(
            "Water of the same blend, and ice, that goes in after the first step.",
            [{"step": 2, "water_kg": 2.0, "ice_kg": 0.0}],
        ),
    ]
    pour_c: Annotated[
        float | None,
        shown("What the water reads once ice has melted in it [°C]; null if it need not.", 4.5),
    ]
    equivalent_c: Annotated[
        float | None,
        shown("Water and ice as one temperature, an energy number [°C]; null without.", -3.2),
    ]

"""The water ticket: kilos and degrees per supply, ice, the balance behind them, and the strip.

One function makes a ticket from temperatures; a measured temperature makes another ticket by
the same way, which is all that answering a thermometer means.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from planner.bakery import SupplyKind
from planner.balances import Steering, dough_balance
from planner.batches import Batch
from planner.mixers import Mixer
from planner.night import Night
from planner.options import Choice, water_for
from planner.physics.heat_balance import (
    MixBalance,
    balance_terms,
    dough_per_water_k,
    dough_sd_k,
    equivalent_water_c,
)
from planner.physics.water import Draw
from planner.planned import ScalingLine, StripCell, WaterLine, WaterTicket

STRIP_OFFSETS_K = (-2.0, -1.0, 1.0, 2.0)
"""Offsets of a reading for which the sheet prints finished figures [K]."""

REACHED_K = 0.1
"""A dough this near to the wish has reached it [K]."""

MILD_DAY_C = 22.0
"""Flour and room temperature of the day on which the three-term sum is tuned [°C]."""

FLOUR_SD_K = 1.5
"""Spread of a flour temperature that follows the room forecast [K]."""


class MixTemperatures:
    """Temperatures measured at a mix; what was not measured follows the forecast.

    Attributes
    ----------
    flour_c, room_c, tap_c
        Measured temperatures [°C]; None for the forecast.
    part_c
        Measured preferments and scalds by part id [°C].
    """

    def __init__(
        self,
        flour_c: float | None = None,
        room_c: float | None = None,
        tap_c: float | None = None,
        part_c: Mapping[str, float] | None = None,
    ) -> None:
        self.flour_c, self.room_c, self.tap_c = flour_c, room_c, tap_c
        self.part_c = dict(part_c or {})


def mix_balance(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    start_min: float,
    part_c: Mapping[str, float],
    measured: MixTemperatures,
) -> MixBalance:
    """Return the balance of one mix at one start, with what was measured put in."""
    balance = dough_balance(night, batch, mixer, start_min, {**part_c, **measured.part_c})
    return _with_measured(balance, measured)


def _with_measured(balance: MixBalance, measured: MixTemperatures) -> MixBalance:
    if measured.flour_c is not None:
        balance = replace(
            balance,
            ingredients=tuple(
                replace(i, temperature_c=measured.flour_c) if i.wetting_heat_kj > 0 else i
                for i in balance.ingredients
            ),
        )
    if measured.room_c is not None:
        balance = replace(
            balance,
            air=replace(balance.air, room_c=measured.room_c),
            bowl=replace(balance.bowl, temperature_c=measured.room_c),
        )
    return balance


def make_ticket(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    start_min: float,
    choice: Choice,
    part_c: Mapping[str, float],
    *,
    measured: MixTemperatures | None = None,
    ice_cap_kg: float | None = None,
) -> tuple[WaterTicket, Steering]:
    """Return the ticket of one mix.

    Parameters
    ----------
    night
        Temperatures of the night.
    batch, mixer, start_min
        What is mixed, where and when.
    choice
        Desired dough temperature, and whether chilled water may be used.
    part_c
        Expected temperature of each part [°C].
    measured
        What was measured at the mixer.
    ice_cap_kg
        The most ice it may take [kg]; None for the share that melts.
    """
    measured = measured or MixTemperatures()
    night = _with_tap(night, measured)
    balance = mix_balance(night, batch, mixer, start_min, part_c, measured)
    drawn, ways = water_for(night, batch, balance, choice, ice_cap_kg)
    water = water_lines(night, drawn)
    ice_kg = float(drawn.ice_kg)
    expected_c = float(drawn.expected_c)
    liquid_c = float(drawn.liquid_c)
    has_water = balance.water_kg > 0
    ticket = WaterTicket(
        # Where water and ice cannot reach the wish, the dough to expect is the one to plan with.
        wanted_c=choice.dough_c if abs(expected_c - choice.dough_c) < REACHED_K else expected_c,
        water_c=liquid_c if has_water else None,
        water=water,
        ice_kg=ice_kg,
        ice_kind=night.day.bakery.ice.kind if night.day.bakery.ice and ice_kg > 0 else None,
        formula_water_kg=balance.water_kg,
        expected_c=expected_c,
        expected_sd_k=ticket_sd_k(night, batch, mixer, balance, expected_c, ice_kg, ways),
        dough_per_water_k=float(dough_per_water_k(balance, expected_c)) if has_water else 0.0,
        hand_sum_c=three_term_sum_c(batch, balance, choice.dough_c),
        terms=balance_terms(
            balance,
            expected_c,
            [(_supply_name(night, line), line.water_kg, line.temperature_c) for line in water],
            ice_kg,
            ways.ice,
        ),
        strip=_strip(night, batch, balance, choice, ice_cap_kg) if has_water else (),
    )
    return ticket, ways


def ticket_sd_k(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    balance: MixBalance,
    dough_c: float,
    ice_kg: float,
    ways: Steering,
) -> float:
    """Return one standard deviation of the dough temperature a ticket gives [K]."""
    work = night.work_kj_per_kg_min(mixer, batch.formula.dough_class)
    relative = [e.sd / e.value for e in work.values() if e.value > 0]
    made = night.day.bakery.ice
    return float(
        dough_sd_k(
            balance,
            dough_c,
            work_sd_kj=balance.work_kj * (max(relative) if relative else 0.0),
            flour_sd_k=FLOUR_SD_K,
            ice_kg=ice_kg,
            true_ice_fraction_sd=made.true_ice_fraction.sd if made and ways.ice else 0.0,
        )
    )


def water_lines(night: Night, drawn: Draw) -> tuple[WaterLine, ...]:
    """Return what to draw from each supply, leaving out what is nothing."""
    amounts = (
        (SupplyKind.TAP, float(drawn.tap_kg)),
        (SupplyKind.CHILLER, float(drawn.chilled_kg)),
        (SupplyKind.HOT, float(drawn.hot_kg)),
    )
    lines = []
    for kind, water_kg in amounts:
        supply = night.supply(kind)
        if supply is not None and water_kg > 1e-9:
            lines.append(WaterLine(supply.id, kind, water_kg, night.supply_c(supply).value))
    return tuple(lines)


def three_term_sum_c(batch: Batch, balance: MixBalance, dough_c: float) -> float | None:
    """Return the water by the trade's three-term sum, tuned on a mild day [°C].

    Notes
    -----
    The friction number is what makes the sum right with flour and room at 22 °C; it is then
    kept, as bakers keep it. None when the dough has no water or no fresh flour.
    """
    flour = [i for i in balance.ingredients if i.wetting_heat_kj > 0]
    if balance.water_kg <= 0 or not flour or batch.formula.parts:
        return None
    mild = _with_measured(balance, MixTemperatures(flour_c=MILD_DAY_C, room_c=MILD_DAY_C))
    friction_k = 3 * dough_c - 2 * MILD_DAY_C - float(equivalent_water_c(mild, dough_c))
    flour_kg = sum(i.mass_kg for i in flour)
    flour_c = sum(i.mass_kg * float(i.temperature_c) for i in flour) / flour_kg
    return 3 * dough_c - flour_c - float(np.asarray(balance.air.room_c)) - friction_k


def scaling_lines(
    night: Night, batch: Batch, mixer: Mixer, start_min: float, part_c: Mapping[str, float]
) -> tuple[ScalingLine, ...]:
    """Return what to weigh besides water and ice, in loading order, at its expected temperature."""
    lines = [
        ScalingLine(
            line.label,
            line.percent,
            batch.kg(line.percent),
            float(night.line_c(line, mixer.room_id, start_min)),
            line.step,
        )
        for line in batch.formula.lines
        if str(line.material) != "water"
    ]
    parts = [
        ScalingLine(
            part.name,
            sum(line.percent for line in part.lines),
            batch.kg(sum(line.percent for line in part.lines)),
            float(part_c[part.id]),
            0,
        )
        for part in batch.formula.parts
    ]
    # Flour first as a barrier between hot or iced water and the living parts.
    return tuple(sorted([*lines, *parts], key=lambda line: line.step))


def _strip(
    night: Night,
    batch: Batch,
    balance: MixBalance,
    choice: Choice,
    ice_cap_kg: float | None,
) -> tuple[StripCell, ...]:
    cells = []
    groups = [("flour", [i.name for i in balance.ingredients if i.wetting_heat_kj > 0])]
    groups += [(part.name, [part.name]) for part in batch.formula.parts]
    for reading, names in groups:
        for offset in STRIP_OFFSETS_K:
            shifted = replace(
                balance,
                ingredients=tuple(
                    replace(i, temperature_c=i.temperature_c + offset) if i.name in names else i
                    for i in balance.ingredients
                ),
            )
            base = [float(i.temperature_c) for i in balance.ingredients if i.name in names]
            if not base:
                continue
            drawn, _ = water_for(night, batch, shifted, choice, ice_cap_kg)
            cells.append(
                StripCell(
                    reading,
                    offset,
                    base[0] + offset,
                    water_lines(night, drawn),
                    float(drawn.ice_kg),
                    float(drawn.expected_c),
                )
            )
    return tuple(cells)


def _with_tap(night: Night, measured: MixTemperatures) -> Night:
    tap = night.supply(SupplyKind.TAP)
    if measured.tap_c is None or tap is None:
        return night
    supplies = {
        **night.conditions.supplies_c,
        tap.id: replace(night.supply_c(tap), value=measured.tap_c),
    }
    return Night(night.day, replace(night.conditions, supplies_c=supplies), night.corrections)


def _supply_name(night: Night, line: WaterLine) -> str:
    return next(s.name for s in night.day.bakery.supplies if s.id == line.supply_id)

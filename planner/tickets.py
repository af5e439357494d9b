"""The water ticket: kilos and degrees per supply, ice, the balance behind them, and the strip.

One function makes a ticket from temperatures; a measured temperature makes another ticket by
the same way, which is all that answering a thermometer means.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from planner.balances import Steering, dough_balance, is_steered
from planner.batches import Batch
from planner.hand_sum_gap import sum_beside
from planner.mixers import Mixer, Speed
from planner.night import Night
from planner.options import NO_ALLOWANCE, Allowance, Choice, steering_of, water_for
from planner.physics.balance_terms import Effects, Spreads, balance_terms, dough_effects
from planner.physics.heat_balance import MixBalance, Portion
from planner.physics.ice import equivalent_temperature_c
from planner.physics.mix_course import Course, course
from planner.physics.water import Draw
from planner.planned import (
    Steered,
)
from planner.strips import drawn_for_strip, in_room
from planner.supplies import draw_not_before, water_lines
from planner.water_sources import SupplyKind
from planner.water_ticket import (
    HeldBack,
    ScalingLine,
    WaterLine,
    WaterTicket,
)

REACHED_K = 0.1
"""A dough this near to the wish has reached it [K]."""

FLOUR_SD_K, READ_SD_K = 1.5, 0.5
"""Spread of a flour temperature that follows the room forecast, and of one that was read [K]."""


@dataclass(frozen=True, slots=True)
class MixTemperatures:
    """Temperatures measured at a mix [°C]; what was not measured follows the forecast."""

    flour_c: float | None = None
    room_c: float | None = None
    tap_c: float | None = None
    bowl_c: float | None = None
    part_c: Mapping[str, float] = field(default_factory=dict)


NOTHING_MEASURED = MixTemperatures()


@dataclass(frozen=True)
class MixCase:
    """What a ticket is made from: a lever changes one thing of it and asks what comes off then.

    Attributes
    ----------
    night, batch, mixer, start_min
        What is mixed, where and when; the night has the tap as it was read.
    choice, allowed
        Wanted dough, and the ice and chilled water it may take.
    part_c, measured, bowl_c
        Temperatures as `make_ticket` has them.
    """

    night: Night
    batch: Batch
    mixer: Mixer
    start_min: ArrayLike
    choice: Choice
    part_c: Mapping[str, float]
    measured: MixTemperatures = NOTHING_MEASURED
    allowed: Allowance = NO_ALLOWANCE
    bowl_c: float | None = None

    def balance(self) -> MixBalance:
        """Return its balance, with what was measured put in."""
        return mix_balance(
            self.night,
            self.batch,
            self.mixer,
            self.start_min,
            self.part_c,
            self.measured,
            self.bowl_c,
        )

    def drawn(self, balance: MixBalance, dough_c: float) -> Draw:
        """Return the water and ice that bring a balance as near to a dough as its ticket would."""
        choice = replace(self.choice, dough_c=dough_c)
        return water_for(self.night, self.batch, balance, choice, self.allowed)[0]


@dataclass(frozen=True)
class Mixed:
    """A mix with its ticket, and what was worked out on the way.

    Attributes
    ----------
    case
        What the ticket was made from.
    ticket, ways
        The ticket, and what its water can be made of.
    balance, run
        The balance, and its course with the ticket's water and ice.
    effects
        What uncertain inputs do to the dough.
    """

    case: MixCase
    ticket: WaterTicket
    ways: Steering
    balance: MixBalance
    run: Course
    effects: Effects

    def steered(self, choice: Choice, allowed: Allowance) -> Steered:
        """Return what was decided about its temperature."""
        cap_kg = self.ways.ice_cap_kg
        most_kg = cap_kg if allowed.ice_kg is None else min(cap_kg, allowed.ice_kg)
        return Steered(
            dough_c=choice.dough_c,
            use_chilled=choice.use_chilled,
            ice_kg=most_kg,
            chilled_kg=self.balance.water_kg if allowed.chilled_kg is None else allowed.chilled_kg,
            bowl_c=float(np.asarray(self.balance.bowl.temperature_c)),
            bowl_end_c=float(self.run.bowl_c),
        )


def mix_balance(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    start_min: ArrayLike,
    part_c: Mapping[str, float],
    measured: MixTemperatures = NOTHING_MEASURED,
    bowl_c: float | None = None,
) -> MixBalance:
    """Return the balance of one mix, with what was measured put in."""
    bowl_c = bowl_c if measured.bowl_c is None else measured.bowl_c
    parts = {**part_c, **measured.part_c}
    balance = dough_balance(night, batch, mixer, start_min, parts, bowl_c)
    if measured.flour_c is not None:
        balance = _with_flour(balance, measured.flour_c)
    if measured.room_c is not None:
        balance = in_room(balance, measured.room_c)
    return balance


def _with_flour(balance: MixBalance, flour_c: float) -> MixBalance:
    return replace(
        balance,
        ingredients=tuple(
            replace(i, temperature_c=flour_c) if i.is_fresh_flour else i
            for i in balance.ingredients
        ),
    )


def make_ticket(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    start_min: float,
    choice: Choice,
    part_c: Mapping[str, float],
    *,
    measured: MixTemperatures = NOTHING_MEASURED,
    allowed: Allowance = NO_ALLOWANCE,
    bowl_c: float | None = None,
) -> Mixed:
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
    allowed
        The most ice and chilled water it may take.
    bowl_c
        Bowl and tool at the start [°C]; None for the temperature of the room.
    """
    night = with_tap(night, measured)
    case = MixCase(night, batch, mixer, start_min, choice, part_c, measured, allowed, bowl_c)
    balance = case.balance()
    cells = drawn_for_strip(night, batch, balance, choice, allowed)
    ways = steering_of(night, batch, balance)
    drawn = cells.middle if cells else water_for(night, batch, balance, choice, allowed)[0]
    water = water_lines(night, float(drawn.tap_kg), float(drawn.chilled_kg), float(drawn.hot_kg))
    ice_kg, liquid_c = float(drawn.ice_kg), float(drawn.liquid_c)
    ice = ways.ice if ice_kg > 0 else None
    run = course(balance, liquid_c, ice_kg, ice)
    spreads = _spreads(night, mixer, measured)
    effects = dough_effects(balance, liquid_c, ice_kg, ice, spreads)
    has_water = balance.water_kg > 0
    blend = blend_c(balance.portions, balance.water_kg, liquid_c, ice_kg, ways)
    per_water_k = effects.by_source["water"] / spreads.water_sd_k if has_water else 0.0
    expected_c = float(run.dough_c)
    # Where water falls short, what it would have to be follows from what a degree of it is worth.
    short_k = (choice.dough_c - expected_c) / per_water_k if per_water_k else 0.0
    needed_c = (blend or 0.0) + short_k
    ticket = WaterTicket(
        # Where water and ice cannot reach the wish, the dough to expect is the one to plan with.
        wanted_c=choice.dough_c if abs(expected_c - choice.dough_c) < REACHED_K else expected_c,
        water_c=liquid_c if has_water else None,
        water=water,
        ice_kg=ice_kg,
        ice_kind=night.day.bakery.ice.kind if night.day.bakery.ice and ice_kg > 0 else None,
        formula_water_kg=balance.water_kg,
        expected_c=expected_c,
        expected_sd_k=float(
            np.hypot(effects.without_work_k, work_sd_k(night, mixer, batch, effects))
        ),
        dough_per_water_k=per_water_k,
        hand_sum=sum_beside(batch, balance, choice.dough_c, needed_c),
        terms=balance_terms(balance, run, _named(night, water), ice_kg, ice),
        strip=cells.strip(night) if cells else None,
        draw_not_before_utc=draw_not_before(
            night, mixer.room_id, start_min + before_water_min(balance), liquid_c, balance.water_kg
        ),
        water_step=water_step(balance),
        held_back=held_back(balance.portions, ice_kg),
        pour_c=pour_c(balance, liquid_c, ice_kg, ways),
        equivalent_c=blend,
    )
    return Mixed(case, ticket, ways, balance, run, effects)


def _named(night: Night, water: tuple[WaterLine, ...]) -> list[tuple[str, float, float]]:
    names = {supply.id: supply.name for supply in night.day.bakery.supplies}
    return [(names[line.supply_id], line.water_kg, line.temperature_c) for line in water]


def water_step(balance: MixBalance) -> int:
    """Return the step at whose start the first of the steered water goes in; 0 without any."""
    return balance.portions[0].step if balance.portions else 0


def before_water_min(balance: MixBalance) -> float:
    """Return how long the mixer has run when the first of the water goes in [min]."""
    return sum(step.minutes for step in balance.steps[: water_step(balance)])


def held_back(portions: tuple[Portion, ...], ice_kg: float) -> tuple[HeldBack, ...]:
    """Return the water that goes in after the first step; the ice goes with the first portion."""
    iced = [(p, ice_kg if n == 0 else 0.0) for n, p in enumerate(portions)]
    return tuple(HeldBack(p.step, p.water_kg - ice, ice) for p, ice in iced if p.step > 0)


def pour_c(balance: MixBalance, liquid_c: float, ice_kg: float, ways: Steering) -> float | None:
    """Return what the water reads once its ice has melted in it [°C]; None when it need not.

    Notes
    -----
    Only the first portion holds ice. The answer is the temperature to check before pouring.
    """
    if not ways.melt_first or ice_kg <= 0:
        return None
    first_kg = balance.portions[0].water_kg
    return blend_c(balance.portions[:1], first_kg, liquid_c, ice_kg, ways)


def blend_c(
    portions: tuple[Portion, ...], water_kg: float, liquid_c: float, ice_kg: float, ways: Steering
) -> float | None:
    """Return water and ice as one temperature, an energy number [°C]; None without water."""
    if not portions or water_kg <= 0:
        return None
    if ways.ice is None or ice_kg <= 0:
        return liquid_c
    return equivalent_temperature_c(
        water_kg, liquid_c, ice_kg, ways.ice.temperature_c, ways.ice.true_ice_fraction
    )


def _spreads(night: Night, mixer: Mixer, measured: MixTemperatures) -> Spreads:
    made = night.day.bakery.ice
    learned = night.corrections.of_mixer(mixer.id) is not None
    usual = Spreads()
    tap = night.supply(SupplyKind.TAP)
    tap_sd_k = night.supply_c(tap).sd if tap else 0.0
    return Spreads(
        water_sd_k=float(np.hypot(usual.water_sd_k, tap_sd_k)),
        flour_sd_k=FLOUR_SD_K if measured.flour_c is None else READ_SD_K,
        part_sd_k=READ_SD_K if measured.part_c else usual.part_sd_k,
        bowl_sd_k=usual.bowl_sd_k if measured.bowl_c is None else READ_SD_K,
        true_ice_fraction_sd=made.true_ice_fraction.sd if made else 0.0,
        wetting_sd_share=0.0 if learned else usual.wetting_sd_share,
    )


def degrees_by_speed(batch: Batch, effects: Effects) -> tuple[tuple[Speed, float], ...]:
    """Return the degrees that 100 % more work at each speed would give [K]."""
    found: dict[Speed, float] = {}
    for step, k in zip(batch.formula.steps, effects.by_step, strict=True):
        if k > 0:
            found[step.speed] = found.get(step.speed, 0.0) + k
    return tuple(sorted(found.items()))


def work_sd_k(night: Night, mixer: Mixer, batch: Batch, effects: Effects) -> float:
    """Return what the uncertain mixing work does to a dough, one standard deviation [K]."""
    return night.corrections.work_sd_k(
        mixer, batch.formula.dough_class, degrees_by_speed(batch, effects)
    )


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
        if not is_steered(line)
    ]
    parts = [
        ScalingLine(
            part.name,
            sum(line.percent for line in part.lines),
            batch.kg(sum(line.percent for line in part.lines)),
            float(part_c[part.id]),
            part.step,
        )
        for part in batch.formula.parts
    ]
    # Flour first as a barrier between hot or iced water and the living parts.
    return tuple(sorted([*lines, *parts], key=lambda line: line.step))


def with_tap(night: Night, measured: MixTemperatures) -> Night:
    """Return the night with the tap as it was read."""
    tap = night.supply(SupplyKind.TAP)
    if measured.tap_c is None or tap is None:
        return night
    supplies = {
        **night.conditions.supplies_c,
        tap.id: replace(night.supply_c(tap), value=measured.tap_c),
    }
    return Night(night.day, replace(night.conditions, supplies_c=supplies), night.corrections)

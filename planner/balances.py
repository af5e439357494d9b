"""Heat balances of this bakery's mixes and preferment builds.

The equations are `planner.physics.heat_balance`; here the formula's lines, the mixer's bowl and
the night's temperatures are put into them. A preferment build is a mix like any other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from planner.bakery import SupplyKind
from planner.batches import Batch
from planner.formula import Formula, Line, MixStep, Part, Preferment
from planner.materials import Material, properties
from planner.mixers import Mixer, Speed
from planner.night import Night
from planner.physics.heat_balance import Air, Ice, Ingredient, MixBalance, bowl
from planner.physics.ice import ice_replacing_water_kg, ice_share_cap, melts_in_time
from planner.physics.mixing_heat import mixing_work_kj, wetting_heat_kj_per_kg
from planner.physics.specific_heat import flour_specific_heat
from planner.physics.water import SupplyTemperatures

CULTURE_SPECIFIC_HEAT = 3.01
"""kJ/kg K of a ripe culture of equal flour and water, by the additive rule."""

COLDEST_MELTED_WATER_C = 1.0
"""Coldest water that ice melted in it beforehand gives in reasonable time [°C] (our guess)."""

MOST_ICE_OF_WATER = 0.6
"""Largest share of the steered water that may be ice, so that it melts in the mixer (our guess)."""


@dataclass(frozen=True, slots=True)
class Steering:
    """What the water of a mix can be made of.

    Attributes
    ----------
    supplies
        Temperatures of tap, chiller and hot tap.
    ice
        The ice of the house, or None when there is none or it would not melt in time.
    ice_cap_kg
        The most ice this mix takes [kg].
    melt_first
        Whether the ice must be melted in the water before it is poured, because pieces of its
        kind would not be gone by the end of this mix.
    """

    supplies: SupplyTemperatures
    ice: Ice | None
    ice_cap_kg: float
    melt_first: bool = False


def dough_balance(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    start_minute: ArrayLike,
    part_c: Mapping[str, ArrayLike],
) -> MixBalance:
    """Return the heat balance of one mix.

    Parameters
    ----------
    night
        Temperatures of the night.
    batch
        The bowl of dough.
    mixer
        The mixer it is mixed in.
    start_minute
        Start of the mixer [min]; number or array.
    part_c
        Temperature of each preferment, scald and soaker when it goes in [°C], by part id.

    Returns
    -------
    MixBalance
        Everything but the dough water, which stays to be steered.
    """
    formula = batch.formula
    ingredients = [
        _ingredient(night, line, batch.kg(line.percent), mixer.room_id, start_minute)
        for line in formula.lines
        if line.material is not Material.WATER
    ]
    ingredients += [
        part_ingredient(part, batch.flour_kg, part_c[part.id]) for part in formula.parts
    ]
    fill = batch.dough_kg / mixer.max_dough_kg
    work = night.work_kj_per_kg_min(mixer, formula.dough_class)
    return MixBalance(
        ingredients=tuple(ingredients),
        water_kg=batch.kg(steered_water_percent(formula)),
        bowl=bowl(mixer.bowl_kg.value, night.air_c(mixer.room_id)(np.asarray(start_minute))),
        air=Air(
            mixer.loss_w_per_k.value,
            formula.mix_min,
            night.air_c(mixer.room_id)(np.asarray(start_minute)),
        ),
        work_kj=mixing_work_kj(
            batch.dough_kg,
            _speeds(formula.steps),
            {speed: estimate.value for speed, estimate in work.items()},
            formula.hydration,
            fill,
        ),
        cooling_kj=mixer.cooling_k * min(fill, 1.0) * _heat_capacity(ingredients),
    )


def build_balance(
    night: Night,
    part: Preferment,
    flour_kg: float,
    mixer: Mixer | None,
    start_minute: ArrayLike,
) -> MixBalance:
    """Return the heat balance of a preferment build for ``flour_kg`` of total dough flour."""
    place_id = mixer.room_id if mixer else part.ripening.place_id
    air_c = night.air_c(place_id)(np.asarray(start_minute))
    ingredients = [
        _ingredient(night, line, flour_kg * line.percent / 100, place_id, start_minute)
        for line in part.lines
        if line.material is not Material.WATER
    ]
    seed_kg = build_seed_kg(part, flour_kg)
    if seed_kg > 0:
        ingredients.append(Ingredient("seed", seed_kg, CULTURE_SPECIFIC_HEAT, air_c))
    water_kg = flour_kg * _water_line_percent(part.lines) / 100
    made_kg = sum(i.mass_kg for i in ingredients) + water_kg
    tub_kg = 0.05 * made_kg if mixer is None else mixer.bowl_kg.value
    steps = part.steps or (MixStep(Speed.HAND, 3.0),)
    work = _work_for(night, mixer)
    return MixBalance(
        ingredients=tuple(ingredients),
        water_kg=water_kg,
        bowl=bowl(tub_kg, air_c),
        air=Air(
            mixer.loss_w_per_k.value if mixer else 0.82 * made_kg**0.64,
            sum(step.minutes for step in steps),
            air_c,
        ),
        work_kj=mixing_work_kj(
            made_kg,
            _speeds(steps),
            work,
            water_kg / max(made_kg - water_kg, 1e-9),
            1.0 if mixer is None else made_kg / mixer.max_dough_kg,
        ),
    )


def build_seed_kg(part: Preferment, flour_kg: float) -> float:
    """Return the seed that goes into a build, and is kept back of it [kg]."""
    build_flour = sum(line.percent for line in part.lines if properties(line.material).is_flour)
    return flour_kg * build_flour / 100 * part.seed_percent / 100


def part_kg(part: Part, flour_kg: float) -> float:
    """Return the weight of a part that goes into the dough [kg]."""
    return flour_kg * sum(line.percent for line in part.lines) / 100


def part_specific_heat(part: Part) -> float:
    """Return the specific heat of a part by the additive rule [kJ/kg K]."""
    total = sum(line.percent for line in part.lines)
    heat = sum(
        line.percent * properties(line.material).specific_heat_kj_per_kg_k for line in part.lines
    )
    return heat / total


def part_ingredient(part: Part, flour_kg: float, temperature_c: ArrayLike) -> Ingredient:
    """Return a finished part as an ingredient: already wetted, so without wetting heat."""
    return Ingredient(
        part.name, part_kg(part, flour_kg), part_specific_heat(part), np.asarray(temperature_c)
    )


def steered_water_percent(formula: Formula) -> float:
    """Return the water lines of the dough itself: what the ticket can steer [%]."""
    return _water_line_percent(formula.lines)


def steering(
    night: Night,
    balance: MixBalance,
    *,
    hydration: float,
    flour_kg: float,
    mix_min: float,
    by_hand: bool = False,
) -> Steering:
    """Return what the water of a mix can be made of in this house.

    Parameters
    ----------
    night
        Temperatures of the night.
    balance
        Its heat balance.
    hydration
        Water of the whole dough per unit of flour, parts included.
    flour_kg
        Total flour [kg].
    mix_min
        Minutes on the mixer, in which ice must melt [min].
    by_hand
        Mixed by hand: ice is always melted in the water first.
    """
    bakery = night.day.bakery
    chiller = night.supply(SupplyKind.CHILLER)
    hot = night.supply(SupplyKind.HOT)
    tap = night.supply(SupplyKind.TAP) or bakery.supplies[0]
    supplies = SupplyTemperatures(
        tap_c=night.supply_c(tap).value,
        chilled_c=night.supply_c(chiller).value if chiller else None,
        hot_c=night.supply_c(hot).value if hot else None,
    )
    made = bakery.ice
    if made is None or balance.water_kg <= 0:
        return Steering(supplies, None, 0.0)
    ice = Ice(made.temperature_c.value, made.true_ice_fraction.value)
    if by_hand or not melts_in_time(made.kind, mix_min):
        cap_kg = ice_replacing_water_kg(
            balance.water_kg,
            supplies.tap_c,
            min(COLDEST_MELTED_WATER_C, supplies.tap_c),
            ice_c=ice.temperature_c,
            true_ice_fraction=ice.true_ice_fraction,
        )
        return Steering(supplies, ice, cap_kg, melt_first=True)
    by_wetting_kg = ice_share_cap(hydration, made.kind) * hydration * flour_kg
    return Steering(
        supplies, ice, max(0.0, min(by_wetting_kg, MOST_ICE_OF_WATER * balance.water_kg))
    )


def _ingredient(
    night: Night, line: Line, mass_kg: float, room_id: str, minute: ArrayLike
) -> Ingredient:
    known = properties(line.material)
    specific_heat = known.specific_heat_kj_per_kg_k
    wetting = 0.0
    if known.is_flour:
        moisture = night.flour_store(line).moisture_fraction.value
        specific_heat = flour_specific_heat(moisture)
        wetting = mass_kg * wetting_heat_kj_per_kg(moisture)
    return Ingredient(
        line.label,
        mass_kg,
        specific_heat,
        night.line_c(line, room_id, minute),
        milk_fat_kg=mass_kg * known.milk_fat_fraction,
        solution_heat_kj=mass_kg * known.solution_heat_kj_per_kg,
        wetting_heat_kj=wetting,
    )


def _speeds(steps: Sequence[MixStep]) -> list[tuple[Speed, float]]:
    return [(step.speed, step.minutes) for step in steps]


def _work_for(night: Night, mixer: Mixer | None) -> dict[Speed, float]:
    if mixer is None:
        return {Speed.HAND: 0.5}
    return {speed: e.value for speed, e in night.work_kj_per_kg_min(mixer, "preferment").items()}


def _water_line_percent(lines: Sequence[Line]) -> float:
    return sum(line.percent for line in lines if line.material is Material.WATER)


def _heat_capacity(ingredients: Sequence[Ingredient]) -> float:
    return sum(i.mass_kg * i.specific_heat_kj_per_kg_k for i in ingredients)

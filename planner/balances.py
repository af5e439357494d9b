"""Heat balances of this bakery's mixes and preferment builds.

The equations are `planner.physics.heat_balance`; here the formula's lines, the mixer's bowl and
the night's temperatures are put into them. A preferment build is a mix like any other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from planner.batches import Batch
from planner.constants import (
    BOWL_SHARE,
    JACKET_W_PER_K_KG,
    RESTING_LOSS_SHARE,
    STEEL_KJ_PER_KG_K,
    USUAL_DOUGH_KJ_PER_KG_K,
    USUAL_PASTE_KJ_PER_KG_K,
    WORK_FEEDBACK,
)
from planner.estimate import Estimate
from planner.formula import Formula, MixStep, Part, Preferment
from planner.lines import Line, flour_percent, water_percent
from planner.materials import Material, properties
from planner.mixers import HAND_WORK, Mixer, Speed
from planner.night import Night
from planner.physics.heat_balance import (
    NO_JACKET,
    Air,
    Ice,
    Ingredient,
    Jacket,
    MixBalance,
    Portion,
    Step,
    bowl,
)
from planner.physics.ice import ice_replacing_water_kg, ice_share_cap, melts_in_time
from planner.physics.mixing_heat import mixing_work_kj, wetting_heat_kj_per_kg
from planner.physics.specific_heat import composition_specific_heat, flour_specific_heat
from planner.physics.water import SupplyTemperatures
from planner.water_sources import IceSupply, SupplyKind

COLDEST_MELTED_WATER_C = 1.0
"""Coldest water that ice melted in it beforehand gives in reasonable time [°C] (our guess)."""

SPECIFIC_HEAT_AT_C = 20.0
"""Temperature at which the specific heat of a stated composition is taken [°C]."""

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
        The most ice this mix takes [kg]. With ``melt_first`` that of tap water; colder water takes
        less, so that it is not poured below `COLDEST_MELTED_WATER_C`.
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
    bowl_c: ArrayLike | None = None,
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
    bowl_c
        Bowl and tool at the start [°C]; None for the temperature of the room.

    Returns
    -------
    MixBalance
        Everything but the dough water, which stays to be steered. Water of a stated temperature
        is an ingredient like any other.
    """
    formula = batch.formula
    ingredients = [
        _ingredient(night, line, batch.kg(line.percent), mixer.room_id, start_minute)
        for line in formula.lines
        if not is_steered(line)
    ]
    ingredients += [
        part_ingredient(part, batch.flour_kg, part_c[part.id]) for part in formula.parts
    ]
    air_c = night.air_c(mixer.room_id)(np.asarray(start_minute))
    fill = batch.dough_kg / mixer.max_dough_kg
    work = night.work_kj_per_kg_min(mixer, formula.dough_class)
    return MixBalance(
        ingredients=tuple(ingredients),
        portions=tuple(
            Portion(batch.kg(percent), step) for step, percent in water_by_step(formula).items()
        ),
        bowl=bowl(mixer.bowl_kg.value, air_c if bowl_c is None else np.asarray(bowl_c)),
        air=Air(mixer.loss_w_per_k.value, air_c),
        steps=worked_steps(
            formula.steps, _present(formula, batch.flour_kg), work, fill, _jackets(batch, mixer)
        ),
    )


def is_steered(line: Line) -> bool:
    """Return whether a line is water whose temperature the ticket chooses."""
    return line.material is Material.WATER and line.temperature_c is None


def water_by_step(formula: Formula) -> dict[int, float]:
    """Return the steered water by the step at which it goes in [%], the first first."""
    found: dict[int, float] = {}
    for line in sorted(formula.lines, key=lambda line: line.step):
        if is_steered(line) and line.percent > 0:
            found[line.step] = found.get(line.step, 0.0) + line.percent
    return found


def _present(formula: Formula, flour_kg: float) -> list[tuple[float, float]]:
    """Return what is in the bowl in each step: dough [kg] and its water per flour."""
    rows = []
    for k in range(len(formula.steps)):
        lines = [line for line in formula.lines if line.step <= k]
        lines += [line for part in formula.parts if part.step <= k for line in part.lines]
        flour = flour_percent(tuple(lines), with_malt=True)
        water = water_percent(tuple(lines))
        mass_kg = flour_kg * sum(line.percent for line in lines) / 100
        rows.append((mass_kg, water / flour if flour > 0 else formula.hydration))
    return rows


def worked_steps(
    steps: Sequence[MixStep],
    present: Sequence[tuple[float, float]],
    work_kj_per_kg_min: Mapping[Speed, Estimate],
    fill: float,
    jackets: Sequence[Jacket],
) -> tuple[Step, ...]:
    """Return the steps of a mix with their heat of working.

    Parameters
    ----------
    steps
        Speeds and minutes.
    present
        Dough in the bowl [kg] and its water per flour, by step.
    work_kj_per_kg_min
        Work by speed; hands have their own where a machine has none.
    fill
        Load over the most the mixer takes.
    jackets
        Cooling of the mixer, by step.
    """
    hands = {speed: value for speed, (value, _) in HAND_WORK.items()}
    work = hands | {speed: e.value for speed, e in work_kj_per_kg_min.items()}
    return tuple(
        Step(
            str(step.speed),
            step.minutes,
            mixing_work_kj(mass_kg, [(step.speed, step.minutes)], work, hydration, fill)
            if mass_kg > 0
            else 0.0,
            jacket,
            resting_share(fill) if step.speed is Speed.REST else 1.0,
        )
        for step, (mass_kg, hydration), jacket in zip(steps, present, jackets, strict=True)
    )


def resting_share(fill: float) -> float:
    """Return the loss of a resting dough beside that of its bowl while it is worked.

    Covered and still, and only where it lies: its surface goes with the two-thirds power of the
    load.

    Examples
    --------
    >>> resting_share(1.0)
    0.55
    """
    return float(RESTING_LOSS_SHARE.value * min(fill, 1.0) ** (2 / 3))


def _jackets(batch: Batch, mixer: Mixer) -> list[Jacket]:
    """Return the cooling of a mixer in each step.

    Notes
    -----
    A jacket works through the wetted wall, which goes with the two-thirds power of the load: the
    maker's degrees hold for a full batch, its bowl and the harder work on a colder dough counted;
    a smaller batch is cooled by more of them.
    """
    steps = batch.formula.steps
    if not mixer.is_cooled or not mixer.cooling_on:
        return [NO_JACKET] * len(steps)
    cooled_min, clock = [], 0.0
    for step in steps:
        waiting = min(max(mixer.cooling_delay_min - clock, 0.0), step.minutes)
        cooled_min.append(step.minutes - waiting)
        clock += step.minutes
    if mixer.coolant_c is not None:
        loss_w_per_k = JACKET_W_PER_K_KG.value * batch.dough_kg ** (2 / 3)
        return [
            Jacket(0.0, loss_w_per_k * on / step.minutes, mixer.coolant_c) if on else NO_JACKET
            for on, step in zip(cooled_min, steps, strict=True)
        ]
    fill = batch.dough_kg / mixer.max_dough_kg
    full_kj_per_k = batch.dough_kg / fill * USUAL_DOUGH_KJ_PER_KG_K.value
    full_kj_per_k += BOWL_SHARE.value * STEEL_KJ_PER_KG_K.value * mixer.bowl_kg.value
    full_kj_per_k *= WORK_FEEDBACK.value
    total_kj = mixer.cooling_k * full_kj_per_k * fill ** (2 / 3)
    minutes = sum(cooled_min)
    return [Jacket(total_kj * on / minutes) if on else NO_JACKET for on in cooled_min]


@dataclass(frozen=True, slots=True)
class FedFrom:
    """A build that goes whole into the next: how much, and how warm it is then [kg, °C]."""

    mass_kg: float
    temperature_c: ArrayLike


def build_balance(
    night: Night,
    part: Preferment,
    flour_kg: float,
    mixer: Mixer | None,
    start_minute: ArrayLike,
    fed: FedFrom | None = None,
) -> MixBalance:
    """Return the heat balance of a preferment build.

    Parameters
    ----------
    night, part, mixer, start_minute
        The build, where and when it is set.
    flour_kg
        Total flour of the doughs it goes into [kg].
    fed
        The build before it, if there is one; else its seed stands at the temperature of its place.
    """
    place_id = mixer.room_id if mixer else part.ripening.place_id
    air_c = night.air_c(place_id)(np.asarray(start_minute))
    ingredients = [
        replace(
            _ingredient(night, line, flour_kg * line.percent / 100, place_id, start_minute), step=0
        )
        for line in part.lines
        if not is_steered(line)
    ]
    seed = FedFrom(build_seed_kg(part, flour_kg), air_c) if fed is None else fed
    if seed.mass_kg > 0:
        paste = USUAL_PASTE_KJ_PER_KG_K.value
        ingredients.append(Ingredient("seed", seed.mass_kg, paste, np.asarray(seed.temperature_c)))
    water_kg = flour_kg * sum(line.percent for line in part.lines if is_steered(line)) / 100
    made_kg = sum(i.mass_kg for i in ingredients) + water_kg
    steps = part.steps or (MixStep(Speed.HAND, 3.0),)
    work = night.work_kj_per_kg_min(mixer, "preferment") if mixer else {}
    hydration = water_percent(part.lines) / max(flour_percent(part.lines, with_malt=True), 1e-9)
    return MixBalance(
        ingredients=tuple(ingredients),
        portions=(Portion(water_kg),),
        bowl=bowl(0.05 * made_kg if mixer is None else mixer.bowl_kg.value, air_c),
        air=Air(mixer.loss_w_per_k.value if mixer else 0.82 * made_kg**0.64, air_c),
        steps=worked_steps(
            steps,
            [(made_kg, hydration)] * len(steps),
            work,
            1.0 if mixer is None else made_kg / mixer.max_dough_kg,
            [NO_JACKET] * len(steps),
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
    return sum(line.percent * line_specific_heat(line) for line in part.lines) / total


def line_specific_heat(line: Line) -> float:
    """Return the specific heat of an ingredient: by its composition, or by its material [kJ/kg K].

    Flour of a known moisture has its own, `flour_specific_heat`.
    """
    if line.composition is None:
        return properties(line.material).specific_heat_kj_per_kg_k
    shares = asdict(line.composition) | {"carbohydrate": line.composition.carbohydrate}
    return composition_specific_heat(shares, SPECIFIC_HEAT_AT_C)


def part_ingredient(part: Part, flour_kg: float, temperature_c: ArrayLike) -> Ingredient:
    """Return a finished part as an ingredient: already wetted, so without wetting heat."""
    return Ingredient(
        part.name,
        part_kg(part, flour_kg),
        part_specific_heat(part),
        np.asarray(temperature_c),
        step=part.step,
        key=part.id,
    )


def steered_water_percent(formula: Formula) -> float:
    """Return the water lines of the dough itself: what the ticket can steer [%]."""
    return sum(water_by_step(formula).values())


def steering(
    night: Night,
    balance: MixBalance,
    *,
    hydration: float,
    flour_kg: float,
    by_hand: bool = False,
    made: IceSupply | None = None,
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
    by_hand
        Mixed by hand: ice is always melted in the water first.
    made
        Ice to think of; None for that of the house.
    """
    supplies = supply_temperatures(night)
    made = made or night.day.bakery.ice
    if made is None or balance.water_kg <= 0:
        return Steering(supplies, None, 0.0)
    ice = Ice(made.temperature_c.value, made.true_ice_fraction.value)
    first = balance.portions[0]
    left_min = sum(step.minutes for step in balance.steps[first.step :])
    if by_hand or not melts_in_time(made.kind, left_min):
        cap_kg = ice_replacing_water_kg(
            first.water_kg,
            supplies.tap_c,
            min(COLDEST_MELTED_WATER_C, supplies.tap_c),
            ice_c=ice.temperature_c,
            true_ice_fraction=ice.true_ice_fraction,
        )
        return Steering(supplies, ice, cap_kg, melt_first=True)
    by_wetting_kg = ice_share_cap(hydration, made.kind) * hydration * flour_kg
    return Steering(supplies, ice, max(0.0, min(by_wetting_kg, MOST_ICE_OF_WATER * first.water_kg)))


def supply_temperatures(night: Night) -> SupplyTemperatures:
    """Return the water there is tonight; none is hotter than it boils in this house [°C]."""
    bakery = night.day.bakery
    chiller = night.supply(SupplyKind.CHILLER)
    hot = night.supply(SupplyKind.HOT)
    tap = night.supply(SupplyKind.TAP) or bakery.supplies[0]
    return SupplyTemperatures(
        tap_c=night.supply_c(tap).value,
        chilled_c=night.supply_c(chiller).value if chiller else None,
        hot_c=min(night.supply_c(hot).value, night.boiling_c) if hot else None,
    )


def _ingredient(
    night: Night, line: Line, mass_kg: float, room_id: str, minute: ArrayLike
) -> Ingredient:
    known = properties(line.material)
    specific_heat, wetting = line_specific_heat(line), 0.0
    if known.is_flour and line.composition is None:
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
        step=line.step,
    )

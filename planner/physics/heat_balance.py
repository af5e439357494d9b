"""What goes into a mix and what is done to it: the terms of its heat balance, as values.

A mix is a sequence of steps. Each ingredient, and each portion of the water that is steered,
goes in at the start of a step at its own temperature. `planner.physics.mix_course` follows the
dough through the steps, `planner.physics.water_solution` reads the same course backwards. Every
temperature, mass of heat and work may be a number or an array; arrays broadcast, so that one call
answers a whole night of starts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.constants import (
    ICE_KJ_PER_KG_K,
    ICE_MELTING_KJ_PER_KG,
    STEEL_KJ_PER_KG_K,
    WATER_KJ_PER_KG_K,
)
from planner.errors import OutOfRangeError

Numbers = NDArray[np.float64]
Degrees = float | Numbers
"""A temperature [°C] or a heat [kJ], or an array of them that broadcasts with the others."""


def _none_below(values: Degrees) -> bool:
    return bool(np.all(np.asarray(values) >= 0)) if not isinstance(values, float) else values >= 0


def _all_above(values: Degrees) -> bool:
    return bool(np.all(np.asarray(values) > 0)) if not isinstance(values, float) else values > 0


@dataclass(frozen=True, slots=True)
class Ingredient:
    """Something in the bowl besides the water that is steered.

    Attributes
    ----------
    mass_kg, specific_heat_kj_per_kg_k, temperature_c
        Mass [kg], specific heat [kJ/kg K], temperature when it goes in [°C].
    milk_fat_kg
        Milk fat in it, which melts between −20 and 36 °C [kg].
    solution_heat_kj, wetting_heat_kj
        Heat it gives on dissolving (negative takes) and on wetting [kJ].
    step
        The step at whose start it goes in.
    key
        What it stands for: the id of a part, or the name of a material.
    """

    name: str
    mass_kg: float
    specific_heat_kj_per_kg_k: Degrees
    temperature_c: Degrees
    milk_fat_kg: float = 0.0
    solution_heat_kj: float = 0.0
    wetting_heat_kj: Degrees = 0.0
    step: int = 0
    key: str = ""

    def __post_init__(self) -> None:
        if not (self.mass_kg >= 0 and _all_above(self.specific_heat_kj_per_kg_k)):
            raise OutOfRangeError(f"Ingredient {self.name}: mass or specific heat is impossible")
        if self.step < 0:
            raise OutOfRangeError(f"Ingredient {self.name}: there is no step {self.step}")

    @property
    def heat_capacity_kj_per_k(self) -> Degrees:
        """Mass times specific heat [kJ/K]."""
        return self.mass_kg * self.specific_heat_kj_per_kg_k

    @property
    def is_fresh_flour(self) -> bool:
        """Whether it is flour that is wetted in this mix."""
        wetting = self.wetting_heat_kj
        return wetting > 0 if isinstance(wetting, float) else bool(np.any(wetting > 0))


@dataclass(frozen=True, slots=True)
class Portion:
    """Some of the steered water, and the step at whose start it goes in [kg]."""

    water_kg: float
    step: int = 0

    def __post_init__(self) -> None:
        if not self.water_kg >= 0 or self.step < 0:
            raise OutOfRangeError("Portion: water_kg or step is negative")


@dataclass(frozen=True, slots=True)
class Bowl:
    """Bowl and tool [kJ/K] with their temperature at the start [°C]."""

    heat_capacity_kj_per_k: Degrees
    temperature_c: Degrees

    def __post_init__(self) -> None:
        if not _none_below(self.heat_capacity_kj_per_k):
            raise OutOfRangeError("Bowl: its heat capacity is negative")


def bowl(bowl_kg: float, temperature_c: Degrees) -> Bowl:
    """Return a steel bowl and tool."""
    return Bowl(STEEL_KJ_PER_KG_K.value * bowl_kg, temperature_c)


@dataclass(frozen=True, slots=True)
class Air:
    """Air of the room: loss of bowl and dough to it [W/K], temperature [°C]."""

    loss_w_per_k: Degrees
    room_c: Degrees

    def __post_init__(self) -> None:
        if not _none_below(self.loss_w_per_k):
            raise OutOfRangeError("Air: loss_w_per_k is negative")


@dataclass(frozen=True, slots=True)
class Ice:
    """Ice: its temperature [°C], at most 0, and the share of its weight that is really ice."""

    temperature_c: float
    true_ice_fraction: float

    def __post_init__(self) -> None:
        if self.temperature_c > 0 or not 0 < self.true_ice_fraction <= 1:
            raise OutOfRangeError("Ice: above 0 °C, or its true share is not between 0 and 1")


@dataclass(frozen=True, slots=True)
class Jacket:
    """A cooled bowl or tool while it is on: heat taken [kJ], or loss [W/K] to a coolant [°C].

    Attributes
    ----------
    heat_kj
        Heat taken out over the step whatever the dough [kJ]: the maker's degrees.
    loss_w_per_k, coolant_c
        Heat passed per degree between dough and coolant [W/K], and the coolant [°C].
    """

    heat_kj: float = 0.0
    loss_w_per_k: float = 0.0
    coolant_c: float = 0.0

    def __post_init__(self) -> None:
        if not (self.heat_kj >= 0 and self.loss_w_per_k >= 0):
            raise OutOfRangeError("Jacket: heat_kj or loss_w_per_k is negative")


NO_JACKET = Jacket()


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a mix.

    Attributes
    ----------
    name
        What is done, as the sheet says it: first speed, rest, by hand.
    minutes
        How long [min].
    work_kj
        Heat of working what is in the bowl then, at 25 °C dough [kJ].
    jacket
        Cooling of the mixer during the step.
    loss_share
        Share of the loss to the air in this step: a dough that rests lies still and covered.
    """

    name: str
    minutes: float
    work_kj: Degrees = 0.0
    jacket: Jacket = NO_JACKET
    loss_share: float = 1.0

    def __post_init__(self) -> None:
        if not (self.minutes >= 0 and _none_below(self.work_kj) and self.loss_share >= 0):
            raise OutOfRangeError(f"Step {self.name}: minutes, work_kj or loss_share is negative")


@dataclass(frozen=True, slots=True)
class MixBalance:
    """A mix without the temperature of its steered water.

    Attributes
    ----------
    ingredients
        Everything but the water that is steered.
    portions
        The steered water, ice included, in the order in which it goes in.
    bowl, air
        What the dough exchanges heat with.
    steps
        In order.
    fat_setting
        Share of the heat of fat that comes in warmer than the dough and sets within the mix:
        0 to 1. Warm fat crystallises in minutes to hours, so none by default.
    """

    ingredients: tuple[Ingredient, ...]
    portions: tuple[Portion, ...]
    bowl: Bowl
    air: Air
    steps: tuple[Step, ...]
    fat_setting: float = 0.0

    def __post_init__(self) -> None:
        last = len(self.steps) - 1
        entered = [i.step for i in self.ingredients] + [p.step for p in self.portions]
        if any(step > last for step in entered):
            raise OutOfRangeError(f"MixBalance: something goes in after the last step, {last}")
        if not self.mass_kg > 0:
            raise OutOfRangeError("MixBalance: there is nothing in the bowl")
        if not 0 <= self.fat_setting <= 1:
            raise OutOfRangeError(f"MixBalance: fat_setting is {self.fat_setting}")

    @property
    def water_kg(self) -> float:
        """The water that is steered, ice included [kg]."""
        return sum(portion.water_kg for portion in self.portions)

    @property
    def mass_kg(self) -> float:
        """Mass of the dough [kg]."""
        return self.water_kg + sum(i.mass_kg for i in self.ingredients)

    @property
    def minutes(self) -> float:
        """Minutes from the first addition to the end of the last step [min]."""
        return sum(step.minutes for step in self.steps)

    @property
    def work_kj(self) -> Degrees:
        """Heat of working of all steps, at 25 °C dough [kJ]."""
        return sum((step.work_kj for step in self.steps), start=0.0)

    @property
    def heat_capacity_kj_per_k(self) -> Degrees:
        """Heat capacity of all ingredients and the water [kJ/K]."""
        dry = sum((i.heat_capacity_kj_per_k for i in self.ingredients), start=0.0)
        return dry + self.water_kg * WATER_KJ_PER_KG_K.value


def one_step(
    ingredients: Sequence[Ingredient],
    water_kg: float,
    vessel: Bowl,
    air: Air,
    work_kj: Degrees = 0.0,
    *,
    minutes: float = 10.0,
    jacket: Jacket = NO_JACKET,
) -> MixBalance:
    """Return a mix in one go: everything in at the start, one step to the end.

    Parameters
    ----------
    ingredients, vessel, air
        What is mixed, in what, in which room.
    water_kg
        Water that is steered, ice included [kg].
    work_kj, minutes, jacket
        Heat of working at 25 °C dough [kJ], length of the step [min], cooling of the mixer.

    Raises
    ------
    OutOfRangeError
        If a mass is negative or nothing is in the bowl.

    Examples
    --------
    >>> flour = Ingredient("flour", 10.0, 1.83, 22.0)
    >>> one_step([flour], 6.5, bowl(8.0, 22.0), Air(7.0, 22.0), 200.0).mass_kg
    16.5
    """
    return MixBalance(
        tuple(ingredients),
        (Portion(water_kg),),
        vessel,
        air,
        (Step("mixing", minutes, work_kj, jacket),),
    )


def rest_of_mix(balance: MixBalance, after_step: int, dough_c: Degrees) -> MixBalance:
    """Return what is left of a mix once a step has ended and the dough was read.

    Parameters
    ----------
    balance
        The whole mix.
    after_step
        The step that has just ended.
    dough_c
        Dough read then [°C]; the bowl has come near to it.

    Raises
    ------
    OutOfRangeError
        If there is no such step, or none after it.

    Notes
    -----
    What is in the bowl is one ingredient, already wetted and dissolved. Its fat is as solid as fat
    that has stood at that temperature.
    """
    if not 0 <= after_step < len(balance.steps) - 1:
        raise OutOfRangeError(f"rest_of_mix: nothing comes after step {after_step}")
    inside = [i for i in balance.ingredients if i.step <= after_step]
    water_kg = sum(p.water_kg for p in balance.portions if p.step <= after_step)
    mass_kg = water_kg + sum(i.mass_kg for i in inside)
    heat = sum((i.heat_capacity_kj_per_k for i in inside), start=0.0)
    heat = heat + water_kg * WATER_KJ_PER_KG_K.value
    so_far = Ingredient(
        "dough so far",
        mass_kg,
        heat / mass_kg,
        dough_c,
        milk_fat_kg=sum(i.milk_fat_kg for i in inside),
    )
    gone = after_step + 1
    return MixBalance(
        (
            so_far,
            *(replace(i, step=i.step - gone) for i in balance.ingredients if i.step >= gone),
        ),
        tuple(replace(p, step=p.step - gone) for p in balance.portions if p.step >= gone),
        replace(balance.bowl, temperature_c=dough_c),
        balance.air,
        balance.steps[gone:],
        balance.fat_setting,
    )


def ice_cold_kj_per_kg(ice: Ice) -> float:
    """Return the heat a kilo of ice takes until it is water at 0 °C [kJ/kg].

    Notes
    -----
    ``2.05 (0 - T) + 334 x`` with ``x`` the share that is really ice.

    Examples
    --------
    >>> ice_cold_kj_per_kg(Ice(0.0, 0.9))
    300.6
    """
    warming = ICE_KJ_PER_KG_K.value * (0 - ice.temperature_c)
    return warming + ice.true_ice_fraction * ICE_MELTING_KJ_PER_KG.value


def ice_heat_kj_per_kg(ice: Ice, dough_c: Degrees) -> Numbers:
    """Return the heat a kilo of ice takes until it is water at the dough's temperature [kJ/kg].

    Examples
    --------
    >>> float(ice_heat_kj_per_kg(Ice(0.0, 1.0), 25.0))
    438.5
    """
    warm = WATER_KJ_PER_KG_K.value * np.asarray(dough_c, dtype=np.float64)
    return np.asarray(ice_cold_kj_per_kg(ice) + warm, dtype=np.float64)

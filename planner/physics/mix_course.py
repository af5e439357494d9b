"""The course of a mix: dough and bowl from the first addition to the end of the last step.

At the start of a step what goes in is brought to one temperature: heat capacities, the heats of
wetting and dissolving, ice and melting fat. During the step the dough is worked, loses heat to the
air and exchanges it with the bowl and with a cooled jacket. Every kilojoule is booked once, so that
the terms add up to nothing whatever the numbers.

References
----------
.. [1] Hlynka 1962, Cereal Chem. 39:286: torque of dough falls 2.3 % per °C.
.. [2] Hairer and Wanner 1996, Solving Ordinary Differential Equations II, section IV.7: the
   linearly implicit midpoint rule, of second order and stable for stiff exchange.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp, log

import numpy as np

from planner.constants import (
    BOWL_SHARE,
    MILK_FAT_MELTING_KJ_PER_KG,
    WATER_KJ_PER_KG_K,
    WORK_FALL_PER_K,
    WORK_REFERENCE_C,
)
from planner.errors import NotConvergedError, OutOfRangeError
from planner.physics.heat_balance import (
    Degrees,
    Ice,
    Ingredient,
    MixBalance,
    Numbers,
    Step,
    ice_cold_kj_per_kg,
)
from planner.physics.specific_heat import solid_fat_fraction

_WATER = WATER_KJ_PER_KG_K.value
_FALL = WORK_FALL_PER_K.value

KJ_PER_W_MIN = 0.06

BOWL_FOLLOWS_MIN = -10.0 / log(1 - BOWL_SHARE.value)
"""Time in which a bowl follows its dough, so that its share is reached in ten minutes [min]."""

LONGEST_SUBSTEP_MIN, LARGEST_SUBSTEP_K, LARGEST_EXCHANGE = 10.0, 3.0, 0.5
"""A step is followed in substeps no longer, with no more mechanical rise and no more exchange with
bowl, air and coolant (per degree, beside the dough's own heat capacity) than this."""

FAT_ITERATIONS, FAT_TOLERANCE_K = 60, 1e-11


@dataclass(frozen=True, slots=True)
class Course:
    """What happens to a mix; heats are given to the dough, negative ones taken [kJ].

    Attributes
    ----------
    dough_c, bowl_c
        Dough and bowl at the end of the last step [°C].
    before_c, after_c
        Dough at the start (with what has gone in) and at the end of each step [°C].
    work_kj
        Heat of working, by step.
    air_kj, bowl_kj, jacket_kj
        From the air, from bowl and tool, from a cooled jacket.
    melting_kj
        From melting (negative) or setting fat, by position in the ingredients.
    per_water_k
        Degrees of dough per degree of the water that was steered, to first order.
    """

    dough_c: Numbers
    bowl_c: Numbers
    before_c: tuple[Numbers, ...]
    after_c: tuple[Numbers, ...]
    work_kj: tuple[Numbers, ...]
    air_kj: Numbers
    bowl_kj: Numbers
    jacket_kj: Numbers
    melting_kj: dict[int, Numbers]
    per_water_k: Numbers


def course(
    balance: MixBalance,
    water_c: Degrees,
    ice_kg: Degrees = 0.0,
    ice: Ice | None = None,
    *,
    later_water_c: Degrees | None = None,
) -> Course:
    """Follow a mix through its steps.

    Parameters
    ----------
    balance
        The mix; it may have no water.
    water_c
        Temperature of the liquid water [°C].
    ice_kg, ice
        Ice that replaces part of the first portion of the water [kg].
    later_water_c
        Water of the later portions [°C]; None for the same as the first.

    Returns
    -------
    Course
        Temperatures and heats, in the shape that all temperatures broadcast to.

    Raises
    ------
    OutOfRangeError
        If there is more ice than water in the first portion, or ice of no kind.
    NotConvergedError
        If melting fat does not settle.

    Notes
    -----
    Addition: ``C T = C_0 T_0 + sum m c T_i + wetting + solution - ice - melting``. Substep ``h`` by
    the linearly implicit midpoint rule [2]_ on
    ``C T' = W exp(-0.023 (T - 25)) - U (T - T_room) - k (T - T_bowl) - J (T - T_coolant)`` [1]_;
    heats are taken at the mean temperature of the substep, the work on its tangent at the start,
    which is within 0.2 % of it for 3 K. Ice melts and flour is wetted where they go in. Below 0 °C
    the answer is an energy number: no dough freezes here.

    Examples
    --------
    >>> from planner.physics.heat_balance import Air, bowl, one_step
    >>> flour = Ingredient("flour", 10.0, 1.83, 20.0)
    >>> still = one_step([flour], 6.5, bowl(8.0, 20.0), Air(7.0, 20.0))
    >>> round(float(course(still, 20.0).dough_c), 9)
    20.0
    """
    _check_ice(balance, ice_kg, ice)
    cold_kj = 0.0 if ice is None else ice_cold_kj_per_kg(ice)
    first_c = np.asarray(water_c, dtype=np.float64)
    rest_c = first_c if later_water_c is None else np.asarray(later_water_c, dtype=np.float64)
    state = _State(balance)
    before, after, work = [], [], []
    for k, step in enumerate(balance.steps):
        for n, portion in enumerate(balance.portions):
            if portion.step == k and portion.water_kg > 0:
                iced = np.asarray(ice_kg, dtype=np.float64) if n == 0 else np.float64(0.0)
                heat = (portion.water_kg - iced) * _WATER * (first_c if n == 0 else rest_c)
                state.add_water(
                    portion.water_kg,
                    heat - iced * cold_kj,
                    steered=n == 0 or later_water_c is None,
                )
        state.take_in(k)
        before.append(state.dough_c)
        work.append(state.work(step))
        after.append(state.dough_c)
    return Course(
        dough_c=np.asarray(state.dough_c),
        bowl_c=np.asarray(state.bowl_c),
        before_c=tuple(before),
        after_c=tuple(after),
        work_kj=tuple(work),
        air_kj=state.air_kj,
        bowl_kj=state.bowl_kj,
        jacket_kj=state.jacket_kj,
        melting_kj={n: fat.melting_kj for n, fat in state.fats.items()},
        per_water_k=np.asarray(state.slope),
    )


def dough_temperature_c(
    balance: MixBalance,
    water_c: Degrees,
    ice_kg: Degrees = 0.0,
    ice: Ice | None = None,
    *,
    later_water_c: Degrees | None = None,
) -> Numbers:
    """Return the dough temperature that some water and ice give [°C]; see `course`."""
    return course(balance, water_c, ice_kg, ice, later_water_c=later_water_c).dough_c


def _check_ice(balance: MixBalance, ice_kg: Degrees, ice: Ice | None) -> None:
    most_kg = balance.portions[0].water_kg if balance.portions else 0.0
    if ice is None and np.any(np.asarray(ice_kg) > 0):
        raise OutOfRangeError("course: ice without its temperature")
    if np.any(np.asarray(ice_kg) > most_kg + 1e-9) or np.any(np.asarray(ice_kg) < 0):
        raise OutOfRangeError("course: more ice than water it goes in with, or less than none")


class _Fat:
    """Milk fat of one ingredient, and how much of it is solid."""

    def __init__(self, ingredient: Ingredient) -> None:
        self.kj = MILK_FAT_MELTING_KJ_PER_KG.value * ingredient.milk_fat_kg
        self.solid = solid_fat_fraction(ingredient.temperature_c)
        self.melting_kj: Numbers = np.asarray(0.0)

    def heat_kj(self, dough_c: Numbers, setting: float) -> Numbers:
        """Return the heat it would give at a dough temperature [kJ]."""
        gone = self.solid - solid_fat_fraction(dough_c)
        return np.asarray(self.kj * (setting * np.maximum(-gone, 0) - np.maximum(gone, 0)))

    def settle(self, dough_c: Numbers, setting: float) -> None:
        """Book its heat, and what is solid from now on."""
        heat = self.heat_kj(dough_c, setting)
        self.melting_kj = self.melting_kj + heat
        self.solid = self.solid + heat / self.kj


class _State:
    """Dough and bowl at one moment, and what has been booked so far."""

    def __init__(self, balance: MixBalance) -> None:
        self.balance = balance
        self.capacity: Degrees = 0.0
        self.dough_c: Numbers = np.asarray(0.0)
        self.slope: Numbers = np.asarray(0.0)
        self.bowl_c: Numbers = np.asarray(balance.bowl.temperature_c, dtype=np.float64)
        self.bowl_slope: Numbers = np.asarray(0.0)
        self.fats: dict[int, _Fat] = {}
        self.air_kj: Numbers = np.asarray(0.0)
        self.bowl_kj: Numbers = np.asarray(0.0)
        self.jacket_kj: Numbers = np.asarray(0.0)
        self._heat: Numbers = np.asarray(0.0)
        self._capacity: Degrees = 0.0
        self._steered = 0.0

    def add_water(self, water_kg: float, heat_kj: Numbers, *, steered: bool) -> None:
        """Put a portion of water in the bowl; `take_in` brings it to one temperature."""
        self._heat = self._heat + heat_kj
        self._capacity = self._capacity + water_kg * _WATER
        self._steered += water_kg * _WATER if steered else 0.0

    def take_in(self, k: int) -> None:
        """Bring what goes in at the start of a step, and the dough, to one temperature."""
        heat, capacity = self._heat, self._capacity
        for n, i in enumerate(self.balance.ingredients):
            if i.step != k:
                continue
            own = i.heat_capacity_kj_per_k
            capacity = capacity + own
            heat = heat + own * np.asarray(i.temperature_c)
            heat = heat + (i.solution_heat_kj + i.wetting_heat_kj)
            if i.milk_fat_kg:
                self.fats[n] = _Fat(i)
        if np.all(np.asarray(self.capacity) + capacity == 0):
            return
        full = self.capacity + capacity
        target = (self.capacity * self.dough_c + heat) / full
        self.slope = (self.capacity * self.slope + self._steered) / full
        self.capacity = full
        self._settle(target, full)
        self._heat, self._capacity, self._steered = np.asarray(0.0), 0.0, 0.0

    def work(self, step: Step) -> Numbers:
        """Run one step, and return its heat of working [kJ]."""
        if not np.any(np.asarray(self.capacity) > 0):
            return np.asarray(0.0)
        pieces = max(
            1,
            ceil(step.minutes / LONGEST_SUBSTEP_MIN),
            ceil(float(np.max(np.asarray(step.work_kj) / self.capacity)) / LARGEST_SUBSTEP_K),
            ceil(self._exchanged(step) / LARGEST_EXCHANGE),
        )
        total = np.asarray(0.0)
        for _ in range(pieces):
            total = total + self._substep(step, step.minutes / pieces, 1 / pieces)
        return total

    def _exchanged(self, step: Step) -> float:
        """Return what bowl, air and coolant exchange per degree, beside the dough's own heat."""
        per_min = KJ_PER_W_MIN * (
            np.asarray(self.balance.air.loss_w_per_k) + step.jacket.loss_w_per_k
        )
        per_min = per_min + self.balance.bowl.heat_capacity_kj_per_k / BOWL_FOLLOWS_MIN
        return float(np.max(per_min * step.minutes / self.capacity))

    def _substep(self, step: Step, minutes: float, share: float) -> Numbers:
        air, jacket = self.balance.air, step.jacket
        follows = 1 - exp(-minutes / BOWL_FOLLOWS_MIN)
        to_air = KJ_PER_W_MIN * minutes * air.loss_w_per_k
        to_bowl = self.balance.bowl.heat_capacity_kj_per_k * follows
        to_coolant = KJ_PER_W_MIN * minutes * jacket.loss_w_per_k
        start = self.dough_c
        worked = step.work_kj * share * np.exp(-_FALL * (start - WORK_REFERENCE_C.value))
        taken = to_air + to_bowl + to_coolant
        pull = taken + _FALL * worked
        warmth = to_air * np.asarray(air.room_c) + to_bowl * self.bowl_c
        constant = jacket.heat_kj * share
        gain = worked + warmth + to_coolant * jacket.coolant_c - taken * start - constant
        stiff = self.capacity + pull / 2
        slope = self.slope
        self.slope = ((self.capacity - pull / 2) * slope + to_bowl * self.bowl_slope) / stiff
        self._settle(start + gain / stiff, stiff)
        mean = (start + self.dough_c) / 2
        work_kj = worked * (1 - _FALL * (mean - start))
        self.air_kj = self.air_kj - to_air * (mean - air.room_c)
        self.bowl_kj = self.bowl_kj - to_bowl * (mean - self.bowl_c)
        self.jacket_kj = self.jacket_kj - to_coolant * (mean - jacket.coolant_c) - constant
        self.bowl_c = self.bowl_c + follows * (mean - self.bowl_c)
        mean_slope = (slope + self.slope) / 2
        self.bowl_slope = self.bowl_slope + follows * (mean_slope - self.bowl_slope)
        return np.asarray(work_kj)

    def _settle(self, target_c: Numbers, stiffness: Degrees) -> None:
        """Find the dough temperature at which melting fat leaves nothing over.

        Newton's iteration on ``stiffness (T - target) = sum of fat heats(T)``, whose right side
        falls with T; a step that leaves the bracket found so far is replaced by halving it.
        """
        if not self.fats:
            self.dough_c = target_c
            return
        setting = self.balance.fat_setting
        reach = sum(fat.kj for fat in self.fats.values()) / np.asarray(stiffness)
        t = np.asarray(target_c, dtype=np.float64) + 0 * reach
        low, high = t - reach, t + reach
        for _ in range(FAT_ITERATIONS):
            residual = stiffness * (t - target_c) - self._fat_kj(t)
            low, high = np.where(residual <= 0, t, low), np.where(residual >= 0, t, high)
            beside = stiffness * (t + 1e-6 - target_c) - self._fat_kj(t + 1e-6)
            newton = t - residual / ((beside - residual) / 1e-6)
            moved = np.where((newton < low) | (newton > high), (low + high) / 2, newton)
            settled = bool(np.all(np.abs(moved - t) < FAT_TOLERANCE_K))
            t = moved
            if settled:
                break
        else:
            raise NotConvergedError("course: melting fat does not settle")
        self.slope = (
            self.slope
            * np.asarray(stiffness)
            * 1e-6
            / (stiffness * 1e-6 + self._fat_kj(t) - self._fat_kj(t + 1e-6))
        )
        for fat in self.fats.values():
            fat.settle(t, setting)
        self.dough_c = t

    def _fat_kj(self, dough_c: Numbers) -> Numbers:
        total = np.asarray(0.0)
        for fat in self.fats.values():
            total = total + fat.heat_kj(dough_c, self.balance.fat_setting)
        return total

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

LONGEST_SUBSTEP_MIN, LARGEST_SUBSTEP_K, LARGEST_EXCHANGE = 10.0, 3.0, 0.2
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
    return Mixing(balance).run(water_c, ice_kg, ice, later_water_c=later_water_c)


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


class Mixing:
    """A mix made ready to be run with one water after another.

    What does not depend on the water is worked out once: heats that go in, capacities, substeps.
    """

    def __init__(self, balance: MixBalance) -> None:
        self._balance = balance
        self._stages: list[_Stage] = []
        capacity: Degrees = 0.0
        for k, step in enumerate(balance.steps):
            stage = _Stage.of(balance, k, step, capacity)
            capacity = stage.capacity
            self._stages.append(stage)

    def guess_water_c(self, dough_c: Degrees) -> Numbers:
        """Return about what all the water must be for a dough: one lumped sum, to start from."""
        vessel, wanted = self._balance.bowl, np.asarray(dough_c, dtype=np.float64)
        given: Degrees = 0.0
        for stage in self._stages:
            given = given + stage.heat_kj + stage.pieces * (stage.work_kj - stage.constant_kj)
        bowl_kj = BOWL_SHARE.value * vessel.heat_capacity_kj_per_k * (wanted - vessel.temperature_c)
        water_kj = self._stages[-1].capacity * wanted + bowl_kj - given
        return np.asarray(water_kj / (self._balance.water_kg * _WATER))

    def run(
        self,
        water_c: Degrees,
        ice_kg: Degrees = 0.0,
        ice: Ice | None = None,
        *,
        later_water_c: Degrees | None = None,
        books: bool = True,
    ) -> Course:
        """Return the course with some water and ice; see `course`. Without books, no heats."""
        _check_ice(self._balance, ice_kg, ice)
        first_c = np.asarray(water_c, dtype=np.float64)
        rest_c = first_c if later_water_c is None else np.asarray(later_water_c, dtype=np.float64)
        state = _State(self._balance, books=books)
        before, after, work = [], [], []
        for stage in self._stages:
            heat, steered = stage.heat_kj, 0.0
            for n, portion_kg in stage.portions:
                water_kg: Degrees = portion_kg
                if n == 0 and ice is not None:
                    water_kg = portion_kg - np.asarray(ice_kg, dtype=np.float64)
                    heat = heat - ice_kg * ice_cold_kj_per_kg(ice)
                heat = heat + water_kg * _WATER * (first_c if n == 0 else rest_c)
                if n == 0 or later_water_c is None:
                    steered += portion_kg * _WATER
            state.take_in(stage, heat, steered)
            before.append(state.dough_c)
            work.append(state.work(stage))
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


def _check_ice(balance: MixBalance, ice_kg: Degrees, ice: Ice | None) -> None:
    if ice is None and isinstance(ice_kg, float) and ice_kg == 0:
        return
    most_kg = balance.portions[0].water_kg if balance.portions else 0.0
    if ice is None and np.any(np.asarray(ice_kg) > 0):
        raise OutOfRangeError("course: ice without its temperature")
    if np.any(np.asarray(ice_kg) > most_kg + 1e-9) or np.any(np.asarray(ice_kg) < 0):
        raise OutOfRangeError("course: more ice than water it goes in with, or less than none")


@dataclass(frozen=True, slots=True)
class _Stage:
    """One step with what is known of it before the water is.

    Attributes
    ----------
    heat_kj
        Heat of what goes in besides the steered water, from 0 °C, with what it sets free.
    before, capacity
        Heat capacity of the dough before the step, and with all that goes in [kJ/K].
    portions
        Number and kilos of the portions of water that go in.
    fats
        Number and ingredient of those that bring milk fat.
    takes_nothing, is_empty
        Whether nothing goes in, and whether the bowl is empty in this step.
    pieces, work_kj
        Substeps, and the work of each at 25 °C.
    follows, to_air, to_bowl, to_coolant, constant_kj
        Share by which the bowl follows in a substep; heat per degree that air, bowl and coolant
        take in it [kJ/K]; heat that a jacket takes whatever the dough [kJ].
    """

    heat_kj: Degrees
    before: Degrees
    capacity: Degrees
    portions: tuple[tuple[int, float], ...]
    fats: tuple[tuple[int, Ingredient], ...]
    takes_nothing: bool
    is_empty: bool
    pieces: int
    work_kj: Degrees
    follows: float
    to_air: Degrees
    to_bowl: Degrees
    to_coolant: float
    coolant_c: float
    constant_kj: float

    @classmethod
    def of(cls, balance: MixBalance, k: int, step: Step, before: Degrees) -> _Stage:
        """Work out one step of a mix."""
        inside = [(n, i) for n, i in enumerate(balance.ingredients) if i.step == k]
        portions = tuple((n, p.water_kg) for n, p in enumerate(balance.portions) if p.step == k)
        heat: Degrees = 0.0
        capacity = before + sum(kg for _, kg in portions) * _WATER
        for _, i in inside:
            own = i.heat_capacity_kj_per_k
            capacity = capacity + own
            heat = heat + own * i.temperature_c + (i.solution_heat_kj + i.wetting_heat_kj)
        pieces = _pieces(balance, step, capacity)
        minutes = step.minutes / pieces
        follows = 1 - exp(-minutes / BOWL_FOLLOWS_MIN)
        return cls(
            heat_kj=heat,
            before=before,
            capacity=capacity,
            portions=portions,
            fats=tuple((n, i) for n, i in inside if i.milk_fat_kg),
            takes_nothing=not inside and not any(kg for _, kg in portions),
            is_empty=_least(capacity) <= 0,
            pieces=pieces,
            work_kj=step.work_kj / pieces,
            follows=follows,
            to_air=KJ_PER_W_MIN * minutes * step.loss_share * balance.air.loss_w_per_k,
            to_bowl=balance.bowl.heat_capacity_kj_per_k * follows,
            to_coolant=KJ_PER_W_MIN * minutes * step.jacket.loss_w_per_k,
            coolant_c=step.jacket.coolant_c,
            constant_kj=step.jacket.heat_kj / pieces,
        )


def _least(values: Degrees) -> float:
    return values if isinstance(values, float) else float(np.min(values))


def _most(values: Degrees) -> float:
    return values if isinstance(values, float) else float(np.max(values))


def _pieces(balance: MixBalance, step: Step, capacity: Degrees) -> int:
    """Return into how many substeps a step is cut."""
    least = _least(capacity)
    if least <= 0:
        return 1
    loss_w_per_k = _most(balance.air.loss_w_per_k) + step.jacket.loss_w_per_k
    to_bowl = _most(balance.bowl.heat_capacity_kj_per_k) / BOWL_FOLLOWS_MIN
    exchanged = (KJ_PER_W_MIN * loss_w_per_k + to_bowl) * step.minutes / least
    return max(
        1,
        ceil(step.minutes / LONGEST_SUBSTEP_MIN),
        ceil(_most(step.work_kj) / least / LARGEST_SUBSTEP_K),
        ceil(exchanged / LARGEST_EXCHANGE),
    )


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

    def __init__(self, balance: MixBalance, *, books: bool) -> None:
        self.books = books
        self.room_c = balance.air.room_c
        self.setting = balance.fat_setting
        self.dough_c: Numbers = np.asarray(0.0)
        self.slope: Degrees = 0.0
        self.bowl_c: Degrees = balance.bowl.temperature_c
        self.bowl_slope: Degrees = 0.0
        self.fats: dict[int, _Fat] = {}
        self.air_kj: Numbers = np.asarray(0.0)
        self.bowl_kj: Numbers = np.asarray(0.0)
        self.jacket_kj: Numbers = np.asarray(0.0)

    def take_in(self, stage: _Stage, heat_kj: Degrees, steered_kj_per_k: float) -> None:
        """Bring what goes in at the start of a step, and the dough, to one temperature."""
        if stage.takes_nothing:
            return
        for n, ingredient in stage.fats:
            self.fats[n] = _Fat(ingredient)
        target = (stage.before * self.dough_c + heat_kj) / stage.capacity
        self.slope = (stage.before * self.slope + steered_kj_per_k) / stage.capacity
        self._settle(np.asarray(target), stage.capacity)

    def work(self, stage: _Stage) -> Numbers:
        """Run one step, and return its heat of working [kJ]."""
        total: Numbers = np.asarray(0.0)
        if stage.is_empty:
            return total
        for _ in range(stage.pieces):
            total = total + self._substep(stage)
        return total

    def _substep(self, stage: _Stage) -> Numbers:
        start = self.dough_c
        worked = stage.work_kj * np.exp(-_FALL * (start - WORK_REFERENCE_C.value))
        taken = stage.to_air + stage.to_bowl + stage.to_coolant
        half_pull = (taken + _FALL * worked) / 2
        warmth = stage.to_air * self.room_c + stage.to_bowl * self.bowl_c
        known = warmth + (stage.to_coolant * stage.coolant_c - stage.constant_kj)
        stiff = stage.capacity + half_pull
        slope = self.slope
        self.slope = (
            (stage.capacity - half_pull) * slope + stage.to_bowl * self.bowl_slope
        ) / stiff
        self._settle(start + (worked + known - taken * start) / stiff, stiff)
        mean = (start + self.dough_c) / 2
        if self.books:
            self._book(stage, mean)
        self.bowl_c = self.bowl_c + stage.follows * (mean - self.bowl_c)
        mean_slope = (slope + self.slope) / 2
        self.bowl_slope = self.bowl_slope + stage.follows * (mean_slope - self.bowl_slope)
        return worked * (1 - _FALL * (mean - start)) if self.books else worked

    def _book(self, stage: _Stage, mean_c: Numbers) -> None:
        """Note what air, bowl and jacket gave at the mean dough of a substep."""
        self.air_kj = self.air_kj - stage.to_air * (mean_c - self.room_c)
        self.bowl_kj = self.bowl_kj - stage.to_bowl * (mean_c - self.bowl_c)
        if stage.to_coolant or stage.constant_kj:
            cooled = stage.to_coolant * (mean_c - stage.coolant_c) + stage.constant_kj
            self.jacket_kj = self.jacket_kj - cooled

    def _settle(self, target_c: Numbers, stiffness: Degrees) -> None:
        """Find the dough temperature at which melting fat leaves nothing over.

        Newton's iteration on ``stiffness (T - target) = sum of fat heats(T)``, whose right side
        falls with T; a step that leaves the bracket found so far is replaced by halving it.
        """
        if not self.fats:
            self.dough_c = target_c
            return
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
        for fat in self.fats.values():
            fat.settle(t, self.setting)
        self.dough_c = t

    def _fat_kj(self, dough_c: Numbers) -> Numbers:
        total = np.asarray(0.0)
        for fat in self.fats.values():
            total = total + fat.heat_kj(dough_c, self.setting)
        return total

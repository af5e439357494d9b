"""The parts of an option: choices of dough temperature, what is settled, water, minutes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.balances import (
    COLDEST_MELTED_WATER_C,
    Steering,
    dough_balance,
    steering,
)
from planner.batches import Batch
from planner.formula import Formula
from planner.mixers import HAND_SPEEDS, Mixer, Speed
from planner.night import Night
from planner.physics.heat_balance import MixBalance
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water import Draw, draw
from planner.physics.water_solution import equivalent_water_c
from planner.pins import Pin
from planner.rises import Rise, piece_rise
from planner.scheduling.problem import Option
from planner.water_sources import IceSupply, SupplyKind

BUCKET_MIN = 30
"""Starts are looked at in half hours [min]."""

DOUGH_STEP_K = 0.5
"""Dough temperatures are looked at in half degrees, as a baker reads them [K]."""


COLDEST_PIN_C, WARMEST_PIN_C = 5.0, 33.0
"""Doughs a baker may ask for; one that has come off otherwise was not asked for [°C]."""

TRIFLE_K = 0.15
"""Ice that moves the water by less than this, and the dough by half of it, stays in its bin [K]."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A dough temperature, and whether chilled water and ice may be used for it."""

    dough_c: float
    use_chilled: bool
    use_ice: bool = True


def aimed(batch: Batch, choice: Choice) -> Batch:
    """Return a batch whose own number is the dough chosen for it, if that lies outside its band.

    Only a pin chooses so: the baker then wants that dough, and the band goes with it.
    """
    formula = batch.formula
    off_k = abs(choice.dough_c - formula.dough_c)
    if off_k <= formula.band_k + 1e-6 or not COLDEST_PIN_C <= choice.dough_c <= WARMEST_PIN_C:
        return batch
    return replace(batch, formula=replace(formula, dough_c=choice.dough_c))


@dataclass(frozen=True, slots=True)
class Allowance:
    """Ice and chilled water a mix may take without robbing another [kg]; None for no limit."""

    ice_kg: float | None = None
    chilled_kg: float | None = None


NO_ALLOWANCE = Allowance()


@dataclass(frozen=True, slots=True)
class Settled:
    """What is known of a mix that has begun: how it came off, and what it took.

    Attributes
    ----------
    dough_c
        Temperature off the mixer, read or expected [°C].
    ice_kg, chilled_kg
        Ice and chilled water it took [kg].
    start_min, mix_end_min
        Mixer on, and off it [min].
    divide_min
        When it was divided [min]; None if it stands in bulk.
    """

    dough_c: float
    ice_kg: float
    chilled_kg: float
    start_min: float
    mix_end_min: float
    divide_min: float | None = None


@dataclass(frozen=True)
class Offer:
    """One batch with its rises, its choices and its options.

    Attributes
    ----------
    mixer
        The mixer whose heat the options assume: the warmest that fits.
    proofs
        Rises of the routes of its products, one product after the other.
    proof_offsets_min
        Minutes from the divide to the start of proof, per load.
    """

    batch: Batch
    mixer: Mixer
    bulk: Rise
    proofs: tuple[Rise, ...]
    proof_offsets_min: tuple[int, ...]
    divide_min: int
    choices: tuple[Choice, ...]
    options: tuple[Option, ...]
    settled: Settled | None = None


class PartCurve:
    """Temperature of a part as a function of the minute it is used [°C]."""

    def __init__(self, minute: NDArray[np.float64], temperature_c: NDArray[np.float64]) -> None:
        order = np.argsort(minute)
        self._minute, self._c = minute[order], temperature_c[order]

    def __call__(self, minute: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the temperature at each minute, held constant beyond the known span."""
        return np.interp(minute, self._minute, self._c)


def constant_curve(temperature_c: float) -> PartCurve:
    """Return a part that has one known temperature [°C]."""
    return PartCurve(np.array([0.0]), np.array([temperature_c]))


def warmest_mixer(night: Night, batch: Batch, pin: Pin | None) -> Mixer:
    """Return the fitting mixer that asks for the coldest water: its ice is enough for the others.

    Notes
    -----
    The balances are compared, so that a cooled mixer, a cooler room and a lighter bowl count. A
    pinned mixer is the one.
    """
    if pin is not None and pin.mixer_id is not None:
        return night.day.bakery.mixer(pin.mixer_id)
    if len(batch.mixers) == 1:
        return batch.mixers[0]
    return min(batch.mixers, key=lambda mixer: _water_wanted_c(night, batch, mixer))


def _water_wanted_c(night: Night, batch: Batch, mixer: Mixer) -> float:
    """Return the water a mixer asks for in the middle of the night, to compare mixers with [°C]."""
    parts = {part.id: batch.formula.dough_c for part in batch.formula.parts}
    balance = dough_balance(night, batch, mixer, night.day.span_min / 2, parts)
    if balance.water_kg > 0:
        return float(equivalent_water_c(balance, batch.formula.dough_c))
    return -float(dough_temperature_c(balance, 0.0))


def bowls_c(
    night: Night, batch: Batch, mixer: Mixer, start: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the warmest and the coolest bowl a mix may meet [°C].

    The bowl stands in the room, or a dough was in it before.
    """
    room_c, dough_c = night.air_c(mixer.room_id)(np.asarray(start)), batch.formula.dough_c
    return np.maximum(room_c, dough_c), np.minimum(room_c, dough_c)


def proof_rises(night: Night, batch: Batch, bulk: Rise) -> tuple[Rise, ...]:
    """Return the rise of each route of the batch's products, after its bulk."""
    return tuple(
        piece_rise(night, product, route, batch.formula.dough_c, bulk)
        for product in batch.products
        for route in range(len(product.routes))
    )


def mix_slots_min(formula: Formula, grid_min: int) -> int:
    """Return the minutes for which a mix holds its mixer, on the grid [min]."""
    return int(np.ceil(formula.mix_min / grid_min - 1e-9)) * grid_min


def divide_minutes(batch: Batch, grid_min: int) -> int:
    """Return minutes of dividing and shaping by all who do it together, on the grid [min]."""
    if batch.product is None:
        return grid_min
    work = sum(
        lot.pieces * lot.product.shape_min_per_piece.value / lot.product.shape_people
        for lot in batch.lots
    )
    return max(grid_min, int(np.ceil(work / grid_min - 1e-9)) * grid_min)


def proof_offsets(batch: Batch, divide_min: int, grid_min: int) -> tuple[int, ...]:
    """Return minutes from the divide to the start of proof of each load, on the grid [min]."""
    loads = batch.loads
    if len(batch.products) < 2:  # the loads of one product share the bench evenly
        done = [(i + 1) / len(loads) for i in range(len(loads))]
    else:
        work = np.cumsum([x.pieces * x.product.shape_min_per_piece.value for x in loads])
        done = [float(part / work[-1]) if work[-1] else 1.0 for part in work]
    return tuple(
        int(np.ceil((divide_min * share + load.product.bench_rest_min) / grid_min - 1e-9))
        * grid_min
        for load, share in zip(loads, done, strict=True)
    )


def choices_for(night: Night, batch: Batch, pin: Pin | None) -> tuple[Choice, ...]:
    """Return the dough temperatures to look at, with and without chilled water and ice."""
    formula = batch.formula
    if pin is not None and pin.dough_c is not None:
        temperatures = [pin.dough_c]
    else:
        half_steps = int(formula.band_k / DOUGH_STEP_K + 1e-9)
        temperatures = [
            formula.dough_c + k * DOUGH_STEP_K for k in range(-half_steps, half_steps + 1)
        ]
    chilled = [False] if _chilled_c(night) is None else [True, False]
    iced = [False] if night.day.bakery.ice is None else [True, False]
    return tuple(Choice(t, use, ice) for t in temperatures for use in chilled for ice in iced)


def _chilled_c(night: Night) -> float | None:
    supply = night.supply(SupplyKind.CHILLER)
    return None if supply is None else night.supply_c(supply).value


def water_for(
    night: Night,
    batch: Batch,
    balance: MixBalance,
    choice: Choice,
    allowed: Allowance = NO_ALLOWANCE,
) -> tuple[Draw, Steering]:
    """Return the water and ice that bring a mix to a choice's dough temperature."""
    ways = steering_of(night, batch, balance)
    drawn = draw_with(
        ways,
        balance,
        choice.dough_c,
        allowed,
        use_chilled=choice.use_chilled,
        trifle_k=TRIFLE_K,
    )
    return drawn, ways


def draw_with(
    ways: Steering,
    balance: MixBalance,
    dough_c: ArrayLike,
    allowed: Allowance,
    *,
    use_chilled: bool,
    trifle_k: float = 0.0,
) -> Draw:
    """Return the draw for some dough temperatures with what the house and the store allow."""
    return draw(
        balance,
        np.asarray(dough_c, dtype=np.float64),
        ways.supplies,
        ways.ice,
        use_chilled=use_chilled,
        ice_cap_kg=(
            ways.ice_cap_kg if allowed.ice_kg is None else min(ways.ice_cap_kg, allowed.ice_kg)
        ),
        chilled_cap_kg=allowed.chilled_kg,
        melted_at_least_c=COLDEST_MELTED_WATER_C if ways.melt_first else None,
        trifle_k=trifle_k,
    )


def steering_of(
    night: Night, batch: Batch, balance: MixBalance, made: IceSupply | None = None
) -> Steering:
    """Return what the water of a batch can be made of, with the ice of the house or another."""
    return steering(
        night,
        balance,
        hydration=batch.formula.hydration,
        flour_kg=batch.flour_kg,
        by_hand=all(
            step.speed in HAND_SPEEDS or step.speed is Speed.REST for step in batch.formula.steps
        ),
        made=made,
    )

"""The balance of a mix as a list to add up, and how sure its dough temperature is.

Everything is brought from its own temperature to that of the finished dough; heats that are given
stand beside heats that are taken, and the sum is nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.constants import (
    BOWL_SHARE,
    ICE_MELTING_KJ_PER_KG,
    WATER_KJ_PER_KG_K,
    WETTING_SPREAD,
)
from planner.physics.heat_balance import (
    Ice,
    MixBalance,
    Numbers,
    ice_heat_kj_per_kg,
)
from planner.physics.mix_course import Course, course
from planner.water_ticket import (
    BalanceTerm,
)

_WATER = WATER_KJ_PER_KG_K.value
_Row = tuple[str, float | None, float | None, float]

AIR_LOSS_SD_SHARE = 0.3
FLOUR_HEAT_SD_SHARE = 0.05
"""Spread of the specific heat of flour: 0.1 of 1.83 kJ/kg K."""


def balance_terms(
    balance: MixBalance,
    run: Course,
    water: Sequence[tuple[str, float, float]],
    ice_kg: float,
    ice: Ice | None,
) -> tuple[BalanceTerm, ...]:
    """Return the heat each term gives the dough [kJ], also in degrees [K]; they add up to nothing.

    Parameters
    ----------
    balance
        The mix.
    run
        Its course with that water and ice.
    water
        Name, kilos and degrees of each supply.
    ice_kg, ice
        Ice [kg].
    """
    dough_c = float(run.dough_c)
    rows: list[_Row] = []
    for n, i in enumerate(balance.ingredients):
        own = float(i.heat_capacity_kj_per_k) * (float(i.temperature_c) - dough_c)
        rows.append((i.name, i.mass_kg, float(i.temperature_c), own))
        melting = float(run.melting_kj.get(n, 0.0))
        rows += [
            (text, None, None, heat)
            for text, heat in (
                (f"wetting of {i.name}", float(i.wetting_heat_kj)),
                (f"dissolving of {i.name}", i.solution_heat_kj),
                (f"melting of the fat in {i.name}", melting),
            )
            if heat
        ]
    rows += [(name, kg, c, kg * _WATER * (c - dough_c)) for name, kg, c in water]
    if ice is not None and ice_kg > 0:
        heat = -ice_kg * float(ice_heat_kj_per_kg(ice, dough_c))
        rows.append(("ice", ice_kg, ice.temperature_c, heat))
    bowl_c, room_c = float(balance.bowl.temperature_c), float(balance.air.room_c)
    rows += [
        ("bowl and tool", None, bowl_c, float(run.bowl_kj)),
        ("air of the room", None, room_c, float(run.air_kj)),
    ]
    rows += [
        (f"working, {step.name}, {step.minutes:g} min", None, None, float(kj))
        for step, kj in zip(balance.steps, run.work_kj, strict=True)
        if float(kj)
    ]
    if float(run.jacket_kj):
        rows.append(("cooled mixer", None, None, float(run.jacket_kj)))
    per_k = float(balance.heat_capacity_kj_per_k)
    return tuple(BalanceTerm(n, m, c, heat, heat / per_k) for n, m, c, heat in rows)


@dataclass(frozen=True, slots=True)
class Spreads:
    """One standard deviation of what goes into a mix.

    Attributes
    ----------
    flour_sd_k, part_sd_k, water_sd_k, bowl_sd_k
        Of flour, parts, water and bowl temperature [K].
    true_ice_fraction_sd
        Of the share of the ice that is really ice.
    wetting_sd_share
        Relative, of the wetting heat; 0 once the mixing work is learned, which then holds it.
    """

    flour_sd_k: float = 1.5
    part_sd_k: float = 1.0
    water_sd_k: float = 0.5
    bowl_sd_k: float = 2.0
    true_ice_fraction_sd: float = 0.0
    wetting_sd_share: float = WETTING_SPREAD.value


@dataclass(frozen=True, slots=True)
class Effects:
    """What one standard deviation of each input, or all of the work of a speed, does [K].

    Attributes
    ----------
    by_source
        Degrees of dough per input, by plain name.
    by_step
        Degrees that 100 % more work in a step would give, by position of the step.
    """

    by_source: Mapping[str, float]
    by_step: tuple[float, ...]

    @property
    def without_work_k(self) -> float:
        """Standard deviation of the dough besides that of the mixing work [K]."""
        return float(np.sqrt(sum(k**2 for k in self.by_source.values())))


WORK_PROBE = 0.2


def dough_effects(
    balance: MixBalance, water_c: float, ice_kg: float, ice: Ice | None, spreads: Spreads
) -> Effects:
    """Return what uncertain inputs do to a dough, each moved on its own.

    Parameters
    ----------
    balance
        The mix, all its temperatures plain numbers.
    water_c, ice_kg, ice
        What the ticket says.
    spreads
        How uncertain each input is.

    Notes
    -----
    All inputs are moved in one sweep of the course, a column for each. The share of the bowl that
    follows the dough is known to a fifth, the loss to the air to 30 %, the specific heat of flour
    to 5 % (ours).
    """
    sources = ("flour", "parts", "water", "bowl", "wetting", "ice", "bowl's share", "air", "cp")
    size = 1 + len(sources) + len(balance.steps)
    shifted = _moved(balance, spreads, size)
    first_kg = balance.portions[0].water_kg if balance.portions else 0.0
    water = np.full(size, float(water_c))
    water[3] += spreads.water_sd_k
    if first_kg > ice_kg > 0:
        drier_kj = spreads.true_ice_fraction_sd * ICE_MELTING_KJ_PER_KG.value * ice_kg
        water[6] -= drier_kj / ((balance.water_kg - ice_kg) * _WATER)
    dough = np.broadcast_to(course(shifted, water, ice_kg, ice).dough_c, (size,))
    off = np.abs(dough - dough[0])
    work = (dough[1 + len(sources) :] - dough[0]) / WORK_PROBE
    return Effects(
        {name: float(off[1 + n]) for n, name in enumerate(sources)},
        tuple(float(k) for k in work),
    )


def _moved(balance: MixBalance, spreads: Spreads, size: int) -> MixBalance:
    def column(n: int, value: float) -> Numbers:
        moved = np.zeros(size)
        moved[n] = value
        return moved

    share_sd = (BOWL_SHARE.high - BOWL_SHARE.low) / 3 / BOWL_SHARE.value
    ingredients = []
    for i in balance.ingredients:
        if i.is_fresh_flour:
            ingredients.append(
                replace(
                    i,
                    temperature_c=i.temperature_c + column(1, spreads.flour_sd_k),
                    wetting_heat_kj=i.wetting_heat_kj * (1 + column(5, spreads.wetting_sd_share)),
                    specific_heat_kj_per_kg_k=i.specific_heat_kj_per_kg_k
                    * (1 + column(9, FLOUR_HEAT_SD_SHARE)),
                )
            )
        elif i.key:
            ingredients.append(
                replace(i, temperature_c=i.temperature_c + column(2, spreads.part_sd_k))
            )
        else:
            ingredients.append(i)
    vessel, air = balance.bowl, balance.air
    first = size - len(balance.steps)
    return replace(
        balance,
        ingredients=tuple(ingredients),
        bowl=replace(
            vessel,
            temperature_c=vessel.temperature_c + column(4, spreads.bowl_sd_k),
            heat_capacity_kj_per_k=vessel.heat_capacity_kj_per_k * (1 + column(7, share_sd)),
        ),
        air=replace(air, loss_w_per_k=air.loss_w_per_k * (1 + column(8, AIR_LOSS_SD_SHARE))),
        steps=tuple(
            replace(step, work_kj=step.work_kj * (1 + column(first + n, WORK_PROBE)))
            for n, step in enumerate(balance.steps)
        ),
    )

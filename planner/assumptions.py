"""What was assumed, and what it may cost: the three dearest defaults of a plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from planner.bakery import Bakery
from planner.balances import dough_balance
from planner.estimate import Estimate
from planner.formula import Formula
from planner.mixers import Speed
from planner.night import Night
from planner.options import Offer
from planner.physics.heat_balance import Ice
from planner.physics.mix_course import dough_temperature_c
from planner.plan_figures import AssumptionCost
from planner.planned import PlannedMix
from planner.tickets import FLOUR_SD_K
from planner.water_sources import SupplyKind

MINUTES_PER_KELVIN = 12.0
"""Exchange rate for ranking only: a degree of dough is worth about 12 min of a two-hour bulk."""

SHOWN = 3


@dataclass(frozen=True, slots=True)
class PlannedWith:
    """A planned mix with what it was computed from."""

    mix: PlannedMix
    offered: Offer
    start_min: float
    part_c: Mapping[str, float]


Shift = Callable[[Night], Night]


def dearest_assumptions(night: Night, planned: Iterable[PlannedWith]) -> tuple[AssumptionCost, ...]:
    """Return the three assumptions that cost a plan most, dearest first.

    Parameters
    ----------
    night
        Temperatures of the night.
    planned
        The mixes of the plan.

    Notes
    -----
    Each assumed number is moved by one standard deviation and each mix computed again with the
    water it was given; the largest change of any dough counts.
    """
    mixes = list(planned)
    costs = [
        *mixer_costs(night, mixes),
        *bakery_costs(night, mixes),
        *flour_costs(night, mixes),
        *tap_costs(night, mixes),
        *clock_costs(mixes),
        *bench_costs(night, mixes),
    ]
    costs = [c for c in costs if c.effect_k > 0.02 or c.effect_min > 0.5]
    return tuple(sorted(costs, key=_weight, reverse=True)[:SHOWN])


def _weight(cost: AssumptionCost) -> float:
    return max(cost.effect_k, cost.effect_min / MINUTES_PER_KELVIN)


def dough_c_with(night: Night, planned: PlannedWith, *, flour_offset_k: float = 0.0) -> float:
    """Return the dough temperature of a mix when its water stays but the night differs [°C]."""
    mixer = night.day.bakery.mixer(planned.mix.mixer_id)
    balance = dough_balance(
        night,
        planned.offered.batch,
        mixer,
        planned.start_min,
        planned.part_c,
        planned.mix.steered.bowl_c,
    )
    if flour_offset_k:
        balance = replace(
            balance,
            ingredients=tuple(
                replace(i, temperature_c=i.temperature_c + flour_offset_k)
                if i.is_fresh_flour
                else i
                for i in balance.ingredients
            ),
        )
    ticket = planned.mix.ticket
    made = night.day.bakery.ice
    ice = Ice(made.temperature_c.value, made.true_ice_fraction.value) if made else None
    return float(dough_temperature_c(balance, ticket.water_c or 0.0, ice_kg=ticket.ice_kg, ice=ice))


def _largest_effect(night: Night, mixes: list[PlannedWith], shifted: Night) -> tuple[float, float]:
    """Return the largest change of a dough [K], and what it means for its ripe time [min]."""
    effects = [
        (abs(dough_c_with(shifted, p) - dough_c_with(night, p)), p.mix.minutes_per_degree)
        for p in mixes
    ]
    return _largest(effects)


def _largest(effects: Iterable[tuple[float, float]]) -> tuple[float, float]:
    worst = max(effects, default=(0.0, 0.0))
    return worst[0], worst[0] * worst[1]


def _cost(
    name: str, estimate: Estimate, unit: str, effects: tuple[float, float], remedy: str
) -> AssumptionCost:
    return AssumptionCost(
        name, estimate.value, unit, estimate.basis, effects[0], effects[1], remedy
    )


def mixer_costs(night: Night, mixes: list[PlannedWith]) -> list[AssumptionCost]:
    """Return the cost of the assumed mixing work, bowl and air of each mixer in use."""
    costs = []
    for mixer in night.day.bakery.mixers:
        here = [p for p in mixes if p.mix.mixer_id == mixer.id]
        learned = night.corrections.of_mixer(mixer.id)
        read = () if learned is None else learned.speeds
        guessed = {s: e for s, e in mixer.work_kj_per_kg_min.items() if s not in read}
        work = mixer.work_kj_per_kg_min | {
            s: replace(e, value=e.value + e.sd) for s, e in guessed.items() if e.is_assumed
        }
        if not here or work == mixer.work_kj_per_kg_min:
            continue
        shifted = _with_bakery(night, _replace_mixer(night.day.bakery, mixer.id, work))
        dearest = max(guessed.values(), key=lambda e: e.sd)
        costs.append(
            _cost(
                f"mixing work of {mixer.name}",
                dearest,
                "kJ/kg min",
                _largest_effect(night, here, shifted),
                f"read the dough temperature when it comes off {mixer.name}",
            )
        )
    return costs


def _replace_mixer(bakery: Bakery, mixer_id: str, work: dict[Speed, Estimate]) -> Bakery:
    return replace(
        bakery,
        mixers=tuple(
            replace(m, work_kj_per_kg_min=work) if m.id == mixer_id else m for m in bakery.mixers
        ),
    )


def bakery_costs(night: Night, mixes: list[PlannedWith]) -> list[AssumptionCost]:
    """Return the cost of assumed temperatures of the house and of assumed flour moisture."""
    costs = []
    bakery = night.day.bakery
    if bakery.cold_store_c.is_assumed:
        cold = replace(
            bakery.cold_store_c, value=bakery.cold_store_c.value + bakery.cold_store_c.sd
        )
        effects = _largest_effect(
            night, mixes, _with_bakery(night, replace(bakery, cold_store_c=cold))
        )
        costs.append(
            _cost(
                "temperature of the cold store",
                bakery.cold_store_c,
                "°C",
                effects,
                "read the thermometer of the cold store",
            )
        )
    for store in bakery.flour_stores:
        if store.moisture_fraction.is_assumed:
            wet = replace(
                store.moisture_fraction,
                value=store.moisture_fraction.value - store.moisture_fraction.sd,
            )
            stores = tuple(
                replace(s, moisture_fraction=wet) if s.id == store.id else s
                for s in bakery.flour_stores
            )
            effects = _largest_effect(
                night, mixes, _with_bakery(night, replace(bakery, flour_stores=stores))
            )
            costs.append(
                _cost(
                    f"moisture of the flour in {store.name}",
                    store.moisture_fraction,
                    "of its weight",
                    effects,
                    "take it from the mill's sheet",
                )
            )
    return costs


def flour_costs(night: Night, mixes: list[PlannedWith]) -> list[AssumptionCost]:
    """Return the cost of a flour temperature that follows the room forecast unread."""
    unread = [s for s in night.day.bakery.flour_stores if s.id not in night.conditions.flour_c]
    if not unread or not mixes:
        return []
    effects = _largest(
        (
            abs(dough_c_with(night, p, flour_offset_k=FLOUR_SD_K) - dough_c_with(night, p)),
            p.mix.minutes_per_degree,
        )
        for p in mixes
    )
    first = mixes[0]
    value = float(night.flour_c(unread[0], np.asarray(first.start_min)))
    estimate = Estimate.entered_or(None, value, FLOUR_SD_K, "follows the room forecast")
    return [
        _cost("flour temperature", estimate, "°C", effects, "read the flour before the first mix")
    ]


def tap_costs(night: Night, mixes: list[PlannedWith]) -> list[AssumptionCost]:
    """Return the cost of a tap that was not read and is taken from its season."""
    tap = night.supply(SupplyKind.TAP)
    if tap is None or not (known := night.supply_c(tap)).is_assumed:
        return []
    effects = _largest(
        (known.sd * p.mix.ticket.dough_per_water_k, p.mix.minutes_per_degree) for p in mixes
    )
    return [_cost(f"temperature of the {tap.name}", known, "°C", effects, f"read the {tap.name}")]


def clock_costs(mixes: list[PlannedWith]) -> list[AssumptionCost]:
    """Return the cost of an assumed exponent of each fermentation curve."""
    costs: dict[str, AssumptionCost] = {}
    for p in mixes:
        formula: Formula = p.offered.batch.formula
        exponent = formula.bulk.exponent
        if not exponent.is_assumed:
            continue
        effect_min = _exponent_effect_min(p)
        before = costs.get(formula.id)
        if before is None or before.effect_min < effect_min:
            costs[formula.id] = AssumptionCost(
                f"how {formula.name} answers to temperature",
                exponent.value,
                "(power of its curve)",
                exponent.basis,
                0.0,
                effect_min,
                "tick young, right or over when it is divided",
            )
    return list(costs.values())


def _exponent_effect_min(p: PlannedWith) -> float:
    rise = p.offered.bulk
    steeper = replace(
        rise,
        ripening=replace(
            rise.ripening,
            exponent=replace(
                rise.ripening.exponent,
                value=rise.ripening.exponent.value + rise.ripening.exponent.sd,
            ),
        ),
    )
    mix_end = p.start_min + p.offered.batch.formula.mix_min
    ripe = [
        float(np.asarray(r.window(r.path(mix_end, p.mix.ticket.expected_c))[1]).reshape(-1)[0])
        for r in (rise, steeper)
    ]
    return abs(ripe[1] - ripe[0]) if np.all(np.isfinite(ripe)) else 0.0


def bench_costs(night: Night, mixes: list[PlannedWith]) -> list[AssumptionCost]:
    """Return the cost of assumed minutes of dividing and shaping per piece."""
    costs = []
    for product_id in {p.mix.product_id for p in mixes if p.mix.product_id is not None}:
        here = [p for p in mixes if p.mix.product_id == product_id]
        product = night.day.product(product_id)
        if product.shape_min_per_piece.is_assumed:
            most = max(p.mix.pieces for p in here)
            costs.append(
                AssumptionCost(
                    f"shaping time per piece of {product.name}",
                    product.shape_min_per_piece.value,
                    "min a piece",
                    product.shape_min_per_piece.basis,
                    0.0,
                    most * product.shape_min_per_piece.sd,
                    "write down when shaping starts and ends",
                )
            )
    return sorted(costs, key=lambda c: c.name)


def _with_bakery(night: Night, bakery: Bakery) -> Night:
    return Night(replace(night.day, bakery=bakery), night.conditions, night.corrections)

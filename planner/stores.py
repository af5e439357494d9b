"""Ice and chilled water over the night: what one mix may take more without robbing another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.night import Night
from planner.options import Allowance
from planner.planned import Plan
from planner.planned_preparation import PlannedPreparation
from planner.water_sources import SupplyKind
from planner.water_ticket import (
    WaterLine,
)


@dataclass(frozen=True, slots=True)
class Use:
    """What is taken for a mix or a preparation at a minute [min, kg]."""

    subject: str
    minute: float
    kg: float


@dataclass(frozen=True, slots=True)
class Stock:
    """A store: what is in it at the start, what comes in, and what it holds [kg, kg/min, kg]."""

    start_kg: float
    rate_kg_per_min: float
    room_kg: float


def ice_stock(night: Night) -> Stock:
    """Return the ice of the house."""
    made = night.day.bakery.ice
    if made is None:
        return Stock(0.0, 0.0, 0.0)
    start_kg = min(night.conditions.ice_stored_kg, made.bin_kg)
    return Stock(start_kg, made.make_kg_per_h / 60, made.bin_kg)


def chilled_stock(night: Night) -> Stock:
    """Return the chiller's tank, full at the start."""
    chiller = night.supply(SupplyKind.CHILLER)
    if chiller is None:
        return Stock(0.0, 0.0, 0.0)
    tank_kg = chiller.tank_kg or 0.0
    return Stock(tank_kg, (chiller.recovery_kg_per_h or 0.0) / 60, tank_kg)


def spare_kg(stock: Stock, uses: Iterable[Use]) -> dict[str, float]:
    """Return what each use could take more, all others keeping theirs [kg].

    Notes
    -----
    More taken now lowers every level from now on by at most as much, so the lowest level from
    its own use to the end is what is spare. Negative where a use takes more than there is by then.

    Examples
    --------
    >>> uses = [Use("early", 0.0, 2.0), Use("late", 60.0, 3.0)]
    >>> spare_kg(Stock(4.0, 0.05, 10.0), uses)
    {'early': 2.0, 'late': 2.0}
    """
    level, clock = stock.start_kg, 0.0
    levels: list[tuple[str, float]] = []
    for use in sorted(uses, key=lambda u: (u.minute, u.subject)):
        arrived = stock.rate_kg_per_min * max(0.0, use.minute - clock)
        level, clock = min(stock.room_kg, level + arrived) - use.kg, use.minute
        levels.append((use.subject, level))
    spare: dict[str, float] = {}
    lowest = float("inf")
    for subject, after in reversed(levels):
        lowest = min(lowest, after)
        spare[subject] = max(0.0, lowest) if after >= 0 else after
    return {subject: spare[subject] for subject, _ in levels}


def left_kg(stock: Stock, uses: Iterable[Use], minute: float) -> float:
    """Return what is in a store at a minute, after everything taken until then [kg].

    Examples
    --------
    >>> left_kg(Stock(8.0, 0.05, 8.0), [Use("levain", 0.0, 5.0), Use("later", 90.0, 2.0)], 60.0)
    6.0
    """
    level, clock = stock.start_kg, 0.0
    for use in sorted(uses, key=lambda u: u.minute):
        if use.minute > minute:
            break
        level = min(stock.room_kg, level + stock.rate_kg_per_min * max(0.0, use.minute - clock))
        level, clock = level - use.kg, max(clock, use.minute)
    level += stock.rate_kg_per_min * max(0.0, minute - clock)
    return max(0.0, min(stock.room_kg, level))


def chilled_kg(water: Sequence[WaterLine]) -> float:
    """Return the chilled water among some lines [kg]."""
    return sum(line.water_kg for line in water if line.kind is SupplyKind.CHILLER)


def allowances(night: Night, ice: Iterable[Use], chilled: Iterable[Use]) -> Mapping[str, Allowance]:
    """Return the most each use may come to: its own, and what is spare [kg]."""
    ice, chilled = list(ice), list(chilled)
    spare_ice, spare_chilled = (
        spare_kg(stock, uses)
        for stock, uses in ((ice_stock(night), ice), (chilled_stock(night), chilled))
    )
    own_ice = {use.subject: use.kg for use in ice}
    own_chilled = {use.subject: use.kg for use in chilled}
    return {
        subject: Allowance(
            max(0.0, own_ice[subject] + spare_ice[subject]),
            max(0.0, own_chilled.get(subject, 0.0) + spare_chilled.get(subject, 0.0)),
        )
        for subject in own_ice
    }


def planned_allowances(night: Night, plan: Plan) -> Mapping[str, Allowance]:
    """Return what each mix of a plan may take, given what all others were told to take."""
    minute = plan.day.minute
    ice = [Use(m.id, minute(m.start_utc), m.ticket.ice_kg) for m in plan.mixes]
    ice += [Use(p.id, minute(p.start_utc), p.ice_kg) for p in plan.preparations]
    chilled = [Use(m.id, minute(m.start_utc), chilled_kg(m.ticket.water)) for m in plan.mixes]
    chilled += [use for p in plan.preparations for use in chilled_uses(night, p)]
    return allowances(night, ice, chilled)


def chilled_uses(night: Night, preparation: PlannedPreparation) -> list[Use]:
    """Return what a preparation takes from the chiller, build by build."""
    return [
        Use(
            f"{preparation.id} {n}" if n else preparation.id,
            night.day.minute(at),
            chilled_kg(water),
        )
        for n, (at, water) in enumerate(preparation.draws)
    ]

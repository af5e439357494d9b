"""The baker's own number beside ours, and where the gap comes from.

The sum of the trade gives every temperature the same weight. The balance does not. From the mild
day on which such a sum is tuned to the day of the mix, each temperature is moved in turn, in the
sum and in the balance; what the two make of it differently is its part of the gap, and the parts
add up to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from planner.batches import Batch
from planner.constants import BOWL_SHARE
from planner.hand_sum import HandSum, SumKind, water_by_sum_c
from planner.physics.heat_balance import Degrees, MixBalance
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import equivalent_water_c
from planner.remarks import Remark, RemarkKind, difference, word
from planner.water_ticket import SumBeside

MILD_DAY_C = 22.0
"""Flour, bowl and room temperature of the day on which a sum is taken to be tuned [°C]."""

WORTH_SAYING_K = 0.5
"""A part of the gap smaller than this needs no sentence [K]."""

MOST_REASONS = 3


@dataclass(frozen=True, slots=True)
class GapPart:
    """A part of the gap between a sum's water and the balance's: the sum's less ours [K]."""

    what: str
    gap_k: float


def sum_beside(
    batch: Batch, balance: MixBalance, dough_c: float, water_c: float
) -> SumBeside | None:
    """Return the baker's own sum for a mix, or one tuned on a mild day when none was entered.

    Parameters
    ----------
    batch, balance
        The mix, all its temperatures plain numbers.
    dough_c
        Desired dough temperature [°C].
    water_c
        What the balance asks for, an energy number [°C].

    Returns
    -------
    SumBeside or None
        None without water or fresh flour, and for a dough with parts whose baker states no sum.
    """
    if balance.water_kg <= 0 or flour_c_of(balance) is None:
        return None
    stated = batch.formula.hand_sum
    if stated is None and batch.formula.parts:
        return None
    own = stated or tuned(balance, dough_c)
    by_sum_c = _by_sum(own, balance, dough_c)
    # The dough moves with its water by the slope between our water and the sum's.
    got_c = float(dough_temperature_c(balance, by_sum_c))
    return SumBeside(str(own.kind), stated is not None, by_sum_c, got_c, water_c)


def tuned(balance: MixBalance, dough_c: float) -> HandSum:
    """Return the three-term sum whose friction makes it right on a mild day, and is then kept."""
    mild = on_a_mild_day(balance)
    friction_k = 3 * dough_c - 2 * MILD_DAY_C - float(equivalent_water_c(mild, dough_c))
    return HandSum(SumKind.FRICTION, min(36.0, max(-5.0, friction_k)))


def gap_parts(
    batch: Batch, balance: MixBalance, dough_c: float, own: HandSum
) -> tuple[GapPart, ...]:
    """Return the gap between a sum's water and the balance's, part by part; they add up to it.

    Parameters
    ----------
    batch, balance, dough_c
        The mix and its desired dough temperature [°C].
    own
        The sum.

    Notes
    -----
    Steps from the mild day to the day of the mix: flour, then room and bowl, then each part. The
    first part of the gap is what is left on the mild day itself: other hydration, minutes or batch
    than the one the sum was tuned with.
    """
    states = [("tuning", on_a_mild_day(balance))]
    flour = {i.name: i.temperature_c for i in balance.ingredients if i.is_fresh_flour}
    states.append(("flour", _with(states[-1][1], flour)))
    room = states[-1][1]
    dry = {
        i.name: i.temperature_c for i in balance.ingredients if not i.key and i.name not in flour
    }
    room = replace(_with(room, dry), air=balance.air, bowl=balance.bowl)
    states.append(("room", room))
    for part in batch.formula.parts:
        own_c = {i.name: i.temperature_c for i in balance.ingredients if i.key == part.id}
        states.append((part.name, _with(states[-1][1], own_c)))
    gaps = [
        _by_sum(own, state, dough_c) - float(equivalent_water_c(state, dough_c))
        for _, state in states
    ]
    return tuple(
        GapPart(name, gap - (gaps[n - 1] if n else 0.0))
        for n, ((name, _), gap) in enumerate(zip(states, gaps, strict=True))
    )


def gap_remarks(
    batch: Batch, balance: MixBalance, dough_c: float, own: HandSum
) -> tuple[Remark, ...]:
    """Return why a sum's water is not ours, the largest reason first, at most three."""
    total = float(balance.heat_capacity_kj_per_k) + float(
        np.asarray(balance.bowl.heat_capacity_kj_per_k)
    )
    parts = sorted(gap_parts(batch, balance, dough_c, own), key=lambda p: -abs(p.gap_k))
    remarks = []
    for part in parts[:MOST_REASONS]:
        if abs(part.gap_k) < WORTH_SAYING_K:
            continue
        text = _TEXTS.get(
            part.what, "{what} weighs {weight} of the dough's heat, in your sum {share}: {gap}."
        )
        figures = (
            difference("gap", part.gap_k),
            word("what", part.what),
            word("weight", f"{100 * _weight(balance, part.what, total):.0f} %"),
            word("share", _share(own, part.what)),
        )
        used = tuple(f for f in figures if f"{{{f.name}}}" in text)
        remarks.append(Remark(RemarkKind.NOTE, "hand_sum_gap", text, used, batch.id))
    return tuple(remarks)


_TEXTS = {
    "tuning": "On a mild day already your number and this dough differ: {gap}.",
    "flour": "Flour weighs {weight} of the dough's heat, in your sum {share}: {gap}.",
    "room": "Room and bowl weigh {weight} of the dough's heat, in your sum {share}: {gap}.",
}


def _share(own: HandSum, what: str) -> str:
    inside = what == "flour" or own.kind is not SumKind.TWO_TERMS
    if what not in ("flour", "room") and not own.part_id:
        inside = False
    return f"one of {own.terms} alike" if inside else "nothing"


def _weight(balance: MixBalance, what: str, total: float) -> float:
    if what == "room":
        own = BOWL_SHARE.value * float(np.asarray(balance.bowl.heat_capacity_kj_per_k))
        own += 0.06 * float(np.asarray(balance.air.loss_w_per_k)) * balance.minutes
        return own / total
    chosen = [
        i for i in balance.ingredients if (i.is_fresh_flour if what == "flour" else i.name == what)
    ]
    return sum(float(i.heat_capacity_kj_per_k) for i in chosen) / total


def on_a_mild_day(balance: MixBalance) -> MixBalance:
    """Return a mix with everything at the temperature of a mild day."""
    return replace(
        balance,
        ingredients=tuple(replace(i, temperature_c=MILD_DAY_C) for i in balance.ingredients),
        air=replace(balance.air, room_c=MILD_DAY_C),
        bowl=replace(balance.bowl, temperature_c=MILD_DAY_C),
    )


def flour_c_of(balance: MixBalance) -> float | None:
    """Return the temperature of the fresh flour of a mix [°C]; None when it has none."""
    flour = [i for i in balance.ingredients if i.is_fresh_flour]
    if not flour:
        return None
    return sum(i.mass_kg * float(i.temperature_c) for i in flour) / sum(i.mass_kg for i in flour)


def _by_sum(own: HandSum, balance: MixBalance, dough_c: float) -> float:
    flour_c = flour_c_of(balance)
    room_c = float(np.asarray(balance.air.room_c))
    parts = [float(i.temperature_c) for i in balance.ingredients if i.key == own.part_id != ""]
    return water_by_sum_c(
        own, dough_c, MILD_DAY_C if flour_c is None else flour_c, [room_c, *parts]
    )


def _with(balance: MixBalance, temperatures: Mapping[str, Degrees]) -> MixBalance:
    return replace(
        balance,
        ingredients=tuple(
            replace(i, temperature_c=temperatures[i.name]) if i.name in temperatures else i
            for i in balance.ingredients
        ),
    )

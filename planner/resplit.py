"""A line that is split anew in the course of a night: a mixer is out, or an order is another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from planner.bakery import Bakery
from planner.batches import Batch, batches_of, order_dough_kg, shares_of
from planner.begun import Begun
from planner.day import Day, MixRequest, Order, Share, Split
from planner.formula import Formula
from planner.mixers import MixerKind
from planner.product import Product

LEAST_KG = 0.05
"""Less dough than this is not worth a mix [kg]."""


def with_rest_split(
    day: Day,
    before: Day,
    begun: Mapping[str, Begun],
    down: frozenset[str],
    by_hand: frozenset[str] = frozenset(),
) -> Day:
    """Return the day with what has not begun split among the mixers that run.

    Parameters
    ----------
    day
        The day with its late orders.
    before
        The day as the plan in force has it.
    begun
        What has begun, by mix id.
    down
        Mixers that are out of order until further notice.
    by_hand
        Lines of which what is left is mixed by hand.

    Notes
    -----
    A line stays as it is while each of its mixes to come has a mixer that runs and the order is
    the same. What has begun stays as it is in any case.
    """
    running = tuple(m for m in day.bakery.mixers if m.id not in down)
    if not running:
        return day
    bakery = replace(day.bakery, mixers=running)
    hands = tuple(m for m in running if m.kind is MixerKind.HAND)
    old_lines = {line.id: line for line in before.lines}
    splits = {split.line_id: split for split in day.splits}
    for line in day.lines:
        mine = [one for one in begun.values() if one.mix.line_id == line.id]
        alone = replace(day, lines=(line,), splits=tuple(splits.values()))
        to_come = [b for b in batches_of(alone) if b.id not in begun]
        other_order = bool(mine) and line != old_lines.get(line.id)
        without = [b for b in to_come if not any(m.id not in down for m in b.mixers)]
        healed = line.id in splits and not mine and line.id not in by_hand
        if healed:  # nothing of it has begun: split as from new, if the mixers for that run again
            bare = replace(alone, splits=tuple(s for s in splits.values() if s.line_id != line.id))
            if all(any(m.id not in down for m in b.mixers) for b in batches_of(bare)):
                del splits[line.id]
                continue
        if not (other_order or without or line.id in by_hand):
            continue
        house = replace(bakery, mixers=hands) if line.id in by_hand and hands else bakery
        splits[line.id] = _split(alone, house, line, mine, to_come, other_order=other_order)
    return replace(day, splits=tuple(splits.values()))


def _split(
    day: Day,
    house: Bakery,
    line: Order | MixRequest,
    begun: Sequence[Begun],
    to_come: Sequence[Batch],
    *,
    other_order: bool,
) -> Split:
    formula, product = _made(day, line)
    kept = [_share(one) for one in begun]
    left_kg, pieces = sum(b.dough_kg for b in to_come), sum(b.pieces for b in to_come)
    if other_order:
        left_kg, pieces = _wanted(line, product)
        left_kg -= sum(share.dough_kg for share in kept)
        pieces -= sum(share.pieces for share in kept)
    if left_kg <= LEAST_KG or (product is not None and pieces <= 0):
        return Split(line.id, tuple(kept))
    taken = [share.id for share in kept]
    rest = shares_of(house, line, formula, product, (left_kg, max(0, pieces)), taken)
    return Split(line.id, (*kept, *rest))


def _made(day: Day, line: Order | MixRequest) -> tuple[Formula, Product | None]:
    product = None if line.product_id is None else day.product(line.product_id)
    formula_id = line.formula_id if isinstance(line, MixRequest) else None
    if formula_id is None and product is not None:
        formula_id = product.formula_id
    return day.formula(str(formula_id)), product


def _wanted(line: Order | MixRequest, product: Product | None) -> tuple[float, int]:
    if isinstance(line, Order) and product is not None:
        return order_dough_kg(product, line.pieces), line.pieces
    kg = line.dough_kg if isinstance(line, MixRequest) else 0.0
    return kg, 0 if product is None else int(kg / order_dough_kg(product, 1) + 1e-9)


def _share(one: Begun) -> Share:
    mix = one.mix
    return Share(mix.id, mix.pieces, mix.dough_kg, (mix.mixer_id,))

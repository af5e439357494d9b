"""A line that is split anew in the course of a night: a mixer is out, or an order is another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from planner.bakery import Bakery
from planner.batches import Batch, batches_of, counted_once, rest_shares, settled_alternatives
from planner.begun import Begun
from planner.day import Day, Share, Split
from planner.mixers import MixerKind
from planner.wanted import Wanted, wanted_of

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
    the same. What has begun stays as it is in any case, and so do orders that are mixed together.
    """
    running = tuple(m for m in day.bakery.mixers if m.id not in down)
    if not running:
        return day
    bakery = replace(day.bakery, mixers=running)
    hands = tuple(m for m in running if m.kind is MixerKind.HAND)
    old_lines = {line.id: line for line in before.lines}
    splits = {split.line_id: split for split in day.splits}
    together = {p.line_id for w in wanted_of(day) if w.is_merged for p in w.lots}
    for line in (line for line in day.lines if line.id not in together):
        mine = [one for one in begun.values() if one.mix.line_id == line.id]
        alone = replace(day, lines=(line,), splits=tuple(splits.values()))
        in_play = counted_once(settled_alternatives(batches_of(alone), set(begun)))
        to_come = [b for b in in_play if b.id not in begun]
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
        (wanted,) = wanted_of(alone)
        splits[line.id] = _split(house, wanted, mine, to_come, other_order=other_order)
    return replace(day, splits=tuple(splits.values()))


def _split(
    house: Bakery,
    wanted: Wanted,
    begun: Sequence[Begun],
    to_come: Sequence[Batch],
    *,
    other_order: bool,
) -> Split:
    kept = [_share(one) for one in begun]
    left_kg, pieces = sum(b.dough_kg for b in to_come), sum(b.pieces for b in to_come)
    if other_order:
        left_kg = wanted.total_kg - sum(share.dough_kg for share in kept)
        pieces = wanted.pieces - sum(share.pieces for share in kept)
    if left_kg <= LEAST_KG or (wanted.lots and pieces <= 0):
        return Split(wanted.line_id, tuple(kept))
    taken = [share.id for share in kept]
    rest = rest_shares(house, wanted, (left_kg, max(0, pieces)), taken)
    return Split(wanted.line_id, (*kept, *rest))


def _share(one: Begun) -> Share:
    mix = one.mix
    return Share(mix.id, mix.pieces, mix.dough_kg, (mix.mixer_id,))

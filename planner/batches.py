"""From the mix list to bowls: dough weights, and mixes that fit a mixer and an oven.

An order of pieces becomes dough by scaling weight and handling loss. Orders of one dough that leave
near each other are mixed together where the house does so. What is wanted is then split into as few
equal mixes as its largest mixer allows, and further into mixes that one oven takes at once, as long
as each still fills a mixer; otherwise a mix is baked in several loads.

A mixer takes less of a stiff dough, of one with strong flour, and of a cold mix. Where that makes
it more mixes when they are cold, both are kept as alternatives, and the search picks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from planner.bakery import Bakery, OvenKind
from planner.day import BulkWindow, Day, ReadyWindow, Share
from planner.errors import refuse
from planner.formula import Formula
from planner.mixer_loads import WITHIN_KG, choose_mixers, mixers_for, most_dough_kg
from planner.mixers import Mixer, MixerKind
from planner.product import Product
from planner.wanted import Lot, Wanted, shares_of, split, wanted_of

ENDLESS = 10**9
"""More pieces than any belt is ever given."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One bowl of dough to be planned.

    Attributes
    ----------
    id
        Line id and batch number.
    product
        What becomes of it; of several products that which leaves first.
    pieces
        Pieces it gives; 0 when the plan ends at the divide.
    dough_kg, flour_kg
        Weight of dough and of total flour [kg].
    mixers
        Mixers that fit, at least while it is not cold.
    loads_pieces
        Pieces of each oven load.
    load_lots
        The order each oven load is of, where the mix gives several products; else none.
    alternative
        To which of the alternatives for its dough it belongs; exactly one of them is made.
    overload_signed_by
        Who answers for it if it is more than its mixer takes.
    further_mixes
        How many mixes more its alternative has than the shortest one.
    """

    id: str
    line_id: str
    formula: Formula
    product: Product | None
    batch: int
    batches: int
    pieces: int
    dough_kg: float
    flour_kg: float
    mixers: tuple[Mixer, ...]
    loads_pieces: tuple[int, ...]
    leave_by: datetime | None
    priority: int
    window: BulkWindow | ReadyWindow | None
    load_lots: tuple[Lot, ...] = ()
    alternative: int = 0
    overload_signed_by: str = ""
    further_mixes: int = 0

    def kg(self, percent: float) -> float:
        """Return the weight of a baker's percent in this batch [kg]."""
        return self.flour_kg * percent / 100

    @property
    def loads(self) -> tuple[Lot, ...]:
        """Its oven loads, each with its product and the order it is of."""
        if self.load_lots and self.loads_pieces:
            return self.load_lots
        if self.product is None:
            return ()
        return tuple(
            Lot(self.line_id, self.product, pieces, self.leave_by, self.priority)
            for pieces in self.loads_pieces
        )

    @property
    def lots(self) -> tuple[Lot, ...]:
        """What it gives, order by order; none when the plan ends at the divide."""
        if not self.load_lots:
            if self.product is None:
                return ()
            only = Lot(self.line_id, self.product, self.pieces, self.leave_by, self.priority)
            return (only,)
        pieces: dict[str, int] = {}
        for load in self.load_lots:
            pieces[load.line_id] = pieces.get(load.line_id, 0) + load.pieces
        firsts = {load.line_id: load for load in reversed(self.load_lots)}
        return tuple(replace(firsts[line], pieces=count) for line, count in pieces.items())

    @property
    def products(self) -> tuple[Product, ...]:
        """The products it gives, each once."""
        return tuple({lot.product.id: lot.product for lot in self.lots}.values())

    def first_route(self, product: Product) -> int:
        """Return where a product's ways to proof begin among those of all its products."""
        at = 0
        for one in self.products:
            if one.id == product.id:
                return at
            at += len(one.routes)
        return 0


def mix_name(dough: str, batch: int, batches: int) -> str:
    """Return what a mix is called: its dough, with its number where a line has several.

    Examples
    --------
    >>> mix_name("rye dough", 1, 1), mix_name("rye dough", 2, 3)
    ('rye dough', 'rye dough 2 of 3')
    """
    return dough if batches == 1 else f"{dough} {batch} of {batches}"


def batches_of(day: Day) -> tuple[Batch, ...]:
    """Turn the mix list into mixes, those of every alternative included.

    Parameters
    ----------
    day
        The production day.

    Returns
    -------
    tuple of Batch
        In the order of the mix list.

    Raises
    ------
    InputError
        If somebody wants mixes that no mixer takes and nobody signs for.
    """
    return tuple(batch for wanted in wanted_of(day) for batch in _batches(day, wanted))


def alternatives_of(batches: Iterable[Batch]) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """Return the alternatives for each dough that has several, as ids of mixes."""
    found: dict[str, dict[int, list[str]]] = {}
    for batch in batches:
        found.setdefault(batch.line_id, {}).setdefault(batch.alternative, []).append(batch.id)
    return tuple(
        tuple(tuple(ids) for ids in groups.values()) for groups in found.values() if len(groups) > 1
    )


def settled_alternatives(batches: Sequence[Batch], made: Collection[str]) -> tuple[Batch, ...]:
    """Return the mixes without those of alternatives that are out of play.

    Parameters
    ----------
    batches
        Mixes of a day.
    made
        Ids of mixes that are made, or that somebody has fixed something about.
    """
    gone = {(b.line_id, b.alternative) for b in batches if b.id in made}
    settled = {line_id for line_id, _ in gone}
    return tuple(
        b for b in batches if b.line_id not in settled or (b.line_id, b.alternative) in gone
    )


def counted_once(batches: Sequence[Batch]) -> tuple[Batch, ...]:
    """Return the mixes of one alternative for each dough: together they are all of it, once."""
    first: dict[str, int] = {}
    for batch in batches:
        first.setdefault(batch.line_id, batch.alternative)
    return tuple(b for b in batches if b.alternative == first[b.line_id])


def _batches(day: Day, wanted: Wanted) -> list[Batch]:
    """Return the mixes of every alternative for what is wanted: as few as if warm, as if cold."""
    shares = next((s.shares for s in day.splits if s.line_id == wanted.line_id), None)
    if shares is not None:
        return [_shared(day, wanted, shares, index) for index in range(len(shares))]
    fitting = mixers_for(day.bakery, wanted.formula)
    counts = [_mix_count(day.bakery, fitting, wanted, cold=cold) for cold in (False, True)]
    return [
        replace(batch, further_mixes=count - counts[0])
        for index, count in enumerate(dict.fromkeys(counts))
        for batch in _one_alternative(day, wanted, fitting, index, count)
    ]


def _one_alternative(
    day: Day, wanted: Wanted, fitting: tuple[Mixer, ...], alternative: int, count: int
) -> list[Batch]:
    shares = shares_of(wanted, count)
    found = []
    for index, share in enumerate(shares):
        dough_kg = wanted.total_kg / count
        if wanted.pieces:
            whole_kg = sum(lot.dough_kg for lot in wanted.lots)
            dough_kg = wanted.total_kg * sum(p.dough_kg for p in share) / whole_kg
        batch_id = wanted.line_id if count == 1 else f"{wanted.line_id}-{index + 1}"
        if alternative > 0:  # beside those of the first
            batch_id = f"{wanted.line_id}-{index + 1}of{count}"
        found.append(
            _one_batch(day, wanted, fitting, (batch_id, alternative, index, count), share, dough_kg)
        )
    return found


def _one_batch(
    day: Day,
    wanted: Wanted,
    fitting: tuple[Mixer, ...],
    place: tuple[str, int, int, int],
    share: Sequence[Lot],
    dough_kg: float,
) -> Batch:
    batch_id, alternative, index, count = place
    formula, bakery = wanted.formula, day.bakery
    loads = [
        replace(lot, pieces=pieces)
        for lot in share
        for pieces in _loads(bakery, lot.product, lot.pieces)
    ]
    leave_by = wanted.leave_by if not share else share[0].leave_by
    hands = tuple(m for m in bakery.mixers if m.kind is MixerKind.HAND)
    batch = Batch(
        id=batch_id,
        line_id=wanted.line_id,
        formula=formula,
        product=share[0].product if share else None,
        batch=index + 1,
        batches=count,
        pieces=sum(lot.pieces for lot in share),
        dough_kg=dough_kg,
        flour_kg=dough_kg / formula.total_percent * 100,
        mixers=choose_mixers(fitting, dough_kg, formula, hands),
        loads_pieces=tuple(load.pieces for load in loads),
        leave_by=leave_by,
        priority=wanted.priority,
        window=wanted.window,
        load_lots=tuple(loads) if wanted.is_merged else (),
        alternative=alternative,
        overload_signed_by=wanted.signed_by,
    )
    _check_load(batch, wanted)
    return batch


def _shared(day: Day, wanted: Wanted, shares: Sequence[Share], index: int) -> Batch:
    """Return a mix of a line that is split otherwise than by what its mixers hold."""
    share = shares[index]
    product = wanted.lots[0].product if wanted.lots else None
    loads = () if product is None else _loads(day.bakery, product, share.pieces)
    return Batch(
        id=share.id,
        line_id=wanted.line_id,
        formula=wanted.formula,
        product=product,
        batch=index + 1,
        batches=len(shares),
        pieces=share.pieces,
        dough_kg=share.dough_kg,
        flour_kg=share.dough_kg / wanted.formula.total_percent * 100,
        mixers=tuple(day.bakery.mixer(m) for m in share.mixer_ids),
        loads_pieces=loads,
        leave_by=wanted.leave_by,
        priority=wanted.priority,
        window=wanted.window,
        overload_signed_by=wanted.signed_by,
    )


def rest_shares(
    bakery: Bakery, wanted: Wanted, left: tuple[float, int], taken: Collection[str]
) -> tuple[Share, ...]:
    """Split what is left of a line into mixes for the mixers of a bakery.

    Parameters
    ----------
    bakery
        With the mixers that run.
    wanted
        The line.
    left
        Dough [kg] and pieces that are still to be mixed.
    taken
        Ids of its mixes that have begun.
    """
    left_kg, pieces = left
    lots = tuple(replace(p, pieces=pieces) for p in wanted.lots)
    rest = replace(wanted, total_kg=left_kg, lots=lots, mixes=None)
    fitting = mixers_for(bakery, wanted.formula)
    hands = tuple(m for m in bakery.mixers if m.kind is MixerKind.HAND)
    count = _mix_count(bakery, fitting, rest, cold=False)
    ids = [f"{wanted.line_id}-{n}" for n in range(1, count + len(taken) + 2)]
    if count == 1 and not taken:
        ids = [wanted.line_id]
    counts = split(pieces, count)
    kgs = [left_kg * n / pieces if pieces else left_kg / count for n in counts]
    free = [one for one in ids if one not in taken]
    return tuple(
        Share(one, n, kg, tuple(m.id for m in choose_mixers(fitting, kg, wanted.formula, hands)))
        for one, n, kg in zip(free, counts, kgs, strict=False)
    )


def _check_load(batch: Batch, wanted: Wanted) -> None:
    """Refuse a mix that no mixer takes, unless somebody signs for it.

    Raises
    ------
    InputError
        Naming the weights and what to do.
    """
    formula, mixer = batch.formula, batch.mixers[0]
    most_kg = most_dough_kg(mixer, formula, cold=False)
    if batch.overload_signed_by or batch.dough_kg <= most_kg + WITHIN_KG:
        return
    name = formula.name
    detail = f"{batch.dough_kg:.4g} kg of {name} is more than {mixer.name} takes, {most_kg:.4g} kg"
    signed = "with overload_signed_by the name of who answers for it"
    if wanted.mixes is not None:
        least = ceil(wanted.total_kg / most_kg - WITHIN_KG)
        remedy = f"enter {max(least, wanted.mixes + 1)} mixes or more, or {signed}"
        raise refuse(f"mix_list.{wanted.line_id}.mixes", wanted.mixes, detail, remedy)
    remedy = f"enter a smaller piece or a larger mixer, or {signed}"
    raise refuse(f"mix_list.{wanted.line_id}", round(batch.dough_kg, 3), detail, remedy)


def holds(batch: Batch, mixer: Mixer, *, cold: bool) -> bool:
    """Return whether a batch lies within a mixer's limits, cold or not."""
    most_kg = most_dough_kg(mixer, batch.formula, cold=cold)
    return mixer.min_dough_kg.value - WITHIN_KG <= batch.dough_kg <= most_kg + WITHIN_KG


def oven_pieces(bakery: Bakery, product: Product) -> int:
    """Return the most pieces of a product that one of its ovens takes at once.

    A belt takes piece after piece, so that what goes onto it in one go is never too much.
    """
    ovens = [bakery.oven(o) for o in product.oven_ids]
    if any(oven.kind is OvenKind.CONVEYOR for oven in ovens):
        return ENDLESS
    return max(product.pieces_per_place * oven.places for oven in ovens)


def holds_cold(batch: Batch, mixer: Mixer) -> bool:
    """Return whether a mixer holds a batch, or never did, also when it is cold.

    One that is under its least, or signed for, or too much for the mixer anyway, is no less held.
    """
    if batch.overload_signed_by or not holds(batch, mixer, cold=False):
        return True
    return holds(batch, mixer, cold=True)


def _mix_count(bakery: Bakery, mixers: tuple[Mixer, ...], wanted: Wanted, *, cold: bool) -> int:
    pieces, total_kg = wanted.pieces, wanted.total_kg
    if wanted.mixes is not None:
        return min(wanted.mixes, pieces) if pieces else wanted.mixes
    largest_kg = max(most_dough_kg(m, wanted.formula, cold=cold) for m in mixers)
    by_mixer = max(1, ceil(total_kg / largest_kg - 1e-9))
    if not pieces:
        return by_mixer
    machines = [m for m in mixers if m.kind is not MixerKind.HAND]
    count = by_mixer
    if machines and not wanted.is_merged:  # the loads of several products are many anyway
        product = wanted.lots[0].product
        count = max(by_mixer, ceil(pieces / oven_pieces(bakery, product)))
    least_kg = min((m.min_dough_kg.value for m in machines), default=0.0)
    while count > by_mixer and total_kg / count < least_kg:
        count -= 1
    # Whole pieces can tip one share over the limit that the mean still met.
    while _largest_share(wanted, count) > largest_kg + WITHIN_KG and count < pieces:
        count += 1
    return min(count, pieces)


def _largest_share(wanted: Wanted, count: int) -> float:
    """Return the dough of the largest of so many mixes [kg]."""
    whole_kg = sum(lot.dough_kg for lot in wanted.lots)
    largest = max(sum(p.dough_kg for p in share) for share in shares_of(wanted, count))
    return largest * wanted.total_kg / whole_kg


def _loads(bakery: Bakery, product: Product, pieces: int) -> tuple[int, ...]:
    return tuple(split(pieces, ceil(pieces / oven_pieces(bakery, product))))

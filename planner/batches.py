"""From the mix list to bowls: dough weights, and mixes that fit a mixer and an oven.

An order of pieces becomes dough by scaling weight and handling loss. It is then split into as
few equal mixes as its largest mixer allows, and further into mixes that one oven takes at
once, as long as each still fills a mixer; otherwise a mix is baked in several loads.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import ceil, floor

from planner.bakery import Bakery, OvenKind
from planner.day import BulkWindow, Day, MixRequest, Order, ReadyWindow
from planner.errors import refuse
from planner.formula import Formula
from planner.mixers import HAND_SPEEDS, Mixer, MixerKind, Speed
from planner.product import Product
from planner.remarks import Remark, RemarkKind, mass, word

ENDLESS = 10**9
"""More pieces than any belt is ever given."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One bowl of dough to be planned.

    Attributes
    ----------
    id
        Line id and batch number.
    pieces
        Pieces it gives; 0 when the plan ends at the divide.
    dough_kg, flour_kg
        Weight of dough and of total flour [kg].
    mixers
        Mixers that fit.
    loads_pieces
        Pieces of each oven load.
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

    def kg(self, percent: float) -> float:
        """Return the weight of a baker's percent in this batch [kg]."""
        return self.flour_kg * percent / 100


def batches_of(day: Day) -> tuple[Batch, ...]:
    """Turn the mix list into mixes.

    Parameters
    ----------
    day
        The production day.

    Returns
    -------
    tuple of Batch
        In the order of the mix list.
    """
    return tuple(batch for line in day.lines for batch in _batches_of_line(day, line))


def order_dough_kg(product: Product, pieces: int) -> float:
    """Return the dough that so many pieces need, handling loss included [kg].

    Examples
    --------
    >>> from planner.product import Product
    >>> from planner.ripening import Ripening, ByTheClock, Curve
    >>> from planner.estimate import Estimate
    >>> proof = Ripening(ByTheClock(60, 24), Curve.YEAST, "room")
    >>> loaf = Product("l", "loaf", "f", 0.5, (proof,), 30, 20, ("o",),
    ...                handling_loss_fraction=Estimate(0.02))
    >>> round(order_dough_kg(loaf, 100), 6)
    51.0
    """
    return pieces * product.piece_kg * (1 + product.handling_loss_fraction.value)


def _batches_of_line(day: Day, line: Order | MixRequest) -> list[Batch]:
    product = None if line.product_id is None else day.product(line.product_id)
    if isinstance(line, Order):
        formula = day.formula(day.product(line.product_id).formula_id)
        total_kg = order_dough_kg(day.product(line.product_id), line.pieces)
        pieces = line.pieces
        window = None
    else:
        formula = day.formula(line.formula_id)
        total_kg = line.dough_kg
        pieces = 0 if product is None else floor(total_kg / order_dough_kg(product, 1) + 1e-9)
        if product is not None and pieces == 0:
            raise refuse(
                f"mix_list.{line.id}.dough_kg",
                total_kg,
                f"is less than one piece of {product.name}",
                f"enter at least {order_dough_kg(product, 1):.3g} kg, or leave the product out",
            )
        window = line.window
    fitting = mixers_for(day.bakery, formula)
    count = _mix_count(day.bakery, fitting, product, total_kg, pieces)
    shares = _split(pieces, count)
    return [
        _one_batch(day, line, formula, product, fitting, i, count, share, total_kg, pieces, window)
        for i, share in enumerate(shares)
    ]


def _one_batch(
    day: Day,
    line: Order | MixRequest,
    formula: Formula,
    product: Product | None,
    fitting: tuple[Mixer, ...],
    index: int,
    count: int,
    share: int,
    total_kg: float,
    pieces: int,
    window: BulkWindow | ReadyWindow | None,
) -> Batch:
    dough_kg = total_kg * share / pieces if pieces else total_kg / count
    mixers = choose_mixers(fitting, dough_kg)
    batch_id = line.id if count == 1 else f"{line.id}-{index + 1}"
    return Batch(
        id=batch_id,
        line_id=line.id,
        formula=formula,
        product=product,
        batch=index + 1,
        batches=count,
        pieces=share,
        dough_kg=dough_kg,
        flour_kg=dough_kg / formula.total_percent * 100,
        mixers=mixers,
        loads_pieces=_loads(day.bakery, product, share),
        leave_by=line.leave_by,
        priority=line.priority,
        window=window,
    )


def mixers_for(bakery: Bakery, formula: Formula) -> tuple[Mixer, ...]:
    """Return the mixers that can run a formula's steps; all of them when none can."""
    return mixers_with_speeds(bakery, {step.speed for step in formula.steps})


def mixers_with_speeds(bakery: Bakery, speeds: set[Speed]) -> tuple[Mixer, ...]:
    """Return the mixers that have these speeds; all of them when none has.

    What hands do can be done beside any machine; a dough of hands alone wants a bowl of hands.
    """
    machine = speeds - HAND_SPEEDS - {Speed.REST}
    wanted = machine or speeds - {Speed.REST, Speed.FOLD}
    able = tuple(m for m in bakery.mixers if wanted <= set(m.work_kj_per_kg_min))
    return able or bakery.mixers


def lacking_speeds(formula: Formula, mixer: Mixer) -> list[Speed]:
    """Return the machine speeds of a formula that a mixer does not have."""
    machine = {step.speed for step in formula.steps} - HAND_SPEEDS - {Speed.REST}
    return sorted(machine - set(mixer.work_kj_per_kg_min))


def choose_mixers(mixers: tuple[Mixer, ...], dough_kg: float) -> tuple[Mixer, ...]:
    """Return the mixers whose limits hold a load; when none does, the nearest."""
    fitting = tuple(m for m in mixers if holds(m, dough_kg))
    if fitting:
        return fitting
    # Between the mixers there may be a gap: too much for one, too little for the next.
    able = [m for m in mixers if dough_kg <= m.max_dough_kg + 1e-9]
    if not able:
        return (max(mixers, key=lambda m: m.max_dough_kg),)
    return (min(able, key=lambda m: m.min_dough_kg.value),)


def mixer_remarks(batch: Batch, mixer: Mixer) -> tuple[Remark, ...]:
    """Return what to say of a batch on a mixer that is too small, too large, or lacks a speed."""
    load = [] if holds(mixer, batch.dough_kg) else [load_remark(mixer, batch.dough_kg)]
    return (*load, *no_speed_remark(batch.formula, mixer))


def holds(mixer: Mixer, dough_kg: float) -> bool:
    """Return whether a load lies within a mixer's limits."""
    return mixer.min_dough_kg.value - 1e-9 <= dough_kg <= mixer.max_dough_kg + 1e-9


def load_remark(mixer: Mixer, dough_kg: float) -> Remark:
    """Return what to say of a load that a mixer does not hold."""
    if dough_kg > mixer.max_dough_kg:
        return Remark(
            RemarkKind.UNMET,
            "too_much_dough",
            "{dough} is more than {mixer} takes ({most}): it will not come to its temperature and "
            "may harm the machine; split it or use a larger one.",
            (
                mass("dough", dough_kg),
                word("mixer", mixer.name),
                mass("most", mixer.max_dough_kg),
            ),
        )
    return Remark(
        RemarkKind.CAUTION,
        "too_little_dough",
        "{dough} is less than {mixer} can work ({least}): mix it by hand, "
        "or together with another batch of the same dough.",
        (
            mass("dough", dough_kg),
            word("mixer", mixer.name),
            mass("least", mixer.min_dough_kg.value),
        ),
    )


def no_speed_remark(formula: Formula, mixer: Mixer) -> list[Remark]:
    """Return what to say of a dough whose speeds a mixer does not have."""
    lacking = lacking_speeds(formula, mixer)
    if not lacking:
        return []
    return [
        Remark(
            RemarkKind.CAUTION,
            "no_such_speed",
            "{mixer} has no {speeds}: work the dough as it can, and read its temperature.",
            (word("mixer", mixer.name), word("speeds", " or ".join(lacking))),
        )
    ]


def oven_pieces(bakery: Bakery, product: Product) -> int:
    """Return the most pieces of a product that one of its ovens takes at once.

    A belt takes piece after piece, so that what goes onto it in one go is never too much.
    """
    ovens = [bakery.oven(o) for o in product.oven_ids]
    if any(oven.kind is OvenKind.CONVEYOR for oven in ovens):
        return ENDLESS
    return max(product.pieces_per_place * oven.places for oven in ovens)


def _mix_count(
    bakery: Bakery, mixers: tuple[Mixer, ...], product: Product | None, total_kg: float, pieces: int
) -> int:
    largest_kg = max(m.max_dough_kg for m in mixers)
    by_mixer = max(1, ceil(total_kg / largest_kg - 1e-9))
    if product is None or pieces == 0:
        return by_mixer
    by_oven = max(by_mixer, ceil(pieces / oven_pieces(bakery, product)))
    machines = [m for m in mixers if m.kind is not MixerKind.HAND]
    if not machines:
        return min(by_mixer, pieces)
    least_kg = min(m.min_dough_kg.value for m in machines)
    while by_oven > by_mixer and total_kg / by_oven < least_kg:
        by_oven -= 1
    # Whole pieces can tip one share over the limit that the mean still met.
    while ceil(pieces / by_oven) * total_kg / pieces > largest_kg + 1e-9 and by_oven < pieces:
        by_oven += 1
    return min(by_oven, pieces)


def _split(total: int, count: int) -> list[int]:
    """Split whole pieces as evenly as can be, larger shares first."""
    if total == 0:
        return [0] * count
    return [total // count + (1 if i < total % count else 0) for i in range(count)]


def _loads(bakery: Bakery, product: Product | None, pieces: int) -> tuple[int, ...]:
    if product is None or pieces == 0:
        return ()
    return tuple(_split(pieces, ceil(pieces / oven_pieces(bakery, product))))

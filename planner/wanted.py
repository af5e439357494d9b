"""What is wanted in one go: a line of the mix list, or orders of one dough that are mixed together.

An order of pieces becomes dough by scaling weight and handling loss.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import floor

from planner.day import BulkWindow, Day, MixRequest, Order, ReadyWindow
from planner.errors import refuse
from planner.formula import Formula
from planner.product import Product


@dataclass(frozen=True, slots=True)
class Lot:
    """Pieces of one order, in a mix or in an oven load of it.

    Attributes
    ----------
    leave_by, priority
        As of its order.
    """

    line_id: str
    product: Product
    pieces: int
    leave_by: datetime | None
    priority: int = 1

    @property
    def dough_kg(self) -> float:
        """The dough it takes, handling loss included [kg]."""
        return order_dough_kg(self.product, self.pieces)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Dough wanted in one go: of a line, or of the orders that are mixed together.

    Attributes
    ----------
    line_id
        Of its line; of orders mixed together that of the first on the list.
    total_kg
        All of it [kg].
    lots
        What becomes of it, what leaves first in front; none when the plan ends at the divide.
    mixes, signed_by
        Into how many mixes somebody wants it, and who answers for mixes that are too much.
    """

    line_id: str
    formula: Formula
    total_kg: float
    lots: tuple[Lot, ...]
    window: BulkWindow | ReadyWindow | None
    leave_by: datetime | None
    priority: int
    mixes: int | None
    signed_by: str

    @property
    def pieces(self) -> int:
        """Pieces that it gives."""
        return sum(lot.pieces for lot in self.lots)

    @property
    def is_merged(self) -> bool:
        """Whether several orders are mixed together."""
        return len(self.lots) > 1


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


def wanted_of(day: Day) -> list[Wanted]:
    """Return what is wanted, orders that are mixed together as one, in the order of the list."""
    together = _together(day)
    found = []
    for line in day.lines:
        group = together.get(line.id)
        if group is None:
            found.append(_line_wanted(day, line))
        elif group[0].id == line.id:
            found.append(_merged(day, group))
    return found


def _together(day: Day) -> dict[str, list[Order]]:
    """Return the orders that are mixed with others, each with all of its group."""
    within_min = day.bakery.merge_within_min
    if within_min is None:
        return {}
    within = timedelta(minutes=within_min)
    groups: list[list[Order]] = []
    orders = [
        x for x in day.lines if isinstance(x, Order) and not x.mixes and not x.overload_signed_by
    ]
    dough = {o.id: day.product(o.product_id).formula_id for o in orders}
    for order in sorted(orders, key=lambda o: (dough[o.id], o.leave_by)):
        last = groups[-1] if groups else []
        alike = bool(last) and dough[last[0].id] == dough[order.id]
        if alike and order.leave_by - last[0].leave_by <= within:
            last.append(order)
        else:
            groups.append([order])
    return {
        order.id: sorted(group, key=lambda o: [x.id for x in day.lines].index(o.id))
        for group in groups
        if len(group) > 1
        for order in group
    }


def _merged(day: Day, orders: Sequence[Order]) -> Wanted:
    lots = tuple(
        Lot(o.id, day.product(o.product_id), o.pieces, o.leave_by, o.priority)
        for o in sorted(orders, key=lambda o: o.leave_by)
    )
    return Wanted(
        line_id=orders[0].id,
        formula=day.formula(lots[0].product.formula_id),
        total_kg=sum(lot.dough_kg for lot in lots),
        lots=lots,
        window=None,
        leave_by=lots[0].leave_by,
        priority=max(order.priority for order in orders),
        mixes=None,
        signed_by="",
    )


def _line_wanted(day: Day, line: Order | MixRequest) -> Wanted:
    product = None if line.product_id is None else day.product(line.product_id)
    if isinstance(line, Order):
        made = day.product(line.product_id)
        formula, pieces, window = day.formula(made.formula_id), line.pieces, None
        total_kg = order_dough_kg(made, pieces)
    else:
        formula, window = day.formula(line.formula_id), line.window
        total_kg = line.dough_kg
        pieces = 0 if product is None else floor(total_kg / order_dough_kg(product, 1) + 1e-9)
        if product is not None and pieces == 0:
            raise refuse(
                f"mix_list.{line.id}.dough_kg",
                total_kg,
                f"is less than one piece of {product.name}",
                f"enter at least {order_dough_kg(product, 1):.3g} kg, or leave the product out",
            )
    lots: tuple[Lot, ...] = ()
    if product is not None:
        lots = (Lot(line.id, product, pieces, line.leave_by, line.priority),)
    return Wanted(
        line.id,
        formula,
        total_kg,
        lots,
        window,
        line.leave_by,
        line.priority,
        line.mixes,
        line.overload_signed_by,
    )


def shares_of(wanted: Wanted, count: int) -> list[tuple[Lot, ...]]:
    """Return what each of so many mixes gives: equal weights, what leaves first in the first."""
    if not wanted.pieces:
        return [()] * count
    if not wanted.is_merged:
        (only,) = wanted.lots
        return [(replace(only, pieces=n),) for n in split(only.pieces, count)]
    shares: list[list[Lot]] = [[] for _ in range(count)]
    whole_kg, done_kg = sum(p.dough_kg for p in wanted.lots), 0.0
    for lot in wanted.lots:
        each_kg = lot.dough_kg / lot.pieces
        ends = [
            min(lot.pieces, max(0, round((whole_kg * (i + 1) / count - done_kg) / each_kg)))
            for i in range(count - 1)
        ]
        cuts = [0, *ends, lot.pieces]
        for share, first, end in zip(shares, cuts[:-1], cuts[1:], strict=True):
            if end > first:
                share.append(replace(lot, pieces=end - first))
        done_kg += lot.dough_kg
    return [tuple(share) for share in shares if share]


def split(total: int, count: int) -> list[int]:
    """Split whole pieces as evenly as can be, larger shares first."""
    return [total // count + (1 if i < total % count else 0) for i in range(count)]

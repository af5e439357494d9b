"""A production day: orders or ready mixes, products, shifts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from planner.bakery import Bakery, OvenKind, check_unique
from planner.errors import Fault, InputError, check_name, check_within, no_such, refuse
from planner.formula import Formula, Preferment, Scald
from planner.product import Product
from planner.remembered import RememberedMix, check_remembered_ice, check_remembered_known
from planner.ripening import ByTheClock, Ripening
from planner.stiffness import check_stiff_doughs


def check_utc(field: str, moment: datetime) -> None:
    """Refuse a moment that is not in UTC.

    Raises
    ------
    InputError
        If ``moment`` is naive or in another zone than UTC.
    """
    if moment.tzinfo is None or moment.utcoffset() != timedelta(0):
        raise refuse(field, moment.isoformat(), "is not in UTC", "convert it at the edge")


def check_since(from_utc: datetime, until_utc: datetime | None) -> None:
    """Refuse hours that are not in UTC; their end may be open.

    Raises
    ------
    InputError
        If a moment is naive or in another zone than UTC.
    """
    check_utc("from_utc", from_utc)
    if until_utc is not None:
        check_utc("until_utc", until_utc)


def check_mixes(mixes: int | None) -> None:
    """Refuse a wish for no mixes at all.

    Raises
    ------
    InputError
        If ``mixes`` is given and not at least one.
    """
    if mixes is not None:
        check_within("mixes", mixes, 1, 1000, "mixes")


@dataclass(frozen=True, slots=True)
class Order:
    """So many pieces that must leave the door by a time.

    Attributes
    ----------
    leave_by
        When they leave [UTC].
    priority
        1 is ordinary; 2 counts double when something must be late.
    mixes
        Into how many mixes it is made; None for as few as mixers and ovens allow.
    overload_signed_by
        Who answers for mixes that are more than the mixer takes; empty when nobody does.
    """

    id: str
    product_id: str
    pieces: int
    leave_by: datetime
    priority: int = 1
    mixes: int | None = None
    overload_signed_by: str = ""

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_mixes(self.mixes)
        check_within("pieces", self.pieces, 1, 1_000_000, "pieces")
        check_within("priority", self.priority, 1, 9, "(1 ordinary, 9 most)")
        check_utc("leave_by", self.leave_by)


@dataclass(frozen=True, slots=True)
class BulkWindow:
    """Bulk wanted from so many to so many minutes after the mixer."""

    from_min: float
    by_min: float

    def __post_init__(self) -> None:
        check_within("from_min", self.from_min, 0, 4320, "min")
        check_within("by_min", self.by_min, 1, 4320, "min")
        if self.by_min <= self.from_min:
            raise refuse(
                "by_min", self.by_min, "the window ends before it starts", "enter a later end"
            )


@dataclass(frozen=True, slots=True)
class ReadyWindow:
    """Dough wanted ripe from a time to a time [UTC]."""

    from_utc: datetime
    by_utc: datetime

    def __post_init__(self) -> None:
        check_utc("from_utc", self.from_utc)
        check_utc("by_utc", self.by_utc)
        if self.by_utc <= self.from_utc:
            raise refuse(
                "by_utc",
                self.by_utc.isoformat(),
                "the window ends before it starts",
                "enter a later end",
            )


@dataclass(frozen=True, slots=True)
class MixRequest:
    """A ready mix: a formula, its weight and the window in which it should be ripe.

    Attributes
    ----------
    dough_kg
        Weight of dough [kg].
    window
        Its window, which overrides the formula's for this day; None keeps the formula's.
    product_id
        What becomes of it; None when the plan ends at the divide.
    not_before, leave_by
        Earliest start and the time by which the baked goods leave [UTC], when given.
    mixes, overload_signed_by
        As of an order.
    """

    id: str
    formula_id: str
    dough_kg: float
    window: BulkWindow | ReadyWindow | None = None
    product_id: str | None = None
    leave_by: datetime | None = None
    priority: int = 1
    mixes: int | None = None
    overload_signed_by: str = ""

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_mixes(self.mixes)
        check_within("dough_kg", self.dough_kg, 0.05, 100_000, "kg")
        check_within("priority", self.priority, 1, 9, "(1 ordinary, 9 most)")
        if self.leave_by is not None:
            check_utc("leave_by", self.leave_by)


@dataclass(frozen=True, slots=True)
class Shift:
    """Hours in which one person works [UTC]; outside of them there is no work."""

    person_id: str
    start_utc: datetime
    end_utc: datetime

    def __post_init__(self) -> None:
        check_utc("start_utc", self.start_utc)
        check_utc("end_utc", self.end_utc)
        if self.end_utc <= self.start_utc:
            raise refuse(
                "end_utc",
                self.end_utc.isoformat(),
                "the shift ends before it starts",
                "enter a later end",
            )


@dataclass(frozen=True, slots=True)
class Share:
    """One mix of a line that is split by hand or by a replan.

    Attributes
    ----------
    id
        Of the mix.
    pieces, dough_kg
        What it gives; no pieces where the plan ends at the divide [kg].
    mixer_ids
        Where it may be mixed.
    """

    id: str
    pieces: int
    dough_kg: float
    mixer_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Split:
    """How a line is split into mixes, where it is not by what the mixers of the house hold."""

    line_id: str
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class Day:
    """One production day of one bakery.

    Attributes
    ----------
    production_date
        Its own date; work may start the evening before.
    start_utc, end_utc
        The span that may be planned [UTC]; minutes inside the core count from ``start_utc``.
    remembered
        Mixes the baker remembers, for mixers of which nothing was read yet.
    splits
        Lines that are split otherwise than by what the mixers hold, as after a breakdown.
    early_before_utc
        A mix that starts before it counts as early [UTC]; None where nobody minds.
    """

    id: str
    production_date: date
    bakery: Bakery
    formulas: tuple[Formula, ...]
    products: tuple[Product, ...]
    lines: tuple[Order | MixRequest, ...]
    shifts: tuple[Shift, ...]
    start_utc: datetime
    end_utc: datetime
    remembered: tuple[RememberedMix, ...] = ()
    splits: tuple[Split, ...] = ()
    early_before_utc: datetime | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_utc("start_utc", self.start_utc)
        check_utc("end_utc", self.end_utc)
        if self.early_before_utc is not None:
            check_utc("early_before_utc", self.early_before_utc)
        if not timedelta(hours=1) <= self.end_utc - self.start_utc <= timedelta(hours=96):
            raise refuse(
                "end_utc",
                self.end_utc.isoformat(),
                "a planned span lasts 1 to 96 hours",
                "change the start or the end",
            )
        check_unique("formulas", [f.id for f in self.formulas])
        check_unique("products", [p.id for p in self.products])
        check_unique("lines", [line.id for line in self.lines])
        faults = day_faults(self)
        if faults:
            raise InputError(faults)

    def formula(self, formula_id: str) -> Formula:
        """Return the formula with this id."""
        return next(f for f in self.formulas if f.id == formula_id)

    def product(self, product_id: str) -> Product:
        """Return the product with this id."""
        return next(p for p in self.products if p.id == product_id)

    def minute(self, moment: datetime) -> float:
        """Return minutes from the start of the span [min]."""
        return (moment - self.start_utc) / timedelta(minutes=1)

    def moment(self, minute: float) -> datetime:
        """Return the moment of a minute [UTC]."""
        return (self.start_utc + timedelta(minutes=minute)).astimezone(UTC)

    @property
    def span_min(self) -> int:
        """Length of the span [min]."""
        return int(self.minute(self.end_utc))


def day_faults(day: Day) -> list[Fault]:
    """List what does not fit together in a day; a new rule is one more line here."""
    return [
        *check_formulas_known(day),
        *check_products_known(day),
        *check_places_known(day),
        *check_one_clock(day),
        *check_stores_known(day),
        *check_ovens_known(day),
        *check_stiff_doughs(day.formulas, day.bakery.mixers),
        *check_belts(day),
        *check_people_known(day),
        *check_leave_by_in_span(day),
        *check_remembered_known(day.remembered, day.formulas, day.bakery.mixers),
        *check_remembered_ice(day.remembered, day.formulas, day.bakery.mixers),
    ]


def check_formulas_known(day: Day) -> list[Fault]:
    """Every product and mix names a formula of the day."""
    known = [f.id for f in day.formulas]
    return [
        no_such(f"products.{p.id}.formula", p.formula_id, "formula", known)
        for p in day.products
        if p.formula_id not in known
    ] + [
        no_such(f"mix_list.{line.id}.formula", line.formula_id, "formula", known)
        for line in day.lines
        if isinstance(line, MixRequest) and line.formula_id not in known
    ]


def check_products_known(day: Day) -> list[Fault]:
    """Every order names a product of the day, and a mix a product of its own formula."""
    by_id = {p.id: p for p in day.products}
    faults = []
    for line in day.lines:
        if line.product_id is None:
            continue
        product = by_id.get(line.product_id)
        if product is None:
            faults.append(
                no_such(f"mix_list.{line.id}.product", line.product_id, "product", list(by_id))
            )
        elif isinstance(line, MixRequest) and product.formula_id != line.formula_id:
            faults.append(
                Fault(
                    f"mix_list.{line.id}.product",
                    repr(line.product_id),
                    f"is made from formula {product.formula_id!r}, not {line.formula_id!r}",
                    "name a product of that formula",
                )
            )
    return faults


def _ripenings(day: Day) -> list[tuple[str, Ripening]]:
    """Return every fermentation of the day with the name of its field."""
    found = [(f"formulas.{f.id}.bulk", f.bulk) for f in day.formulas]
    found += [
        (f"formulas.{f.id}.parts.{part.id}", part.ripening)
        for f in day.formulas
        for part in f.parts
        if isinstance(part, Preferment)
    ]
    return found + [
        (f"products.{p.id}.routes[{i}]", route)
        for p in day.products
        for i, route in enumerate(p.routes)
    ]


def check_one_clock(day: Day) -> list[Fault]:
    """A proof that goes on with the clock of its bulk needs hours at a dough temperature."""
    by_clock = {f.id for f in day.formulas if isinstance(f.bulk.reference, ByTheClock)}
    return [
        Fault(
            f"products.{p.id}.routes[{i}].goes_on",
            "true",
            "the bulk is known by the clock of a usual room, which ends with the bulk",
            "enter the bulk as hours at a dough temperature, for bulk and proof together",
        )
        for p in day.products
        for i, route in enumerate(p.routes)
        if route.goes_on and p.formula_id in by_clock
    ]


def check_places_known(day: Day) -> list[Fault]:
    """Every place a dough, part, mixer or flour store stands in must exist."""
    known = day.bakery.place_ids
    named = [
        (f"{field}.place" if n == 0 else f"{field}.moves[{n - 1}].place", place)
        for field, ripening in _ripenings(day)
        for n, (_, place) in enumerate(ripening.places)
    ]
    named += [
        (f"formulas.{f.id}.parts.{part.id}.place", part.place_id)
        for f in day.formulas
        for part in f.parts
        if not isinstance(part, Preferment)
    ]
    named += [(f"bakery.mixers.{m.id}.room", m.room_id) for m in day.bakery.mixers]
    named += [(f"bakery.flour_stores.{s.id}.place", s.place_id) for s in day.bakery.flour_stores]
    return [
        no_such(field, place, "room or chamber", list(known))
        for field, place in named
        if place not in known
    ]


def check_stores_known(day: Day) -> list[Fault]:
    """Every store of a line and every vessel of a scald must exist."""
    stores = {s.id for s in day.bakery.flour_stores} | day.bakery.place_ids
    vessels = {v.id for v in day.bakery.vessels}
    faults = [
        no_such(f"formulas.{f.id}.{line.label}.store", line.store_id, "store", list(stores))
        for f in day.formulas
        for line in f.all_lines
        if line.store_id is not None and line.store_id not in stores
    ]
    faults += [
        no_such(f"{field}.vessel", ripening.vessel_id, "vessel", list(vessels))
        for field, ripening in _ripenings(day)
        if ripening.vessel_id is not None and ripening.vessel_id not in vessels
    ]
    return faults + [
        no_such(f"formulas.{f.id}.parts.{part.id}.vessel", part.vessel_id, "vessel", list(vessels))
        for f in day.formulas
        for part in f.parts
        if isinstance(part, Scald) and part.vessel_id is not None and part.vessel_id not in vessels
    ]


def check_ovens_known(day: Day) -> list[Fault]:
    """Every product names ovens of the bakery."""
    known = [o.id for o in day.bakery.ovens]
    return [
        no_such(f"products.{p.id}.ovens", oven_id, "oven", known)
        for p in day.products
        for oven_id in p.oven_ids
        if oven_id not in known
    ]


def check_belts(day: Day) -> list[Fault]:
    """What goes onto a belt has its rate, and is baked on belts only."""
    belts = {o.id for o in day.bakery.ovens if o.kind is OvenKind.CONVEYOR}
    faults = []
    for p in day.products:
        on_belts = belts.intersection(p.oven_ids)
        field = f"products.{p.id}"
        if on_belts and len(on_belts) < len(set(p.oven_ids)):
            problem = "names a conveyor oven beside another: the minutes in them differ"
            remedy = "enter two products, one for each"
            faults.append(Fault(f"{field}.ovens", ", ".join(p.oven_ids), problem, remedy))
        if on_belts and p.pieces_per_min is None:
            problem = "how fast it goes onto the belt is missing"
            faults.append(
                Fault(f"{field}.pieces_per_min", "None", problem, "enter pieces in a minute")
            )
    return faults


def check_people_known(day: Day) -> list[Fault]:
    """Every shift names a person of the bakery, and there is at least one shift."""
    known = [p.id for p in day.bakery.people]
    if not day.shifts:
        return [Fault("shifts", "()", "nobody works", "enter who works from when to when")]
    return [
        no_such(f"shifts[{i}].person", shift.person_id, "person", known)
        for i, shift in enumerate(day.shifts)
        if shift.person_id not in known
    ]


def check_leave_by_in_span(day: Day) -> list[Fault]:
    """What must leave before the planned span begins is in the past."""
    return [
        Fault(
            f"mix_list.{line.id}.leave_by",
            line.leave_by.isoformat(),
            "lies outside the time that can be planned",
            f"enter a time between {day.start_utc:%Y-%m-%d %H:%M} and"
            f" {day.end_utc:%Y-%m-%d %H:%M} UTC",
        )
        for line in day.lines
        if line.leave_by is not None and not day.start_utc < line.leave_by <= day.end_utc
    ]

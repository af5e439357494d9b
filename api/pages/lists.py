"""The divide list of the bench and the bake list of each oven."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import duration_text, mass_text, water_degrees
from planner.planned import Plan, PlannedLoad, PlannedMix


@dataclass(frozen=True, slots=True)
class DivideRow:
    """Pieces of one product from one mix, first in first out.

    Attributes
    ----------
    starts, first, last
        Planned time of the first piece, and between which times it may be.
    bench_rest
        Rest between rounding and shaping.
    then
        Where the pieces go, and until when they are there.
    """

    date: str
    starts: str
    first: str
    last: str
    mix: int
    dough: str
    product: str
    piece: str
    pieces: str
    bench_rest: str
    then: str


@dataclass(frozen=True, slots=True)
class BakeRow:
    """One load of an oven.

    Attributes
    ----------
    gap
        Minutes until the next load comes, when it takes the same number of places; the oven
        regains its heat in it.
    """

    date: str
    number: int
    loads: str
    first: str
    last: str
    out: str
    minutes: str
    mix: str
    product: str
    pieces: str
    places: str


@dataclass(frozen=True, slots=True)
class BakeList:
    """The loads of one oven in order of time."""

    oven_id: str
    oven: str
    recovery: str
    rows: tuple[BakeRow, ...]


def divide_list(plan: Plan, mixes: Iterable[PlannedMix], reader: Reader) -> tuple[DivideRow, ...]:
    """Return the rows of the bench in order of time.

    Parameters
    ----------
    plan, mixes
        The plan, and those of its mixes that are wanted.
    reader
        How the house reads time and quantities.
    """
    rows: list[DivideRow] = []
    date = ""
    for mix in sorted(mixes, key=lambda one: (one.divide_utc, one.start_utc)):
        today = reader.clock.day(mix.divide_utc)
        for product_id in dict.fromkeys([load.product_id for load in mix.loads]) or [None]:
            rows.append(_divide_row(plan, mix, product_id, reader, "" if today == date else today))
            date = today
    return tuple(rows)


def _divide_row(
    plan: Plan, mix: PlannedMix, product_id: str | None, reader: Reader, date: str
) -> DivideRow:
    clock, say, names = reader.clock, reader.say, Names(plan)
    loads = [load for load in mix.loads if load.product_id == product_id]
    product = next((p for p in plan.day.products if p.id == product_id), None)
    pieces = sum(load.pieces for load in loads) if loads else mix.pieces
    then = ""
    if loads:
        load = min(loads, key=lambda one: one.load_utc)
        until = clock.dated(load.load_utc, mix.divide_utc)
        place = names.place(load.proof_place_id)
        then = say("{place} until {time}", place=place, time=until)
    rest = product.bench_rest_min if product is not None else 0
    return DivideRow(
        date,
        clock.time(mix.divide_utc),
        clock.dated(mix.divide_from_utc, mix.divide_utc),
        clock.dated(mix.divide_by_utc, mix.divide_utc),
        names.mix_number(mix.id),
        names.dough(mix),
        product.name if product is not None else "",
        mass_text(product.piece_kg, reader.units) if product is not None else "",
        str(pieces) if pieces else "",
        duration_text(rest) if rest else "",
        then,
    )


def bake_lists(plan: Plan, mixes: Iterable[PlannedMix], reader: Reader) -> tuple[BakeList, ...]:
    """Return one list per oven that is used, loads in order of time.

    Parameters
    ----------
    plan, mixes
        The plan, and those of its mixes that are wanted; loads that stood there before the
        night began come with them.
    reader
        How the house reads time and quantities.
    """
    names = Names(plan)
    loads = [(load, str(names.mix_number(mix.id))) for mix in mixes for load in mix.loads]
    loads += [(load, "") for load in plan.inherited_loads]
    loads.sort(key=lambda pair: (pair[0].load_utc, pair[0].id))
    lists = []
    for oven in plan.day.bakery.ovens:
        own = [pair for pair in loads if pair[0].oven_id == oven.id]
        if own:
            recovery = duration_text(oven.recovery_min)
            lists.append(BakeList(oven.id, oven.name, recovery, _bake_rows(plan, own, reader)))
    return tuple(lists)


def _with_heat(plan: Plan, load: PlannedLoad, reader: Reader) -> str:
    """Return the name of what is baked, with the oven's heat for it where it was entered."""
    name = Names(plan).product(load.product_id)
    heat_c = next((p.bake_c for p in plan.day.products if p.id == load.product_id), None)
    if heat_c is None:
        return name
    return f"{name}, {water_degrees(heat_c, reader.units)} {reader.units.degree}"


def _bake_rows(
    plan: Plan, loads: list[tuple[PlannedLoad, str]], reader: Reader
) -> tuple[BakeRow, ...]:
    clock, rows, date = reader.clock, [], ""
    for number, (load, mix) in enumerate(loads, start=1):
        today = clock.day(load.load_utc)
        rows.append(
            BakeRow(
                "" if today == date else today,
                number,
                clock.time(load.load_utc),
                clock.dated(load.load_from_utc, load.load_utc),
                clock.dated(load.load_by_utc, load.load_utc),
                clock.dated(load.out_utc, load.load_utc),
                duration_text((load.out_utc - load.load_utc).total_seconds() / 60),
                mix,
                _with_heat(plan, load, reader),
                str(load.pieces),
                str(load.oven_places),
            )
        )
        date = today
    return tuple(rows)

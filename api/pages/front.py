"""The front of the bench sheet: conditions to read, what was inherited, totals, clean-downs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from api.pages.day_blocks import blocks_of
from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import (
    MISSING,
    dough_degrees,
    mass_text,
    stock_number,
    temperature_text,
    water_degrees,
)
from planner.clean_downs import cleanings
from planner.conditions import Inherited
from planner.day import Order
from planner.materials import properties
from planner.planned import Plan, PlannedLoad, PlannedMix

ROOM_COLUMNS = 9
"""The most hours of a room forecast that stand side by side in letters that can be read."""


@dataclass(frozen=True, slots=True)
class RoomForecast:
    """A room by the hour: clock times and what is expected, with a blank below each."""

    name: str
    hours: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ConditionRow:
    """One thing to read at the start of the shift, with what was assumed for it."""

    name: str
    expected: str
    unit: str


@dataclass(frozen=True, slots=True)
class InheritedRow:
    """A dough or load that stands already when the night begins."""

    what: str
    pieces: str
    place: str
    since: str
    degrees: str
    load: str


@dataclass(frozen=True, slots=True)
class ProductTotal:
    """What is made of one product."""

    name: str
    ordered: str
    planned: str
    piece: str
    dough: str


@dataclass(frozen=True, slots=True)
class NeedRow:
    """What all mixes and preparations together need of one ingredient."""

    name: str
    mass: str


@dataclass(frozen=True, slots=True)
class CleanDown:
    """The mixer is cleaned between two mixes, because of what the first leaves behind."""

    mixer: str
    after: str
    before: str
    start: str
    why: str


def shift_texts(plan: Plan, reader: Reader) -> tuple[str, ...]:
    """Return who works from when to when."""
    people = {person.id: person.name for person in plan.day.bakery.people}
    return tuple(
        f"{people.get(shift.person_id, shift.person_id)}"
        f" {reader.clock.full(shift.start_utc)}–"
        f"{reader.clock.dated(shift.end_utc, shift.start_utc)}"
        for shift in sorted(plan.day.shifts, key=lambda shift: shift.start_utc)
    )


def room_forecasts(plan: Plan, reader: Reader) -> tuple[RoomForecast, ...]:
    """Return the forecast of each room while something is in the house."""
    blocks = blocks_of(plan)
    start = min((block.start_utc for block in blocks), default=plan.day.start_utc)
    end = max((block.end_utc for block in blocks), default=plan.day.end_utc)
    return tuple(
        RoomForecast(room.name, _hours(plan, room.id, start, end, reader))
        for room in plan.day.bakery.rooms
        if room.id in plan.conditions.rooms
    )


def _hours(
    plan: Plan, room_id: str, start: datetime, end: datetime, reader: Reader
) -> tuple[tuple[str, str], ...]:
    forecast = plan.conditions.rooms[room_id]
    moments = (
        (forecast.start_utc + timedelta(hours=i), degrees)
        for i, degrees in enumerate(forecast.temperature_c)
    )
    hours = [
        (reader.clock.time(moment), dough_degrees(degrees, reader.units))
        for moment, degrees in moments
        if start - timedelta(hours=1) < moment <= end
    ]
    return tuple(hours[:: 1 + (len(hours) - 1) // ROOM_COLUMNS])


def condition_rows(plan: Plan, reader: Reader) -> tuple[ConditionRow, ...]:
    """Return what is read at the start: waters, flours, chambers, ice."""
    house, known, say, units = plan.day.bakery, plan.conditions, reader.say, reader.units
    rows = [
        ConditionRow(
            say("water, {supply}", supply=supply.name),
            water_degrees(
                known.supplies_c.get(supply.id, supply.usual_c(plan.day.production_date)).value,
                units,
            ),
            units.degree,
        )
        for supply in house.supplies
    ]
    for store in house.flour_stores:
        measured = known.flour_c.get(store.id)
        expected = dough_degrees(measured.value, units) if measured else say("as its room")
        rows.append(ConditionRow(say("flour, {store}", store=store.name), expected, units.degree))
    rows += [
        ConditionRow(
            chamber.name,
            dough_degrees(known.chambers_c.get(chamber.id, chamber.temperature_c).value, units),
            units.degree,
        )
        for chamber in house.chambers
    ]
    if house.ice is not None:
        ice = stock_number(known.ice_stored_kg, units)
        name = say("{kind} ice in store", kind=say(str(house.ice.kind)))
        rows.append(ConditionRow(name, ice, units.mass))
    return tuple(rows)


def inherited_rows(plan: Plan, reader: Reader) -> tuple[InheritedRow, ...]:
    """Return what already stands in bulk, proof or retard, with the window of its loading."""
    loads = {load.id: load for load in plan.inherited_loads}
    return tuple(
        _inherited_row(plan, one, loads.get(one.id), reader) for one in plan.conditions.inherited
    )


def _inherited_row(
    plan: Plan, one: Inherited, load: PlannedLoad | None, reader: Reader
) -> InheritedRow:
    names, clock = Names(plan), reader.clock
    window = ""
    if load is not None:
        window = reader.span(load.load_from_utc, load.load_by_utc, load.load_utc)
        window = f"{clock.full(load.load_utc)} ({window})"
    return InheritedRow(
        f"{names.product(one.product_id)}, {reader.say(str(one.stage))}",
        str(one.pieces),
        names.place(one.place_id),
        clock.full(one.since_utc),
        temperature_text(one.dough_c, reader.units),
        window,
    )


def product_totals(plan: Plan, reader: Reader) -> tuple[ProductTotal, ...]:
    """Return pieces ordered and planned, weight off the bench and dough per product."""
    ordered: dict[str, int] = defaultdict(int)
    for line in plan.day.lines:
        if isinstance(line, Order):
            ordered[line.product_id] += line.pieces
    planned: dict[str, int] = defaultdict(int)
    dough: dict[str, float] = defaultdict(float)
    for mix in plan.mixes:
        shares = _pieces_of(mix)
        whole_kg = sum(n * plan.day.product(one).piece_kg for one, n in shares.items())
        for product_id, pieces in shares.items():
            piece_kg = plan.day.product(product_id).piece_kg
            planned[product_id] += pieces
            dough[product_id] += mix.dough_kg * pieces * piece_kg / whole_kg if whole_kg else 0.0
    return tuple(
        ProductTotal(
            product.name,
            str(ordered[product.id]) if product.id in ordered else MISSING,
            str(planned[product.id]),
            mass_text(product.piece_kg, reader.units),
            mass_text(dough[product.id], reader.units),
        )
        for product in plan.day.products
        if product.id in ordered or product.id in planned
    )


def _pieces_of(mix: PlannedMix) -> dict[str, int]:
    """Return the pieces of each product of a mix."""
    pieces: dict[str, int] = defaultdict(int)
    for load in mix.loads:
        pieces[load.product_id] += load.pieces
    if not pieces and mix.product_id is not None:
        pieces[mix.product_id] = mix.pieces
    return pieces


def flour_needs(plan: Plan, reader: Reader) -> tuple[NeedRow, ...]:
    """Return the flour of all mixes and preparations by its name, most first."""
    flours = {
        line.label
        for formula in plan.day.formulas
        for line in formula.all_lines
        if properties(line.material).is_flour
    }
    needed: dict[str, float] = defaultdict(float)
    lists = [mix.scaling for mix in plan.mixes] + [one.scaling for one in plan.preparations]
    for line in (line for scaling in lists for line in scaling):
        if line.name in flours:
            needed[line.name] += line.mass_kg
    ranked = sorted(needed.items(), key=lambda pair: -pair[1])
    return tuple(NeedRow(reader.say(name), mass_text(kg, reader.units)) for name, kg in ranked)


def clean_downs(plan: Plan, mixes: Iterable[PlannedMix], reader: Reader) -> tuple[CleanDown, ...]:
    """Return where a mixer is cleaned: of an allergen the next dough has not, or of a colour."""
    names, say = Names(plan), reader.say
    found = []
    for one in cleanings(plan.day, mixes):
        doughs = [plan.day.formula(mix.formula_id) for mix in (one.before, one.after)]
        colour = doughs[0].colour_class or doughs[1].colour_class
        found.append(
            CleanDown(
                names.place(one.mixer_id),
                names.mix(one.before.id, say),
                names.mix(one.after.id, say),
                reader.clock.full(one.after.start_utc),
                say.listed(", ".join(sorted(one.lost))) if one.lost else colour,
            )
        )
    return tuple(found)


def clean_notes(plan: Plan, reader: Reader) -> tuple[str, ...]:
    """Return what the order of the doughs costs in cleaning, mixer by mixer."""
    return tuple(reader.remark(r) for r in plan.remarks if r.code == "cleaning_order")

"""The bench sheet: first its content as data, then its page.

Two functions on purpose: what is printed can be tested without a page, and the page decides
nothing but where it stands.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from api.pages.alerts import Alert, alerts
from api.pages.day_blocks import blocks_of
from api.pages.day_drawing import day_drawing
from api.pages.mix_ticket import MixTicket, mix_ticket
from api.pages.preparation_card import PreparationCard, preparation_card
from api.pages.table import (
    STATUS_WORDS,
    AssumptionRow,
    BudgetRow,
    PlanTable,
    assumption_rows,
    budget_rows,
    plan_table,
)
from api.pages.templating import templates
from api.pages.timeline import TimelineRow, timeline
from api.pages.wording import (
    MISSING,
    Clock,
    Units,
    clock_of,
    dough_degrees,
    mass_text,
    stock_number,
    water_degrees,
)
from planner.day import Order
from planner.planned import Plan

ROOM_COLUMNS = 12
"""The most hours of a room forecast that stand side by side."""


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
class ProductTotal:
    """What is made of one product."""

    name: str
    ordered: str
    planned: str
    piece: str
    dough: str


@dataclass(frozen=True, slots=True)
class SheetContent:
    """Everything on the bench sheet, already in the words and units of the house."""

    bakery: str
    production_day: str
    production_date: str
    zone: str
    version: int
    status: str
    shifts: tuple[str, ...]
    units: Units
    alerts: tuple[Alert, ...]
    rooms: tuple[RoomForecast, ...]
    conditions: tuple[ConditionRow, ...]
    overview: PlanTable
    totals: tuple[ProductTotal, ...]
    budget: tuple[BudgetRow, ...]
    assumptions: tuple[AssumptionRow, ...]
    drawing: str
    rows: tuple[TimelineRow, ...]
    tickets: tuple[MixTicket, ...]
    cards: tuple[PreparationCard, ...]


def sheet_content(plan: Plan, zone: ZoneInfo, units: Units = Units.METRIC) -> SheetContent:
    """Return what the bench sheet of a plan says.

    Parameters
    ----------
    plan
        The plan.
    zone, units
        How the house reads time and quantities.
    """
    clock, production = clock_of(plan, zone), plan.day.production_date
    mixes = sorted(plan.mixes, key=lambda mix: mix.start_utc)
    preparations = sorted(plan.preparations, key=lambda one: one.start_utc)
    return SheetContent(
        bakery=plan.day.bakery.name,
        production_day=f"{production:%A} {production.day} {production:%B %Y}",
        production_date=production.isoformat(),
        zone=zone.key,
        version=plan.version,
        status=STATUS_WORDS[plan.status],
        shifts=_shifts(plan, clock),
        units=units,
        alerts=alerts(plan, clock, units),
        rooms=_rooms(plan, clock, units),
        conditions=_conditions(plan, units),
        overview=plan_table(plan, zone, units),
        totals=_totals(plan, units),
        budget=budget_rows(plan, clock, units),
        assumptions=assumption_rows(plan, units),
        drawing=day_drawing(plan, zone, units),
        rows=timeline(plan, clock, units),
        tickets=tuple(mix_ticket(plan, mix, clock, units) for mix in mixes),
        cards=tuple(preparation_card(plan, one, clock, units) for one in preparations),
    )


def sheet_html(plan: Plan, zone: ZoneInfo, units: Units = Units.METRIC) -> str:
    """Return the bench sheet of a plan as one page without any link outside of itself."""
    return page_of(sheet_content(plan, zone, units))


def page_of(content: SheetContent) -> str:
    """Return the page of a sheet's content."""
    return templates().get_template("sheet.html").render(sheet=content)


def _shifts(plan: Plan, clock: Clock) -> tuple[str, ...]:
    people = {person.id: person.name for person in plan.day.bakery.people}
    return tuple(
        f"{people.get(shift.person_id, shift.person_id)}"
        f" {clock.full(shift.start_utc)}–{clock.after(shift.end_utc, shift.start_utc)}"
        for shift in sorted(plan.day.shifts, key=lambda shift: shift.start_utc)
    )


def _rooms(plan: Plan, clock: Clock, units: Units) -> tuple[RoomForecast, ...]:
    blocks = blocks_of(plan)
    start = min((block.start_utc for block in blocks), default=plan.day.start_utc)
    end = max((block.end_utc for block in blocks), default=plan.day.end_utc)
    return tuple(
        RoomForecast(room.name, _hours(plan, room.id, start, end, clock, units))
        for room in plan.day.bakery.rooms
        if room.id in plan.conditions.rooms
    )


def _hours(
    plan: Plan, room_id: str, start: datetime, end: datetime, clock: Clock, units: Units
) -> tuple[tuple[str, str], ...]:
    forecast = plan.conditions.rooms[room_id]
    moments = (
        (forecast.start_utc + timedelta(hours=i), degrees)
        for i, degrees in enumerate(forecast.temperature_c)
    )
    hours = [
        (clock.time(moment), dough_degrees(degrees, units))
        for moment, degrees in moments
        if start - timedelta(hours=1) < moment <= end
    ]
    return tuple(hours[:: 1 + (len(hours) - 1) // ROOM_COLUMNS])


def _conditions(plan: Plan, units: Units) -> tuple[ConditionRow, ...]:
    house, known = plan.day.bakery, plan.conditions
    rows = [
        ConditionRow(
            f"water, {supply.name}",
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
        expected = dough_degrees(measured.value, units) if measured else "as its room"
        rows.append(ConditionRow(f"flour, {store.name}", expected, units.degree))
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
        rows.append(ConditionRow(f"{house.ice.kind} ice in store", ice, units.mass))
    return tuple(rows)


def _totals(plan: Plan, units: Units) -> tuple[ProductTotal, ...]:
    ordered: dict[str, int] = defaultdict(int)
    for line in plan.day.lines:
        if isinstance(line, Order):
            ordered[line.product_id] += line.pieces
    planned: dict[str, int] = defaultdict(int)
    dough: dict[str, float] = defaultdict(float)
    for mix in plan.mixes:
        if mix.product_id is not None:
            planned[mix.product_id] += mix.pieces
            dough[mix.product_id] += mix.dough_kg
    return tuple(
        ProductTotal(
            product.name,
            str(ordered[product.id]) if product.id in ordered else MISSING,
            str(planned[product.id]),
            mass_text(product.piece_kg, units),
            mass_text(dough[product.id], units),
        )
        for product in plan.day.products
        if product.id in ordered or product.id in planned
    )

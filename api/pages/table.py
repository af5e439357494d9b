"""The plan as one table: for the terminal, a pipe and the README."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from api.pages.alerts import Alert, alerts
from api.pages.names import Names
from api.pages.outlook import outlook_lines
from api.pages.reader import Reader, reader_of
from api.pages.why import WhyRow, why_rows
from api.pages.wording import (
    Clock,
    Units,
    clock_of,
    difference_text,
    dough_degrees,
    duration_text,
    mass_number,
    mass_text,
    minutes_number,
    stock_number,
    value_text,
    water_degrees,
)
from planner.planned import Plan, PlannedMix, PlanStatus
from planner.planned_preparation import PlannedPreparation

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

COSTLIEST = 3
"""How many assumptions a plan names."""

RULE_UNDER_HEAD = "    \n    \n -- \n    \n    \n    \n    \n    \n"
"""Frame of a table in rich's notation: a line under the head and nothing else."""

WIDE = 112
"""Columns from which the table of mixes has two blanks between its columns."""

NARROW = 100
"""Columns below which the table leaves out what the ticket says anyway."""

LEFT_OUT_WHEN_NARROW = frozenset({"batch", "mixer", "oven"})

STATUS_WORDS = {
    PlanStatus.LISTED: "a first plan, not bettered by a search",
    PlanStatus.FEASIBLE: "the best plan found in the time given",
    PlanStatus.OPTIMAL: "proved: no plan has fewer points",
}


@dataclass(frozen=True, slots=True)
class TableRow:
    """One mix, as text."""

    date: str
    mix: str
    start: str
    dough: str
    batch: str
    mixer: str
    dough_c: str
    water_c: str
    water_kg: str
    ice_kg: str
    mixing_min: str
    divide: str
    load_by: str
    oven: str
    leaves: str


@dataclass(frozen=True, slots=True)
class PreparationRow:
    """One levain, scald or soaker, as text."""

    start: str
    name: str
    made: str
    ready: str
    used_at: str


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """Ice and chilled water of one hour, as text."""

    hour: str
    ice_used: str
    ice_left: str
    chilled_used: str
    chilled_left: str


@dataclass(frozen=True, slots=True)
class AssumptionRow:
    """One default that costs, and the reading that would remove it, as text."""

    name: str
    cost: str
    remedy: str


@dataclass(frozen=True, slots=True)
class PlanTable:
    """The whole table, as text."""

    title: str
    subtitle: str
    outlook: tuple[str, ...]
    units: Units
    rows: tuple[TableRow, ...]
    unplaced: tuple[str, ...]
    alerts: tuple[Alert, ...]
    preparations: tuple[PreparationRow, ...]
    budget: tuple[BudgetRow, ...]
    assumptions: tuple[AssumptionRow, ...]
    why: tuple[WhyRow, ...] = ()


def plan_table(plan: Plan, zone: ZoneInfo, units: Units = Units.METRIC) -> PlanTable:
    """Return a plan's table as data.

    Parameters
    ----------
    plan
        The plan.
    zone, units
        How the house reads time and quantities.
    """
    clock, names = clock_of(plan, zone), Names(plan)
    production = plan.day.production_date
    return PlanTable(
        title=f"{plan.day.bakery.name}, {production:%A} {production.day} {production:%B %Y}",
        subtitle=f"plan version {plan.version}: {STATUS_WORDS[plan.status]}",
        outlook=outlook_lines(plan, reader_of(plan, zone, units)),
        units=units,
        rows=tuple(
            _row(mix, names, clock, units) for mix in sorted(plan.mixes, key=lambda m: m.start_utc)
        ),
        unplaced=plan.unplaced,
        alerts=alerts(plan, reader_of(plan, zone, units)),
        preparations=tuple(
            _preparation(one, plan, clock, units)
            for one in sorted(plan.preparations, key=lambda p: p.start_utc)
        ),
        budget=budget_rows(plan, reader_of(plan, zone, units)),
        assumptions=assumption_rows(plan, reader_of(plan, zone, units)),
        why=why_rows(plan, reader_of(plan, zone, units)),
    )


def _row(mix: PlannedMix, names: Names, clock: Clock, units: Units) -> TableRow:
    divide = "–".join(
        clock.after(moment, mix.start_utc) for moment in (mix.divide_from_utc, mix.divide_by_utc)
    )
    ready = [load.ready_utc for load in mix.loads]
    last_by = min((load.load_by_utc for load in mix.loads), default=None)
    return TableRow(
        date=clock.day(mix.start_utc),
        mix=str(names.mix_number(mix.id)),
        start=clock.time(mix.start_utc),
        dough=names.dough(mix),
        batch=f"{mix.batch}/{mix.batches}",
        mixer=names.place(mix.mixer_id),
        dough_c=dough_degrees(mix.ticket.wanted_c, units),
        water_c=water_degrees(mix.ticket.water_c, units),
        water_kg=mass_number(mix.ticket.water_kg, units, whole_kg=mix.dough_kg),
        ice_kg=mass_number(mix.ticket.ice_kg, units, whole_kg=mix.dough_kg),
        mixing_min=minutes_number(mix.mix_min),
        divide=divide,
        load_by=clock.after(last_by, mix.start_utc) if last_by else "",
        oven=", ".join(dict.fromkeys(names.place(load.oven_id) for load in mix.loads)),
        leaves=clock.after(max(ready), mix.start_utc) if ready else "",
    )


def _preparation(one: PlannedPreparation, plan: Plan, clock: Clock, units: Units) -> PreparationRow:
    uses = sorted(mix.start_utc for mix in plan.mixes if mix.id in one.mix_ids)
    ready = (one.ready_from_utc, one.ready_by_utc)
    return PreparationRow(
        start=f"{clock.day(one.start_utc)} {clock.time(one.start_utc)}",
        name=one.name,
        made=mass_text(one.made_kg, units),
        ready="–".join(clock.after(moment, one.start_utc) for moment in ready),
        used_at=", ".join(clock.after(moment, one.start_utc) for moment in uses),
    )


def budget_rows(plan: Plan, reader: Reader) -> tuple[BudgetRow, ...]:
    """Return the hours in which ice or chilled water is used."""
    return tuple(
        BudgetRow(
            reader.clock.time(hour.hour_utc),
            stock_number(hour.ice_used_kg, reader.units),
            stock_number(hour.ice_left_kg, reader.units),
            stock_number(hour.chilled_used_kg, reader.units),
            stock_number(hour.chilled_left_kg, reader.units),
        )
        for hour in plan.budgets
        if hour.ice_used_kg > 0.0005 or hour.chilled_used_kg > 0.0005
    )


def assumption_rows(plan: Plan, reader: Reader) -> tuple[AssumptionRow, ...]:
    """Return the assumptions that cost most, dearest first."""
    say = reader.say
    return tuple(
        AssumptionRow(
            f"{say.composed(one.name)} ({value_text(one.value, say(one.unit), reader.units)},"
            f" {say.composed(one.basis)})",
            say(
                "± {degrees} of dough, ± {minutes}",
                degrees=difference_text(one.effect_k, reader.units),
                minutes=duration_text(one.effect_min),
            ),
            say.composed(one.remedy),
        )
        for one in plan.assumptions[:COSTLIEST]
    )


# -- rendering ---------------------------------------------------------------------------------


def plain_text(table: PlanTable, width: int = 110) -> str:
    """Return the table as plain text of at most so many columns, for a pipe or the README."""
    from rich.console import Console  # noqa: PLC0415  (drawing is paid for when it is asked for)

    out = io.StringIO()
    print_table(table, Console(file=out, width=width, no_color=True, highlight=False))
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def print_table(table: PlanTable, console: Console) -> None:
    """Print the table with what belongs under it."""
    from rich.padding import Padding  # noqa: PLC0415  (as above)
    from rich.text import Text  # noqa: PLC0415  (as above)

    console.print(Text(table.title, style="bold"))
    console.print(Text(table.subtitle))
    for line in table.outlook:
        console.print(Text(line))
    for heading, body in _sections(table, console.width):
        console.print()
        if heading:
            console.print(Text(heading, style="bold"))
        console.print(Padding(body, (0, 0, 0, 0)))


def _sections(table: PlanTable, width: int) -> list[tuple[str, RenderableType]]:
    sections: list[tuple[str, RenderableType]] = [("", _mix_table(table, width))]
    first = [
        (f"{alert.kind}:", f"{alert.about}: {alert.text}" if alert.about else alert.text)
        for alert in table.alerts
    ] + [("no place:", name) for name in table.unplaced]
    if first:
        sections.append(("Read first", _list(first)))
    if table.preparations:
        sections.append(("Preparations", _preparation_table(table)))
    if table.budget:
        sections.append(("Ice and chilled water", _budget_table(table)))
    if table.assumptions:
        rows = [(f"{i}.", _sentence(one)) for i, one in enumerate(table.assumptions, start=1)]
        sections.append(("Assumed, and what it costs (two nights in three)", _list(rows)))
    bound = [(f"mix {row.number}:", " ".join(row.binds)) for row in table.why if row.binds]
    if bound:
        sections.append(("Why then and so, all other mixes held", _list(bound)))
    return sections


def _sentence(one: AssumptionRow) -> str:
    return f"{one.name}: {one.cost}. To remove it: {one.remedy}."


def _list(rows: list[tuple[str, str]]) -> RenderableType:
    from rich.table import Table  # noqa: PLC0415  (as above)
    from rich.text import Text  # noqa: PLC0415  (as above)

    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column(ratio=1)
    for mark, text in rows:
        grid.add_row(Text(f"  {mark}"), Text(text))
    return grid


def _mix_table(table: PlanTable, width: int) -> RenderableType:
    degree, mass = table.units.degree, table.units.mass
    columns: tuple[tuple[str, bool], ...] = (
        ("mix", True), ("start", False), ("dough", False), ("batch", False), ("mixer", False),
        (f"dough\n{degree}", True), (f"water\n{degree}", True), (f"water\n{mass}", True),
        (f"ice\n{mass}", True), ("mixing\nmin", True), ("divide\nfrom–by", False),
        ("load\nby", True), ("oven", False), ("ready", True),
    )  # fmt: skip
    cells: list[tuple[str, ...]] = []
    for row, before in zip(table.rows, (None, *table.rows), strict=False):
        if before is None or row.date != before.date:
            cells.append(("", "", row.date[:6]))
        cells.append(
            (
                row.mix, row.start, row.dough, row.batch, row.mixer, row.dough_c, row.water_c,
                row.water_kg, row.ice_kg, row.mixing_min, row.divide, row.load_by, row.oven,
                row.leaves,
            )
        )  # fmt: skip
    if width < NARROW:
        kept = [i for i, (name, _) in enumerate(columns) if name not in LEFT_OUT_WHEN_NARROW]
        columns = tuple(columns[i] for i in kept)
        cells = [tuple(cell for i, cell in enumerate(row) if i in kept) for row in cells]
    gap = 2 if width >= WIDE else 1
    return _table(columns, cells, wrapped=("dough", "mixer", "oven"), gap=gap)


def _preparation_table(table: PlanTable) -> RenderableType:
    columns = (
        ("start", False), ("what", False), ("made", True), ("ready from–by", False),
        ("for the mix at", False),
    )  # fmt: skip
    cells = [(p.start, p.name, p.made, p.ready, p.used_at) for p in table.preparations]
    return _table(columns, cells, wrapped=("what", "for the mix at"))


def _budget_table(table: PlanTable) -> RenderableType:
    mass = table.units.mass
    columns = (
        ("hour", False), (f"ice\nused {mass}", True), (f"ice\nleft {mass}", True),
        (f"chilled\nused {mass}", True), (f"chilled\nleft {mass}", True),
    )  # fmt: skip
    cells = [(b.hour, b.ice_used, b.ice_left, b.chilled_used, b.chilled_left) for b in table.budget]
    return _table(columns, cells)


def _table(
    columns: tuple[tuple[str, bool], ...],
    cells: Sequence[tuple[str, ...]],
    wrapped: tuple[str, ...] = (),
    gap: int = 2,
) -> RenderableType:
    from rich.box import Box  # noqa: PLC0415  (as above)
    from rich.table import Table  # noqa: PLC0415  (as above)
    from rich.text import Text  # noqa: PLC0415  (as above)

    made = Table(
        box=Box(RULE_UNDER_HEAD),
        padding=(0, gap - 1, 0, 0),
        pad_edge=False,
        show_edge=False,
        header_style="bold",
    )
    for name, is_number in columns:
        is_wrapped = name in wrapped
        made.add_column(
            name,
            justify="right" if is_number else "left",
            no_wrap=not is_wrapped,
            min_width=8 if is_wrapped else None,
        )
    for row in cells:
        made.add_row(*(Text(cell) for cell in row))
    return made

"""The papers of a night: first their content as data, then their page.

Two functions on purpose: what is printed can be tested without a page, and the page decides
nothing but where it stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from api.pages.alerts import Alert, alerts
from api.pages.by_hand import ByHand, by_hand
from api.pages.changes import Slip, slip
from api.pages.choice import Choice, Paper
from api.pages.day_drawing import day_drawings
from api.pages.front import (
    CleanDown,
    ConditionRow,
    InheritedRow,
    NeedRow,
    ProductTotal,
    RoomForecast,
    clean_downs,
    clean_notes,
    condition_rows,
    flour_needs,
    inherited_rows,
    product_totals,
    room_forecasts,
    shift_texts,
)
from api.pages.lists import BakeList, DivideRow, bake_lists, divide_list
from api.pages.log_sheet import LogSheet, log_sheet
from api.pages.mix_ticket import MixTicket, mix_ticket
from api.pages.names import Names
from api.pages.outlook import outlook_lines
from api.pages.preparation_card import PreparationCard, preparation_card
from api.pages.reader import Reader
from api.pages.runs import RunSheet, run_sheet, runs_of
from api.pages.shift_lines import ShiftLine, shift_lines
from api.pages.table import STATUS_WORDS, AssumptionRow, BudgetRow, assumption_rows, budget_rows
from api.pages.templating import templates
from api.pages.timeline import TimelineRow, timeline
from api.pages.why import WhyRow, why_rows
from api.pages.wording import date_text
from planner.planned import Plan, PlannedMix


class PaperSize(StrEnum):
    """Sizes of sheets that papers are laid out for."""

    A4 = "A4"
    LETTER = "Letter"

    @property
    def height_mm(self) -> float:
        """Height between the margins, less what counting letters may be wrong by [mm]."""
        return {PaperSize.A4: 297.0, PaperSize.LETTER: 279.4}[self] - 25.0


@dataclass(frozen=True, slots=True)
class SheetContent:
    """Everything on the papers of a night, already in the words and units of the house.

    Attributes
    ----------
    papers
        Which of them are printed.
    whose
        For whom or where, when it is not the whole shift.
    tickets
        Full tickets; ``plain`` are the mixes that some lines suffice for, ``runs`` those of
        which a row per batch is enough.
    """

    bakery: str
    production_day: str
    production_date: str
    zone: str
    version: int
    status: str
    outlook: tuple[str, ...]
    whose: str
    papers: tuple[Paper, ...]
    reader: Reader
    shifts: tuple[str, ...]
    alerts: tuple[Alert, ...]
    unplaced: tuple[str, ...]
    rooms: tuple[RoomForecast, ...]
    conditions: tuple[ConditionRow, ...]
    inherited: tuple[InheritedRow, ...]
    totals: tuple[ProductTotal, ...]
    needs: tuple[NeedRow, ...]
    budget: tuple[BudgetRow, ...]
    clean_downs: tuple[CleanDown, ...]
    clean_notes: tuple[str, ...]
    assumptions: tuple[AssumptionRow, ...]
    drawings: tuple[str, ...]
    why: tuple[WhyRow, ...]
    rows: tuple[TimelineRow, ...]
    lines: tuple[ShiftLine, ...]
    plain: tuple[MixTicket, ...]
    tickets: tuple[MixTicket, ...]
    runs: tuple[RunSheet, ...]
    cards: tuple[PreparationCard, ...]
    divide: tuple[DivideRow, ...]
    bake: tuple[BakeList, ...]
    log: LogSheet
    by_hand: ByHand
    slip: Slip | None

    @property
    def front_alerts(self) -> tuple[Alert, ...]:
        """What is read first; on a sheet for one dough, cautions stand at their step only."""
        return tuple(one for one in self.alerts if not (self.is_small and one.is_caution))

    @property
    def plain_cautions(self) -> tuple[str, ...]:
        """Cautions that hold for every mix in row form: they stand once, above them."""
        if len(self.plain) < 2:
            return ()
        shared = set(self.plain[0].cautions).intersection(*(one.cautions for one in self.plain))
        return tuple(text for text in self.plain[0].cautions if text in shared)

    @property
    def is_small(self) -> bool:
        """Whether one person works one dough: everything then stands on one sheet."""
        return len(self.shifts) > 0 and self.is_one_person and len(self.plain) == 1

    @property
    def is_one_person(self) -> bool:
        """Whether all work is one person's."""
        return len({row.person_id for row in self.rows if row.person_id}) == 1


def sheet_content(
    plan: Plan, reader: Reader, choice: Choice | None = None, before: Plan | None = None
) -> SheetContent:
    """Return what the papers of a plan say.

    Parameters
    ----------
    plan
        The plan.
    reader
        How the house reads time and quantities.
    choice
        Which papers, for whom; the small pack of the whole shift when left out.
    before
        The version on the wall, when there is one: for what changed since.
    """
    choice = choice or Choice()
    production = plan.day.production_date
    mixes, preparations = choice.mixes(plan), choice.preparations(plan)
    kinds = choice.kinds(plan)
    plain, tickets, runs = _sorted_mixes(plan, mixes, choice, kinds, reader)
    rows = choice.rows(timeline(plan, reader))
    return SheetContent(
        bakery=plan.day.bakery.name,
        production_day=date_text(production, reader.say.language),
        production_date=production.isoformat(),
        zone=reader.clock.zone.key,
        version=plan.version,
        status=reader.say(STATUS_WORDS[plan.status]),
        outlook=outlook_lines(plan, reader),
        whose=_whose(plan, choice, reader),
        papers=kinds,
        reader=reader,
        shifts=shift_texts(plan, reader),
        alerts=alerts(plan, reader),
        unplaced=plan.unplaced,
        rooms=room_forecasts(plan, reader),
        conditions=condition_rows(plan, reader),
        inherited=inherited_rows(plan, reader),
        totals=product_totals(plan, reader),
        needs=flour_needs(plan, reader),
        budget=budget_rows(plan, reader),
        clean_downs=clean_downs(plan, mixes, reader),
        clean_notes=clean_notes(plan, reader),
        assumptions=assumption_rows(plan, reader),
        drawings=day_drawings(plan, reader) if Paper.OVERVIEW in kinds else (),
        why=why_rows(plan, reader),
        rows=rows,
        lines=shift_lines(plan, rows, reader),
        plain=plain,
        tickets=tickets,
        runs=runs,
        cards=tuple(preparation_card(plan, one, reader) for one in preparations),
        divide=divide_list(plan, mixes, reader),
        bake=bake_lists(plan, mixes, reader),
        log=log_sheet(plan, mixes, preparations, reader),
        by_hand=by_hand(plan, reader),
        slip=None if before is None else slip(before, plan, reader),
    )


def _sorted_mixes(
    plan: Plan,
    mixes: tuple[PlannedMix, ...],
    choice: Choice,
    kinds: tuple[Paper, ...],
    reader: Reader,
) -> tuple[tuple[MixTicket, ...], tuple[MixTicket, ...], tuple[RunSheet, ...]]:
    """Return mixes in row form, those with a full ticket, and runs."""
    if Paper.TICKETS in kinds:
        return (), tuple(mix_ticket(plan, mix, reader) for mix in mixes), ()
    plain: list[MixTicket] = []
    tickets: list[MixTicket] = []
    runs: list[RunSheet] = []
    alone = len({task.person_id for task in plan.tasks}) == 1 and len(plan.mixes) == 1
    for group in runs_of(mix for mix in mixes if mix.id not in choice.ticket_ids):
        if len(group) > 1:
            runs.append(run_sheet(plan, group, reader))
            continue
        made = mix_ticket(plan, group[0], reader)
        (plain if made.is_plain or alone else tickets).append(made)
    tickets += [mix_ticket(plan, mix, reader) for mix in mixes if mix.id in choice.ticket_ids]
    return tuple(plain), tuple(sorted(tickets, key=lambda one: one.number)), tuple(runs)


def _whose(plan: Plan, choice: Choice, reader: Reader) -> str:
    names = Names(plan)
    place = reader.say("bench") if choice.place_id == "bench" else names.place(choice.place_id)
    parts = [names.person(choice.person_id), place]
    if choice.from_utc is not None:
        parts.append(reader.say("from {time}", time=reader.clock.full(choice.from_utc)))
    if choice.until_utc is not None:
        parts.append(reader.say("until {time}", time=reader.clock.full(choice.until_utc)))
    return ", ".join(part for part in parts if part)


def sheet_html(
    plan: Plan,
    reader: Reader,
    choice: Choice | None = None,
    *,
    before: Plan | None = None,
    size: PaperSize = PaperSize.A4,
    link: str = "",
) -> str:
    """Return the papers of a plan as one page without any link outside of itself.

    Parameters
    ----------
    plan, reader, choice, before
        As for `sheet_content`.
    size
        Size of the sheets.
    link
        Address under which the plan's mixes are found, for the codes on the tickets; without
        one there are none.
    """
    return page_of(sheet_content(plan, reader, choice, before), size, link)


def page_of(content: SheetContent, size: PaperSize = PaperSize.A4, link: str = "") -> str:
    """Return the page of a sheet's content."""
    template = templates().get_template("sheet.html")
    say = content.reader.say
    return template.render(sheet=content, size=size, link=link, say=say, many=say.many)

"""The plan of a day on one page: what must be read first, the numbers, the day drawn, its price."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import quote

from api.office.assumed import Assumed, assumed
from api.office.cells import say
from api.office.forms import Document, Typed
from api.office.shell import Shell, page
from api.pages.alerts import Alert, alerts
from api.pages.day_drawing import day_drawings
from api.pages.front import ProductTotal, product_totals
from api.pages.mix_ticket import BigNumber, five_numbers, ticket_masses
from api.pages.names import Names, batch_text
from api.pages.reader import Reader
from api.pages.table import (
    STATUS_WORDS,
    AssumptionRow,
    BudgetRow,
    assumption_rows,
    budget_rows,
)
from api.pages.wording import difference_text, mass_text, temperature_text
from api.schemas.plans import PlanHead, PlanState
from planner.planned import Plan, PlannedMix

STATE_WORDS = {
    PlanState.PLANNING: say("being made"),
    PlanState.READY: say("ready"),
    PlanState.FAILED: say("could not be made"),
}


@dataclass(frozen=True, slots=True)
class Version:
    """One version of the day's plan, as it stands in a list."""

    id: str
    href: str
    version: int
    state: str
    made: str
    is_ready: bool
    is_here: bool
    in_force: bool


@dataclass(frozen=True, slots=True)
class MixLine:
    """A mix as one line of the plan."""

    id: str
    href: str
    number: int
    dough: str
    batch: str
    mass: str
    mixer: str
    start: str
    numbers: tuple[BigNumber, ...]
    expected: str
    ripe: str
    load: str
    leaves: str
    pinned: str


@dataclass(frozen=True, slots=True)
class PreparationLine:
    """A levain, scald or soaker as one line of the plan."""

    name: str
    kind: str
    mass: str
    start: str
    ready: str
    uses: str


@dataclass(frozen=True, slots=True)
class PlanPage:
    """A finished plan.

    Attributes
    ----------
    first
        The alerts that must be read first; the others are cautions at their step.
    alone
        The one mix of a plan that has no other: its numbers are shown large.
    """

    plan_id: str
    version: int
    status: str
    in_force: bool
    first: tuple[Alert, ...]
    cautions: tuple[Alert, ...]
    mixes: tuple[MixLine, ...]
    alone: MixLine | None
    preparations: tuple[PreparationLine, ...]
    drawings: tuple[str, ...]
    costly: tuple[AssumptionRow, ...]
    assumed: tuple[Assumed, ...]
    budget: tuple[BudgetRow, ...]
    totals: tuple[ProductTotal, ...]
    versions: tuple[Version, ...]
    mixers: tuple[tuple[str, str], ...]
    has_ice: bool


def plan_href(plan_id: str) -> str:
    """Return the address of a plan's page."""
    return f"/plan/{quote(plan_id, safe='')}"


def mix_href(plan_id: str, mix_id: str) -> str:
    """Return the address of a mix's page."""
    return f"{plan_href(plan_id)}/mix/{quote(mix_id, safe='')}"


def versions_of(
    heads: Iterable[PlanHead], here: str, shell: Shell, made: Mapping[str, str]
) -> tuple[Version, ...]:
    """Return the versions of a day's plan, the newest first.

    Parameters
    ----------
    heads
        The plans of the day.
    here
        Id of the one that is shown.
    made
        When each was asked for, as text by its id.
    """
    return tuple(
        Version(
            head.id,
            plan_href(head.id),
            head.version,
            shell.say(STATE_WORDS[head.state]),
            made.get(head.id, ""),
            head.state is PlanState.READY,
            head.id == here,
            head.in_force,
        )
        for head in heads
    )


def plan_page(
    plan_id: str,
    plan: Plan,
    made_from: Document,
    reader: Reader,
    versions: tuple[Version, ...],
    typed: Typed | None = None,
) -> PlanPage:
    """Return the content of a finished plan's page.

    Parameters
    ----------
    plan_id, plan, made_from
        The plan, and the day as entered that it was made from.
    reader
        Clock, words and units.
    versions
        All versions of its day.
    typed
        What was typed to replace assumptions, when something of it was wrong.
    """
    told = alerts(plan, reader)
    mixes = mix_lines(plan_id, plan, reader)
    bakery = plan.day.bakery
    return PlanPage(
        plan_id,
        plan.version,
        reader.say(STATUS_WORDS[plan.status]),
        any(one.in_force for one in versions if one.id == plan_id),
        tuple(one for one in told if not one.is_caution),
        tuple(one for one in told if one.is_caution),
        mixes,
        mixes[0] if len(mixes) == 1 else None,
        _preparations(plan, reader),
        day_drawings(plan, reader),
        assumption_rows(plan, reader),
        assumed(plan, made_from, reader, typed),
        budget_rows(plan, reader),
        product_totals(plan, reader),
        versions,
        tuple((mixer.id, mixer.name) for mixer in bakery.mixers),
        bakery.ice is not None,
    )


def mix_lines(plan_id: str, plan: Plan, reader: Reader) -> tuple[MixLine, ...]:
    """Return the mixes of a plan in the order of starting."""
    names = Names(plan)
    pins = {pin.mix_id for pin in plan.pins}
    ordered = sorted(plan.mixes, key=lambda mix: mix.start_utc)
    return tuple(_mix_line(plan_id, mix, names, reader, pins) for mix in ordered)


def _mix_line(
    plan_id: str, mix: PlannedMix, names: Names, reader: Reader, pins: set[str]
) -> MixLine:
    clock, units, say = reader.clock, reader.units, reader.say
    loads = [load.load_utc for load in mix.loads]
    return MixLine(
        mix.id,
        mix_href(plan_id, mix.id),
        names.mix_number(mix.id),
        names.dough(mix),
        batch_text(mix, say),
        mass_text(mix.dough_kg, units),
        names.place(mix.mixer_id),
        clock.full(mix.start_utc),
        five_numbers(mix, ticket_masses(mix, reader), names, reader),
        say(
            "comes off at {dough} ± {spread}",
            dough=temperature_text(mix.ticket.expected_c, units),
            spread=difference_text(mix.ticket.expected_sd_k, units),
        ),
        reader.span(mix.divide_from_utc, mix.divide_by_utc, mix.start_utc),
        ", ".join(dict.fromkeys(clock.dated(moment, mix.start_utc) for moment in loads)),
        "" if mix.leave_by_utc is None else clock.full(mix.leave_by_utc),
        say("fixed") if {mix.id, mix.line_id} & pins else "",
    )


def _preparations(plan: Plan, reader: Reader) -> tuple[PreparationLine, ...]:
    names = Names(plan)
    return tuple(
        PreparationLine(
            one.name,
            reader.say(str(one.kind)),
            mass_text(one.made_kg, reader.units),
            reader.clock.full(one.start_utc),
            reader.span(one.ready_from_utc, one.ready_by_utc, one.start_utc),
            names.mixes(one.mix_ids, reader.say),
        )
        for one in sorted(plan.preparations, key=lambda one: one.start_utc)
    )


def plan_html(content: PlanPage, shell: Shell, **more: object) -> str:
    """Return the page of a finished plan."""
    return page("plan.html", shell, plan=content, **more)

"""One mix opened: its numbers, its times, why, its heat term by term, and what one may fix."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import quote

from api.office.cells import Ask, Asking, Cell, say
from api.office.forms import Typed
from api.office.plan_page import plan_href
from api.office.shell import Shell, page
from api.pages.balance import balance_rows
from api.pages.mix_ticket import MixTicket, mix_ticket
from api.pages.reader import Reader
from api.pages.wording import number, temperature_text
from api.pages.words import Words
from planner.beside import sum_reasons
from planner.planned import Plan, PlannedMix
from planner.remarks import Remark, RemarkKind

HEAD_WORDS = (
    say("what"),
    say("mass"),
    say("comes in at"),
    say("heat, kJ"),
    say("dough moves"),
)
NOT_FIXED = say("not fixed")


@dataclass(frozen=True, slots=True)
class OwnSum:
    """The sum of the trade beside our number."""

    whose: str
    sentence: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MixPage:
    """A mix opened."""

    plan_id: str
    plan_href: str
    ticket_href: str
    mix_id: str
    ticket: MixTicket
    leading: str
    unmet: tuple[str, ...]
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    heads: tuple[str, ...]
    terms: tuple[tuple[str, ...], ...]
    per_degree: str
    beside: OwnSum | None
    pins: tuple[Cell, ...]
    is_pinned: bool


def mix_page(
    plan_id: str, plan: Plan, mix: PlannedMix, reader: Reader, typed: Typed, *, is_pinned: bool
) -> MixPage:
    """Return the content of a mix's page.

    Parameters
    ----------
    plan_id, plan, mix
        A plan and one of its mixes.
    reader
        Clock, words and units.
    typed
        What is fixed of it, as stored or as typed.
    is_pinned
        Whether anything of it is fixed.
    """
    say = reader.say
    ticket = mix_ticket(plan, mix, reader)
    per = mix.ticket.dough_per_water_k
    return MixPage(
        plan_id,
        plan_href(plan_id),
        f"/api/v1/plans/{quote(plan_id, safe='')}/mixes/{quote(mix.id, safe='')}/ticket"
        f"?language={say.language}&units={reader.units}",
        mix.id,
        ticket,
        say(
            "Your number {usual}, planned for {wanted}.",
            usual=temperature_text(plan.day.formula(mix.formula_id).dough_c, reader.units),
            wanted=temperature_text(mix.steered.dough_c, reader.units),
        ),
        _told(mix.remarks, reader, RemarkKind.UNMET, RemarkKind.LEVER),
        _told(mix.remarks, reader, RemarkKind.REASON, RemarkKind.NOTE),
        _told(mix.remarks, reader, RemarkKind.CAUTION),
        tuple(say(head) for head in HEAD_WORDS),
        tuple((term_words(row[0], say), *row[1:]) for row in balance_rows(mix, reader.units)),
        say("One degree of water is worth {per} degrees of dough.", per=number(per, 2))
        if per
        else "",
        _beside(plan, mix, reader),
        pin_cells(plan, typed, reader),
        is_pinned,
    )


WORKING = say("working")
TERMS = (
    say("bowl and tool"),
    say("air of the room"),
    say("cooled mixer"),
    say("together"),
    say("ice"),
)
"""Terms of a balance that carry no name of the house."""


def term_words(term: str, say: Words) -> str:
    """Return a term of a balance in the reader's words.

    Examples
    --------
    >>> term_words("working, first speed, 5 min", Words("es"))
    'trabajo, primera velocidad, 5 min'
    """
    working = "working, "
    if term.startswith(working):
        return f"{say(WORKING)}, {say.listed(term.removeprefix(working))}"
    return say.composed(term)


def pin_cells(plan: Plan, typed: Typed, reader: Reader) -> tuple[Cell, ...]:
    """Return the inputs for what may be fixed of a mix."""
    mixers = tuple((mixer.name, mixer.name) for mixer in plan.day.bakery.mixers)
    asks = (
        Ask("start", say("starts exactly at"), "time"),
        Ask("not_before", say("starts not before"), "time"),
        Ask("mixer", say("on this mixer"), "choice", (("", NOT_FIXED), *mixers)),
        Ask("dough_c", say("dough temperature wanted"), "number"),
        Ask("load", say("in the oven exactly at"), "time"),
        Ask("first", say("first on its mixer"), "check"),
    )
    return Asking(typed, reader.say, reader.units).cells(asks)


def _told(remarks: Sequence[Remark], reader: Reader, *kinds: RemarkKind) -> tuple[str, ...]:
    return tuple(dict.fromkeys(reader.remark(one) for one in remarks if one.kind in kinds))


def _beside(plan: Plan, mix: PlannedMix, reader: Reader) -> OwnSum | None:
    beside, say, units = mix.ticket.hand_sum, reader.say, reader.units
    if beside is None:
        return None
    whose = say("Your own sum") if beside.is_own else say("The three-term sum of the trade")
    sentence = say(
        "It ({convention}) asks for water of {water}; that would give a dough of {dough}."
        " Ours, ice counted as colder water: {ours}.",
        convention=say(beside.convention),
        water=temperature_text(beside.water_c, units),
        dough=temperature_text(beside.dough_c, units),
        ours=temperature_text(beside.ours_c, units),
    )
    return OwnSum(whose, sentence, tuple(reader.remark(r) for r in sum_reasons(plan, mix.id)))


def mix_html(content: MixPage, shell: Shell, **more: object) -> str:
    """Return the page of a mix."""
    return page("mix.html", shell, mix=content, **more)

"""What a new version of a plan changes on paper: lines to strike and to write over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from api.pages.mix_ticket import five_numbers, ticket_masses
from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import mass_text
from planner.planned import Plan, PlannedMix
from planner.planned_preparation import PlannedPreparation


@dataclass(frozen=True, slots=True)
class ChangedLine:
    """One figure on paper that is another now."""

    what: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class ChangedThing:
    """A mix or preparation with its changed lines.

    Attributes
    ----------
    old_name
        What it is called on the sheet that hangs on the wall; empty when it is new there.
    has_begun
        Whether it had begun when the new version was made: nothing of it is done again.
    """

    name: str
    old_name: str
    start: str
    has_begun: bool
    lines: tuple[ChangedLine, ...]


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip to fix over the old sheet.

    Attributes
    ----------
    is_empty
        Whether paper says the same as before; then nothing is hung up.
    """

    old_version: int
    version: int
    things: tuple[ChangedThing, ...]

    @property
    def is_empty(self) -> bool:
        """Whether paper says the same as before."""
        return not self.things


def slip(before: Plan, now: Plan, reader: Reader) -> Slip:
    """Return what another version of a plan changes on paper, in order of time.

    Parameters
    ----------
    before, now
        The version on the wall, and the new one.
    reader
        How the house reads time and quantities.

    Notes
    -----
    Compared is what is printed: a change that rounding hides is none.
    """
    things = [
        *_changed_mixes(before, now, reader),
        *_changed_preparations(before, now, reader),
    ]
    things.sort(key=lambda pair: pair[0])
    return Slip(before.version, now.version, tuple(thing for _, thing in things))


Timed = tuple[datetime, ChangedThing]


def _changed_mixes(before: Plan, now: Plan, reader: Reader) -> Iterator[Timed]:
    old, new = {m.id: m for m in before.mixes}, {m.id: m for m in now.mixes}
    old_names, names, say = Names(before), Names(now), reader.say
    for mix_id in dict.fromkeys([*old, *new]):
        was, is_now = old.get(mix_id), new.get(mix_id)
        lines = _lines(
            _mix_figures(before, was, reader) if was else {},
            _mix_figures(now, is_now, reader) if is_now else {},
            reader,
        )
        if not lines:
            continue
        shown, of_names = (is_now, names) if is_now else (was, old_names)
        if shown is None:
            continue
        yield (
            shown.start_utc,
            ChangedThing(
                f"{of_names.mix(mix_id, say)}, {of_names.dough(shown)}",
                old_names.mix(mix_id, say) if was else "",
                reader.clock.full(shown.start_utc),
                mix_id in now.begun,
                lines,
            ),
        )


def _changed_preparations(before: Plan, now: Plan, reader: Reader) -> Iterator[Timed]:
    old, new = {p.id: p for p in before.preparations}, {p.id: p for p in now.preparations}
    for one_id in dict.fromkeys([*old, *new]):
        was, is_now = old.get(one_id), new.get(one_id)
        lines = _lines(
            _preparation_figures(was, reader) if was else {},
            _preparation_figures(is_now, reader) if is_now else {},
            reader,
        )
        shown = is_now or was
        if lines and shown is not None:
            begun = now.as_of_utc is not None and shown.start_utc <= now.as_of_utc
            name = shown.name
            start = reader.clock.full(shown.start_utc)
            yield (
                shown.start_utc,
                ChangedThing(name, name if was else "", start, begun, lines),
            )


def _lines(was: dict[str, str], is_now: dict[str, str], reader: Reader) -> tuple[ChangedLine, ...]:
    if not was or not is_now:
        gone = ChangedLine(reader.say("left out now"), "", "")
        return (gone,) if was else tuple(ChangedLine(w, "", text) for w, text in is_now.items())
    return tuple(
        ChangedLine(what, was.get(what, ""), is_now.get(what, ""))
        for what in dict.fromkeys([*was, *is_now])
        if was.get(what) != is_now.get(what)
    )


def _mix_figures(plan: Plan, mix: PlannedMix, reader: Reader) -> dict[str, str]:
    say, clock, names = reader.say, reader.clock, Names(plan)
    numbers = five_numbers(mix, ticket_masses(mix, reader), names, reader)
    figures = {
        say("number on paper"): str(names.mix_number(mix.id)),
        say("start"): clock.full(mix.start_utc),
        say("mixer"): names.place(mix.mixer_id),
    }
    for one in numbers:
        under = f" ({'; '.join(one.under)})" if one.under else ""
        figures[f"{one.label}, {one.unit}"] = f"{one.value}{under}"
    figures[say("divide")] = (
        f"{clock.full(mix.divide_utc)}"
        f" ({reader.span(mix.divide_from_utc, mix.divide_by_utc, mix.divide_utc)})"
    )
    for i, load in enumerate(mix.loads, start=1):
        window = reader.span(load.load_from_utc, load.load_by_utc, load.load_utc)
        figures[say("load {n}", n=i)] = (
            f"{names.place(load.oven_id)} {clock.full(load.load_utc)} ({window})"
        )
    return figures


def _preparation_figures(one: PlannedPreparation, reader: Reader) -> dict[str, str]:
    say, clock = reader.say, reader.clock
    return {
        say("start"): clock.full(one.start_utc),
        say("made"): mass_text(one.made_kg, reader.units),
        say("ready"): reader.span(one.ready_from_utc, one.ready_by_utc, one.start_utc),
    }

"""The wall: what comes next at each place, and the five numbers of the next mix."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from api.pages.bench.boxes import milliseconds
from api.pages.bench.day_held import offsets, title
from api.pages.bench.phrases import phrases
from api.pages.bench.screens import MixState, state_of
from api.pages.bench.shift import Shift
from api.pages.mix_ticket import BigNumber, five_numbers, ticket_masses
from api.pages.names import Names, batch_text
from api.pages.templating import templates
from api.pages.timeline import (
    BENCH,
    DIVIDE,
    LOAD,
    MIXER_OFF,
    MIXER_ON,
    OUT,
    TimelineRow,
    timeline,
)
from api.pages.words import Words
from planner.planned import PlannedMix

HELD = 6
"""So many lines of a place are sent along: the page shows the first of them that are not over."""

OVER_AFTER = timedelta(minutes=10)
"""Something that nobody reports is taken off the wall so long after its time."""

MIXES_HELD = 3
"""So many coming mixes are sent along with their numbers."""

LATE_AFTER = timedelta(minutes=3)
"""A mix is called late from so long after its time."""


@dataclass(frozen=True, slots=True)
class WallLine:
    """One thing to come at a place.

    Attributes
    ----------
    at
        Its moment [ms since 1970].
    until
        From when it is no longer shown [ms since 1970]; 0 for never: it stays until it is read.
    """

    time: str
    what: str
    subject: str
    until_words: str
    at: int
    until: int


@dataclass(frozen=True, slots=True)
class WallPlace:
    """What comes next at one place."""

    name: str
    lines: tuple[WallLine, ...]


@dataclass(frozen=True, slots=True)
class WallMix:
    """The five numbers of a mix to come."""

    name: str
    mixer: str
    start: str
    start_at: int
    numbers: tuple[BigNumber, ...]


@dataclass(frozen=True, slots=True)
class Wall:
    """What hangs on the wall.

    Attributes
    ----------
    late
        What is late, in words; ``at`` of each is when it was due [ms since 1970].
    """

    title: str
    mixes: tuple[WallMix, ...]
    late: tuple[WallLine, ...]
    places: tuple[WallPlace, ...]


def wall(shift: Shift) -> Wall:
    """Return what a shift's wall shows.

    Parameters
    ----------
    shift
        The shift.

    Notes
    -----
    A mix is late when its start or end was not read; other work is not reported and leaves the
    wall by the clock. Where nothing at all is read, nobody is called late.
    """
    names = Names(shift.plan)
    coming = [mix for mix in shift.mixes if state_of(shift, mix) is MixState.BEFORE]
    coming = [mix for mix in coming if _is_to_come(shift, mix)]
    return Wall(
        title(shift),
        tuple(_mix(shift, mix, names) for mix in coming[:MIXES_HELD]),
        _late(shift, names),
        _places(shift),
    )


def _is_to_come(shift: Shift, mix: PlannedMix) -> bool:
    """Return whether a mix that was not read as started is still to come."""
    return bool(shift.noted) or mix.start_utc > shift.now - OVER_AFTER


def _mix(shift: Shift, mix: PlannedMix, names: Names) -> WallMix:
    reader = shift.reader
    batch = batch_text(mix, reader.say)
    number = reader.say("Mix {number}", number=names.mix_number(mix.id))
    return WallMix(
        name=f"{number}: {names.dough(mix)}{', ' if batch else ''}{batch}",
        mixer=names.place(mix.mixer_id),
        start=reader.clock.time(mix.start_utc),
        start_at=milliseconds(mix.start_utc),
        numbers=five_numbers(mix, ticket_masses(mix, reader), names, reader),
    )


def _late(shift: Shift, names: Names) -> tuple[WallLine, ...]:
    """Return mixes that should have started, or should have come off, by what was read."""
    if not shift.noted:
        return ()
    say, found = shift.reader.say, []
    for mix in shift.mixes:
        state = state_of(shift, mix)
        label = f"{names.mix(mix.id, say)}, {names.dough(mix)}"
        if state is MixState.BEFORE and _is_over(shift, mix.start_utc):
            found.append((mix.start_utc, say("not started"), label))
        if state is MixState.MIXING and _is_over(shift, mix.mix_end_utc):
            found.append((mix.mix_end_utc, say("still in the mixer"), label))
        if state is MixState.OFF and _is_over(shift, shift.ended(mix.id) or mix.mix_end_utc):
            found.append((mix.mix_end_utc, say("dough not read"), label))
    return tuple(
        WallLine(shift.reader.clock.time(at), what, label, "", milliseconds(at), 0)
        for at, what, label in sorted(found)
    )


def _is_over(shift: Shift, moment: datetime) -> bool:
    return moment + LATE_AFTER < shift.now


def _places(shift: Shift) -> tuple[WallPlace, ...]:
    plan = shift.plan_now
    rows = [row for row in timeline(plan, shift.reader) if row.hands_on and _is_shown(shift, row)]
    house = plan.day.bakery
    order = [
        *((one.id, one.name) for one in house.mixers),
        (BENCH, shift.reader.say("bench")),
        *((one.id, one.name) for one in house.ovens),
        *((one.id, one.name) for one in house.rooms),
        *((one.id, one.name) for one in house.chambers),
        ("", shift.reader.say("elsewhere")),
    ]
    known = {key for key, _ in order}
    by_place: dict[str, list[TimelineRow]] = {}
    for row in rows:
        by_place.setdefault(row.place_id if row.place_id in known else "", []).append(row)
    return tuple(WallPlace(name, _lines(by_place[key])) for key, name in order if by_place.get(key))


def _is_shown(shift: Shift, row: TimelineRow) -> bool:
    if row.kind == MIXER_ON and shift.began(row.subject) is not None:
        return False
    if row.kind == MIXER_OFF and shift.ended(row.subject) is not None:
        return False
    return row.at_utc > shift.now - OVER_AFTER


def _subject(row: TimelineRow) -> tuple[str, str]:
    """Return what a line is about; kilos stand with the numbers of its mix."""
    return row.mix, row.amount if row.kind in (DIVIDE, LOAD, OUT) else ""


def _lines(rows: Iterable[TimelineRow]) -> tuple[WallLine, ...]:
    return tuple(
        WallLine(
            time=row.time,
            what=row.what,
            subject=", ".join(one for one in _subject(row) if one),
            until_words=row.until if row.kind in (DIVIDE, LOAD) else "",
            at=milliseconds(row.at_utc),
            until=milliseconds(row.at_utc + OVER_AFTER),
        )
        for row in list(rows)[:HELD]
    )


def wall_html(shift: Shift | None, bakery_id: str, files: str, language: str, say: Words) -> str:
    """Return the page of the wall.

    Parameters
    ----------
    shift
        The shift; None when there is no plan yet.
    files
        Where its script and style lie.
    language, say
        Language and words of the house.
    """
    inner = "" if shift is None else wall_part(shift)
    return (
        templates()
        .get_template("bench/wall.html")
        .render(bakery_id=bakery_id, files=files, language=language, say=say, inner=inner)
    )


def wall_part(shift: Shift) -> str:
    """Return what changes of the wall."""
    clock = shift.reader.clock
    template = templates().get_template("bench/wall_part.html")
    return template.render(
        wall=wall(shift),
        say=shift.reader.say,
        now=milliseconds(shift.now),
        words=phrases(shift.reader.say),
        offsets=offsets(clock.zone, shift.plan.day.start_utc),
    )

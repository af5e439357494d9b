"""What stands at the mixer: one screen per mix and preparation, and the list of the shift."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from api.pages.bench.boxes import (
    Box,
    degree_box,
    milliseconds,
    mix_boxes,
    seldom_boxes,
    written_text,
)
from api.pages.bench.shift import Noted, Shift
from api.pages.mix_ticket import MixTicket, mix_ticket
from api.pages.names import Names
from api.pages.preparation_card import PreparationCard, preparation_card
from api.pages.wording import duration_text, mass_number, water_degrees
from planner.planned import MidMix, PlannedMix
from planner.planned_preparation import PlannedPreparation, PreparationKind
from planner.readings import COOLING_SCALD, ReadingKind
from planner.remarks import Remark, RemarkKind
from planner.scald_outlook import scald_outlook

TOLD_KINDS = (RemarkKind.UNMET, RemarkKind.LEVER)
"""Remarks of a mix that are told at the mixer before it is off; its reasons stand on the ticket."""

AFTER = frozenset({ReadingKind.DOUGH_END_C, ReadingKind.MIX_END})


class MixState(StrEnum):
    """How far a mix is."""

    BEFORE = "before"
    MIXING = "mixing"
    OFF = "off"
    READ = "read"


@dataclass(frozen=True, slots=True)
class MixScreen:
    """One mix at the mixer.

    Attributes
    ----------
    key
        Its place on the page.
    start_at
        When it starts, or was started [ms since 1970].
    next_at
        What is counted down to: start, end of mixing, or the divide [ms since 1970].
    state_text
        How far it is, in words.
    said
        What the last reading changed and what to do about it.
    boxes, seldom
        What is read each time, and once in a while.
    before, after
        Keys of the mixes before and after it at the same mixer; empty at the ends.
    """

    key: str
    state: MixState
    state_text: str
    start_at: int
    next_at: int
    ticket: MixTicket
    said: tuple[str, ...]
    boxes: tuple[Box, ...]
    seldom: tuple[Box, ...]
    before: str = ""
    after: str = ""


def mix_key(names: Names, mix_id: str) -> str:
    """Return the place of a mix on the page."""
    return f"mix-{names.mix_number(mix_id)}"


def mix_screen(shift: Shift, mix: PlannedMix) -> MixScreen:
    """Return the screen of one mix.

    Parameters
    ----------
    shift
        The shift.
    mix
        One of its mixes, as it is now.
    """
    names = Names(shift.plan)
    mine = [one for one in shift.mixes if one.mixer_id == mix.mixer_id]
    at = next(i for i, one in enumerate(mine) if one.id == mix.id)
    state = state_of(shift, mix)
    return MixScreen(
        key=mix_key(names, mix.id),
        state=state,
        state_text=_state_text(shift, mix, state),
        start_at=milliseconds(mix.start_utc),
        next_at=milliseconds(_next(mix, state)),
        ticket=mix_ticket(shift.plan, mix, shift.reader),
        said=said(shift, mix, state),
        boxes=mix_boxes(shift, mix),
        seldom=seldom_boxes(shift, mix),
        before=mix_key(names, mine[at - 1].id) if at else "",
        after=mix_key(names, mine[at + 1].id) if at + 1 < len(mine) else "",
    )


def state_of(shift: Shift, mix: PlannedMix) -> MixState:
    """Return how far a mix is, by what was read of it."""
    if shift.end(mix.id) is not None:
        return MixState.READ
    if shift.ended(mix.id) is not None:
        return MixState.OFF
    return MixState.BEFORE if shift.began(mix.id) is None else MixState.MIXING


def _next(mix: PlannedMix, state: MixState) -> datetime:
    if state is MixState.BEFORE:
        return mix.start_utc
    return mix.mix_end_utc if state is MixState.MIXING else mix.divide_utc


def _state_text(shift: Shift, mix: PlannedMix, state: MixState) -> str:
    say, clock = shift.reader.say, shift.reader.clock
    if state is MixState.BEFORE:
        return say("to be mixed")
    if state is MixState.MIXING:
        began = shift.began(mix.id) or mix.start_utc
        return say("in the mixer since {time}", time=clock.hand(began))
    if state is MixState.OFF:
        ended = shift.ended(mix.id) or mix.mix_end_utc
        return say("off the mixer at {time}: read the dough", time=clock.hand(ended))
    return say(
        "divide at {time}, {first} to {last}",
        time=clock.dated(mix.divide_utc, mix.mix_end_utc),
        first=clock.dated(mix.divide_from_utc, mix.divide_utc),
        last=clock.dated(mix.divide_by_utc, mix.divide_utc),
    )


def said(shift: Shift, mix: PlannedMix, state: MixState) -> tuple[str, ...]:
    """Return what to do about what was read last, in plain words."""
    last = _last_answer(shift, mix.id)
    kept = () if last is None or last.is_answered else (_not_reckoned(shift),)
    if last is None or last.answer is None or not last.is_answered:
        return (*kept, *_told(shift, mix.remarks))
    answer = last.answer
    if answer.mid_mix is not None and state is not MixState.READ:
        return (
            *_second_water(shift, mix, answer.mid_mix),
            *(shift.reader.remark(remark) for remark in answer.remarks),
        )
    if last.reading.kind in AFTER and shift.is_standing(last.reading):
        return tuple(shift.reader.remark(remark) for remark in answer.remarks)
    return _told(shift, answer.mix.remarks)


def _not_reckoned(shift: Shift) -> str:
    return shift.reader.say(
        "The reading is kept. Its figures could not be worked out; those of the plan stand."
    )


def _last_answer(shift: Shift, mix_id: str) -> Noted | None:
    mine = [
        one
        for one in shift.noted
        if one.reading.mix_id == mix_id and one.reading.kind is not ReadingKind.NOTE
    ]
    return mine[-1] if mine else None


def _told(shift: Shift, remarks: tuple[Remark, ...]) -> tuple[str, ...]:
    return tuple(shift.reader.remark(r) for r in remarks if r.kind in TOLD_KINDS)


def _second_water(shift: Shift, mix: PlannedMix, middle: MidMix) -> tuple[str, ...]:
    """Return the second water as it should be now, in finished figures."""
    say, units, names = shift.reader.say, shift.reader.units, Names(shift.plan)

    def mass(kg: float) -> str:
        return f"{mass_number(kg, units, whole_kg=mix.dough_kg)} {units.mass}"

    def degrees(temperature_c: float) -> str:
        return f"{water_degrees(temperature_c, units)} {units.degree}"

    lines = [
        say(
            "second water, {supply}: {mass} at {degrees}",
            supply=names.supply(line.supply_id),
            mass=mass(line.water_kg),
            degrees=degrees(line.temperature_c),
        )
        for line in middle.water
    ]
    if middle.ice_kg > 0:
        lines.append(say("with {mass} of ice", mass=mass(middle.ice_kg)))
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class TakenLine:
    """A reading of a preparation that was taken.

    Attributes
    ----------
    standing
        Its id, to take it back by.
    mix_id
        The mix it was sent with.
    """

    time: str
    what: str
    value: str
    standing: str
    mix_id: str


@dataclass(frozen=True, slots=True)
class PreparationScreen:
    """A levain, preferment, scald or soaker.

    Attributes
    ----------
    ready_text
        When it is ready, with its band.
    ready_at, check_at
        When it is ready, or once it is, by when it is used; when it is to be read next
        [ms since 1970]; 0 for never.
    check_text
        When to read it next; empty when nothing would be learned.
    boxes
        What is read of it.
    taken
        What was read while it cooled.
    uses
        Keys of the mixes that use it, with their words.
    """

    key: str
    card: PreparationCard
    ready_text: str
    start_at: int
    ready_at: int
    check_text: str
    check_at: int
    said: tuple[str, ...]
    boxes: tuple[Box, ...]
    taken: tuple[TakenLine, ...]
    uses: tuple[tuple[str, str], ...]


def preparation_key(shift: Shift, one: PlannedPreparation) -> str:
    """Return the place of a preparation on the page."""
    ordered = sorted(shift.plan.preparations, key=lambda p: (p.start_utc, p.id))
    return f"prep-{1 + [p.id for p in ordered].index(one.id)}"


def preparation_screen(shift: Shift, one: PlannedPreparation) -> PreparationScreen:
    """Return the screen of one preparation.

    Parameters
    ----------
    shift
        The shift.
    one
        One of its preparations, as planned.
    """
    reader, names = shift.reader, Names(shift.plan)
    say, clock = reader.say, reader.clock
    card = preparation_card(shift.plan_now, one, reader)
    seen = scald_outlook(shift.plan_now, one)
    ready, check_at, check_text = one.ready_from_utc, None, ""
    ready_text = say(
        "{ready} from {first}, use by {last}",
        ready=card.ready_word,
        first=card.ready_from,
        last=card.ready_by,
    )
    if seen is not None:
        ready = seen.ready_utc or one.ready_by_utc
        ready_text = (
            say("does not cool enough where it stands")
            if seen.ready_utc is None
            else say(
                "cool enough at {time}, give or take {band}",
                time=clock.dated(seen.ready_utc, one.start_utc),
                band=duration_text(seen.band_min),
            )
        )
        check_at = seen.read_again_utc
        if check_at is not None:
            check_text = say("read it again at {time}", time=clock.dated(check_at, one.start_utc))
    return PreparationScreen(
        key=preparation_key(shift, one),
        card=card,
        ready_text=ready_text,
        start_at=milliseconds(one.start_utc),
        ready_at=milliseconds(ready if shift.now < ready else one.ready_by_utc),
        check_text=check_text,
        check_at=0 if check_at is None else milliseconds(check_at),
        said=_scald_said(shift, one),
        boxes=_preparation_boxes(shift, one),
        taken=_taken(shift, one),
        uses=tuple(
            (mix_key(names, mix.id), f"{names.mix(mix.id, say)}, {names.dough(mix)}")
            for mix in shift.mixes
            if mix.id in one.mix_ids
        ),
    )


def _preparation_boxes(shift: Shift, one: PlannedPreparation) -> tuple[Box, ...]:
    """Return what is read of a preparation: a scald while it cools, anything at its use."""
    say, names = shift.reader.say, Names(shift.plan)
    boxes = []
    if one.kind is PreparationKind.SCALD:
        first = one.mix_ids[0]
        boxes = [
            degree_box(
                shift, ReadingKind.SCALD_STIRRED_C, say("stirred through"), first, None,
                part_id=one.part_id,
            ),
            degree_box(
                shift, ReadingKind.SCALD_MIDDLE_C, say("in its middle"), first, None,
                part_id=one.part_id,
            ),
        ]  # fmt: skip
        boxes = [_open(box) for box in boxes]
    mixes = [mix for mix in shift.mixes if mix.id in one.mix_ids]
    uses = dict(zip(one.mix_ids, one.use_c, strict=False))
    return (
        *boxes,
        *(
            degree_box(
                shift,
                ReadingKind.PART_C,
                say("at its use, {mix}", mix=names.mix(mix.id, say)),
                mix.id,
                uses.get(mix.id),
                part_id=one.part_id,
            )
            for mix in mixes
        ),
    )


def _open(box: Box) -> Box:
    """Return a box that is empty again after each reading: a scald is read several times."""
    return Box(
        label=box.label, unit=box.unit, expected="", kind=box.kind, mix_id=box.mix_id,
        part_id=box.part_id, field=box.field, low=box.low, high=box.high, far=0.0, step=box.step,
        picture=box.picture,
    )  # fmt: skip


def _cooling(shift: Shift, one: PlannedPreparation) -> list[Noted]:
    return [
        noted
        for noted in shift.standing
        if noted.reading.kind in COOLING_SCALD
        and noted.reading.mix_id in one.mix_ids
        and noted.reading.part_id in (None, one.part_id)
    ]


def _scald_said(shift: Shift, one: PlannedPreparation) -> tuple[str, ...]:
    mine = _cooling(shift, one)
    if not mine or mine[-1].answer is None:
        return ()
    return tuple(shift.reader.remark(remark) for remark in mine[-1].answer.remarks)


def _taken(shift: Shift, one: PlannedPreparation) -> tuple[TakenLine, ...]:
    say, reader = shift.reader.say, shift.reader
    words = {
        ReadingKind.SCALD_STIRRED_C: say("stirred through"),
        ReadingKind.SCALD_MIDDLE_C: say("in its middle"),
    }
    return tuple(
        TakenLine(
            reader.clock.hand(noted.reading.at_utc),
            words[noted.reading.kind],
            written_text(noted.reading.value_c, noted.reading.at_utc, reader),
            noted.reading.id,
            noted.reading.mix_id,
        )
        for noted in sorted(_cooling(shift, one), key=lambda n: n.reading.at_utc)
    )


@dataclass(frozen=True, slots=True)
class ListedLine:
    """A line of the list of the shift; ``at`` is what is counted down to [ms since 1970]."""

    key: str
    time: str
    number: str
    name: str
    note: str
    state: str
    at: int
    is_done: bool


@dataclass(frozen=True, slots=True)
class ListedPlace:
    """The lines of one mixer, or the preparations."""

    name: str
    lines: tuple[ListedLine, ...]


def shift_list(shift: Shift) -> tuple[ListedPlace, ...]:
    """Return what a shift mixes and prepares: mixer by mixer, then what is prepared."""
    names, say, clock = Names(shift.plan), shift.reader.say, shift.reader.clock
    places = []
    for mixer in shift.plan.day.bakery.mixers:
        mine = [mix for mix in shift.mixes if mix.mixer_id == mixer.id]
        if mine:
            places.append(
                ListedPlace(mixer.name, tuple(_mix_line(shift, mix, names) for mix in mine))
            )
    ordered = sorted(shift.plan.preparations, key=lambda p: (p.start_utc, p.id))
    if ordered:
        lines = tuple(
            ListedLine(
                key=preparation_key(shift, one),
                time=clock.full(one.start_utc),
                number="",
                name=one.name,
                note=say("for {mixes}", mixes=names.mixes(one.mix_ids, say)),
                state=say("ready from {time}", time=clock.dated(one.ready_from_utc, one.start_utc)),
                at=milliseconds(one.ready_from_utc),
                is_done=False,
            )
            for one in ordered
        )
        places.append(ListedPlace(say("Preparations"), lines))
    return tuple(places)


def _mix_line(shift: Shift, mix: PlannedMix, names: Names) -> ListedLine:
    state = state_of(shift, mix)
    return ListedLine(
        key=mix_key(names, mix.id),
        time=shift.reader.clock.full(mix.start_utc),
        number=str(names.mix_number(mix.id)),
        name=names.dough(mix),
        note=f"{mass_number(mix.dough_kg, shift.reader.units)} {shift.reader.units.mass}",
        state=_state_text(shift, mix, state),
        at=milliseconds(_next(mix, state)),
        is_done=state is MixState.READ,
    )

"""The record: readings against plan, beside the baker's own sum; the log for an inspector."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from api.pages.bench.boxes import shown_difference, written_text
from api.pages.bench.shift import Noted, Shift
from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.templating import templates
from api.pages.wording import (
    MISSING,
    Units,
    date_text,
    difference_text,
    dough_degrees,
    number,
    signed_difference,
)
from api.pages.words import Words
from planner.planned import Plan, PlannedMix
from planner.readings import COOLING_SCALD, HAS_TEMPERATURE, ReadingKind
from planner.record import NEAR_K, MixRecord, Tally, mix_record, nights, tally

LABELS = {
    ReadingKind.FLOUR_C: "flour",
    ReadingKind.ROOM_C: "room",
    ReadingKind.PART_C: "preferment or scald",
    ReadingKind.SCALD_STIRRED_C: "stirred through",
    ReadingKind.SCALD_MIDDLE_C: "in its middle",
    ReadingKind.WATER_C: "tap water",
    ReadingKind.DOUGH_END_C: "dough at end",
    ReadingKind.BOWL_C: "bowl",
    ReadingKind.DOUGH_MID_C: "dough during the mix",
    ReadingKind.METERED_KWH: "metered energy",
    ReadingKind.MIX_START: "mixer on",
    ReadingKind.MIX_END: "off the mixer",
    ReadingKind.NOTE: "what was done",
}
"""What a reading is of, in the words of the log; a reading taken back is marked at its own line."""


@dataclass(frozen=True, slots=True)
class TallyRow:
    """Doughs of one mixer or formula, as text."""

    name: str
    count: str
    near: str
    mean: str
    off: str
    sum_off: str


@dataclass(frozen=True, slots=True)
class LogRow:
    """One line of the log.

    Attributes
    ----------
    within
        Whether it is within its limit, in words; empty where there is none.
    told
        What the shift was told to do.
    done
        What was done about it, in the words of the house.
    is_gone
        Whether it was replaced or taken back; it stays in the log.
    asks
        Whether a word on what was done is missing.
    """

    date: str
    time: str
    at_utc: datetime
    item: str
    what: str
    value: str
    expected: str
    within: str
    told: str
    done: str
    by: str
    thermometer: str
    is_gone: bool
    asks: bool
    plan_id: str
    mix_id: str


@dataclass(frozen=True, slots=True)
class Dot:
    """A dough in the drawing: where it lies, ours and the sum's, in the drawing's units."""

    x: float
    y: float
    sum_y: float | None


@dataclass(frozen=True, slots=True)
class Drawing:
    """How far doughs came off, one after the other, within lines of whole degrees."""

    width: int
    height: int
    zero_y: float
    near_top: float
    near_height: float
    lines: tuple[tuple[float, str], ...]
    dots: tuple[Dot, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """What was read in some nights, as text.

    Attributes
    ----------
    whole
        All doughs together; None without any.
    own
        Whether every sum beside is the baker's own.
    near
        Within how much a dough is called near, as text.
    missing
        How many lines out of their limit have no word on what was done.
    """

    first: str
    last: str
    near: str
    whole: TallyRow | None
    won: int
    lost: int
    equal: int
    own: bool
    by_mixer: tuple[TallyRow, ...]
    by_formula: tuple[TallyRow, ...]
    drawing: Drawing | None
    log: tuple[LogRow, ...]
    missing: int


def record(shifts: Iterable[Shift], first: date, last: date, reader: Reader) -> Record:
    """Return the record of some nights.

    Parameters
    ----------
    shifts
        Plans with readings, in the order of their days.
    first, last
        The days asked for.
    reader
        How the house reads.
    """
    listed = list(shifts)
    found = [one for shift in listed for one in mix_records(shift)]
    whole, won = tally(found), nights(found)
    log = tuple(row for shift in listed for row in log_rows(shift))
    names = [Names(shift.plan) for shift in listed]
    return Record(
        first=date_text(first, reader.say.language),
        last=date_text(last, reader.say.language),
        near=difference_text(NEAR_K, reader.units),
        whole=None if whole is None else _row("", whole, reader),
        won=won.won,
        lost=won.lost,
        equal=won.equal,
        own=all(one.is_own_sum for one in found if one.sum_c is not None),
        by_mixer=_rows(found, lambda one: one.mixer_id, names[-1].place, reader) if found else (),
        by_formula=(
            _rows(found, lambda one: one.formula_id, names[-1].formula, reader) if found else ()
        ),
        drawing=_drawing(found, reader.units) if found else None,
        log=log,
        missing=sum(row.asks for row in log),
    )


def mix_records(shift: Shift) -> list[MixRecord]:
    """Return the doughs of a shift that were read off their mixers."""
    found = []
    for mix in shift.mixes:
        end = shift.end(mix.id)
        if end is not None and end.reading.value_c is not None:
            read_c = end.reading.value_c + end.offset_k
            found.append(mix_record(shift.plan.day.production_date, mix, read_c))
    return found


def _rows(
    found: list[MixRecord],
    key: Callable[[MixRecord], str],
    name: Callable[[str], str],
    reader: Reader,
) -> tuple[TallyRow, ...]:
    rows = []
    for one in sorted({key(record) for record in found}):
        together = tally(record for record in found if key(record) == one)
        if together is not None:
            rows.append(_row(name(one), together, reader))
    return tuple(rows)


def _row(name: str, one: Tally, reader: Reader) -> TallyRow:
    units = reader.units
    return TallyRow(
        name=name,
        count=str(one.count),
        near=f"{number(100 * one.near)} %",
        mean=signed_difference(one.mean_k, units),
        off=difference_text(one.mean_off_k, units),
        sum_off=difference_text(one.sum_mean_off_k, units),
    )


WIDTH, HEIGHT, MARGIN = 720, 220, 46


def _drawing(found: list[MixRecord], units: Units) -> Drawing:
    """Return where each dough lies; the scale holds all of them and at least three degrees."""
    offs = [one.off_k for one in found] + [one.sum_off_k or 0.0 for one in found]
    most = max(3.0, *(abs(k) for k in offs))
    inner = HEIGHT - 20

    def y(off_k: float) -> float:
        return round(10 + inner * (most - off_k) / (2 * most), 1)

    step = (WIDTH - MARGIN - 20) / max(1, len(found))
    degrees = range(-int(most), int(most) + 1)
    return Drawing(
        WIDTH,
        HEIGHT,
        y(0.0),
        y(1.0),
        y(-1.0) - y(1.0),
        tuple(
            (y(k), number(shown_difference(k, units), 1 if units is Units.US else 0) if k else "0")
            for k in degrees
            if most <= 6 or k % 2 == 0
        ),
        tuple(
            Dot(
                round(MARGIN + step * (i + 0.5), 1),
                y(one.off_k),
                None if one.sum_off_k is None else y(one.sum_off_k),
            )
            for i, one in enumerate(found)
        ),
    )


def log_rows(shift: Shift) -> list[LogRow]:
    """Return every reading of a shift in the order of time, also those replaced or taken back."""
    names = Names(shift.plan)
    notes: dict[str, list[str]] = {}
    for noted in shift.standing:
        if noted.reading.note:
            notes.setdefault(noted.reading.mix_id, []).append(noted.reading.note)
    told = [
        noted
        for noted in shift.noted
        if noted.reading.kind not in (ReadingKind.WITHDRAWN, ReadingKind.NOTE)
    ]
    return [
        _log_row(shift, noted, names, "; ".join(notes.get(noted.reading.mix_id, ())))
        for noted in sorted(told, key=lambda one: one.reading.at_utc)
    ]


def _log_row(shift: Shift, noted: Noted, names: Names, done: str) -> LogRow:
    reading, reader, plan = noted.reading, shift.reader, shift.plan
    say, clock = reader.say, reader.clock
    mix = plan.mix(reading.mix_id)
    limit = _limit(plan, mix, reading.kind)
    off = limit is not None and reading.value_c is not None and not _is_within(noted, limit)
    is_gone = not shift.is_standing(reading)
    is_end = reading.kind is ReadingKind.DOUGH_END_C
    part = next((one.name for one in plan.preparations if one.part_id == reading.part_id), "")
    what = say(LABELS[reading.kind])
    answered = noted.answer
    told = () if answered is None or not is_end else answered.remarks
    return LogRow(
        date=clock.day(reading.at_utc),
        time=clock.time(reading.at_utc),
        at_utc=reading.at_utc,
        item=f"{names.mix(mix.id, say)}, {names.dough(mix)}",
        what=f"{part}, {what}" if part and reading.kind in COOLING_SCALD else part or what,
        value=_value(noted, reader),
        expected="" if limit is None else _limit_text(limit, reader),
        within="" if limit is None else say("no") if off else say("yes"),
        told=" ".join(reader.remark(remark) for remark in told),
        done=done if is_end and off and not is_gone else "",
        by=reading.by or "",
        thermometer=_thermometer(noted, reader),
        is_gone=is_gone,
        asks=off and not is_gone and not done,
        plan_id=shift.plan_id,
        mix_id=mix.id,
    )


def _limit(plan: Plan, mix: PlannedMix, kind: ReadingKind) -> tuple[float, float] | None:
    """Return between what a dough off the mixer should lie [°C]: its number and its band."""
    if kind is not ReadingKind.DOUGH_END_C:
        return None
    formula = plan.day.formula(mix.formula_id)
    return mix.steered.dough_c - formula.band_k, mix.steered.dough_c + formula.band_k


def _is_within(noted: Noted, limit: tuple[float, float]) -> bool:
    value_c = (noted.reading.value_c or 0.0) + noted.offset_k
    return limit[0] - 0.05 <= value_c <= limit[1] + 0.05


def _limit_text(limit: tuple[float, float], reader: Reader) -> str:
    low, high = (dough_degrees(one, reader.units) for one in limit)
    return f"{low}–{high} {reader.units.degree}"


def _value(noted: Noted, reader: Reader) -> str:
    reading = noted.reading
    if reading.kind is ReadingKind.METERED_KWH:
        return f"{number(reading.energy_kwh, 2)} kWh"
    if reading.kind in HAS_TEMPERATURE and reading.value_c is None:
        return MISSING
    return written_text(reading.value_c, reading.at_utc, reader)


def _thermometer(noted: Noted, reader: Reader) -> str:
    id = noted.reading.thermometer_id or ""
    if not noted.offset_k:
        return id
    return f"{id} ({signed_difference(noted.offset_k, reader.units)})"


def record_html(
    content: Record, bakery_id: str, dates: tuple[date, date], files: str, say: Words
) -> str:
    """Return the page of the record."""
    template = templates().get_template("bench/record.html")
    return template.render(
        record=content,
        bakery_id=bakery_id,
        first=dates[0],
        last=dates[1],
        files=files,
        say=say,
        many=say.many,
    )


HEAD = (
    "date", "time_utc", "local_time", "item", "what", "value", "limit", "within_limit",
    "what_was_told", "what_was_done", "by", "thermometer", "replaced_or_taken_back", "plan",
    "mix_id",
)  # fmt: skip


def log_csv(rows: Iterable[LogRow]) -> str:
    """Return the log as CSV with a head; what was replaced stays in it, marked."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(HEAD)
    for row in rows:
        cells = [
            row.date, f"{row.at_utc:%Y-%m-%dT%H:%M:%SZ}", row.time, row.item, row.what, row.value,
            row.expected, row.within, row.told, row.done, row.by, row.thermometer,
            "yes" if row.is_gone else "", row.plan_id, row.mix_id,
        ]  # fmt: skip
        writer.writerow([_harmless(cell) for cell in cells])
    return text.getvalue()


def _harmless(cell: str) -> str:
    """Return a cell that no table takes for a sum."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def span_of(
    first: date | None, last: date | None, today: date, days: int = 14
) -> tuple[date, date]:
    """Return the days asked for: the last fortnight when nothing is said."""
    end = last or today + timedelta(days=1)
    return first or end - timedelta(days=days), end

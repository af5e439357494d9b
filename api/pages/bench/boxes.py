"""Boxes to enter a reading in: what is expected, and what cannot be meant without asking."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from api.pages.bench.shift import Noted, Shift
from api.pages.reader import Reader
from api.pages.wording import Units, dough_degrees
from planner.materials import properties
from planner.planned import PlannedMix
from planner.quantities import fahrenheit_difference_from_kelvin, fahrenheit_from_celsius
from planner.readings import ReadingKind

FAR_K = 12.0
DOUGH_FAR_K = 8.0
"""A reading further than this from what is expected is asked back once, a dough sooner [K]."""

PLAUSIBLE_C = {
    ReadingKind.FLOUR_C: (-5.0, 45.0),
    ReadingKind.ROOM_C: (-5.0, 50.0),
    ReadingKind.PART_C: (-5.0, 90.0),
    ReadingKind.SCALD_STIRRED_C: (0.0, 100.0),
    ReadingKind.SCALD_MIDDLE_C: (0.0, 100.0),
    ReadingKind.WATER_C: (0.0, 60.0),
    ReadingKind.DOUGH_END_C: (5.0, 45.0),
    ReadingKind.DOUGH_MID_C: (0.0, 45.0),
    ReadingKind.BOWL_C: (-15.0, 60.0),
}
"""What a thermometer can read there in a bakehouse [°C]; beyond it the entry is asked back."""

NUDGE = {Units.METRIC: 0.5, Units.US: 1.0}
"""Step of the buttons beside a box, in the unit that is shown."""


@dataclass(frozen=True, slots=True)
class Box:
    """A box for one reading.

    Attributes
    ----------
    label, unit
        What is read; the unit is empty for a time.
    expected
        What is expected, as shown; empty when nothing is.
    kind, mix_id, part_id, after_step
        What is sent with the reading.
    field
        Name under which the value is sent, in the unit that is shown.
    start
        Where the buttons begin, in the unit that is shown; None without a value to begin at.
    low, high, far
        Beyond these, or further from ``start``, an entry is asked back, in the unit that is shown.
    written, at
        What was read, and when, as shown; empty before.
    standing, standing_at
        Id of the reading that stands, and its moment [ms since 1970]; empty and 0 before.
    before, before_at
        What stood before it, to go back to: a number as sent or empty, and its moment.
    expected_at
        When a time is expected [ms since 1970]; 0 for a temperature.
    picture
        Names its pictogram.
    """

    label: str
    unit: str
    expected: str
    kind: str
    mix_id: str
    part_id: str = ""
    after_step: int = -1
    field: str = ""
    start: float | None = None
    low: float = 0.0
    high: float = 0.0
    far: float = 0.0
    step: float = 0.0
    written: str = ""
    at: str = ""
    standing: str = ""
    standing_at: int = 0
    before: str = ""
    before_at: int = 0
    expected_at: int = 0
    picture: str = ""

    @property
    def name(self) -> str:
        """Name by which the page finds it again."""
        return "/".join((self.kind, self.mix_id, self.part_id, str(self.after_step)))

    @property
    def is_time(self) -> bool:
        """Whether a time is entered."""
        return not self.field


def milliseconds(moment: datetime) -> int:
    """Return a moment as pages count time [ms since 1970]."""
    return round(moment.timestamp() * 1000)


def shown_degrees(temperature_c: float, units: Units) -> float:
    """Return a temperature in the unit that is shown."""
    return fahrenheit_from_celsius(temperature_c) if units is Units.US else temperature_c


def shown_difference(difference_k: float, units: Units) -> float:
    """Return a difference in the unit that is shown."""
    return fahrenheit_difference_from_kelvin(difference_k) if units is Units.US else difference_k


def value_field(units: Units) -> str:
    """Return the name under which a temperature is sent in the unit that is shown."""
    return "value_f" if units is Units.US else "value_c"


def degree_box(
    shift: Shift,
    kind: ReadingKind,
    label: str,
    mix_id: str,
    expected_c: float | None,
    *,
    part_id: str = "",
    after_step: int = -1,
) -> Box:
    """Return a box for a temperature.

    Parameters
    ----------
    shift
        The shift, for what was read before.
    kind, mix_id, part_id, after_step
        What is read.
    label
        What it is called.
    expected_c
        What is expected [°C]; None when nothing is.
    """
    units = shift.reader.units
    low, high = PLAUSIBLE_C[kind]
    far_k = DOUGH_FAR_K if kind is ReadingKind.DOUGH_END_C else FAR_K
    start = None if expected_c is None else round(shown_degrees(expected_c, units), 1)
    box = Box(
        label=label,
        unit=units.degree,
        expected="" if expected_c is None else dough_degrees(expected_c, units),
        kind=str(kind),
        mix_id=mix_id,
        part_id=part_id,
        after_step=after_step,
        field=value_field(units),
        start=start,
        low=round(shown_degrees(low, units), 1),
        high=round(shown_degrees(high, units), 1),
        far=round(shown_difference(far_k, units), 1),
        step=NUDGE[units],
        picture="thermometer",
    )
    return _written(box, shift, shift.read_at(mix_id).get((kind, part_id, after_step)))


def time_box(
    shift: Shift, kind: ReadingKind, label: str, mix: PlannedMix, expected: datetime
) -> Box:
    """Return a box for a moment at a mix."""
    clock = shift.reader.clock
    box = Box(
        label=label,
        unit="",
        expected=clock.hand(expected),
        kind=str(kind),
        mix_id=mix.id,
        expected_at=milliseconds(expected),
        picture="clock",
    )
    return _written(box, shift, shift.read_at(mix.id).get((kind, "", -1)))


def _written(box: Box, shift: Shift, noted: Noted | None) -> Box:
    """Return a box with the reading that stands in it."""
    if noted is None:
        return box
    reading, clock = noted.reading, shift.reader.clock
    before = shift.by_id.get(reading.supersedes or "")
    if before is not None and before.reading.kind is not reading.kind:
        before = None
    return replace(
        box,
        written=written_text(reading.value_c, reading.at_utc, shift.reader),
        at=clock.hand(reading.at_utc),
        standing=reading.id,
        standing_at=milliseconds(reading.at_utc),
        before="" if before is None else value_sent(before, shift.reader.units),
        before_at=0 if before is None else milliseconds(before.reading.at_utc),
    )


def written_text(value_c: float | None, at_utc: datetime, reader: Reader) -> str:
    """Return what was read as it stands in a box: degrees, or the time."""
    if value_c is None:
        return reader.clock.hand(at_utc)
    return f"{dough_degrees(value_c, reader.units)} {reader.units.degree}"


def value_sent(noted: Noted, units: Units) -> str:
    """Return a reading's number in the unit that is sent; "time" for one without."""
    value_c = noted.reading.value_c
    return "time" if value_c is None else f"{shown_degrees(value_c, units):.4g}"


def mix_boxes(shift: Shift, mix: PlannedMix) -> tuple[Box, ...]:
    """Return the boxes of a mix in the order of the paper, with what a second water asks for."""
    say, planned = shift.reader.say, shift.plan.mix(mix.id)
    return (
        *before_boxes(shift, mix),
        time_box(shift, ReadingKind.MIX_START, say("mixer on"), mix, planned.start_utc),
        *(
            degree_box(
                shift,
                ReadingKind.DOUGH_MID_C,
                say("dough after step {step}", step=held.step),
                mix.id,
                None,
                after_step=held.step - 1,
            )
            for held in mix.ticket.held_back
            if held.step > max(mix.ticket.water_step, 0)
        ),
        time_box(shift, ReadingKind.MIX_END, say("off the mixer"), mix, mix.mix_end_utc),
        end_box(shift, mix),
    )


def before_boxes(shift: Shift, mix: PlannedMix) -> tuple[Box, ...]:
    """Return the boxes of what is read before a mix: flour, then each preferment or scald."""
    formula, say = shift.plan.day.formula(mix.formula_id), shift.reader.say
    flours = {line.label for line in formula.lines if properties(line.material).is_flour}
    parts = {part.name: part.id for part in formula.parts}
    # What the plan foresaw, not what was read since: that stands beside it.
    by_name = {line.name: line.temperature_c for line in shift.plan.mix(mix.id).scaling}
    flour_c = next((by_name[name] for name in by_name if name in flours), None)
    return (
        degree_box(shift, ReadingKind.FLOUR_C, say("flour"), mix.id, flour_c),
        *(
            degree_box(
                shift, ReadingKind.PART_C, say(name), mix.id, degrees, part_id=parts[name]
            )
            for name, degrees in by_name.items()
            if name in parts
        ),
    )  # fmt: skip


def end_box(shift: Shift, mix: PlannedMix) -> Box:
    """Return the box of the dough off the mixer."""
    label = shift.reader.say("dough at end")
    return degree_box(shift, ReadingKind.DOUGH_END_C, label, mix.id, mix.ticket.wanted_c)


def seldom_boxes(shift: Shift, mix: PlannedMix) -> tuple[Box, ...]:
    """Return the boxes of what is read once in a while: room, tap and bowl."""
    say = shift.reader.say
    tap = next((w.temperature_c for w in mix.ticket.water if w.kind == "tap"), None)
    return (
        degree_box(shift, ReadingKind.ROOM_C, say("room"), mix.id, None),
        degree_box(shift, ReadingKind.WATER_C, say("tap water"), mix.id, tap),
        degree_box(shift, ReadingKind.BOWL_C, say("bowl"), mix.id, None),
    )

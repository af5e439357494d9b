"""A preparation card as data: a levain, preferment, scald or soaker for whoever sets it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.pages.mix_ticket import ReadingBox, ScalingRow
from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.weighing import printed_masses
from api.pages.wording import (
    dough_degrees,
    mass_text,
    number,
    ounces_aside,
    temperature_text,
    water_degrees,
)
from planner.planned import Plan
from planner.planned_preparation import PlannedBuild, PlannedPreparation, PreparationKind
from planner.remarks import RemarkKind
from planner.water_ticket import ScalingLine, WaterLine

STEP = "scald_step"
"""Code of what is to be done at a clock time."""

KIND_WORDS = {
    PreparationKind.PREFERMENT: ("set", "ripe"),
    PreparationKind.SCALD: ("pour", "cool enough"),
    PreparationKind.SOAKER: ("soak", "ready"),
}


@dataclass(frozen=True, slots=True)
class PreparationCard:
    """One preparation; ``uses`` names each mix with its clock time."""

    name: str
    kind: str
    date: str
    start: str
    offset: str
    verb: str
    ready_word: str
    ready_from: str
    ready_by: str
    made: str
    kept_back: str
    place: str
    vessel: str
    scaling: tuple[ScalingRow, ...]
    total: str
    mass_unit: str
    readings: tuple[ReadingBox, ...]
    uses: tuple[str, ...]
    unmet: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    id: str = ""
    steps: tuple[str, ...] = ()


def preparation_card(plan: Plan, one: PlannedPreparation, reader: Reader) -> PreparationCard:
    """Return the card of one preparation.

    Parameters
    ----------
    plan, one
        The plan and one of its preparations.
    reader
        How the house reads time and quantities.
    """
    names, clock, say, units = Names(plan), reader.clock, reader.say, reader.units
    verb, ready_word = KIND_WORDS[one.kind]
    scaling, total = _scaling(one, names, reader)
    return PreparationCard(
        name=one.name,
        kind=say(str(one.kind)),
        date=clock.day(one.start_utc),
        start=clock.hand(one.start_utc),
        offset=clock.offset(one.start_utc),
        verb=say(verb),
        ready_word=say(ready_word),
        ready_from=clock.dated(one.ready_from_utc, one.start_utc),
        ready_by=clock.dated(one.ready_by_utc, one.start_utc),
        made=mass_text(one.made_kg, units),
        kept_back=mass_text(one.kept_back_kg, units) if one.kept_back_kg > 0 else "",
        place=names.place(one.mixer_id or one.place_id),
        vessel=one.vessel,
        scaling=scaling,
        total=total,
        mass_unit=units.mass,
        readings=_readings(one, reader),
        uses=_uses(plan, one, names, reader),
        unmet=_remarks(one, reader, RemarkKind.UNMET),
        cautions=_remarks(one, reader, RemarkKind.CAUTION),
        notes=_remarks(one, reader, RemarkKind.LEVER, RemarkKind.NOTE, RemarkKind.REASON),
        id=one.id,
        steps=tuple(reader.remark(r) for r in one.remarks if r.code == STEP),
    )


def _remarks(one: PlannedPreparation, reader: Reader, *kinds: RemarkKind) -> tuple[str, ...]:
    told = (remark for remark in one.remarks if remark.code != STEP)
    return tuple(reader.remark(remark) for remark in told if remark.kind in kinds)


def _scaling(
    one: PlannedPreparation, names: Names, reader: Reader
) -> tuple[tuple[ScalingRow, ...], str]:
    """Return what to weigh, in the order in which it goes in, and the total."""
    lines = [("", line) for line in _water_lines(one.water, names, reader)]
    lines += [("", line) for line in _dry_lines(one.scaling, reader)]
    later = _water_lines(one.later_water, names, reader)
    if one.ice_kg > 0:
        later.append((reader.say("ice"), "", one.ice_kg, ""))
    lines += [(_kept_words(one, reader), line) for line in later]
    for build in one.builds[1:]:
        group = _feed_words(one, build, reader)
        lines += [(group, line) for line in _water_lines(build.water, names, reader)]
        lines += [(group, line) for line in _dry_lines(build.scaling, reader)]
    masses_kg = [mass_kg for _, (_, _, mass_kg, _) in lines]
    printed = printed_masses(masses_kg, reader.units, reader.scales)
    rows = tuple(
        ScalingRow(group, name, percent, mass, degrees)
        for (group, (name, percent, _, degrees)), mass in zip(lines, printed.lines, strict=True)
    )
    return rows, printed.total


def _kept_words(one: PlannedPreparation, reader: Reader) -> str:
    """Say until when water and ice are kept back."""
    if one.add_utc is None:
        return ""
    return reader.say("keep back until {time}", time=reader.clock.dated(one.add_utc, one.start_utc))


def _feed_words(one: PlannedPreparation, build: PlannedBuild, reader: Reader) -> str:
    """Say when a build before it is fed with what, and how warm it is then."""
    return reader.say(
        "at {time} feed all of it ({degrees}); set at {start}",
        time=reader.clock.dated(build.start_utc, one.start_utc),
        degrees=temperature_text(build.fed_c or 0.0, reader.units),
        start=temperature_text(build.start_c, reader.units),
    )


Weighed = tuple[str, str, float, str]
"""Name, percent, kilos and degrees of a line."""


def _water_lines(water: Sequence[WaterLine], names: Names, reader: Reader) -> list[Weighed]:
    return [
        (
            reader.say("water, {supply}", supply=names.supply(line.supply_id)),
            "",
            line.water_kg,
            water_degrees(line.temperature_c, reader.units),
        )
        for line in water
    ]


def _dry_lines(scaling: Sequence[ScalingLine], reader: Reader) -> list[Weighed]:
    return [
        (
            reader.say(line.name) + ounces_aside(line.mass_kg, reader.units),
            number(line.percent, 1) if line.percent > 0 else "",
            line.mass_kg,
            "" if line.temperature_c is None else dough_degrees(line.temperature_c, reader.units),
        )
        for line in scaling
    ]


def _readings(one: PlannedPreparation, reader: Reader) -> tuple[ReadingBox, ...]:
    say, units = reader.say, reader.units
    poured = one.kind is PreparationKind.SCALD
    used_c = max(one.use_c, default=None)
    return (
        ReadingBox(
            say("when poured") if poured else say("when set"),
            units.degree,
            dough_degrees(one.start_c, units),
        ),
        ReadingBox(say("poured at") if poured else say("set at"), say("h:min"), ""),
        ReadingBox(say("at its use"), units.degree, dough_degrees(used_c, units)),
        ReadingBox(say("used at"), say("h:min"), ""),
    )


def _uses(plan: Plan, one: PlannedPreparation, names: Names, reader: Reader) -> tuple[str, ...]:
    mixes, units = {mix.id: mix for mix in plan.mixes}, reader.units
    used = [
        (mixes[mix_id], use_c)
        for mix_id, use_c in zip(one.mix_ids, one.use_c, strict=False)
        if mix_id in mixes
    ]
    return tuple(
        reader.say(
            "{mix}, {dough}, {time}: {mass} expected at {degrees}",
            mix=names.mix(mix.id, reader.say),
            dough=names.dough(mix),
            time=reader.clock.dated(mix.start_utc, one.start_utc),
            mass=_share(mix.scaling, one.name, reader),
            degrees=temperature_text(use_c, units),
        )
        for mix, use_c in sorted(used, key=lambda pair: pair[0].start_utc)
    )


def _share(scaling: tuple[ScalingLine, ...], name: str, reader: Reader) -> str:
    share = next((line.mass_kg for line in scaling if line.name == name), None)
    return "" if share is None else f"{mass_text(share, reader.units)},"

"""A mix ticket as data: everything the mixer hand needs for one bowl, already rounded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from api.pages.mix_times import ClockRow, clock_rows
from api.pages.names import Names, batch_text
from api.pages.reader import Reader
from api.pages.strip import Strip, strips_of
from api.pages.weighing import PrintedMasses, printed_masses
from api.pages.wording import (
    Units,
    difference_text,
    dough_degrees,
    duration_text,
    mass_number,
    minutes_number,
    number,
    ounces_aside,
    stock_number,
    temperature_text,
    water_degrees,
)
from planner.bowl_remarks import is_cold_mix
from planner.formula import Formula, Preferment
from planner.lines import flour_percent
from planner.materials import Material, properties
from planner.mixer_loads import most_dough_kg
from planner.mixers import HAND_SPEEDS
from planner.planned import Plan, PlannedMix
from planner.planned_preparation import PreparationKind
from planner.remarks import Remark, RemarkKind
from planner.water_ticket import HeldBack

MOST_REASONS = 2
"""How many reasons stand on a ticket, which must stay one page; all are in the plan."""

MOVING_BOWL = "Hands, scoop and scraper stay out of a moving bowl."
BEFORE_NEXT_DOUGH = frozenset({"allergens"})
WITH_THE_WATER = frozenset({"ice_in_bowl", "melt_first", "hot_water"})
"""Codes of cautions that belong to the end of the mix, and to the step at which the water goes in;
all others belong to the loading."""


@dataclass(frozen=True, slots=True)
class BigNumber:
    """One of the five numbers; ``under`` stands below it, ``picture`` names its pictogram."""

    label: str
    value: str
    unit: str
    under: tuple[str, ...] = ()
    picture: str = ""


@dataclass(frozen=True, slots=True)
class ScalingRow:
    """One line to weigh; ``group`` heads the lines that go in together."""

    group: str
    name: str
    percent: str
    mass: str
    temperature: str


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step at the mixer with the cautions that belong to it."""

    what: str
    minutes: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingBox:
    """A box to write a reading in, with what is expected."""

    label: str
    unit: str
    expected: str


@dataclass(frozen=True, slots=True)
class MixTicket:
    """One page at the mixer, or some lines when the mix is plain.

    Attributes
    ----------
    id
        Id of the mix.
    is_plain
        Neither ice nor scald nor second water: some lines say all there is to say.
    draw_from
        When its water may be drawn at the earliest; empty when it does not matter.
    cautions
        Cautions of all steps, without the steps.
    water_lines
        How many lines at the front of ``scaling`` are water and ice.
    """

    id: str
    number: int
    dough: str
    batch: str
    mixer: str
    use_of_mixer: str
    date: str
    start: str
    offset: str
    numbers: tuple[BigNumber, ...]
    expected: str
    scaling: tuple[ScalingRow, ...]
    total: str
    mass_unit: str
    ratios: tuple[str, ...]
    steps: tuple[StepRow, ...]
    readings: tuple[ReadingBox, ...]
    strips: tuple[Strip, ...]
    clock_rows: tuple[ClockRow, ...]
    reasons: tuple[str, ...]
    is_plain: bool
    draw_from: str
    cautions: tuple[str, ...]
    water_lines: int


def mix_ticket(plan: Plan, mix: PlannedMix, reader: Reader) -> MixTicket:
    """Return the ticket of one mix.

    Parameters
    ----------
    plan, mix
        The plan and one of its mixes.
    reader
        How the house reads time and quantities.
    """
    names, formula, clock = Names(plan), plan.day.formula(mix.formula_id), reader.clock
    printed = ticket_masses(mix, reader)
    said = [r for kind in (RemarkKind.REASON, RemarkKind.NOTE) for r in _of_kind(mix, kind)]
    drawn = mix.ticket.draw_not_before_utc
    steps = _steps(mix, formula, reader)
    return MixTicket(
        id=mix.id,
        number=names.mix_number(mix.id),
        dough=names.dough(mix),
        batch=batch_text(mix, reader.say),
        mixer=names.place(mix.mixer_id),
        use_of_mixer=_use_of_mixer(plan, mix, reader),
        date=clock.day(mix.start_utc),
        start=clock.hand(mix.start_utc),
        offset=clock.offset(mix.start_utc),
        numbers=five_numbers(mix, printed, names, reader),
        expected=_expected(mix, reader),
        scaling=_scaling(mix, printed, names, reader),
        total=printed.total,
        mass_unit=reader.units.mass,
        ratios=_ratios(mix, formula, reader),
        steps=steps,
        readings=_readings(mix, formula, reader),
        strips=strips_of(mix, printed, names, reader),
        clock_rows=clock_rows(plan, mix, reader),
        reasons=tuple(reader.remark(remark) for remark in said)[:MOST_REASONS],
        is_plain=is_plain(plan, mix),
        draw_from="" if drawn is None else clock.dated(_full_minute(drawn), mix.start_utc),
        cautions=tuple(caution for step in steps for caution in step.cautions),
        water_lines=_water_lines(mix),
    )


def _full_minute(moment: datetime) -> datetime:
    """Return the first full minute not before a moment: water is never drawn too soon."""
    minute = moment.replace(second=0, microsecond=0)
    return minute + timedelta(minutes=minute < moment)


def _water_lines(mix: PlannedMix) -> int:
    ticket = mix.ticket
    if ticket.water_step:  # something else goes in first
        return 0
    later = [held for held in ticket.held_back if held.step > ticket.water_step]
    return len(ticket.water) + (ticket.ice_kg > 0) + len(later)


def is_plain(plan: Plan, mix: PlannedMix) -> bool:
    """Return whether a mix has neither ice nor scald nor second water."""
    scalds = {one.id for one in plan.preparations if one.kind is PreparationKind.SCALD}
    return (
        mix.ticket.ice_kg <= 0
        and not mix.ticket.held_back
        and not scalds.intersection(mix.preparation_ids)
    )


def ticket_masses(mix: PlannedMix, reader: Reader) -> PrintedMasses:
    """Return water by supply, ice and all other lines as printed, in this order."""
    water = [*(line.water_kg for line in mix.ticket.water), mix.ticket.ice_kg]
    return printed_masses(
        [*water, *(line.mass_kg for line in mix.scaling)],
        reader.units,
        reader.scales,
        together=len(water),
    )


def five_numbers(
    mix: PlannedMix, printed: PrintedMasses, names: Names, reader: Reader
) -> tuple[BigNumber, ...]:
    """Return dough °C, water °C, mixing minutes, water and ice, in the order of the ticket."""
    ticket, units, say = mix.ticket, reader.units, reader.say
    supplies = tuple(
        f"{names.supply(line.supply_id)} {water_degrees(line.temperature_c, units)}"
        f" {units.degree}: {mass} {units.mass}"
        for line, mass in zip(ticket.water, printed.lines, strict=False)
    )
    steps = " + ".join(minutes_number(step.minutes) for step in mix.steps)
    ice = printed.lines[len(ticket.water)] if ticket.ice_kg > 0 else "0"
    kind = (say(str(ticket.ice_kind)),) if ticket.ice_kind and ticket.ice_kg > 0 else ()
    return (
        BigNumber(
            say("dough"), dough_degrees(ticket.wanted_c, units), units.degree, picture="dough °"
        ),
        BigNumber(
            say("water"), water_degrees(ticket.water_c, units), units.degree, picture="water °"
        ),
        BigNumber(
            say("mixing"), minutes_number(mix.mix_min), "min",
            (steps,) if len(mix.steps) > 1 else (), "mixing",
        ),
        BigNumber(
            say("water"), water_total(mix, printed, reader.units), units.mass, supplies, "water"
        ),
        BigNumber(say("ice"), ice, units.mass, kind, "ice"),
    )  # fmt: skip


def water_total(mix: PlannedMix, printed: PrintedMasses, units: Units) -> str:
    """Return the water of all supplies so that the printed kilos per supply add up to it."""
    lines = printed.lines[: len(mix.ticket.water)]
    if not lines:
        return mass_number(0.0, units)
    decimals = max(len(line.partition(".")[2]) for line in lines)
    return number(sum(float(line) for line in lines), decimals)


def _use_of_mixer(plan: Plan, mix: PlannedMix, reader: Reader) -> str:
    mixer, formula = plan.day.bakery.mixer(mix.mixer_id), plan.day.formula(mix.formula_id)
    most = most_dough_kg(mixer, formula, cold=is_cold_mix(mix, formula, mixer))
    return reader.say("{percent} % full", percent=number(100 * mix.dough_kg / most))


def _expected(mix: PlannedMix, reader: Reader) -> str:
    ticket, units = mix.ticket, reader.units
    return reader.say(
        "comes off at {dough} ± {spread}; {degree} warmer is ripe {minutes} sooner",
        dough=temperature_text(ticket.expected_c, units),
        spread=difference_text(ticket.expected_sd_k, units),
        degree=difference_text(1.0, units),
        minutes=duration_text(mix.minutes_per_degree),
    )


def _scaling(
    mix: PlannedMix, printed: PrintedMasses, names: Names, reader: Reader
) -> tuple[ScalingRow, ...]:
    """Return what to weigh in the order in which it goes in; the water first at its step."""
    say, units, step = reader.say, reader.units, mix.ticket.water_step
    rows = [(step, row) for row in _water_rows(mix, printed, names, reader)]
    others = printed.lines[len(mix.ticket.water) + 1 :]
    rows += [
        (
            line.step,
            ScalingRow(
                _group(mix, line.step, reader),
                say(line.name) + ounces_aside(line.mass_kg, units),
                _percent_text(line.percent),
                mass,
                dough_degrees(line.temperature_c, units) if line.temperature_c is not None else "",
            ),
        )
        for line, mass in zip(mix.scaling, others, strict=True)
    ]
    return tuple(row for _, row in sorted(rows, key=lambda pair: pair[0]))


def _water_rows(
    mix: PlannedMix, printed: PrintedMasses, names: Names, reader: Reader
) -> list[ScalingRow]:
    ticket, masses, say = mix.ticket, list(printed.lines), reader.say
    group = _group(mix, ticket.water_step, reader)
    rows = [
        ScalingRow(
            group, say("water, {supply}", supply=names.supply(line.supply_id)),
            _percent(line.water_kg, mix), mass, water_degrees(line.temperature_c, reader.units),
        )
        for line, mass in zip(ticket.water, masses, strict=False)
    ]  # fmt: skip
    if ticket.ice_kg > 0:
        kind = f", {say(str(ticket.ice_kind))}" if ticket.ice_kind else ""
        mass = masses[len(ticket.water)]
        name = f"{say('ice')}{kind}"
        rows.append(ScalingRow(group, name, _percent(ticket.ice_kg, mix), mass, ""))
    return rows + [
        ScalingRow(
            group, say("of the water keep back for step {step}", step=held.step + 1), "",
            f"({_kg(mix, held.water_kg, reader)})", "",
        )
        for held in ticket.held_back
        if held.step > ticket.water_step
    ]  # fmt: skip


def _kg(mix: PlannedMix, mass_kg: float, reader: Reader) -> str:
    return mass_number(mass_kg, reader.units, whole_kg=mix.dough_kg)


def _group(mix: PlannedMix, step: int, reader: Reader) -> str:
    if step == 0 or step >= len(mix.steps):
        return ""
    speed = reader.say(str(mix.steps[step].speed))
    return reader.say("add at step {step}, {speed}", step=step + 1, speed=speed)


def _percent(mass_kg: float, mix: PlannedMix) -> str:
    return _percent_text(100 * mass_kg / mix.flour_kg)


def _percent_text(percent: float) -> str:
    text = number(percent, 0 if percent == int(percent) else 1)
    return text if float(text.replace("−", "-")) else number(percent, 2)


def _ratios(mix: PlannedMix, formula: Formula, reader: Reader) -> tuple[str, ...]:
    salt = sum(line.percent for line in formula.all_lines if line.material is Material.SALT)
    fermented = sum(
        flour_percent(part.lines, with_malt=True)
        for part in formula.parts
        if isinstance(part, Preferment)
    )
    say = reader.say
    flour = f"{stock_number(mix.flour_kg, reader.units)} {reader.units.mass}"
    ratios = [
        say("total flour {mass}", mass=flour),
        say("water {percent} % of flour", percent=number(100 * formula.hydration)),
    ]
    if formula.hydration - formula.hydration_without_scald > 0.005:
        without = number(100 * formula.hydration_without_scald)
        ratios.append(say("{percent} % without scald and soaker", percent=without))
    if fermented:
        ratios.append(say("prefermented flour {percent} %", percent=number(fermented)))
    ratios.append(say("salt {percent} %", percent=_percent_text(salt)))
    return tuple(text.replace(" %", "\u00a0%") for text in ratios)


def _steps(mix: PlannedMix, formula: Formula, reader: Reader) -> tuple[StepRow, ...]:
    cautions = _of_kind(mix, RemarkKind.CAUTION)
    at_end = [remark for remark in cautions if remark.code in BEFORE_NEXT_DOUGH]
    egg_step, say = _first_step_of(mix, formula, "egg"), reader.say
    rows = [StepRow(say("load in the order of the list"), "")]
    rows += [
        StepRow(
            f"{i + 1}. {say(str(step.speed))}{_additions(mix, i, reader)}",
            f"{minutes_number(step.minutes)} min",
        )
        for i, step in enumerate(mix.steps)
    ]
    rows.append(StepRow(say("stop, read the dough, write it down"), ""))
    notes: dict[int, list[str]] = {i: [] for i in range(len(rows))}
    for remark in cautions:
        place = 0
        if remark in at_end:
            place = len(rows) - 1
        elif remark.code == "raw_egg":
            place = egg_step + 1 if egg_step else 0
        elif remark.code in WITH_THE_WATER and mix.ticket.water_step:
            place = mix.ticket.water_step + 1
        notes[place].append(reader.remark(remark))
    if mix.steps[0].speed not in HAND_SPEEDS and "ice_in_bowl" not in {r.code for r in cautions}:
        notes[1].append(say(MOVING_BOWL))
    made = [StepRow(row.what, row.minutes, tuple(notes[i])) for i, row in enumerate(rows)]
    return tuple(made if made[0].cautions else made[1:])


def _first_step_of(mix: PlannedMix, formula: Formula, allergen: str) -> int:
    labels = {
        line.label for line in formula.lines if allergen in properties(line.material).allergens
    }
    return min((line.step for line in mix.scaling if line.name in labels), default=0)


def _additions(mix: PlannedMix, step: int, reader: Reader) -> str:
    say = reader.say
    added = [
        text
        for held in mix.ticket.held_back
        if held.step == step
        for text in _kept_back(mix, held, reader)
    ]
    added += [say(line.name) for line in mix.scaling if line.step == step and step > 0]
    return say(", with {things}", things=", ".join(added)) if added else ""


def _kept_back(mix: PlannedMix, held: HeldBack, reader: Reader) -> list[str]:
    water = f"{_kg(mix, held.water_kg, reader)} {reader.units.mass}"
    texts = [reader.say("the {mass} of water kept back", mass=water)]
    if held.ice_kg > 0:
        ice = f"{_kg(mix, held.ice_kg, reader)} {reader.units.mass}"
        texts.append(reader.say("its {mass} of ice", mass=ice))
    return texts


def _of_kind(mix: PlannedMix, kind: RemarkKind) -> list[Remark]:
    return [remark for remark in mix.remarks if remark.kind is kind]


def _readings(mix: PlannedMix, formula: Formula, reader: Reader) -> tuple[ReadingBox, ...]:
    flours = {line.label for line in formula.lines if properties(line.material).is_flour}
    parts, say, units = {part.name for part in formula.parts}, reader.say, reader.units
    by_name = {line.name: line.temperature_c for line in mix.scaling}
    flour_c = next((by_name[name] for name in by_name if name in flours), None)
    return (
        ReadingBox(say("flour"), units.degree, dough_degrees(flour_c, units)),
        *(
            ReadingBox(say(name), units.degree, dough_degrees(degrees, units))
            for name, degrees in by_name.items()
            if name in parts
        ),
        ReadingBox(say("dough at end"), units.degree, dough_degrees(mix.ticket.wanted_c, units)),
        ReadingBox(say("off the mixer at"), "", reader.clock.hand(mix.mix_end_utc)),
    )

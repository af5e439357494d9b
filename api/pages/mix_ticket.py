"""A mix ticket as data: everything the mixer hand needs for one bowl, already rounded."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from api.pages.names import Names, batch_text
from api.pages.strip import Strip, strips_of
from api.pages.wording import (
    Clock,
    PrintedMasses,
    Units,
    difference_text,
    dough_degrees,
    duration_text,
    mass_number,
    minutes_number,
    number,
    printed_masses,
    render_remark,
    stock_number,
    temperature_text,
    water_degrees,
)
from planner.formula import Formula, Preferment, flour_percent
from planner.materials import Material, properties
from planner.mixers import Speed
from planner.planned import Plan, PlannedLoad, PlannedMix
from planner.remarks import Remark, RemarkKind
from planner.water_ticket import HeldBack

MOST_REASONS = 3
"""How many reasons stand on a ticket, which must stay one page; all are in the plan."""

ROOMY_LINES, STRIP_LINE = 18.5, 0.85
"""Lines below the five numbers that fit on A4 at the ordinary size, two columns beside each other
counted as one; found by printing."""

MOVING_BOWL = "Hands, scoop and scraper stay out of a moving bowl."
BEFORE_NEXT_DOUGH = frozenset({"allergens"})
WITH_THE_WATER = frozenset({"ice_in_bowl", "melt_first", "hot_water"})
"""Codes of cautions that belong to the end of the mix, and to the step at which the water goes in;
all others belong to the loading."""


@dataclass(frozen=True, slots=True)
class BigNumber:
    """One of the five numbers; ``under`` is printed small below it."""

    label: str
    value: str
    unit: str
    under: tuple[str, ...] = ()


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
class ClockRow:
    """What comes after the mix, with first and last acceptable time."""

    what: str
    planned: str
    first: str
    last: str
    place: str


@dataclass(frozen=True, slots=True)
class MixTicket:
    """One page at the mixer."""

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

    @property
    def is_crowded(self) -> bool:
        """Whether the ticket needs smaller letters below its five numbers to stay one page."""
        cautions = [caution for step in self.steps for caution in step.cautions]
        beside = len(self.scaling) + len(self.steps) + len(self.clock_rows) + 3
        beside += sum(1 + len(caution) // 38 for caution in cautions)
        strips = sum(STRIP_LINE * (2 + len(strip.rows)) for strip in self.strips)
        return beside / 2 + strips + len(self.reasons) > ROOMY_LINES


def mix_ticket(plan: Plan, mix: PlannedMix, clock: Clock, units: Units) -> MixTicket:
    """Return the ticket of one mix.

    Parameters
    ----------
    plan, mix
        The plan and one of its mixes.
    clock, units
        How the house reads time and quantities.
    """
    names, formula = Names(plan), plan.day.formula(mix.formula_id)
    printed = ticket_masses(mix, units)
    texts = {kind: _texts(mix, kind, clock, units) for kind in (RemarkKind.REASON, RemarkKind.NOTE)}
    return MixTicket(
        number=names.mix_number(mix.id),
        dough=names.dough(mix),
        batch=batch_text(mix),
        mixer=names.place(mix.mixer_id),
        use_of_mixer=_use_of_mixer(plan, mix),
        date=clock.day(mix.start_utc),
        start=clock.hand(mix.start_utc),
        offset=clock.offset(mix.start_utc),
        numbers=five_numbers(mix, printed, names, units),
        expected=_expected(mix, units),
        scaling=_scaling(mix, printed, names, clock, units),
        total=printed.total,
        mass_unit=units.mass,
        ratios=_ratios(mix, formula, units),
        steps=_steps(mix, formula, clock, units),
        readings=_readings(mix, formula, units),
        strips=strips_of(mix, printed, names, units),
        clock_rows=_clock_rows(mix, formula, names, clock),
        reasons=(*texts[RemarkKind.REASON], *texts[RemarkKind.NOTE])[:MOST_REASONS],
    )


def ticket_masses(mix: PlannedMix, units: Units) -> PrintedMasses:
    """Return water by supply, ice and all other lines as printed, in this order."""
    return printed_masses(
        [
            *(line.water_kg for line in mix.ticket.water),
            mix.ticket.ice_kg,
            *(line.mass_kg for line in mix.scaling),
        ],
        units,
    )


def five_numbers(
    mix: PlannedMix, printed: PrintedMasses, names: Names, units: Units
) -> tuple[BigNumber, ...]:
    """Return dough °C, water °C, mixing minutes, water and ice, in the order of the ticket."""
    ticket = mix.ticket
    supplies = tuple(
        f"{names.supply(line.supply_id)} {water_degrees(line.temperature_c, units)}"
        f" {units.degree}: {mass} {units.mass}"
        for line, mass in zip(ticket.water, printed.lines, strict=False)
    )
    steps = " + ".join(minutes_number(step.minutes) for step in mix.steps)
    ice = printed.lines[len(ticket.water)] if ticket.ice_kg > 0 else "0"
    return (
        BigNumber("dough", dough_degrees(ticket.wanted_c, units), units.degree),
        BigNumber("water", water_degrees(ticket.water_c, units), units.degree),
        BigNumber(
            "mixing", minutes_number(mix.mix_min), "min", (steps,) if len(mix.steps) > 1 else ()
        ),
        BigNumber("water", water_total(mix, printed, units), units.mass, supplies),
        BigNumber("ice", ice, units.mass, (str(ticket.ice_kind),) if ticket.ice_kind else ()),
    )


def water_total(mix: PlannedMix, printed: PrintedMasses, units: Units) -> str:
    """Return the water of all supplies so that the printed kilos per supply add up to it."""
    lines = printed.lines[: len(mix.ticket.water)]
    if not lines:
        return mass_number(0.0, units)
    decimals = max(len(line.partition(".")[2]) for line in lines)
    return number(sum(float(line) for line in lines), decimals)


def _use_of_mixer(plan: Plan, mix: PlannedMix) -> str:
    most = plan.day.bakery.mixer(mix.mixer_id).max_dough_kg
    return f"{number(100 * mix.dough_kg / most)} % full"


def _expected(mix: PlannedMix, units: Units) -> str:
    ticket = mix.ticket
    return (
        f"comes off at {temperature_text(ticket.expected_c, units)}"
        f" ± {difference_text(ticket.expected_sd_k, units)};"
        f" {difference_text(1.0, units)} warmer is ripe"
        f" {duration_text(mix.minutes_per_degree)} sooner"
    )


def _scaling(
    mix: PlannedMix, printed: PrintedMasses, names: Names, clock: Clock, units: Units
) -> tuple[ScalingRow, ...]:
    """Return what to weigh in the order in which it goes in; the water first at its step."""
    step = mix.ticket.water_step
    rows = [(step, row) for row in _draw_row(mix, clock)]
    rows += [(step, row) for row in _water_rows(mix, printed, names, units)]
    others = printed.lines[len(mix.ticket.water) + 1 :]
    rows += [
        (
            line.step,
            ScalingRow(
                _group(mix, line.step),
                line.name,
                _percent_text(line.percent),
                mass,
                dough_degrees(line.temperature_c, units) if line.temperature_c is not None else "",
            ),
        )
        for line, mass in zip(mix.scaling, others, strict=True)
    ]
    return tuple(row for _, row in sorted(rows, key=lambda pair: pair[0]))


def _draw_row(mix: PlannedMix, clock: Clock) -> list[ScalingRow]:
    """Return when to draw the water that is weighed next, in whole minutes and never sooner."""
    earliest = mix.ticket.draw_not_before_utc
    if earliest is None:
        return []
    minute = earliest.replace(second=0, microsecond=0)
    minute += timedelta(minutes=minute < earliest)
    text = f"draw the water at {clock.time(minute)}, not before"
    return [ScalingRow(_group(mix, mix.ticket.water_step), text, "", "", "")]


def _water_rows(
    mix: PlannedMix, printed: PrintedMasses, names: Names, units: Units
) -> list[ScalingRow]:
    ticket, masses = mix.ticket, printed.lines
    group = _group(mix, ticket.water_step)
    rows = [
        ScalingRow(
            group, f"water, {names.supply(line.supply_id)}", _percent(line.water_kg, mix), mass,
            water_degrees(line.temperature_c, units),
        )
        for line, mass in zip(ticket.water, masses, strict=False)
    ]  # fmt: skip
    if ticket.ice_kg > 0:
        kind = f", {ticket.ice_kind}" if ticket.ice_kind else ""
        mass = masses[len(ticket.water)]
        rows.append(ScalingRow(group, f"ice{kind}", _percent(ticket.ice_kg, mix), mass, ""))
    return rows + [
        ScalingRow(
            group,
            f"of the water keep back for step {held.step + 1}",
            "",
            f"({_kg(mix, held.water_kg, units)})",
            "",
        )
        for held in ticket.held_back
        if held.step > ticket.water_step
    ]


def _kg(mix: PlannedMix, mass_kg: float, units: Units) -> str:
    return mass_number(mass_kg, units, whole_kg=mix.dough_kg)


def _group(mix: PlannedMix, step: int) -> str:
    if step == 0 or step >= len(mix.steps):
        return ""
    return f"add at step {step + 1}, {mix.steps[step].speed}"


def _percent(mass_kg: float, mix: PlannedMix) -> str:
    return _percent_text(100 * mass_kg / mix.flour_kg)


def _percent_text(percent: float) -> str:
    text = number(percent, 0 if percent == int(percent) else 1)
    return text if float(text.replace("−", "-")) else number(percent, 2)


def _ratios(mix: PlannedMix, formula: Formula, units: Units) -> tuple[str, ...]:
    salt = sum(line.percent for line in formula.all_lines if line.material is Material.SALT)
    fermented = sum(
        flour_percent(part.lines, with_malt=True)
        for part in formula.parts
        if isinstance(part, Preferment)
    )
    ratios = [
        f"total flour {stock_number(mix.flour_kg, units)} {units.mass}",
        f"water {number(100 * formula.hydration)} % of flour",
    ]
    if formula.hydration - formula.hydration_without_scald > 0.005:
        ratios.append(f"{number(100 * formula.hydration_without_scald)} % without scald and soaker")
    if fermented:
        ratios.append(f"prefermented flour {number(fermented)} %")
    return (*ratios, f"salt {_percent_text(salt)} %")


def _steps(mix: PlannedMix, formula: Formula, clock: Clock, units: Units) -> tuple[StepRow, ...]:
    cautions = [remark for remark in mix.remarks if remark.kind is RemarkKind.CAUTION]
    at_end = [remark for remark in cautions if remark.code in BEFORE_NEXT_DOUGH]
    egg_step = _first_step_of(mix, formula, "egg")
    rows = [StepRow("load in the order of the list", "")]
    rows += [
        StepRow(
            f"{i + 1}. {step.speed}{_additions(mix, i, units)}",
            f"{minutes_number(step.minutes)} min",
        )
        for i, step in enumerate(mix.steps)
    ]
    rows.append(StepRow("stop, read the dough, write it down", ""))
    notes: dict[int, list[str]] = {i: [] for i in range(len(rows))}
    for remark in cautions:
        place = 0
        if remark in at_end:
            place = len(rows) - 1
        elif remark.code == "raw_egg":
            place = egg_step + 1 if egg_step else 0
        elif remark.code in WITH_THE_WATER and mix.ticket.water_step:
            place = mix.ticket.water_step + 1
        notes[place].append(render_remark(remark, clock.zone, units, clock=clock))
    if mix.steps[0].speed is not Speed.HAND:
        notes[1].append(MOVING_BOWL)
    return tuple(StepRow(row.what, row.minutes, tuple(notes[i])) for i, row in enumerate(rows))


def _first_step_of(mix: PlannedMix, formula: Formula, allergen: str) -> int:
    labels = {
        line.label for line in formula.lines if allergen in properties(line.material).allergens
    }
    return min((line.step for line in mix.scaling if line.name in labels), default=0)


def _additions(mix: PlannedMix, step: int, units: Units) -> str:
    added = [
        text for held in mix.ticket.held_back if held.step == step
        for text in _kept_back(mix, held, units)
    ]  # fmt: skip
    added += [line.name for line in mix.scaling if line.step == step and step > 0]
    return f", with {', '.join(added)}" if added else ""


def _kept_back(mix: PlannedMix, held: HeldBack, units: Units) -> list[str]:
    texts = [f"the {_kg(mix, held.water_kg, units)} {units.mass} of water kept back"]
    if held.ice_kg > 0:
        texts.append(f"its {_kg(mix, held.ice_kg, units)} {units.mass} of ice")
    return texts


def _texts(mix: PlannedMix, kind: RemarkKind, clock: Clock, units: Units) -> tuple[str, ...]:
    chosen: list[Remark] = [remark for remark in mix.remarks if remark.kind is kind]
    return tuple(render_remark(remark, clock.zone, units, clock=clock) for remark in chosen)


def _readings(mix: PlannedMix, formula: Formula, units: Units) -> tuple[ReadingBox, ...]:
    flours = {line.label for line in formula.lines if properties(line.material).is_flour}
    parts = {part.name for part in formula.parts}
    by_name = {line.name: line.temperature_c for line in mix.scaling}
    flour_c = next((by_name[name] for name in by_name if name in flours), None)
    return (
        ReadingBox("flour", units.degree, dough_degrees(flour_c, units)),
        *(
            ReadingBox(name, units.degree, dough_degrees(degrees, units))
            for name, degrees in by_name.items()
            if name in parts
        ),
        ReadingBox("dough at the end", units.degree, dough_degrees(mix.ticket.wanted_c, units)),
        ReadingBox("off the mixer at", "h:min", ""),
    )


# -- what comes after --------------------------------------------------------------------------


def _clock_rows(
    mix: PlannedMix, formula: Formula, names: Names, clock: Clock
) -> tuple[ClockRow, ...]:
    def at(moment: datetime) -> str:
        return clock.after(moment, mix.start_utc)

    bulk_place = names.place(formula.bulk.place_id)
    rows = [ClockRow("off the mixer", at(mix.mix_end_utc), "", "", f"to {bulk_place}")]
    rows += [
        ClockRow(f"fold {i}", at(moment), "", "", "")
        for i, moment in enumerate(mix.folds_utc, start=1)
    ]
    rows += [ClockRow("move on", at(m.at_utc), "", "", names.place(m.place_id)) for m in mix.moves]
    pieces = f"{mix.pieces} pieces" if mix.pieces else ""
    rows.append(
        ClockRow(
            "divide", at(mix.divide_utc), at(mix.divide_from_utc), at(mix.divide_by_utc), pieces
        )
    )
    if mix.loads:
        proof = min(mix.loads, key=lambda load: load.proof_start_utc)
        place = names.place(proof.proof_place_id)
        rows.append(ClockRow("to proof", at(proof.proof_start_utc), "", "", place))
    moves = dict.fromkeys((m.at_utc, m.place_id) for load in mix.loads for m in load.moves)
    rows += [ClockRow("move on", at(moment), "", "", names.place(to)) for moment, to in moves]
    for i, load in enumerate(mix.loads, start=1):
        rows.append(_load_row(load, f" {i}" if len(mix.loads) > 1 else "", names, at))
    if mix.loads:
        ready = max(load.ready_utc for load in mix.loads)
        leave = "" if mix.leave_by_utc is None else at(mix.leave_by_utc)
        rows.append(ClockRow("cool, to leave", at(ready), "", leave, ""))
    return tuple(rows)


def _load_row(
    load: PlannedLoad, which: str, names: Names, at: Callable[[datetime], str]
) -> ClockRow:
    return ClockRow(
        f"load{which}",
        at(load.load_utc),
        at(load.load_from_utc),
        at(load.load_by_utc),
        f"{names.place(load.oven_id)}, {load.pieces} pieces, out {at(load.out_utc)}",
    )

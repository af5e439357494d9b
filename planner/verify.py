"""The second judge: a plan on the true curves.

The schedule's own check knows resources and no physics. This one knows physics: it mixes every
dough again from its ticket, follows it minute by minute, weighs the water, counts the ice, and
looks at every scald and levain at the moment it is used. It says nothing about a departure
that the plan itself names as an unmet wish.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from planner.batches import Batch, batches_of, settled_alternatives
from planner.bowl_remarks import is_cold_mix
from planner.constants import BOWL_RELAXES_MIN
from planner.day import BulkWindow
from planner.evaluation import carried_product
from planner.formula import Scald
from planner.making import part_c_for
from planner.mixer_loads import most_dough_kg
from planner.night import Night
from planner.options import steering_of
from planner.physics.mix_course import dough_temperature_c
from planner.physics.ripening_path import progress_after, temperature_after
from planner.planned import Plan, PlannedMix
from planner.planned_preparation import PlannedPreparation, PreparationKind
from planner.readings import ReadingKind
from planner.remarks import RemarkKind
from planner.rises import Divided, dough_rise, off_the_bench, piece_rise
from planner.tickets import mix_balance
from planner.water_sources import SupplyKind

WATER_WITHIN_KG = 0.01
PART_WITHIN_KG = 0.02
CHILLED_WITHIN_KG = 0.05
DOUGH_WITHIN_K = 0.05
BOWL_WITHIN_K = 0.2
WINDOW_WITHIN_MIN = 2.0
SCALD_WITHIN_K = 1.0


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a plan claims that does not hold.

    Attributes
    ----------
    rule
        Name of the rule.
    subject
        Mix, preparation or load.
    detail
        What was found, in plain words.
    """

    rule: str
    subject: str
    detail: str


def verify(plan: Plan) -> tuple[Finding, ...]:
    """Judge a plan on the true curves.

    Parameters
    ----------
    plan
        The plan with its input.

    Returns
    -------
    tuple of Finding
        Empty when everything the plan says holds.
    """
    night = Night(plan.day, plan.conditions, plan.corrections)
    all_batches = batches_of(plan.day)
    batches = {batch.id: batch for batch in all_batches}
    findings: list[Finding] = []
    for mix in plan.mixes:
        batch = batches[mix.id]
        findings += water_adds_up(mix)
        findings += mixer_holds(plan, mix)
        findings += divide_inside_window(plan, night, batch, mix)
        findings += loads_inside_window(plan, night, batch, mix)
        findings += leaves_in_time(plan, mix)
        if mix.id in plan.begun:
            continue  # it was mixed from what was known then
        findings += water_can_be_drawn(night, mix)
        findings += dough_comes_off_as_promised(plan, night, batch, mix)
        findings += dough_inside_band(plan, batch, mix)
    findings += bowls_follow(night, plan)
    for preparation in plan.preparations:
        findings += used_while_ready(plan, preparation)
        findings += enough_is_made(plan, batches, preparation)
    findings += ice_within_store(plan)
    findings += chiller_within_tank(plan)
    made = {m.id for m in plan.mixes} | set(plan.unplaced)
    findings += everything_planned(plan, {b.id for b in settled_alternatives(all_batches, made)})
    return tuple(findings)


def named(plan: Plan, code: str, subject: str) -> bool:
    """Return whether the plan names this departure as an unmet wish."""
    remarks = [*plan.remarks, *(r for m in plan.mixes for r in m.remarks)]
    remarks += [r for p in plan.preparations for r in p.remarks]
    return any(
        r.kind is RemarkKind.UNMET and r.code == code and subject in (r.subject, "")
        for r in remarks
    )


def water_adds_up(mix: PlannedMix) -> list[Finding]:
    """Water of all supplies and ice together are the formula's water."""
    off_kg = mix.ticket.water_kg + mix.ticket.ice_kg - mix.ticket.formula_water_kg
    if abs(off_kg) <= WATER_WITHIN_KG:
        return []
    return [Finding("water_adds_up", mix.id, f"off by {off_kg:.3f} kg")]


def mixer_holds(plan: Plan, mix: PlannedMix) -> list[Finding]:
    """A mixer holds its load, or the plan says that it does not."""
    mixer = plan.day.bakery.mixer(mix.mixer_id)
    formula = plan.day.formula(mix.formula_id)
    codes = {r.code for r in mix.remarks}
    most_kg = most_dough_kg(mixer, formula, cold=is_cold_mix(mix, formula, mixer))
    if mix.dough_kg > most_kg * 1.001 and not codes & {"too_much_dough", "overload_signed"}:
        return [Finding("mixer_holds", mix.id, f"{mix.dough_kg:.1f} kg in {mixer.name}")]
    if mix.dough_kg < mixer.min_dough_kg.value * 0.999 and "too_little_dough" not in codes:
        return [Finding("mixer_holds", mix.id, f"only {mix.dough_kg:.1f} kg in {mixer.name}")]
    return []


def water_can_be_drawn(night: Night, mix: PlannedMix) -> list[Finding]:
    """No supply gives water below freezing or above the boiling point of the house."""
    return [
        Finding("water_can_be_drawn", mix.id, f"{line.temperature_c:.1f} °C from {line.supply_id}")
        for line in mix.ticket.water
        if not 0 <= line.temperature_c <= night.boiling_c or line.water_kg < 0
    ]


def dough_comes_off_as_promised(
    plan: Plan, night: Night, batch: Batch, mix: PlannedMix
) -> list[Finding]:
    """Mixing the ticket's kilos gives the temperature that the ticket promises."""
    mixer = plan.day.bakery.mixer(mix.mixer_id)
    start = plan.day.minute(mix.start_utc)
    balance = mix_balance(
        night,
        batch,
        mixer,
        start,
        part_c_for(plan.preparations, mix.id),
        bowl_c=mix.steered.bowl_c,
    )
    ways = steering_of(night, batch, balance)
    water_kg = mix.ticket.water_kg
    liquid_c = (
        sum(line.water_kg * line.temperature_c for line in mix.ticket.water) / water_kg
        if water_kg > 0
        else 0.0
    )
    dough_c = float(dough_temperature_c(balance, liquid_c, ice_kg=mix.ticket.ice_kg, ice=ways.ice))
    if abs(dough_c - mix.ticket.expected_c) <= DOUGH_WITHIN_K:
        return []
    return [
        Finding(
            "dough_comes_off_as_promised",
            mix.id,
            f"{dough_c:.2f} °C instead of {mix.ticket.expected_c:.2f}",
        )
    ]


def bowls_follow(night: Night, plan: Plan) -> list[Finding]:
    """Each mix meets the bowl that the mix before it left, cooled or warmed by the room since."""
    findings = []
    left: dict[str, PlannedMix] = {}
    for mix in sorted(plan.mixes, key=lambda m: m.start_utc):
        before = left.get(mix.mixer_id)
        room_id = plan.day.bakery.mixer(mix.mixer_id).room_id
        bowl_c = room_c = float(night.air_c(room_id)(np.asarray(plan.day.minute(mix.start_utc))))
        if before is not None:
            stood = max(0.0, (mix.start_utc - before.mix_end_utc) / timedelta(minutes=1))
            left_c = before.steered.bowl_end_c
            bowl_c = room_c + (left_c - room_c) * float(np.exp(-stood / BOWL_RELAXES_MIN.value))
        if mix.id not in plan.begun and abs(bowl_c - mix.steered.bowl_c) > BOWL_WITHIN_K:
            detail = f"{mix.steered.bowl_c:.1f} °C where {bowl_c:.1f} was left"
            findings.append(Finding("bowls_follow", mix.id, detail))
        left[mix.mixer_id] = mix
    return findings


def divide_inside_window(plan: Plan, night: Night, batch: Batch, mix: PlannedMix) -> list[Finding]:
    """The divide lies where the dough's own path says it is ripe, if it still can be chosen."""
    if plan.as_of_utc is not None and mix.divide_utc <= plan.as_of_utc:
        return []
    rise = dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c)
    mix_end = plan.day.minute(mix.mix_end_utc)
    divide = plan.day.minute(mix.divide_utc)
    span = max(rise.longest_min, divide - mix_end + 10)
    path = rise.path(mix_end, came_off_c(plan, mix), span_min=span, step_min=1.0)
    low, _, high = (float(np.asarray(m).reshape(-1)[0]) for m in rise.window(path))
    if isinstance(batch.window, BulkWindow):  # the mix list's own for the day
        low, high = batch.window.from_min, batch.window.by_min
    elapsed = divide - mix_end
    outside = max(low - elapsed, elapsed - high)
    if outside <= WINDOW_WITHIN_MIN or named(plan, "bulk_window", mix.id):
        return []
    return [Finding("divide_inside_window", mix.id, f"{outside:.0f} min outside")]


def loads_inside_window(plan: Plan, night: Night, batch: Batch, mix: PlannedMix) -> list[Finding]:
    """Every load goes into the oven where its own path says it is ripe."""
    rise = dough_rise(night, batch.formula.bulk, batch.dough_kg, batch.formula.dough_c)
    mix_end, divide = plan.day.minute(mix.mix_end_utc), plan.day.minute(mix.divide_utc)
    bulk = rise.path(mix_end, came_off_c(plan, mix), span_min=divide - mix_end + 5, step_min=1.0)
    room_id = plan.day.bakery.mixer(mix.mixer_id).room_id
    dough_c = float(temperature_after(bulk, divide - mix_end))
    ripeness = float(progress_after(bulk, divide - mix_end))
    findings = []
    for load in mix.loads:
        if plan.as_of_utc is not None and load.load_utc <= plan.as_of_utc:
            continue
        product = carried_product(plan.day, plan.day.product(load.product_id), load)
        divided = Divided(room_id, product.piece_kg, divide, dough_c, ripeness)
        proof = piece_rise(night, product, load.route, batch.formula.dough_c, rise)
        start = plan.day.minute(load.proof_start_utc)
        elapsed = plan.day.minute(load.load_utc) - start
        piece_c, progress = off_the_bench(night, divided, proof, start - divide)
        span = max(proof.longest_min, elapsed + 10)
        path = proof.path(start, piece_c, span_min=span, step_min=1.0, progress=progress)
        low, _, high = (float(np.asarray(m).reshape(-1)[0]) for m in proof.window(path))
        outside = max(low - elapsed, elapsed - high)
        if outside > WINDOW_WITHIN_MIN and not (
            named(plan, "load_window", load.id) or named(plan, "load_window", mix.id)
        ):
            findings.append(Finding("loads_inside_window", load.id, f"{outside:.0f} min outside"))
    return findings


def leaves_in_time(plan: Plan, mix: PlannedMix) -> list[Finding]:
    """Bread is ready when it must leave."""
    late = [
        load.id
        for load in mix.loads
        for due in (load.leave_by_utc or mix.leave_by_utc,)
        if due is not None and load.ready_utc > due
    ]
    return [
        Finding("leaves_in_time", load_id, "ready after it must leave")
        for load_id in late
        if not (named(plan, "late", load_id) or named(plan, "late", mix.id))
    ]


def dough_inside_band(plan: Plan, batch: Batch, mix: PlannedMix) -> list[Finding]:
    """The dough lies in the baker's band, or the plan says that it cannot."""
    off = abs(mix.ticket.expected_c - batch.formula.dough_c) - batch.formula.band_k
    pinned = any(p.mix_id == mix.id and p.dough_c is not None for p in plan.pins)
    if off <= 0.1 or pinned or named(plan, "dough_missed", mix.id):
        return []
    return [Finding("dough_inside_band", mix.id, f"{off:.2f} K outside the band")]


def used_while_ready(plan: Plan, preparation: PlannedPreparation) -> list[Finding]:
    """A levain is used while it is ripe, a scald when the dough can take it."""
    findings = []
    starts: Mapping[str, PlannedMix] = {m.id: m for m in plan.mixes}
    slack = timedelta(minutes=WINDOW_WITHIN_MIN)
    for mix_id, use_c in zip(preparation.mix_ids, preparation.use_c, strict=True):
        used = starts[mix_id].start_utc
        ready = preparation.ready_from_utc - slack <= used <= preparation.ready_by_utc + slack
        if not ready and not named(plan, "preparation_window", preparation.id):
            findings.append(
                Finding(
                    "used_while_ready", preparation.id, f"used at {used:%H:%M} UTC for {mix_id}"
                )
            )
        limit_c = preparation.use_at_most_c
        if not named(plan, "scald_warm", preparation.id):
            part = next(
                p
                for p in plan.day.formula(preparation.formula_id).parts
                if p.id == preparation.part_id
            )
            if isinstance(part, Scald):  # what the baker stated, unless the plan says otherwise
                limit_c = min(limit_c, part.use_at_most_c.value)
        if preparation.kind is PreparationKind.SCALD and use_c > limit_c + SCALD_WITHIN_K:
            findings.append(
                Finding("used_while_ready", preparation.id, f"{use_c:.1f} °C at {mix_id}")
            )
    return findings


def enough_is_made(
    plan: Plan, batches: Mapping[str, Batch], preparation: PlannedPreparation
) -> list[Finding]:
    """A build, a scald or a soaker weighs what its mixes take, and the seed that is kept back."""
    wanted_kg = preparation.kept_back_kg
    for mix_id in preparation.mix_ids:
        formula, flour_kg = batches[mix_id].formula, plan.mix(mix_id).flour_kg
        part = next(p for p in formula.parts if p.id == preparation.part_id)
        wanted_kg += flour_kg * sum(line.percent for line in part.lines) / 100
    if wanted_kg <= preparation.made_kg + PART_WITHIN_KG:
        return []
    detail = f"{preparation.made_kg:.2f} kg made, {wanted_kg:.2f} kg used"
    return [Finding("enough_is_made", preparation.id, detail)]


def came_off_c(plan: Plan, mix: PlannedMix) -> float:
    """Return what a dough came off its mixer with: read, if it has begun, else expected [°C]."""
    read = [
        r
        for r in plan.readings
        if r.mix_id == mix.id and r.kind is ReadingKind.DOUGH_END_C and r.value_c is not None
    ]
    if mix.id not in plan.begun or not read:
        return mix.ticket.expected_c
    return float(max(read, key=lambda r: r.at_utc).value_c or 0.0)


def ice_within_store(plan: Plan) -> list[Finding]:
    """Ice handed out never exceeds what was stored plus what was made, at any minute."""
    made = plan.day.bakery.ice
    uses = sorted((plan.day.minute(m.start_utc), m.ticket.ice_kg, m.id) for m in plan.mixes)
    uses += [(plan.day.minute(p.start_utc), p.ice_kg, p.id) for p in plan.preparations]
    bin_kg = made.bin_kg if made else 0.0
    rate = made.make_kg_per_h / 60 if made else 0.0
    level, clock = min(plan.conditions.ice_stored_kg, bin_kg), 0.0
    findings = []
    for minute, ice_kg, subject in sorted(uses):
        level = min(bin_kg, level + rate * (minute - clock)) - ice_kg
        clock = minute
        if level < -WATER_WITHIN_KG:
            findings.append(Finding("ice_within_store", subject, f"short by {-level:.2f} kg"))
    return findings


def chiller_within_tank(plan: Plan) -> list[Finding]:
    """Chilled water drawn for mixes and preferments never exceeds what the tank has by then."""
    chiller = plan.day.bakery.supply(SupplyKind.CHILLER)
    if chiller is None:
        return []
    tank_kg, rate = chiller.tank_kg or 0.0, (chiller.recovery_kg_per_h or 0.0) / 60
    drawn = [(m.start_utc, m.id, m.ticket.water) for m in plan.mixes]
    drawn += [(at, p.id, water) for p in plan.preparations for at, water in p.draws]
    level, clock = tank_kg, 0.0
    findings = []
    for start, subject, water in sorted(drawn, key=lambda row: (row[0], row[1])):
        minute = plan.day.minute(start)
        taken_kg = sum(line.water_kg for line in water if line.kind is SupplyKind.CHILLER)
        level = min(tank_kg, level + rate * max(0.0, minute - clock)) - taken_kg
        clock = minute
        if level < -CHILLED_WITHIN_KG:
            findings.append(Finding("chiller_within_tank", subject, f"short by {-level:.2f} kg"))
    return findings


def everything_planned(plan: Plan, batch_ids: set[str]) -> list[Finding]:
    """Every mix of the list is planned, or named as one that found no place."""
    missing = batch_ids - {m.id for m in plan.mixes} - set(plan.unplaced)
    return [Finding("everything_planned", one, "is neither planned nor named") for one in missing]

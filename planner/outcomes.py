"""From a finished or remembered mix and its end temperature to what `learn` takes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import hypot

from planner.answer import Followed, follow, standing_readings
from planner.batches import Batch, batches_of
from planner.conditions import Conditions
from planner.constants import WATER_KJ_PER_KG_K
from planner.corrections import Corrections, prior_share
from planner.day import Day
from planner.errors import Fault, InputError, OvenwardError
from planner.learning.readings import forget, learn
from planner.mid_mix import NEAR_ENOUGH_K
from planner.mixer_loads import most_dough_kg
from planner.mixers import Mixer
from planner.night import Night
from planner.physics.balance_terms import Effects, Spreads, dough_effects
from planner.physics.heat_balance import Ice, Ingredient, MixBalance
from planner.physics.ice import equivalent_temperature_c
from planner.physics.mix_course import Course, course, dough_temperature_c
from planner.planned import MidMix, Plan
from planner.readings import DOUGH_C, WORK_SHARE, MixOutcome, Reading, ReadingKind
from planner.remarks import Remark, RemarkKind, temperature, word
from planner.remembered import RememberedMix
from planner.tickets import READ_SD_K, Mixed, MixTemperatures, degrees_by_speed, mix_balance

KJ_PER_KWH = 3600.0

INTO_DOUGH = 0.85
"""Share of a mixer's metered energy that ends in the dough; the rest warms motor and gears (our
guess, used until a meter and a thermometer together say otherwise)."""

BELIEVED_SD = 4.0
"""A memory further from what the balance gives than so many standard deviations is a slip."""

REMEMBERED = Spreads(flour_sd_k=2.0, part_sd_k=2.0, water_sd_k=1.5, bowl_sd_k=3.0)
"""How far "about" may be off, one standard deviation each (our guess)."""


def outcome_of(plan: Plan, mix_id: str) -> MixOutcome | None:
    """Return what a finished mix teaches, or None before its end temperature is read.

    Parameters
    ----------
    plan
        The plan in force, with its readings.
    mix_id
        The mix.

    Notes
    -----
    The prediction is that of the ticket as it was answered: with the readings made before the mix
    began, the water that they asked for, and the second water that a reading during the mix asked
    for. So flour that was read is not blamed on the mixer, and neither is a hand that did what the
    answer said. What was known when the mix began counts, not what was learned since. An end that
    no dough can have, or energy that no mix takes, teaches nothing.
    """
    plan = plan.as_begun(mix_id)
    read = standing_readings(plan.readings, mix_id)
    end = next((r for r in reversed(read) if r.kind is ReadingKind.DOUGH_END_C), None)
    if end is None or end.value_c is None or not DOUGH_C[0] <= end.value_c <= DOUGH_C[1]:
        return None
    followed = follow(plan, mix_id)
    batch = next(b for b in batches_of(plan.day) if b.id == mix_id)
    mixer = plan.day.bakery.mixer(followed.mix.mixer_id)
    night = Night(plan.day, plan.conditions, plan.corrections)
    run = as_put_in(plan, mix_id, followed)
    outcome = _outcome(
        night, batch, mixer, followed.mixed.effects, float(run.dough_c), end.value_c, end.sd_k
    )
    return replace(
        outcome,
        metered_work_share=_metered_share(read, sum(float(kj) for kj in run.work_kj)),
        source=_source(plan, mix_id),
    )


def learned_from(plan: Plan, mix_ids: Iterable[str], prior: Corrections) -> Corrections:
    """Return what is known after some mixes of a plan; those that teach nothing change nothing.

    Parameters
    ----------
    plan
        The plan in force, with its readings.
    mix_ids
        Its mixes, finished or not.
    prior
        What was known before; a mix that it has learned from already is not counted twice, and one
        whose end was taken back no longer counts.
    """
    mix_ids = list(mix_ids)
    ended = {r.mix_id: r.at_utc for r in plan.readings if r.kind is ReadingKind.DOUGH_END_C}
    in_time = sorted((ended[mix_id], mix_id) for mix_id in mix_ids if mix_id in ended)
    prior = forget(_taken_back(plan, mix_ids), prior)
    outcomes = (_readable_outcome(plan, mix_id) for _, mix_id in in_time)
    return learn([outcome for outcome in outcomes if outcome is not None], prior)


def _taken_back(plan: Plan, mix_ids: Iterable[str]) -> list[str]:
    """Return the sources of mixes of which a reading was taken back, and no end stands."""
    mended = {r.mix_id for r in plan.readings if r.kind is ReadingKind.WITHDRAWN}
    return [
        _source(plan, mix_id)
        for mix_id in mix_ids
        if mix_id in mended
        and ReadingKind.DOUGH_END_C
        not in {r.kind for r in standing_readings(plan.readings, mix_id)}
    ]


def _source(plan: Plan, mix_id: str) -> str:
    return f"{plan.day.production_date} {mix_id}"


def _readable_outcome(plan: Plan, mix_id: str) -> MixOutcome | None:
    """Return what a mix teaches; nothing when its readings fit no balance."""
    try:
        return outcome_of(plan, mix_id)
    except OvenwardError:
        return None


def as_put_in(plan: Plan, mix_id: str, followed: Followed) -> Course:
    """Return the course of a mix with the water that really went in.

    Parameters
    ----------
    plan, mix_id
        The plan in force with its readings, and the mix.
    followed
        The mix with what was read put in.

    Notes
    -----
    A dough read during the mix may have been answered with another second water. The reading is
    answered here once more, with what had been read until then, as it was that night.
    """
    mixed = followed.mixed
    balance, ticket = mixed.balance, mixed.ticket
    for reading in reversed(standing_readings(plan.readings, mix_id)):  # the last word counts
        if reading.kind is ReadingKind.DOUGH_MID_C:
            middle = _answered(plan, mix_id, reading)
            if middle is not None:
                balance = _with_second_water(balance, middle, mixed.ways.ice)
    if balance is mixed.balance:
        return mixed.run
    ice_kg = ticket.ice_kg if balance.portions[:1] == mixed.balance.portions[:1] else 0.0
    return course(balance, ticket.water_c or 0.0, ice_kg, mixed.ways.ice if ice_kg > 0 else None)


def _answered(plan: Plan, mix_id: str, reading: Reading) -> MidMix | None:
    """Return the second water that a reading during the mix was answered with, if it was another.

    None where the answer was to go on as planned, or no water was left.
    """
    then = tuple(r for r in plan.readings if r.mix_id != mix_id or r.at_utc <= reading.at_utc)
    middle = follow(replace(plan, readings=then), mix_id).mid_mix
    wanted_c = plan.mix(mix_id).steered.dough_c
    if middle is None or not middle.water or abs(middle.untouched_c - wanted_c) < NEAR_ENOUGH_K:
        return None
    return middle


def _with_second_water(balance: MixBalance, middle: MidMix, ice: Ice | None) -> MixBalance:
    """Return a balance whose water after a step goes in as it was answered, ice in the first."""
    kept = [p for p in balance.portions if p.step <= middle.after_step]
    later = [p for p in balance.portions if p.step > middle.after_step]
    liquid_kg = sum(line.water_kg for line in middle.water)
    liquid_c = sum(line.water_kg * line.temperature_c for line in middle.water) / liquid_kg
    added = []
    for n, portion in enumerate(later):
        ice_kg = middle.ice_kg if n == 0 and ice is not None else 0.0
        water_c = (
            liquid_c
            if ice is None
            else equivalent_temperature_c(
                portion.water_kg, liquid_c, ice_kg, ice.temperature_c, ice.true_ice_fraction
            )
        )
        added.append(
            Ingredient(
                "second water",
                portion.water_kg,
                WATER_KJ_PER_KG_K.value,
                water_c,
                step=portion.step,
            )
        )
    return replace(balance, ingredients=(*balance.ingredients, *added), portions=tuple(kept))


def outcome_of_ticket(
    night: Night, batch: Batch, mixer: Mixer, mixed: Mixed, measured_c: float, measured_sd_k: float
) -> MixOutcome:
    """Return what a mix teaches that was made by a ticket and came off at a temperature.

    Parameters
    ----------
    night, batch, mixer, mixed
        The mix and its ticket.
    measured_c, measured_sd_k
        End temperature read [°C] and its spread [K].
    """
    expected_c = mixed.ticket.expected_c
    return _outcome(night, batch, mixer, mixed.effects, expected_c, measured_c, measured_sd_k)


def _metered_share(read: Sequence[Reading], foreseen_kj: float) -> float | None:
    kwh = next((r.energy_kwh for r in reversed(read) if r.kind is ReadingKind.METERED_KWH), None)
    if kwh is None or foreseen_kj <= 0:
        return None
    share = kwh * KJ_PER_KWH * INTO_DOUGH / foreseen_kj
    return share if WORK_SHARE[0] <= share <= WORK_SHARE[1] else None


def _outcome(
    night: Night,
    batch: Batch,
    mixer: Mixer,
    effects: Effects,
    predicted_c: float,
    measured_c: float,
    measured_sd_k: float,
) -> MixOutcome:
    factors = night.corrections.work_factors(mixer, batch.formula.dough_class)
    degrees = tuple((s, k) for s, k in degrees_by_speed(batch, effects) if s in factors)
    return MixOutcome(
        mix_id=batch.id,
        mixer_id=mixer.id,
        dough_class=batch.formula.dough_class,
        predicted_c=predicted_c,
        measured_c=measured_c,
        measured_sd_k=measured_sd_k,
        degrees_by_speed=degrees,
        factor_by_speed=tuple((s, factors[s][0]) for s, _ in degrees),
        work_prior_sd=tuple((s, prior_share(mixer.work_kj_per_kg_min[s])) for s, _ in degrees),
        other_sd_k=effects.without_work_k,
        overloaded=batch.dough_kg > most_dough_kg(mixer, batch.formula, cold=False) * 1.001,
    )


def remembered_outcome(
    day: Day,
    conditions: Conditions,
    corrections: Corrections,
    remembered: RememberedMix,
    spreads: Spreads = REMEMBERED,
) -> MixOutcome:
    """Return what a remembered mix teaches: a reading with wide noise.

    Parameters
    ----------
    day, conditions, corrections
        The bakery with its formulas, a night to take the rest from, and what was known.
    remembered
        What the baker remembers of one mix.
    spreads
        How far its figures may be off.
    """
    night = Night(day, conditions, corrections)
    formula, mixer = day.formula(remembered.formula_id), day.bakery.mixer(remembered.mixer_id)
    dough_kg = remembered.mass_kg(mixer)
    batch = Batch(
        id=f"remembered.{formula.id}",
        line_id="",
        formula=formula,
        product=None,
        batch=1,
        batches=1,
        pieces=0,
        dough_kg=dough_kg,
        flour_kg=dough_kg / formula.total_percent * 100,
        mixers=(mixer,),
        loads_pieces=(),
        leave_by=None,
        priority=1,
        window=None,
    )
    parts_c = {part.id: formula.dough_c for part in formula.parts} | dict(remembered.part_c)
    room_c = remembered.room_c
    flour_c = remembered.flour_c if remembered.flour_c is not None else room_c
    balance = mix_balance(
        night,
        batch,
        mixer,
        day.span_min / 2,
        parts_c,
        MixTemperatures(flour_c=flour_c, room_c=room_c, bowl_c=room_c),
    )
    made = day.bakery.ice
    ice = Ice(made.temperature_c.value, made.true_ice_fraction.value) if made else Ice(-2.0, 0.9)
    iced = ice if remembered.ice_kg > 0 else None
    effects = dough_effects(balance, remembered.water_c, remembered.ice_kg, iced, spreads)
    predicted = dough_temperature_c(balance, remembered.water_c, remembered.ice_kg, iced)
    return _outcome(
        night,
        batch,
        mixer,
        effects,
        float(predicted),
        remembered.dough_end_c,
        remembered.about_k,
    )


def recalled(day: Day, conditions: Conditions, prior: Corrections) -> Corrections:
    """Return what is known, with remembered mixes put in for mixers nothing was read of.

    A memory that fits no balance is left out, and `doubted` names it.
    """
    outcomes = [o for _, o in _memories(day, conditions, prior) if o is not None]
    return learn(outcomes, prior) if outcomes else prior


def doubted(day: Day, conditions: Conditions, prior: Corrections) -> tuple[Remark, ...]:
    """Return an unmet wish for each remembered mix that fits no balance and so was left out."""
    return tuple(
        Remark(
            RemarkKind.UNMET,
            "memory_doubted",
            "The remembered mix of {formula} on {mixer} is left out: no balance comes near {end} "
            "with its water, ice and flour; check what was entered.",
            (
                word("formula", day.formula(one.formula_id).name),
                word("mixer", day.bakery.mixer(one.mixer_id).name),
                temperature("end", one.dough_end_c),
            ),
        )
        for one, outcome in _memories(day, conditions, prior)
        if outcome is None
    )


def noted(
    day: Day, conditions: Conditions, notes: Sequence[RememberedMix], prior: Corrections
) -> Corrections:
    """Return what is known after mixes that were written down as they came off.

    Parameters
    ----------
    day, conditions
        The bakery with its formulas, and a night to take from what was not written down.
    notes
        The mixes, oldest first.
    prior
        What was known before.

    Raises
    ------
    InputError
        With every mix that the day does not know, or that no balance comes near.
    """
    noted_day = replace(day, remembered=tuple(notes))
    outcomes = [_believed(noted_day, conditions, prior, one, _read_spreads(one)) for one in notes]
    faults = [
        Fault(
            f"remembered[{i}].dough_end_c",
            repr(one.dough_end_c),
            "is nowhere near what a balance gives with its water, ice and flour",
            "check the figures of this mix, or leave it out",
        )
        for i, (one, outcome) in enumerate(zip(notes, outcomes, strict=True))
        if outcome is None
    ]
    if faults:
        raise InputError(faults)
    return learn([outcome for outcome in outcomes if outcome is not None], prior)


def _read_spreads(one: RememberedMix) -> Spreads:
    """Return how far figures may be off that were read; those left out are as in a memory."""
    return Spreads(
        flour_sd_k=REMEMBERED.flour_sd_k if one.flour_c is None else READ_SD_K,
        part_sd_k=READ_SD_K if one.part_c else REMEMBERED.part_sd_k,
    )


def _memories(
    day: Day, conditions: Conditions, prior: Corrections
) -> list[tuple[RememberedMix, MixOutcome | None]]:
    """Return the remembered mixes that count, each with what it teaches; None if it fits none."""
    known = {c.mixer_id for c in prior.mixing_work}
    return [
        (one, _believed(day, conditions, prior, one))
        for one in day.remembered
        if one.mixer_id not in known
    ]


def _believed(
    day: Day,
    conditions: Conditions,
    prior: Corrections,
    one: RememberedMix,
    spreads: Spreads = REMEMBERED,
) -> MixOutcome | None:
    try:
        outcome = remembered_outcome(day, conditions, prior, one, spreads)
    except OvenwardError:  # such as a forecast hotter than any dough
        return None
    shares = dict(outcome.work_prior_sd)
    work_sd_k = sum(k * shares[s] for s, k in outcome.degrees_by_speed)
    sd_k = hypot(outcome.measured_sd_k, outcome.other_sd_k, work_sd_k)
    off_k = abs(outcome.measured_c - outcome.predicted_c)
    return outcome if off_k <= BELIEVED_SD * sd_k else None

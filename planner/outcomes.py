"""From a finished mix and its end temperature to what `learn` takes."""

from __future__ import annotations

from dataclasses import replace

from planner.answer import measured_before, readings_of
from planner.batches import batches_of
from planner.making import part_c_for
from planner.night import Night
from planner.physics.heat_balance import Ice, dough_temperature_c
from planner.planned import Plan
from planner.readings import MixOutcome, ReadingKind
from planner.tickets import mix_balance


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
    The prediction uses the water of the plan's ticket and what was measured before the mix, so
    that flour or a preferment that was read is not blamed on the mixer.
    """
    readings = readings_of(plan.readings, mix_id)
    end = readings.get(ReadingKind.DOUGH_END_C)
    if end is None or end.value_c is None:
        return None
    mix = plan.mix(mix_id)
    batch = next(b for b in batches_of(plan.day) if b.id == mix_id)
    mixer = plan.day.bakery.mixer(mix.mixer_id)
    night = Night(plan.day, plan.conditions, plan.corrections)
    balance = mix_balance(
        night,
        batch,
        mixer,
        plan.day.minute(mix.start_utc),
        part_c_for(plan.preparations, mix_id),
        measured_before(plan, mix_id, readings),
    )
    made = plan.day.bakery.ice
    ice = Ice(made.temperature_c.value, made.true_ice_fraction.value) if made else None
    water_c = mix.ticket.water_c or 0.0
    predicted, doubled = (
        float(dough_temperature_c(b, water_c, ice_kg=mix.ticket.ice_kg, ice=ice))
        for b in (balance, replace(balance, work_kj=2 * balance.work_kj))
    )
    return MixOutcome(
        mix_id=mix_id,
        mixer_id=mix.mixer_id,
        dough_class=batch.formula.dough_class,
        predicted_c=predicted,
        measured_c=end.value_c,
        measured_sd_k=end.sd_k,
        degrees_per_work_factor_k=doubled - predicted,
        overloaded=batch.dough_kg > mixer.max_dough_kg * 1.001,
    )

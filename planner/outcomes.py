"""From a finished mix and its end temperature to what `learn` takes."""

from __future__ import annotations

from planner.answer import follow, readings_of
from planner.batches import batches_of
from planner.planned import Plan
from planner.readings import MixOutcome, ReadingKind
from planner.tickets import degrees_by_speed


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
    began and the water that they asked for. So flour that was read is not blamed on the mixer, and
    neither is a hand that did what the answer said.
    """
    end = readings_of(plan.readings, mix_id).get(ReadingKind.DOUGH_END_C)
    if end is None or end.value_c is None:
        return None
    followed = follow(plan, mix_id)
    batch = next(b for b in batches_of(plan.day) if b.id == mix_id)
    mixer = plan.day.bakery.mixer(followed.mix.mixer_id)
    return MixOutcome(
        mix_id=mix_id,
        mixer_id=mixer.id,
        dough_class=batch.formula.dough_class,
        predicted_c=followed.mixed.ticket.expected_c,
        measured_c=end.value_c,
        measured_sd_k=end.sd_k,
        degrees_per_work_factor_k=sum(
            k for _, k in degrees_by_speed(batch, followed.mixed.effects)
        ),
        overloaded=batch.dough_kg > mixer.max_dough_kg * 1.001,
    )

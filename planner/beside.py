"""Why the baker's own sum and our number differ, asked about one mix of a plan."""

from __future__ import annotations

from planner.batches import batches_of
from planner.hand_sum_gap import gap_remarks, tuned
from planner.making import part_c_for
from planner.night import Night
from planner.planned import Plan
from planner.remarks import Remark
from planner.tickets import mix_balance


def sum_reasons(plan: Plan, mix_id: str) -> tuple[Remark, ...]:
    """Return why the sum beside a mix's ticket is not our number, the largest reason first.

    Parameters
    ----------
    plan
        A plan.
    mix_id
        One of its mixes.

    Returns
    -------
    tuple of Remark
        At most three; none when no sum stands beside the ticket.
    """
    mix = plan.mix(mix_id)
    if mix.ticket.hand_sum is None:
        return ()
    night = Night(plan.day, plan.conditions, plan.corrections_for(mix_id))
    batch = next((b for b in batches_of(plan.day) if b.id == mix_id), None)
    if batch is None:
        return ()
    balance = mix_balance(
        night,
        batch,
        plan.day.bakery.mixer(mix.mixer_id),
        plan.day.minute(mix.start_utc),
        part_c_for(plan.preparations, mix_id),
        bowl_c=mix.steered.bowl_c,
    )
    own = batch.formula.hand_sum or tuned(balance, mix.steered.dough_c)
    return () if own is None else gap_remarks(batch, balance, mix.steered.dough_c, own)

"""While the dough is in the bowl: what a reading means for its end, and what still can be done."""

from __future__ import annotations

from planner.batches import Batch
from planner.night import Night
from planner.options import Allowance, Choice, water_for
from planner.physics.heat_balance import rest_of_mix
from planner.physics.mix_course import dough_temperature_c
from planner.planned import MidMix, PlannedMix, Steered
from planner.readings import Reading
from planner.remarks import Figure, Remark, RemarkKind, difference, mass, temperature
from planner.supplies import water_lines
from planner.tickets import Mixed

NEAR_ENOUGH_K = 0.3
"""A dough that will end nearer than this to the wish needs nothing [K]."""


def mid_mix(
    night: Night, batch: Batch, mixed: Mixed, choice: Choice, reading: Reading, steered: Steered
) -> MidMix | None:
    """Return what can still be done after a reading during the mix; None when nothing follows.

    Parameters
    ----------
    night, batch
        The night and the dough.
    mixed, choice, steered
        Its ticket, the dough that is wanted, and what it may take.
    reading
        Dough read after a step.

    Notes
    -----
    The rest of the mix is followed from the reading on. Water that is still to come is steered
    anew, with ice if it melts in what is left of the mix.
    """
    after, read_c = reading.after_step, reading.value_c
    if after is None or read_c is None or after >= len(batch.formula.steps) - 1:
        return None
    rest = rest_of_mix(mixed.balance, after, read_c)
    planned_c = mixed.ticket.water_c or 0.0
    untouched_c = float(dough_temperature_c(rest, planned_c))
    if rest.water_kg <= 0:
        return MidMix(after, untouched_c, (), 0.0, untouched_c)
    left = Allowance(max(0.0, steered.ice_kg - mixed.ticket.ice_kg), steered.chilled_kg)
    drawn, _ = water_for(night, batch, rest, choice, left)
    return MidMix(
        after,
        untouched_c,
        water_lines(night, float(drawn.tap_kg), float(drawn.chilled_kg), float(drawn.hot_kg)),
        float(drawn.ice_kg),
        float(drawn.expected_c),
    )


def mid_mix_remarks(mix: PlannedMix, middle: MidMix) -> tuple[Remark, ...]:
    """Say how the dough will end, and what the second water should be now."""
    wanted_c = mix.steered.dough_c
    off_k = middle.untouched_c - wanted_c
    figures: tuple[Figure, ...] = (
        temperature("end", middle.untouched_c),
        difference("off", abs(off_k)),
    )
    if abs(off_k) < NEAR_ENOUGH_K:
        text = "On its way to {end}: go on as planned."
        return (Remark(RemarkKind.NOTE, "mid_mix_as_planned", text, figures[:1], mix.id),)
    side = "too warm" if off_k > 0 else "too cool"
    if not middle.water:
        text = f"Will come off at {{end}}, {{off}} {side}: no water is left to add."
        return (Remark(RemarkKind.UNMET, "mid_mix_off", text, figures, mix.id),)
    kilos = sum(line.water_kg for line in middle.water)
    blend_c = sum(line.water_kg * line.temperature_c for line in middle.water) / kilos
    text = f"Would come off at {{end}}, {{off}} {side}: second water {{water}} at {{blend}}"
    figures = (*figures, mass("water", kilos), temperature("blend", blend_c))
    if middle.ice_kg > 0.005:
        text += " and {ice} of ice"
        figures = (*figures, mass("ice", middle.ice_kg))
    text += ", then {expected}."
    figures = (*figures, temperature("expected", middle.expected_c))
    return (Remark(RemarkKind.NOTE, "mid_mix_water", text, figures, mix.id),)

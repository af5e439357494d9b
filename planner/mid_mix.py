"""While the dough is in the bowl: what a reading means for its end, and what still can be done."""

from __future__ import annotations

from planner.options import Allowance, water_for
from planner.physics.heat_balance import Portion, rest_of_mix
from planner.physics.mix_course import dough_temperature_c
from planner.planned import MidMix, PlannedMix
from planner.readings import Reading
from planner.remarks import Figure, Remark, RemarkKind, difference, mass, temperature
from planner.stores import chilled_kg
from planner.supplies import water_lines
from planner.tickets import Mixed, pour_c

NEAR_ENOUGH_K = 0.3
"""A dough that will end nearer than this to the wish needs nothing [K]."""


def mid_mix(mixed: Mixed, reading: Reading) -> MidMix | None:
    """Return what can still be done after a reading during the mix; None when nothing follows.

    Parameters
    ----------
    mixed
        The mix with its ticket, and what it was made from.
    reading
        Dough read after a step.

    Notes
    -----
    The rest of the mix is followed from the reading on. Water that is still to come is steered
    anew, with ice if it melts in what is left of the mix, from what the mix has not yet taken.
    """
    after, read_c = reading.after_step, reading.value_c
    case, ticket = mixed.case, mixed.ticket
    if after is None or read_c is None or after >= len(case.batch.formula.steps) - 1:
        return None
    rest = rest_of_mix(mixed.balance, after, read_c)
    ice_to_come_kg = 0.0 if _gone(mixed, after) else ticket.ice_kg
    planned_c = ticket.water_c or 0.0
    untouched_c = float(dough_temperature_c(rest, planned_c, ice_to_come_kg, mixed.ways.ice))
    if rest.water_kg <= 0:
        return MidMix(after, untouched_c, (), 0.0, untouched_c)
    left = left_after(mixed, after)
    drawn, ways = water_for(case.night, case.batch, rest, case.choice, left)
    ice_kg = float(drawn.ice_kg)
    return MidMix(
        after,
        untouched_c,
        water_lines(case.night, float(drawn.tap_kg), float(drawn.chilled_kg), float(drawn.hot_kg)),
        ice_kg,
        float(drawn.expected_c),
        pour_c(rest, float(drawn.liquid_c), ice_kg, ways),
    )


def left_after(mixed: Mixed, after: int) -> Allowance:
    """Return the ice and chilled water a mix may still take once a step has ended.

    Parameters
    ----------
    mixed
        The mix with its ticket.
    after
        The step that has ended.

    Notes
    -----
    All portions are of one blend, and the first holds all the ice.
    """
    gone, allowed, ticket = _gone(mixed, after), mixed.case.allowed, mixed.ticket
    if not gone or ticket.water_kg <= 0:
        return allowed
    poured = (sum(portion.water_kg for portion in gone) - ticket.ice_kg) / ticket.water_kg
    return Allowance(
        _less(allowed.ice_kg, ticket.ice_kg),
        _less(allowed.chilled_kg, chilled_kg(ticket.water) * poured),
    )


def _gone(mixed: Mixed, after: int) -> list[Portion]:
    """Return the portions of the water that are in the bowl."""
    return [portion for portion in mixed.balance.portions if portion.step <= after]


def _less(most_kg: float | None, taken_kg: float) -> float | None:
    return None if most_kg is None else max(0.0, most_kg - taken_kg)


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
        if middle.pour_c is not None:
            text += ", stirred until it is gone and reads {pour}"
            figures = (*figures, temperature("pour", middle.pour_c))
    text += ", then {expected}."
    figures = (*figures, temperature("expected", middle.expected_c))
    return (Remark(RemarkKind.NOTE, "mid_mix_water", text, figures, mix.id),)

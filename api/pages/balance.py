"""The heat balance of one mix as a list to add up, for a baker who does not believe it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from api.pages.names import Names
from api.pages.wording import (
    Units,
    clock_of,
    difference_text,
    dough_degrees,
    mass_number,
    number,
    render_remark,
    signed_difference,
    temperature_text,
    water_degrees,
)
from planner.planned import Plan, PlannedMix
from planner.remarks import Remark
from planner.water_ticket import SumBeside

KJ_STEP = 0.1
HEADS = ("what", "mass", "comes in at", "heat, kJ", "dough moves")


def balance_text(
    plan: Plan,
    mix: PlannedMix,
    zone: ZoneInfo,
    units: Units,
    reasons: Sequence[Remark] = (),
) -> str:
    """Return the balance of one mix, term by term.

    Parameters
    ----------
    plan, mix
        A plan and one of its mixes.
    zone, units
        How the house reads time and quantities.
    reasons
        Why the sum beside it is not our number.

    Notes
    -----
    Heats are rounded to tenths of a kilojoule that add up to nothing, as the exact ones do.
    """
    ticket, clock = mix.ticket, clock_of(plan, zone)
    wanted = temperature_text(mix.steered.dough_c, units)
    expected = temperature_text(ticket.expected_c, units)
    names, spread = Names(plan), difference_text(ticket.expected_sd_k, units)
    place = f"{names.place(mix.mixer_id)} at {clock.time(mix.start_utc)}"
    rows = [HEADS, *balance_rows(mix, units)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(HEADS))]
    lines = [
        f"{names.mix(mix.id)}, {mix.id}: {place}, {number(mix.mix_min)} min",
        f"Wanted {wanted}, comes off at {expected} ± {spread} (two nights in three).",
        _water_line(mix, units),
        "",
        *(_line(row, widths) for row in rows),
        "",
        f"Each line: the heat it gives on the way to a dough of {expected}; a minus takes.",
    ]
    if ticket.dough_per_water_k:
        per = number(ticket.dough_per_water_k, 2)
        lines.append(f"One degree of water is worth {per} degrees of dough.")
    if ticket.hand_sum is not None:
        lines.append(_beside(ticket.hand_sum, units))
        lines += [render_remark(r, zone, units, clock=clock) for r in reasons]
    if mix.reasons:
        why = [render_remark(r, zone, units, clock=clock) for r in mix.reasons]
        lines += ["", "Why then and so, all other mixes held:", *why]
    return "\n".join(lines) + "\n"


def _beside(beside: SumBeside, units: Units) -> str:
    """Return the baker's own number and the dough it would give."""
    whose = "Your own sum" if beside.is_own else "The three-term sum, tuned on a mild day"
    by_sum, ours = (temperature_text(c, units) for c in (beside.water_c, beside.ours_c))
    dough = temperature_text(beside.dough_c, units)
    return (
        f"{whose} ({beside.convention}) asks for water of {by_sum}: a dough of {dough}. "
        f"Ours, ice counted as colder water: {ours}."
    )


def _water_line(mix: PlannedMix, units: Units) -> str:
    ticket = mix.ticket
    if ticket.water_c is None:
        return "No water to steer with."
    whole = mix.dough_kg
    parts = [
        f"{mass_number(line.water_kg, units, whole_kg=whole)} {units.mass} at"
        f" {water_degrees(line.temperature_c, units)} {units.degree}"
        for line in ticket.water
    ]
    blend = f"Water {' and '.join(parts)}"
    if len(parts) > 1:
        blend += f", together {water_degrees(ticket.water_c, units)} {units.degree}"
    if ticket.ice_kg > 0:
        blend += f"; ice {mass_number(ticket.ice_kg, units, whole_kg=whole)} {units.mass}"
    return blend + "."


def balance_rows(mix: PlannedMix, units: Units) -> list[tuple[str, ...]]:
    """Return the terms of a mix's balance as text, a cell for each of `HEADS`, and their sum."""
    terms = mix.ticket.terms
    heats = rounded_to_nothing([term.heat_kj for term in terms])
    rows = [
        (
            term.name,
            ""
            if term.mass_kg is None
            else f"{mass_number(term.mass_kg, units, whole_kg=mix.dough_kg)} {units.mass}",
            "" if term.start_c is None else f"{dough_degrees(term.start_c, units)} {units.degree}",
            number(heat * KJ_STEP, 1),
            signed_difference(term.effect_k, units),
        )
        for term, heat in zip(terms, heats, strict=True)
    ]
    total = number(sum(heats) * KJ_STEP, 1)
    together = sum(term.effect_k for term in terms)
    return [*rows, ("together", "", "", total, difference_text(together, units))]


def rounded_to_nothing(heats_kj: Sequence[float]) -> list[int]:
    """Round heats that add up to nothing to tenths that still do.

    Examples
    --------
    >>> rounded_to_nothing([1.04, 1.04, -2.08])
    [11, 10, -21]
    """
    exact = [heat / KJ_STEP for heat in heats_kj]
    floors = [math.floor(one + 1e-9) for one in exact]
    missing = -sum(floors)
    by_remainder = sorted(range(len(exact)), key=lambda i: floors[i] - exact[i])
    for i in by_remainder[:missing]:
        floors[i] += 1
    return floors


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    first = f"{row[0]:{widths[0]}}"
    rest = (f"{cell:>{width}}" for cell, width in zip(row[1:], widths[1:], strict=True))
    return "  ".join([first, *rest]).rstrip()

"""The ticket of a mix as flat data for a dosing controller: kilograms and degrees Celsius.

Names and figures stand beside each other on one level, since controllers read keys and no trees.
Weights are those on paper, so that a controller and a scale dose the same.
"""

from __future__ import annotations

from dataclasses import replace

from api.pages.mix_ticket import ticket_masses
from api.pages.reader import Reader
from api.pages.wording import Units
from planner.planned import Plan, PlannedMix

Cell = str | int | float | None


def dosing_ticket(plan: Plan, mix: PlannedMix, reader: Reader) -> dict[str, Cell]:
    """Return a mix on one level.

    Parameters
    ----------
    plan, mix
        The plan and one of its mixes.
    reader
        How the house reads; weights are kilograms and temperatures degrees Celsius all the same.

    Returns
    -------
    dict
        ``water_01_…`` per supply, ``ice_kg``, ``line_01_…`` per other line in loading order and
        ``step_01_…`` per mixing step, each numbered from 01; ``total_kg`` is their sum.
    """
    metric = replace(reader, units=Units.METRIC)
    if reader.units is not Units.METRIC:
        metric = replace(metric, scales=type(reader.scales)())
    printed = [float(line) for line in ticket_masses(mix, metric).lines]
    ticket, supplies = mix.ticket, len(mix.ticket.water)
    cells: dict[str, Cell] = {
        "plan_version": plan.version,
        "production_date": plan.day.production_date.isoformat(),
        "mix_id": mix.id,
        "formula_id": mix.formula_id,
        "batch": mix.batch,
        "batches": mix.batches,
        "mixer_id": mix.mixer_id,
        "start_utc": mix.start_utc.isoformat().replace("+00:00", "Z"),
        "dough_c": round(ticket.wanted_c, 1),
        "water_c": None if ticket.water_c is None else round(ticket.water_c, 1),
        "water_kg": round(sum(printed[:supplies]), 3),
        "ice_kg": printed[supplies],
        "ice_kind": str(ticket.ice_kind) if ticket.ice_kind and ticket.ice_kg > 0 else None,
        "mixing_min": mix.mix_min,
    }
    for n, (line, kg) in enumerate(zip(ticket.water, printed, strict=False), start=1):
        cells |= {
            f"water_{n:02d}_supply_id": line.supply_id,
            f"water_{n:02d}_kg": kg,
            f"water_{n:02d}_c": round(line.temperature_c, 1),
        }
    for n, held in enumerate(ticket.held_back, start=1):
        cells |= {
            f"kept_back_{n:02d}_step": held.step + 1,
            f"kept_back_{n:02d}_kg": round(held.water_kg, 2),
        }
    others = zip(mix.scaling, printed[supplies + 1 :], strict=True)
    for n, (scaled, kg) in enumerate(sorted(others, key=lambda pair: pair[0].step), start=1):
        cells |= {
            f"line_{n:02d}_name": scaled.name,
            f"line_{n:02d}_kg": kg,
            f"line_{n:02d}_step": scaled.step + 1,
        }
    for n, step in enumerate(mix.steps, start=1):
        cells |= {f"step_{n:02d}_speed": str(step.speed), f"step_{n:02d}_min": step.minutes}
    return {**cells, "total_kg": round(sum(printed), 3)}

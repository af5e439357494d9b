"""The rules of where a dough lies and is divided: tubs, weight in a chamber, bench places.

What they take joins what loads take of chambers; `resources.keep_racks_within_chamber` counts it.
"""

from __future__ import annotations

from planner.scheduling.cpsat.model import JobVars, Model, Var
from planner.scheduling.problem import BENCH


def place_bulk_in_tubs(model: Model) -> None:
    """A mix keeps its tubs, and its weight in a chamber, from the end of mixing to the divide."""
    for job in model.jobs:
        mixed = job.start + model.grid.up(job.job.mix_min)
        for way, literal in job.tubs.items():
            counted = [(n, c) for n, c in job.job.tubs[way] if n in model.problem.racks and c]
            if not counted:
                continue
            interval = model.cp.new_optional_interval_var(
                mixed, _bulk_length(model, job), job.divide, literal, ""
            )
            for name, count in counted:
                model.in_chamber.setdefault(name, []).append((interval, count))


def _bulk_length(model: Model, job: JobVars) -> Var:
    """Return the slots between the end of mixing and the divide, whether it is due or late."""
    known = next((j for j in model.known.jobs if j.job_id == job.job.id), None)
    hint = 0
    if known is not None:
        hint = (known.divide_start - known.start) // model.grid.step
        hint -= model.grid.up(job.job.mix_min)
    return model.number(0, model.grid.slots, hint)


def place_divide_on_bench(model: Model) -> None:
    """A mix takes its bench places while it is divided."""
    if BENCH not in model.problem.racks:
        return
    for job in model.jobs:
        if job.job.bench and job.job.divide_min:
            length = model.grid.up(job.job.divide_min)
            interval = model.cp.new_optional_fixed_size_interval_var(
                job.divide, length, job.placed, ""
            )
            model.in_chamber.setdefault(BENCH, []).append((interval, job.job.bench))

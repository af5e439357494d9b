"""The rule of breaks: somebody is off for so long inside a window, or it costs."""

from __future__ import annotations

from planner.scheduling.cpsat.model import Model, RestVars


def place_breaks(model: Model) -> None:
    """Everybody has their breaks, begun inside their windows; one that is not had costs."""
    grid = model.grid
    known = {(r.person_id, r.rest): r.start // grid.step for r in model.known.rests}
    every = model.affordable(model.weights.rest, 1) == 0
    for worker in model.problem.workers:
        for number, rest in enumerate(worker.rests):
            first, last = grid.up(rest.from_min), grid.down(rest.by_min)
            if first > last:
                continue
            at = known.get((worker.person_id, number))
            had = model.fixed(1) if every else model.truth(hint=at is not None)
            start = model.number(first, last, first if at is None else at)
            interval = model.cp.new_optional_fixed_size_interval_var(
                start, grid.up(rest.length_min), had, ""
            )
            model.rests.append(RestVars(worker.person_id, number, start, had, interval))

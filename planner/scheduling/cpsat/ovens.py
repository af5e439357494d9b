"""The rules of an oven's heat: hot enough for a load, and time to change between unlike loads."""

from __future__ import annotations

from planner.scheduling.cpsat.model import LoadVars, Model
from planner.scheduling.cpsat.rules import all_loads
from planner.scheduling.heat import least_between, may_differ
from planner.scheduling.problem import OvenPlaces


def keep_loading_while_hot(model: Model) -> None:
    """A load goes into an oven that cools while it is as hot as the load wants it."""
    for load in all_loads(model):
        for oven_id, literal in load.ovens.items():
            choice = load.load.oven(oven_id)
            if choice.hot_from is not None or choice.hot_by is not None:
                first, last = model.grid.hot_slots(choice)
                model.cp.add(load.at >= first).only_enforce_if(literal)
                model.cp.add(load.at <= last).only_enforce_if(literal)


def keep_heat_between_loads(model: Model) -> None:
    """Between loads that want unlike heat an oven has the time to change."""
    ovens = [oven for oven in model.problem.ovens if may_differ(oven)]
    known = [at for j in model.known.jobs for at in j.loads] + list(model.known.standing)
    starts = {at.load_id: at.load_start for at in known}
    loads = all_loads(model)
    for index, one in enumerate(loads):
        for other in loads[index + 1 :]:
            shared = [o for o in ovens if o.oven_id in one.ovens and o.oven_id in other.ovens]
            unlike = [o for o in shared if least_between(o, one.load, other.load) is not None]
            if unlike:
                hint = starts.get(one.load.id, 0) <= starts.get(other.load.id, 0)
                _apart(model, one, other, unlike, hint=hint)


def _apart(
    model: Model, one: LoadVars, other: LoadVars, ovens: list[OvenPlaces], *, hint: bool
) -> None:
    """Keep two loads apart in whichever order they come."""
    sooner = model.truth(hint=hint)
    for oven in ovens:
        both = [one.ovens[oven.oven_id], other.ovens[oven.oven_id]]
        for literal, first, second in (
            (sooner, one, other),
            (sooner.negated(), other, one),
        ):
            gap = model.grid.up(least_between(oven, first.load, second.load) or 0)
            model.cp.add(second.at >= first.at + gap).only_enforce_if([literal, *both])

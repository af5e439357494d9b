"""Stiff doughs: which speeds a mixer may run in them, and for how long.

A limit that a baker or a maker entered is kept: a dough that no mixer may work so is refused. One
that is only assumed of the mixer's kind is told on the ticket.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from planner.errors import Fault
from planner.formula import Formula
from planner.mixers import HAND_SPEEDS, Mixer, Speed, SpeedLimit


def broken_limits(mixer: Mixer, formula: Formula) -> list[tuple[int, SpeedLimit]]:
    """Return the speed limits of a mixer that a formula's steps break, each with the step.

    Parameters
    ----------
    mixer, formula
        The two; the step is the index of the one with which the limit is passed.
    """
    found = []
    for limit in mixer.speed_limits:
        if formula.hydration >= limit.below_hydration - 1e-9:
            continue
        run_min = 0.0
        for index, step in enumerate(formula.steps):
            run_min += step.minutes if step.speed is limit.speed else 0.0
            if run_min > limit.most_min + 1e-9:
                found.append((index, limit))
                break
    return found


def refuses(mixer: Mixer, formula: Formula) -> bool:
    """Return whether a mixer must not run a formula's steps, by a limit that was entered."""
    return any(not limit.assumed for _, limit in broken_limits(mixer, formula))


def check_stiff_doughs(formulas: Iterable[Formula], mixers: Sequence[Mixer]) -> list[Fault]:
    """A stiff dough has a mixer that may run its steps.

    Parameters
    ----------
    formulas
        The doughs of a day.
    mixers
        The mixers of its bakery.
    """
    faults = []
    for formula in formulas:
        machine = {step.speed for step in formula.steps} - HAND_SPEEDS - {Speed.REST}
        able = [m for m in mixers if machine <= set(m.work_kj_per_kg_min)]
        if not able or not all(refuses(mixer, formula) for mixer in able):
            continue
        mixer = able[0]
        index, limit = next((i, x) for i, x in broken_limits(mixer, formula) if not x.assumed)
        faults.append(_fault(formula, mixer, index, limit))
    return faults


def _fault(formula: Formula, mixer: Mixer, index: int, limit: SpeedLimit) -> Fault:
    step, water = formula.steps[index], f"{100 * formula.hydration:.4g} % of water"
    below = f"in doughs below {100 * limit.below_hydration:.4g} %"
    if limit.most_min == 0:
        problem = f"{mixer.name} must not run {step.speed} {below}; {formula.name} has {water}"
        remedy = f"mix it in {Speed.FIRST} only, or on a mixer that may"
    else:
        problem = (
            f"{mixer.name} may run {step.speed} for {limit.most_min:g} min at most {below}; "
            f"{formula.name} has {water}"
        )
        remedy = f"enter {limit.most_min:g} min or less in all, or a mixer that may"
    entered = f"{step.speed}, {step.minutes:g} min"
    return Fault(f"formulas.{formula.id}.steps[{index}]", entered, problem, remedy)

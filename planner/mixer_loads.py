"""What a mixer takes: the most and the least dough, by how stiff, strong and cold it is.

A mix under every machine's least goes into a bowl of hands, where the house has one.
"""

from __future__ import annotations

from planner.bakery import Bakery
from planner.formula import Formula
from planner.mixers import HAND_SPEEDS, Mixer, Speed
from planner.stiffness import refuses

WITHIN_KG = 1e-9


def most_dough_kg(mixer: Mixer, formula: Formula, *, cold: bool) -> float:
    """Return the most dough of a formula that a mixer takes [kg].

    Parameters
    ----------
    mixer, formula
        The two.
    cold
        Whether flour or water is cold, or ice goes in.
    """
    return mixer.most_dough_kg(formula.hydration, strong=formula.strong_flour, cold=cold)


def mixers_for(bakery: Bakery, formula: Formula) -> tuple[Mixer, ...]:
    """Return the mixers that can and may run a formula's steps; all of them when none can."""
    able = mixers_with_speeds(bakery, {step.speed for step in formula.steps})
    return tuple(m for m in able if not refuses(m, formula)) or able


def mixers_with_speeds(bakery: Bakery, speeds: set[Speed]) -> tuple[Mixer, ...]:
    """Return the mixers that have these speeds; all of them when none has.

    What hands do can be done beside any machine; a dough of hands alone wants a bowl of hands.
    """
    machine = speeds - HAND_SPEEDS - {Speed.REST}
    wanted = machine or speeds - {Speed.REST, Speed.FOLD}
    able = tuple(m for m in bakery.mixers if wanted <= set(m.work_kj_per_kg_min))
    return able or bakery.mixers


def choose_mixers(
    mixers: tuple[Mixer, ...],
    dough_kg: float,
    formula: Formula | None = None,
    hands: tuple[Mixer, ...] = (),
) -> tuple[Mixer, ...]:
    """Return the mixers whose limits hold a load; when none does, the nearest.

    Parameters
    ----------
    mixers
        Those that can run its steps.
    dough_kg
        The load [kg].
    formula
        Its dough, where how stiff and strong it is counts.
    hands
        Bowls and hands of the house: what is too little for every machine is mixed there.
    """

    def most(mixer: Mixer) -> float:
        return mixer.max_dough_kg if formula is None else most_dough_kg(mixer, formula, cold=False)

    able = [m for m in mixers if dough_kg <= most(m) + WITHIN_KG]
    fitting = tuple(m for m in able if dough_kg >= m.min_dough_kg.value - WITHIN_KG)
    if fitting:
        return fitting
    # Between the mixers there may be a gap: too much for one, too little for the next.
    if not able:
        return (max(mixers, key=most),)
    by_hand = tuple(m for m in hands if dough_kg <= most(m) + WITHIN_KG)
    return by_hand or (min(able, key=lambda m: m.min_dough_kg.value),)

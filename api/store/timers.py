"""The timers of a plan: what the shift is told at which moment."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from api.schemas.occurrences import OccurrenceKind
from planner.planned import Plan, PlannedMix
from planner.planned_preparation import PlannedPreparation, PreparationKind

STARTS = {
    PreparationKind.PREFERMENT: OccurrenceKind.BUILD,
    PreparationKind.SCALD: OccurrenceKind.POUR,
    PreparationKind.SOAKER: OccurrenceKind.SOAK,
}
VISIT = "see to"
"""What a plan calls the work at a scald while it cools: stirring, moving, adding water."""


@dataclass(frozen=True, slots=True)
class Timer:
    """One moment at which something is to be done.

    Attributes
    ----------
    subject
        Id of the mix, load or preparation.
    number
        Counts the timers of its kind and subject from 1, in order of time.
    """

    kind: OccurrenceKind
    subject: str
    number: int
    due_utc: datetime


def timers_of(plan: Plan, reading_wanted_after_min: int | None) -> list[Timer]:
    """Return the timers of a plan in order of time.

    Parameters
    ----------
    reading_wanted_after_min
        How long after a mix its dough temperature is asked for [min]; None for never.
    """
    found = [
        *(one for mix in plan.mixes for one in _of_mix(mix)),
        *(
            (OccurrenceKind.READING_WANTED, mix.id, _later(mix.mix_end_utc, after_min))
            for mix in plan.mixes
            for after_min in (reading_wanted_after_min,)
            if after_min is not None
        ),
        *(one for preparation in plan.preparations for one in _of_preparation(preparation)),
        *((OccurrenceKind.LOAD, load.id, load.load_utc) for load in plan.inherited_loads),
        *((OccurrenceKind.TAKE_OUT, load.id, load.out_utc) for load in plan.inherited_loads),
        *(
            (OccurrenceKind.STIR, task.subject, task.start_utc)
            for task in plan.tasks
            if task.kind == VISIT
        ),
    ]
    found.sort(key=lambda one: (one[2], one[0], one[1]))
    counted: Counter[tuple[OccurrenceKind, str]] = Counter()
    timers = []
    for kind, subject, due_utc in found:
        counted[kind, subject] += 1
        timers.append(Timer(kind, subject, counted[kind, subject], due_utc))
    return timers


def _later(moment: datetime, minutes: int) -> datetime:
    return moment + timedelta(minutes=minutes)


Told = tuple[OccurrenceKind, str, datetime]


def _of_mix(mix: PlannedMix) -> Iterator[Told]:
    if mix.ticket.draw_not_before_utc is not None:
        yield OccurrenceKind.DRAW_WATER, mix.id, mix.ticket.draw_not_before_utc
    yield OccurrenceKind.MIX, mix.id, mix.start_utc
    for at_utc in mix.folds_utc:
        yield OccurrenceKind.FOLD, mix.id, at_utc
    for move in mix.moves:
        yield OccurrenceKind.MOVE, mix.id, move.at_utc
    yield OccurrenceKind.DIVIDE, mix.id, mix.divide_utc
    for load in mix.loads:
        for move in load.moves:
            yield OccurrenceKind.MOVE, load.id, move.at_utc
        yield OccurrenceKind.LOAD, load.id, load.load_utc
        yield OccurrenceKind.TAKE_OUT, load.id, load.out_utc


def _of_preparation(preparation: PlannedPreparation) -> Iterator[Told]:
    if preparation.builds:
        for build in preparation.builds:
            yield OccurrenceKind.BUILD, preparation.id, build.start_utc
    else:
        yield STARTS[preparation.kind], preparation.id, preparation.start_utc
    yield OccurrenceKind.CHECK, preparation.id, preparation.ready_from_utc

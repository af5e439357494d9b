"""The rows of the shift's sheet in true time order: what hands do, and what waits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from api.pages.names import Names
from api.pages.wording import Clock, Units, dough_degrees, mass_text
from planner.planned import (
    Plan,
    PlannedLoad,
    PlannedMix,
    PlannedMove,
    PlannedPreparation,
    PlannedTask,
)

SAME_MOMENT = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class TimelineRow:
    """One line of the sheet, as text.

    Attributes
    ----------
    hands_on
        Whether a person does it; such a row has a tick box and a blank for the actual time.
    date
        Printed above the row when the date changes; else empty.
    until
        The end of waiting, or the last acceptable time of an action.
    """

    hands_on: bool
    date: str
    time: str
    what: str
    mix: str
    amount: str
    place: str
    person: str
    target: str
    until: str


@dataclass(frozen=True, slots=True)
class Event:
    """One row before it is text; ``subjects`` are the ids under which its task may stand."""

    at_utc: datetime
    hands_on: bool
    what: str
    mix: str
    subjects: tuple[str, ...]
    amount: str = ""
    place: str = ""
    target: str = ""
    until: str = ""
    person: str = ""


def timeline(plan: Plan, clock: Clock, units: Units) -> tuple[TimelineRow, ...]:
    """Return every row of a plan in true time order.

    Parameters
    ----------
    plan
        The plan.
    clock, units
        How the house reads time and quantities.

    Notes
    -----
    A task of the plan that happens at the moment of an event of the same mix, load or
    preparation lends it its person; every other task is a row of its own.
    """
    names = Names(plan)
    events = [e for mix in plan.mixes for e in _mix_events(plan, mix, names, clock, units)]
    events += [
        e for one in plan.preparations for e in _preparation_events(one, names, clock, units)
    ]
    for load in plan.inherited_loads:
        label = names.product(load.product_id)
        events += _load_events(load, (load.id,), label, names, clock)
    named, left = _with_people(events, plan.tasks, names)
    rows = [*named, *(_task_event(task, plan, names, clock) for task in left)]
    rows.sort(key=lambda event: (event.at_utc, not event.hands_on))
    return tuple(_with_dates(rows, clock))


def _with_dates(events: Iterable[Event], clock: Clock) -> Iterable[TimelineRow]:
    date = ""
    for event in events:
        today = clock.day(event.at_utc)
        yield TimelineRow(
            hands_on=event.hands_on,
            date="" if today == date else today,
            time=clock.time(event.at_utc),
            what=event.what,
            mix=event.mix,
            amount=event.amount,
            place=event.place,
            person=event.person,
            target=event.target,
            until=event.until,
        )
        date = today


def _mix_events(
    plan: Plan, mix: PlannedMix, names: Names, clock: Clock, units: Units
) -> list[Event]:
    label, ids = f"{names.mix_number(mix.id)} {names.dough(mix)}", (mix.id,)
    mixer, place = (
        names.place(mix.mixer_id),
        names.place(plan.day.formula(mix.formula_id).bulk.place_id),
    )
    wanted = f"{dough_degrees(mix.ticket.wanted_c, units)} {units.degree}"
    by = clock.after(mix.divide_by_utc, mix.start_utc)
    first = clock.after(mix.divide_from_utc, mix.start_utc)
    events = [
        Event(
            mix.start_utc, True, "mixer on", label, ids, mass_text(mix.dough_kg, units), mixer,
            "",
        ),
        Event(mix.mix_end_utc, True, "off the mixer", label, ids, "", mixer, wanted, ""),
        Event(
            mix.mix_end_utc, False, "bulk", label, ids, "", place, f"ripe from {first}",
            f"until {clock.after(mix.divide_utc, mix.start_utc)}",
        ),
        *(Event(moment, True, "fold", label, ids, "", place) for moment in mix.folds_utc),
        *_move_events(mix.moves, ids, label, mass_text(mix.dough_kg, units), names),
        Event(
            mix.divide_utc, True, "divide and shape", label, ids,
            f"{mix.pieces} pieces" if mix.pieces else "", "bench", "", f"by {by}",
        ),
    ]  # fmt: skip
    for load in mix.loads:
        events += _load_events(load, (load.id, mix.id), label, names, clock)
    return events


def _move_events(
    moves: Sequence[PlannedMove], ids: tuple[str, ...], label: str, amount: str, names: Names
) -> list[Event]:
    return [
        Event(move.at_utc, True, "move on", label, ids, amount, names.place(move.place_id))
        for move in moves
    ]


def _load_events(
    load: PlannedLoad, ids: tuple[str, ...], label: str, names: Names, clock: Clock
) -> list[Event]:
    oven, proof = names.place(load.oven_id), names.place(load.proof_place_id)
    by = clock.after(load.load_by_utc, load.load_utc)
    first = clock.after(load.load_from_utc, load.proof_start_utc)
    ready = clock.after(load.ready_utc, load.out_utc)
    pieces = f"{load.pieces} pieces"
    return [
        *_move_events(load.moves, ids, label, pieces, names),
        Event(
            load.proof_start_utc, False, "proof", label, ids, pieces, proof,
            f"ripe from {first}",
            f"until {clock.after(load.load_utc, load.proof_start_utc)}",
        ),
        Event(
            load.load_utc, True, "load the oven", label, ids, pieces, oven,
            f"bake until {clock.after(load.out_utc, load.load_utc)}", f"by {by}",
        ),
        Event(
            load.out_utc, True, "out of the oven", label, ids, pieces, oven, "",
            f"cool until {ready}",
        ),
    ]  # fmt: skip


def _preparation_events(
    one: PlannedPreparation, names: Names, clock: Clock, units: Units
) -> list[Event]:
    place = names.place(one.place_id)
    start = f"{dough_degrees(one.start_c, units)} {units.degree}"
    mixes = f"for {names.mixes(one.mix_ids)}"
    by = clock.after(one.ready_by_utc, one.start_utc)
    return [
        Event(
            one.start_utc, True, f"make {one.name}", mixes, (one.id, one.part_id),
            mass_text(one.made_kg, units), place, start, "",
        ),
        Event(
            one.start_utc, False, f"{one.name} stands", mixes, (one.id, one.part_id), "", place,
            f"use by {by}", f"until {clock.after(one.ready_from_utc, one.start_utc)}",
        ),
    ]  # fmt: skip


def _with_people(
    events: list[Event], tasks: Iterable[PlannedTask], names: Names
) -> tuple[list[Event], list[PlannedTask]]:
    """Give each hands-on event the person of its task; return the tasks left over."""
    named, left = list(events), []
    for task in tasks:
        found = next((i for i, event in enumerate(named) if _is_of(event, task)), None)
        if found is None:
            left.append(task)
        else:
            person = names.person(task.person_id) or named[found].person
            named[found] = replace(named[found], person=person)
    return named, left


def _is_of(event: Event, task: PlannedTask) -> bool:
    return (
        event.hands_on
        and task.subject in event.subjects
        and abs(event.at_utc - task.start_utc) < SAME_MOMENT
    )


def _task_event(task: PlannedTask, plan: Plan, names: Names, clock: Clock) -> Event:
    mix = next((m for m in plan.mixes if m.id == task.subject), None)
    label = "" if mix is None else f"{names.mix_number(mix.id)} {names.dough(mix)}"
    return Event(
        task.start_utc, True, task.kind, label, (task.subject,), "", names.place(task.place_id),
        "", f"until {clock.time(task.end_utc)}", names.person(task.person_id),
    )  # fmt: skip

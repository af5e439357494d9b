"""The rows of the shift's sheet in true time order: what hands do, and what waits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from api.pages.names import Names
from api.pages.reader import Reader
from api.pages.wording import dough_degrees, mass_text
from planner.planned import Plan, PlannedLoad, PlannedMix, PlannedMove, PlannedTask
from planner.planned_preparation import PlannedPreparation

SAME_WORK = timedelta(minutes=20)
"""A task of the schedule lies within so much of the exact time at which its work is due."""

SCALE, MIXER_ON, MIXER_OFF = "scale", "mixer on", "mixer off"
FOLD, DIVIDE, LOAD, OUT, PREPARE = "fold", "divide", "load", "out", "prepare"
MOVE, SEE_TO = "move", "see to"
"""Kinds of work; whoever scales a mix also mixes it."""

BULK, PROOF, BAKE, COOL, STAND = "bulk", "proof", "bake", "cool", "stand"
"""Kinds of waiting."""

WORK_OF = {"divide and shape": DIVIDE, "load the oven": LOAD, "attend": MIXER_ON}
"""Kinds of tasks that are the work of an event under another name."""

BENCH = "bench"
"""The place of dividing and shaping; every house has one."""


@dataclass(frozen=True, slots=True)
class TimelineRow:
    """One line of the sheet, as text.

    Attributes
    ----------
    hands_on
        Whether a person does it; such a row has a tick box and a blank for the actual time.
    date
        Printed above the row when the date changes; else empty.
    target
        A temperature to reach.
    until
        The last acceptable time of an action, or what else limits a wait.
    ends
        When a wait ends.
    at_utc, person_id, place_id, subject, kind
        By which rows are chosen and joined; not printed.
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
    at_utc: datetime
    person_id: str | None = None
    place_id: str = ""
    subject: str = ""
    kind: str = ""
    ends: str = ""


@dataclass(frozen=True, slots=True)
class Event:
    """One row before it is text; ``subjects`` are the ids under which its task may stand."""

    at_utc: datetime
    hands_on: bool
    what: str
    mix: str
    subjects: tuple[str, ...]
    amount: str = ""
    place_id: str = ""
    target: str = ""
    until: str = ""
    person_id: str | None = None
    kind: str = ""
    ends: str = ""


def timeline(plan: Plan, reader: Reader) -> tuple[TimelineRow, ...]:
    """Return every row of a plan in true time order.

    Parameters
    ----------
    plan
        The plan.
    reader
        How the house reads time and quantities.

    Notes
    -----
    A task of the plan that happens at the moment of an event of the same mix, load or
    preparation lends it its person; every other task is a row of its own.
    """
    names = Names(plan)
    events = [e for mix in plan.mixes for e in _mix_events(plan, mix, names, reader)]
    events += [e for one in plan.preparations for e in _preparation_events(one, names, reader)]
    for load in plan.inherited_loads:
        label = names.product(load.product_id)
        events += _load_events(load, (load.id,), label, reader)
    named, left = _with_people(events, plan.tasks)
    rows = [*named, *(_task_event(task, plan, names, reader) for task in left)]
    rows.sort(key=lambda event: (event.at_utc, not event.hands_on))
    return tuple(_with_dates(rows, names, reader))


def dated_rows(rows: Iterable[TimelineRow], reader: Reader) -> tuple[TimelineRow, ...]:
    """Return rows with the date above the first of each day: for rows chosen from others."""
    made, date = [], ""
    for row in rows:
        today = reader.clock.day(row.at_utc)
        made.append(replace(row, date="" if today == date else today))
        date = today
    return tuple(made)


def _with_dates(events: Iterable[Event], names: Names, reader: Reader) -> tuple[TimelineRow, ...]:
    rows = (
        TimelineRow(
            hands_on=event.hands_on,
            date="",
            time=reader.clock.time(event.at_utc),
            what=event.what,
            mix=event.mix,
            amount=event.amount,
            place=names.place(event.place_id),
            person=names.person(event.person_id),
            target=event.target,
            until=event.until,
            at_utc=event.at_utc,
            person_id=event.person_id,
            place_id=event.place_id,
            subject=event.subjects[0],
            kind=event.kind,
            ends=event.ends,
        )
        for event in events
    )
    return dated_rows(rows, reader)


def _mix_events(plan: Plan, mix: PlannedMix, names: Names, reader: Reader) -> list[Event]:
    label, ids = f"{names.mix_number(mix.id)} {names.dough(mix)}", (mix.id,)
    place, say, clock = plan.day.formula(mix.formula_id).bulk.place_id, reader.say, reader.clock
    wanted = f"{dough_degrees(mix.ticket.wanted_c, reader.units)} {reader.units.degree}"
    by = clock.dated(mix.divide_by_utc, mix.divide_utc)
    first = clock.dated(mix.divide_from_utc, mix.mix_end_utc)
    until = clock.dated(mix.divide_utc, mix.mix_end_utc)
    pieces = say.many("{n} pc", "{n} pcs", mix.pieces) if mix.pieces else ""
    return [
        Event(
            mix.start_utc, True, say("mixer on"), label, ids, mass_text(mix.dough_kg, reader.units),
            mix.mixer_id, kind=MIXER_ON,
        ),
        Event(
            mix.mix_end_utc, True, say("off"), label, ids, names.tubs(mix), mix.mixer_id, wanted,
            kind=MIXER_OFF,
        ),
        Event(
            mix.mix_end_utc, False, say("bulk"), label, ids, "", place,
            "", say("ripe from {time}", time=first), kind=BULK, ends=until,
        ),
        *(
            Event(moment, True, say("fold"), label, ids, "", place, kind=FOLD)
            for moment in mix.folds_utc
        ),
        *_move_events(mix.moves, ids, label, mass_text(mix.dough_kg, reader.units), reader),
        Event(
            mix.divide_utc, True, say("divide"), label, ids, pieces, BENCH, "",
            say("by {time}", time=by), kind=DIVIDE,
        ),
        *(
            event
            for load in mix.loads
            for event in _load_events(load, (load.id, mix.id), label, reader)
        ),
    ]  # fmt: skip


def _move_events(
    moves: Sequence[PlannedMove], ids: tuple[str, ...], label: str, amount: str, reader: Reader
) -> list[Event]:
    return [
        Event(
            move.at_utc, True, reader.say("move on"), label, ids, amount, move.place_id, kind=MOVE
        )
        for move in moves
    ]  # fmt: skip


def _load_events(
    load: PlannedLoad, ids: tuple[str, ...], label: str, reader: Reader
) -> list[Event]:
    say, clock = reader.say, reader.clock
    by = clock.dated(load.load_by_utc, load.load_utc)
    first = clock.dated(load.load_from_utc, load.proof_start_utc)
    until = clock.dated(load.load_utc, load.proof_start_utc)
    pieces = say.many("{n} pc", "{n} pcs", load.pieces)
    return [
        *_move_events(load.moves, ids, label, pieces, reader),
        Event(
            load.proof_start_utc, False, say("proof"), label, ids, pieces, load.proof_place_id,
            "", say("ripe from {time}", time=first), kind=PROOF, ends=until,
        ),
        Event(
            load.load_utc, True, say("load"), label, ids, pieces, load.oven_id, "",
            say("by {time}", time=by), kind=LOAD,
        ),
        Event(
            load.load_utc, False, say("bake"), label, ids, pieces, load.oven_id,
            kind=BAKE, ends=clock.dated(load.out_utc, load.load_utc),
        ),
        Event(load.out_utc, True, say("out"), label, ids, pieces, load.oven_id, kind=OUT),
        Event(
            load.out_utc, False, say("cool"), label, ids, pieces, "",
            kind=COOL, ends=clock.dated(load.ready_utc, load.out_utc),
        ),
    ]  # fmt: skip


def _preparation_events(one: PlannedPreparation, names: Names, reader: Reader) -> list[Event]:
    say, clock = reader.say, reader.clock
    start = f"{dough_degrees(one.start_c, reader.units)} {reader.units.degree}"
    mixes = say("for {mixes}", mixes=names.mixes(one.mix_ids, say))
    by = clock.dated(one.ready_by_utc, one.start_utc)
    ready = clock.dated(one.ready_from_utc, one.start_utc)
    return [
        Event(
            one.start_utc, True, say("make {name}", name=one.name), mixes, (one.id, one.part_id),
            mass_text(one.made_kg, reader.units), one.place_id, start, kind=PREPARE,
        ),
        Event(
            one.start_utc, False, say("{name} stands", name=one.name), mixes,
            (one.id, one.part_id), "", one.place_id, "", say("use by {time}", time=by),
            kind=STAND, ends=ready,
        ),
        *(
            Event(
                build.start_utc, True, say("feed {name}", name=one.name), mixes,
                (one.id, one.part_id), "", one.place_id,
                f"{dough_degrees(build.start_c, reader.units)} {reader.units.degree}", kind=SEE_TO,
            )
            for build in one.builds[1:]
        ),
    ]  # fmt: skip


def _with_people(
    events: list[Event], tasks: Iterable[PlannedTask]
) -> tuple[list[Event], list[PlannedTask]]:
    """Give each hands-on event the person of its task; return the tasks left over."""
    named, left = list(events), []
    given: set[int] = set()
    for task in tasks:
        fitting = [i for i, e in enumerate(named) if i not in given and _is_of(e, task)]
        if not fitting:
            left.append(task)
            continue
        found = min(fitting, key=lambda i: abs(named[i].at_utc - task.start_utc))
        given.add(found)
        named[found] = replace(named[found], person_id=task.person_id)
    scalers = {task.subject: task.person_id for task in left if task.kind == SCALE}
    everyone = [
        replace(event, person_id=scalers.get(event.subjects[0]))
        if event.kind in (MIXER_ON, MIXER_OFF) and event.person_id is None
        else event
        for event in named
    ]
    return everyone, left


def _is_of(event: Event, task: PlannedTask) -> bool:
    """Return whether a task of the schedule, whose times are rounded, is an event's work."""
    return (
        event.hands_on
        and event.kind == WORK_OF.get(task.kind, task.kind)
        and task.subject in event.subjects
        and abs(event.at_utc - task.start_utc) < SAME_WORK
    )


def _task_event(task: PlannedTask, plan: Plan, names: Names, reader: Reader) -> Event:
    mix = next((m for m in plan.mixes if m.id == task.subject), None)
    made = next((p for p in plan.preparations if task.subject in (p.id, p.part_id)), None)
    label = "" if made is None else made.name
    if mix is not None:
        label = f"{names.mix_number(mix.id)} {names.dough(mix)}"
    until = reader.clock.dated(task.end_utc, task.start_utc)
    return Event(
        task.start_utc, True, reader.say(task.kind), label, (task.subject,), "", task.place_id,
        "", reader.say("until {time}", time=until), task.person_id, task.kind,
    )  # fmt: skip

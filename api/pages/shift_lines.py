"""Lines of the shift's sheet: each piece of work with the waiting that follows it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import timedelta

from api.pages.reader import Reader
from api.pages.timeline import (
    BAKE,
    BULK,
    COOL,
    DIVIDE,
    LOAD,
    MIXER_OFF,
    MIXER_ON,
    OUT,
    PREPARE,
    PROOF,
    SCALE,
    STAND,
    TimelineRow,
)
from planner.planned import Plan

FOLLOWS = {BULK: MIXER_OFF, PROOF: DIVIDE, BAKE: LOAD, COOL: OUT, STAND: PREPARE}
"""Which work each kind of waiting comes after."""

ARROW = "→"
"""Stands between what waits and when it ends: a sign that needs no language."""

SOON = timedelta(hours=3)
"""A wait that begins later than this after the work is told on its own."""


@dataclass(frozen=True, slots=True)
class ShiftLine:
    """One line on paper.

    Attributes
    ----------
    row
        What is done, or what waits without work before it.
    then
        The waiting that begins when the work is done; empty when none does.
    is_machine
        Whether ``then`` is not a wait but the mixer that is to run.
    """

    row: TimelineRow
    then: str = ""
    is_machine: bool = False


def shift_lines(plan: Plan, rows: Iterable[TimelineRow], reader: Reader) -> tuple[ShiftLine, ...]:
    """Join rows into lines: scaling with its mixer, work with the waiting after it.

    Parameters
    ----------
    plan
        The plan.
    rows
        Rows in order of time.
    reader
        How the house reads time and quantities.
    """
    rows = list(rows)
    chambers = {chamber.id for chamber in plan.day.bakery.chambers}
    mixers = {row.subject: row for row in rows if row.kind == MIXER_ON}
    scaled = {row.subject for row in rows if row.kind == SCALE and row.subject in mixers}
    waits = [row for row in rows if not row.hands_on]
    made: list[ShiftLine] = []
    used: set[int] = set()
    for row in rows:
        if row.kind == SCALE and row.subject in mixers:
            on = mixers[row.subject]
            time = reader.clock.dated(on.at_utc, row.at_utc)
            joined = replace(row, amount=on.amount, until="", place=on.place)
            made.append(ShiftLine(joined, f"{reader.say('mixer')} {time}", is_machine=True))
        elif row.kind == MIXER_ON and row.subject in scaled:
            continue
        elif row.hands_on:
            found = next((w for w in waits if id(w) not in used and _follows(w, row)), None)
            if found is not None:
                used.add(id(found))
            made.append(ShiftLine(row, "" if found is None else _wait(found, chambers)))
    made += [ShiftLine(w) for w in waits if id(w) not in used]
    made.sort(key=lambda line: (line.row.at_utc, not line.row.hands_on))
    return _dated(made, reader)


def _follows(wait: TimelineRow, work: TimelineRow) -> bool:
    return (
        FOLLOWS.get(wait.kind) == work.kind
        and wait.mix == work.mix
        and wait.amount in ("", work.amount)
        and timedelta(0) <= wait.at_utc - work.at_utc <= SOON
    )


def _wait(wait: TimelineRow, chambers: set[str]) -> str:
    what = wait.what
    if wait.place_id in chambers:
        what = wait.place
    elif wait.kind == STAND:
        what = ""
    return f"{what} {ARROW} {wait.ends}".strip()


def _dated(lines: Iterable[ShiftLine], reader: Reader) -> tuple[ShiftLine, ...]:
    made, date = [], ""
    for line in lines:
        today = reader.clock.day(line.row.at_utc)
        row = replace(line.row, date="" if today == date else today)
        made.append(replace(line, row=row))
        date = today
    return tuple(made)

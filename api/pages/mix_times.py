"""What comes after a mix, by the clock: bulk, folds, divide, proof, oven, door."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from api.pages.names import Names
from api.pages.reader import Reader
from planner.planned import Plan, PlannedLoad, PlannedMix, PlannedMove


@dataclass(frozen=True, slots=True)
class ClockRow:
    """What comes after the mix, with first and last acceptable time.

    Attributes
    ----------
    is_judged
        Whether its ripeness is ticked: young, right or over.
    is_fold
        Whether it is a fold.
    """

    what: str
    planned: str
    first: str
    last: str
    place: str
    is_judged: bool = False
    is_fold: bool = False


def clock_rows(plan: Plan, mix: PlannedMix, reader: Reader) -> tuple[ClockRow, ...]:
    """Return what comes after a mix, in order.

    Parameters
    ----------
    plan, mix
        The plan and one of its mixes.
    reader
        How the house reads time and quantities.
    """
    names, say = Names(plan), reader.say

    def at(moment: datetime) -> str:
        return reader.clock.dated(moment, mix.start_utc)

    bulk = names.place(plan.day.formula(mix.formula_id).bulk.place_id)
    pieces = say.many("{n} piece", "{n} pieces", mix.pieces) if mix.pieces else ""
    first, last = _limits(mix.divide_from_utc, mix.divide_by_utc, mix.divide_utc, reader)
    return (
        ClockRow(say("bulk"), at(mix.mix_end_utc), "", "", bulk),
        *(
            ClockRow(say("fold {n}", n=i), at(moment), "", "", "", is_fold=True)
            for i, moment in enumerate(mix.folds_utc, start=1)
        ),
        *_moves(mix.moves, names, reader, at),
        ClockRow(say("divide"), at(mix.divide_utc), first, last, pieces, is_judged=True),
        *_after_divide(mix, names, reader, at),
    )


def _after_divide(
    mix: PlannedMix, names: Names, reader: Reader, at: Callable[[datetime], str]
) -> list[ClockRow]:
    if not mix.loads:
        return []
    say, proof = reader.say, min(mix.loads, key=lambda load: load.proof_start_utc)
    place = names.place(proof.proof_place_id)
    ready = at(max(load.ready_utc for load in mix.loads))
    leave = ""
    if mix.leave_by_utc is not None:
        leave = reader.clock.dated(mix.leave_by_utc, max(load.ready_utc for load in mix.loads))
    return [
        ClockRow(say("to proof"), at(proof.proof_start_utc), "", "", place),
        *_moves((move for load in mix.loads for move in load.moves), names, reader, at),
        *(_load_row(load, i, len(mix.loads), names, reader, at) for i, load in _counted(mix)),
        ClockRow(say("cool, to leave"), ready, "", leave, ""),
    ]


def _moves(
    moves: Iterable[PlannedMove], names: Names, reader: Reader, at: Callable[[datetime], str]
) -> list[ClockRow]:
    return [
        ClockRow(reader.say("move on"), at(move.at_utc), "", "", names.place(move.place_id))
        for move in dict.fromkeys(moves)
    ]


def _limits(first: datetime, last: datetime, planned: datetime, reader: Reader) -> tuple[str, str]:
    """Return both ends of a window; a date stands beside one that is not the planned one's."""
    return reader.clock.dated(first, planned), reader.clock.dated(last, planned)


def _counted(mix: PlannedMix) -> list[tuple[int, PlannedLoad]]:
    return list(enumerate(mix.loads, start=1))


def _load_row(
    load: PlannedLoad,
    which: int,
    loads: int,
    names: Names,
    reader: Reader,
    at: Callable[[datetime], str],
) -> ClockRow:
    say = reader.say
    first, last = _limits(load.load_from_utc, load.load_by_utc, load.load_utc, reader)
    return ClockRow(
        say("load") if loads == 1 else say("load {n}", n=which),
        at(load.load_utc),
        first,
        last,
        say(
            "{oven}, {pieces}, out {time}",
            oven=names.place(load.oven_id),
            pieces=say.many("{n} piece", "{n} pieces", load.pieces),
            time=at(load.out_utc),
        ),
        is_judged=True,
    )

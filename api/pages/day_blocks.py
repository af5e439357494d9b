"""What the drawing of a day consists of: blocks in columns, each as wide as its kilograms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from api.pages.names import Names
from api.pages.wording import Units, water_degrees
from api.pages.words import Words
from planner.bakery import OvenKind
from planner.planned import Plan, PlannedLoad, PlannedMix, PlannedMove
from planner.planned_preparation import PlannedPreparation

BENCH = "bench"
TUBS = "tubs of "
"""Before the id of a kind of tub, so that no room has the same."""


class BlockForm(StrEnum):
    """How a block is drawn, told apart without colour."""

    WORK = "work"
    WAIT = "wait"
    PREPARE = "prepare"
    BAKE = "bake"


@dataclass(frozen=True, slots=True)
class Block:
    """Something that stands somewhere for a while.

    Attributes
    ----------
    column
        Id of the place.
    mass_kg
        Its width in the drawing.
    mark, name
        Short mark printed in the block, and the full name.
    window
        From when and by when it may end [UTC]; None when it has no window.
    note
        What it takes of a counted place, or the heat of its oven; empty where that is not told.
    """

    column: str
    form: BlockForm
    start_utc: datetime
    end_utc: datetime
    mass_kg: float
    mark: str
    name: str
    window: tuple[datetime, datetime] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A place with its blocks.

    Attributes
    ----------
    holds
        How many racks, decks, tubs or doughs it takes at once; empty where they are not counted.
    """

    id: str
    name: str
    blocks: tuple[Block, ...]
    holds: str = ""


def columns_of(
    plan: Plan, say: Words | None = None, units: Units = Units.METRIC
) -> tuple[Column, ...]:
    """Return the places in use, in the order of the flow, with their blocks.

    Parameters
    ----------
    plan
        The plan.
    say, units
        Words and units of what is written into blocks and heads.
    """
    say = say or Words()
    blocks, house = blocks_of(plan, units), plan.day.bakery
    named = {
        **{one.id: one.name for one in house.mixers},
        **{f"{TUBS}{one.id}": one.name for one in house.tubs},
        **{one.id: one.name for one in house.rooms},
        **{one.id: one.name for one in house.chambers},
        BENCH: say("bench"),
        **{one.id: one.name for one in house.ovens},
    }
    holds = _holds(plan, say)
    return tuple(
        Column(one, name, tuple(b for b in blocks if b.column == one), holds.get(one, ""))
        for one, name in named.items()
        if any(block.column == one for block in blocks)
    )


def counted_racks(plan: Plan) -> dict[str, int]:
    """Return the racks of chambers, and of rooms where they were entered."""
    house = plan.day.bakery
    rooms = {room.id: room.racks for room in house.rooms if room.racks is not None}
    return rooms | {chamber.id: chamber.racks for chamber in house.chambers}


def _holds(plan: Plan, say: Words) -> dict[str, str]:
    """Return what each counted place takes at once."""
    house = plan.day.bakery
    racks = counted_racks(plan)
    racks |= {one.id: one.places for one in house.ovens if one.kind is OvenKind.RACK}
    decks = {one.id: one.places for one in house.ovens if one.kind is OvenKind.DECK}
    found = {one: say.many("{n} rack", "{n} racks", count) for one, count in racks.items()}
    found |= {one: say.many("{n} deck", "{n} decks", count) for one, count in decks.items()}
    found |= {f"{TUBS}{tub.id}": f"× {tub.count}" for tub in house.tubs}
    if house.bench_places is not None:
        found[BENCH] = say.many("{n} place", "{n} places", house.bench_places)
    return found


def blocks_of(plan: Plan, units: Units = Units.METRIC) -> tuple[Block, ...]:
    """Return every block of a plan, with the heat of ovens in the house's units."""
    names = Names(plan)
    blocks = [block for mix in plan.mixes for block in _mix_blocks(plan, mix, names, units)]
    blocks += [_preparation_block(plan, one, names) for one in plan.preparations]
    for load in plan.inherited_loads:
        blocks += _load_blocks(plan, load, "·", names.product(load.product_id), units)
    return tuple(block for block in blocks if block.end_utc > block.start_utc)


def _mix_blocks(plan: Plan, mix: PlannedMix, names: Names, units: Units) -> list[Block]:
    mark, name, kg = str(names.mix_number(mix.id)), names.dough(mix), mix.dough_kg
    place = plan.day.formula(mix.formula_id).bulk.place_id
    blocks = [
        Block(mix.mixer_id, BlockForm.WORK, mix.start_utc, mix.mix_end_utc, kg, mark, name),
        *(
            block
            for stay in _waits(
                Block(
                    place, BlockForm.WAIT, mix.mix_end_utc, mix.divide_utc, kg, mark, name,
                    (mix.divide_from_utc, mix.divide_by_utc),
                ),
                mix.moves,
            )
            for block in _in_tubs(plan, mix, stay)
        ),
        Block(BENCH, BlockForm.WORK, mix.divide_utc, mix.divide_end_utc, kg, mark, name),
    ]  # fmt: skip
    for load in mix.loads:
        blocks += _load_blocks(plan, load, mark, name, units)
    return blocks


def _in_tubs(plan: Plan, mix: PlannedMix, stay: Block) -> list[Block]:
    """Return a stay of a bulk by its tubs, where they are counted and stand in a room.

    Several kinds of tub share the dough as they hold it.
    """
    house = plan.day.bakery
    if not mix.tubs or stay.column not in {room.id for room in house.rooms}:
        return [stay]
    kinds = {tub.id: tub for tub in house.tubs}
    hold_kg = [kinds[one.tub_id].holds_kg * one.count for one in mix.tubs]
    return [
        replace(
            stay,
            column=f"{TUBS}{one.tub_id}",
            mass_kg=stay.mass_kg * share_kg / sum(hold_kg),
            note=times(one.count),
        )
        for one, share_kg in zip(mix.tubs, hold_kg, strict=True)
    ]


def times(count: int) -> str:
    """Return how many of a counted place a block takes; empty for one, which goes without saying.

    Examples
    --------
    >>> times(3), times(1)
    ('×3', '')
    """
    return f"×{count}" if count > 1 else ""


def _load_blocks(plan: Plan, load: PlannedLoad, mark: str, name: str, units: Units) -> list[Block]:
    product = plan.day.product(load.product_id)
    kg, counted = load.pieces * product.piece_kg, counted_racks(plan)
    stays = _waits(
        Block(
            load.proof_place_id, BlockForm.WAIT, load.proof_start_utc, load.load_utc, kg, mark,
            name, (load.load_from_utc, load.load_by_utc),
        ),
        load.moves,
    )  # fmt: skip
    heat = "" if product.bake_c is None else f"{water_degrees(product.bake_c, units)}°"
    return [
        *(
            replace(one, note=times(load.oven_places) if one.column in counted else "")
            for one in stays
        ),
        Block(load.oven_id, BlockForm.BAKE, load.load_utc, load.out_utc, kg, mark, name, note=heat),
    ]


def _waits(block: Block, moves: Sequence[PlannedMove]) -> list[Block]:
    """Return a wait as one block per place; the window stands on the last."""
    ends = [move.at_utc for move in moves] + [block.end_utc]
    places = [block.column, *(move.place_id for move in moves)]
    found, start = [], block.start_utc
    for place_id, end in zip(places, ends, strict=True):
        found.append(replace(block, column=place_id, start_utc=start, end_utc=end, window=None))
        start = end
    return [*found[:-1], replace(found[-1], window=block.window)]


def _preparation_block(plan: Plan, one: PlannedPreparation, names: Names) -> Block:
    uses = [mix for mix in plan.mixes if mix.id in one.mix_ids]
    last_use = max((mix.start_utc for mix in uses), default=one.ready_from_utc)
    marks = ",".join(str(number) for number in sorted(names.mix_number(mix.id) for mix in uses))
    return Block(
        one.place_id, BlockForm.PREPARE, one.start_utc, last_use, one.made_kg,
        f"{one.name} {marks}".strip(), one.name, (one.ready_from_utc, one.ready_by_utc),
    )  # fmt: skip

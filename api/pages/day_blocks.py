"""What the drawing of a day consists of: blocks in columns, each as wide as its kilograms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from api.pages.names import Names
from planner.planned import Plan, PlannedLoad, PlannedMix, PlannedMove
from planner.planned_preparation import PlannedPreparation

BENCH = "bench"


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
    """

    column: str
    form: BlockForm
    start_utc: datetime
    end_utc: datetime
    mass_kg: float
    mark: str
    name: str
    window: tuple[datetime, datetime] | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """A place with its blocks."""

    id: str
    name: str
    blocks: tuple[Block, ...]


def columns_of(plan: Plan) -> tuple[Column, ...]:
    """Return the places in use, in the order of the flow, with their blocks."""
    names, blocks = Names(plan), blocks_of(plan)
    house = plan.day.bakery
    order = [
        *(mixer.id for mixer in house.mixers),
        *(room.id for room in house.rooms),
        *(chamber.id for chamber in house.chambers),
        BENCH,
        *(oven.id for oven in house.ovens),
    ]
    return tuple(
        Column(place, names.place(place), tuple(b for b in blocks if b.column == place))
        for place in dict.fromkeys(order)
        if any(block.column == place for block in blocks)
    )


def blocks_of(plan: Plan) -> tuple[Block, ...]:
    """Return every block of a plan."""
    names = Names(plan)
    blocks = [block for mix in plan.mixes for block in _mix_blocks(plan, mix, names)]
    blocks += [_preparation_block(plan, one, names) for one in plan.preparations]
    for load in plan.inherited_loads:
        blocks += _load_blocks(plan, load, "·", names.product(load.product_id))
    return tuple(block for block in blocks if block.end_utc > block.start_utc)


def _mix_blocks(plan: Plan, mix: PlannedMix, names: Names) -> list[Block]:
    mark, name, kg = str(names.mix_number(mix.id)), names.dough(mix), mix.dough_kg
    place = plan.day.formula(mix.formula_id).bulk.place_id
    blocks = [
        Block(mix.mixer_id, BlockForm.WORK, mix.start_utc, mix.mix_end_utc, kg, mark, name),
        *_waits(
            Block(
                place, BlockForm.WAIT, mix.mix_end_utc, mix.divide_utc, kg, mark, name,
                (mix.divide_from_utc, mix.divide_by_utc),
            ),
            mix.moves,
        ),
        Block(BENCH, BlockForm.WORK, mix.divide_utc, mix.divide_end_utc, kg, mark, name),
    ]  # fmt: skip
    for load in mix.loads:
        blocks += _load_blocks(plan, load, mark, name)
    return blocks


def _load_blocks(plan: Plan, load: PlannedLoad, mark: str, name: str) -> list[Block]:
    kg = load.pieces * plan.day.product(load.product_id).piece_kg
    return [
        *_waits(
            Block(
                load.proof_place_id, BlockForm.WAIT, load.proof_start_utc, load.load_utc, kg, mark,
                name, (load.load_from_utc, load.load_by_utc),
            ),
            load.moves,
        ),
        Block(load.oven_id, BlockForm.BAKE, load.load_utc, load.out_utc, kg, mark, name),
    ]  # fmt: skip


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

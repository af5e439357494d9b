"""A dough came off the mixer too warm or too cool: what would have it ripe when it was wanted.

The new times stand on the answer already; these are the ways back to the old ones, each solved on
the dough's own path: some minutes in a colder or warmer place, all of the bulk in another one, or
for a cool dough that can still take it a short extra working.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planner.backwards import for_ripe_time
from planner.bakery import ChamberKind
from planner.batches import Batch
from planner.mixers import HAND_SPEEDS, Mixer, Speed
from planner.night import Night
from planner.physics.ferment_constants import DOUGH_KJ_PER_KG_K
from planner.remarks import Figure, Remark, RemarkKind, minutes, moment, temperature, word
from planner.ripening import Move, Ripening
from planner.rises import dough_rise

WORTH_MIN = 5.0
"""A ripe time that moves by less needs no way back [min]."""

NEAR_MIN = 5.0
"""All its bulk in another place is a way back when it is ripe so near to the wish [min]."""

SHORTEST_STAY_MIN = 10.0
"""Shorter stays in a chamber are not told [min]."""

STAY_ROUNDS = 7
"""Halvings of a stay of two hours down to a minute."""

MOST_EXTRA_SHARE = 0.25
"""A short extra working is at most this share of what the dough gets at that speed (ours)."""


BACK_FROM_CHAMBER = "{stay} in {place}, then back: ripe at {wanted} as planned."
BACK_FROM_FREEZER = (
    "{stay} in {place}, then back: ripe at {wanted} as planned. The skin freezes first: flat,"
    " covered, and not a minute longer."
)


@dataclass(frozen=True)
class OffTarget:
    """A dough that came off otherwise than planned.

    Attributes
    ----------
    batch, mixer
        The dough, and the mixer it came off.
    mix_end_min, dough_c
        When it came off [min], and at what temperature [°C].
    wanted_min
        When it was to be ripe [min].
    """

    batch: Batch
    mixer: Mixer
    mix_end_min: float
    dough_c: float
    wanted_min: float

    @property
    def wait_min(self) -> float:
        """Minutes from the mixer until it is wanted ripe [min]."""
        return self.wanted_min - self.mix_end_min


def ways_back(night: Night, off: OffTarget) -> tuple[Remark, ...]:
    """Return what would have a dough ripe when it was wanted, in the order a baker would try.

    Parameters
    ----------
    night
        Temperatures of the night.
    off
        The dough.
    """
    ripe = _ripe_min(night, off, off.batch.formula.bulk)
    if not np.isfinite(ripe) or off.wait_min <= 0 or abs(ripe - off.wait_min) < WORTH_MIN:
        return ()
    too_soon = ripe < off.wait_min
    found = [*_chambers(night, off, too_soon=too_soon), *_rooms(night, off)]
    if not too_soon:
        found += _extra_working(night, off)
    return tuple(replace(one, subject=off.batch.id) for one in found)


def _ripe_min(night: Night, off: OffTarget, bulk: Ripening) -> float:
    """Return minutes from the mixer until it is ripe by a way of its bulk; infinite if never."""
    rise = dough_rise(night, bulk, off.batch.dough_kg, off.batch.formula.dough_c)
    return float(rise.window(rise.path(off.mix_end_min, off.dough_c))[1])


def _chambers(night: Night, off: OffTarget, *, too_soon: bool) -> list[Remark]:
    """Some minutes in a chamber that is colder or warmer, then back."""
    found = []
    for chamber in night.day.bakery.chambers:
        air_c = float(night.air_c(chamber.id)(np.asarray(off.mix_end_min)))
        if chamber.id == off.batch.formula.bulk.place_id or (air_c < off.dough_c) != too_soon:
            continue
        stay = _stay_min(night, off, chamber.id)
        if stay is None:
            continue
        text = BACK_FROM_FREEZER if chamber.kind is ChamberKind.FREEZER else BACK_FROM_CHAMBER
        found.append(
            _lever(
                "some_minutes_in_a_chamber",
                text,
                minutes("stay", stay),
                word("place", chamber.name),
                moment("wanted", night.day.moment(off.wanted_min)),
            )
        )
    return found


def _stay_min(night: Night, off: OffTarget, place_id: str) -> float | None:
    """Return for how long it must stand in a chamber first; None if that does not do it [min]."""
    own = off.batch.formula.bulk

    def past_min(stay: float) -> float:
        there = replace(own, place_id=place_id, moves=(Move(stay, own.place_id),))
        return _ripe_min(night, off, there) - off.wait_min

    shortest, longest = SHORTEST_STAY_MIN, off.wait_min
    if longest <= shortest or past_min(shortest) * past_min(longest) > 0:
        return None
    sign = 1.0 if past_min(shortest) < 0 else -1.0
    for _ in range(STAY_ROUNDS):
        middle = (shortest + longest) / 2
        shortest, longest = (middle, longest) if sign * past_min(middle) < 0 else (shortest, middle)
    return (shortest + longest) / 2


def _rooms(night: Night, off: OffTarget) -> list[Remark]:
    """All of the bulk in another room or chamber."""
    formula = off.batch.formula
    bakery = night.day.bakery
    names = {room.id: room.name for room in bakery.rooms}
    names |= {chamber.id: chamber.name for chamber in bakery.chambers}
    found = []
    for place_id, name in names.items():
        if place_id == formula.bulk.place_id:
            continue
        ripe = _ripe_min(night, off, formula.bulk.in_place(place_id))
        if abs(ripe - off.wait_min) <= NEAR_MIN:
            when = moment("ripe", night.day.moment(off.mix_end_min + ripe))
            text = "All its bulk in {place}: ripe at {ripe}."
            found.append(_lever("another_place", text, word("place", name), when))
    return found


def _extra_working(night: Night, off: OffTarget) -> list[Remark]:
    """A short extra working warms a cool dough, if it can still take it."""
    formula = off.batch.formula
    wanted = for_ripe_time(night, formula, off.batch.dough_kg, off.mix_end_min, off.wait_min)
    steps = [step for step in formula.steps if step.speed is not Speed.REST]
    last = steps[-1].speed
    if wanted.dough_c is None or last in HAND_SPEEDS:
        return []
    work = night.work_kj_per_kg_min(off.mixer, formula.dough_class).get(last)
    if work is None or work.value <= 0:
        return []
    extra = (wanted.dough_c - off.dough_c) / (work.value / DOUGH_KJ_PER_KG_K.value)
    if not 0 < extra <= MOST_EXTRA_SHARE * sum(s.minutes for s in steps if s.speed is last):
        return []
    text = (
        "{extra} more at {speed} bring it to {dough}, if the dough can still take it: ripe at"
        " {wanted} as planned."
    )
    return [
        _lever(
            "extra_working",
            text,
            minutes("extra", extra),
            word("speed", str(last)),
            temperature("dough", wanted.dough_c),
            moment("wanted", night.day.moment(off.wanted_min)),
        )
    ]


def _lever(code: str, text: str, *figures: Figure) -> Remark:
    return Remark(RemarkKind.LEVER, code, text, figures)

"""What of a bakery is counted by places: racks, tubs, the bench, the weight in a chamber.

Only what was entered is counted. The names are those by which the schedule's problem knows them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import ceil

from planner.batches import Batch
from planner.day import Day
from planner.planned import TubsTaken
from planner.remarks import Remark, RemarkKind, word
from planner.scheduling.problem import BENCH, TUBS, WEIGHT, Job

Held = tuple[tuple[str, int], ...]
"""Counted things by name, and how many of each."""


def counted_places(day: Day) -> dict[str, int]:
    """Return how many there are of everything that is counted.

    Parameters
    ----------
    day
        The production day with its bakery.

    Returns
    -------
    dict
        Racks by chamber, and by room where they were entered; bench places; tubs by kind; grams
        by chamber [g].
    """
    bakery = day.bakery
    counted = {c.id: c.racks for c in bakery.chambers}
    counted |= {r.id: r.racks for r in bakery.rooms if r.racks is not None}
    counted |= {f"{TUBS}{tub.id}": tub.count for tub in bakery.tubs}
    counted |= {
        f"{WEIGHT}{c.id}": round(1000 * c.most_kg) for c in bakery.chambers if c.most_kg is not None
    }
    if bakery.bench_places is not None:
        counted[BENCH] = bakery.bench_places
    return counted


def weight_in(day: Day, place_ids: Iterable[str], dough_kg: float) -> Held:
    """Return the weight that a dough takes of the chambers on its way that are limited by it [g].

    Parameters
    ----------
    day
        The production day.
    place_ids
        Rooms and chambers on its way; it counts in each of them for as long as it is on its way.
    dough_kg
        Its weight [kg].
    """
    chambers = [day.bakery.chamber(place_id) for place_id in dict.fromkeys(place_ids)]
    return tuple(
        (f"{WEIGHT}{c.id}", ceil(1000 * dough_kg))
        for c in chambers
        if c is not None and c.most_kg is not None
    )


def tubs_for(day: Day, batch: Batch) -> tuple[Held, ...]:
    """Return the ways to keep a mix in bulk: in tubs of one kind, or of several as a last resort.

    Parameters
    ----------
    day
        The production day.
    batch
        The bowl of dough.

    Returns
    -------
    tuple
        One entry per way, with the weight it takes of a chamber. Kinds that give the fewest tubs
        come first. A formula that names its tub goes into no other.

    Examples
    --------
    With tubs of 40 kg and of 15 kg, 60 kg go into two of the first or four of the second.
    """
    bulk = batch.formula.bulk
    weight = weight_in(day, (place for _, place in bulk.places), batch.dough_kg)
    named = [tub for tub in day.bakery.tubs if tub.id == bulk.vessel_id]
    kinds = named or list(day.bakery.tubs)
    if not kinds:
        return (weight,)
    alone = sorted((ceil(batch.dough_kg / tub.holds_kg - 1e-9), tub.id, tub.count) for tub in kinds)
    enough = [(f"{TUBS}{one_id}", count) for count, one_id, there in alone if count <= there]
    if enough:
        return tuple(((name, count), *weight) for name, count in enough)
    left_kg, mixed = batch.dough_kg, []
    for tub in sorted(kinds, key=lambda t: (-t.holds_kg, t.id)):
        count = min(tub.count, max(0, ceil(left_kg / tub.holds_kg - 1e-9)))
        left_kg -= count * tub.holds_kg
        mixed += [(f"{TUBS}{tub.id}", count)] if count else []
    if left_kg > 1e-9:  # more than all tubs hold: the schedule says so
        mixed = [(f"{TUBS}{one_id}", count) for count, one_id, _ in alone[:1]]
    return ((*mixed, *weight),)


def tubs_taken(way: Held) -> tuple[TubsTaken, ...]:
    """Return the tubs of a way to keep a bulk."""
    return tuple(
        TubsTaken(name.removeprefix(TUBS), count) for name, count in way if name.startswith(TUBS)
    )


def tubs_notes(day: Day, taken: Iterable[TubsTaken]) -> tuple[Remark, ...]:
    """Say into which tubs a dough goes."""
    names = {tub.id: tub.name for tub in day.bakery.tubs}
    return tuple(
        Remark(
            RemarkKind.NOTE,
            "tubs",
            "Rises in {count} × {tub}.",
            (word("count", str(one.count)), word("tub", names.get(one.tub_id, one.tub_id))),
        )
        for one in taken
    )


def in_its_tubs(job: Job, taken: tuple[TubsTaken, ...]) -> Job:
    """Return a job that keeps the tubs in which its dough lies already, where they are known."""
    own = tuple(way for way in job.tubs if taken and tubs_taken(way) == taken)
    return replace(job, tubs=own or job.tubs)

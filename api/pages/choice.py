"""Which papers are printed, for whom: by shift, place or person."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from api.pages.timeline import BENCH, TimelineRow
from planner.planned import Plan, PlannedMix
from planner.planned_preparation import PlannedPreparation


class Paper(StrEnum):
    """One kind of paper."""

    FRONT = "front"
    ROWS = "rows"
    MIXES = "mixes"
    TICKETS = "tickets"
    CARDS = "cards"
    DIVIDE = "divide"
    BAKE = "bake"
    OVERVIEW = "overview"
    LOG = "log"
    END = "end"
    BY_HAND = "by-hand"
    SLIP = "slip"


WHOLE_SHIFT = (Paper.FRONT, Paper.ROWS, Paper.END, Paper.MIXES, Paper.CARDS)
EVERYTHING = (
    Paper.OVERVIEW, Paper.FRONT, Paper.ROWS, Paper.END, Paper.TICKETS, Paper.CARDS, Paper.DIVIDE,
    Paper.BAKE, Paper.LOG, Paper.BY_HAND,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Choice:
    """What is wanted on paper; everything of a shift's small pack when nothing is said.

    Attributes
    ----------
    papers
        Kinds of paper; empty for those that fit what else is said.
    person_id, place_id
        Only what this person does, or what happens at this mixer, oven, room, chamber or bench.
    from_utc, until_utc
        Only what starts in this span [UTC]: a shift.
    ticket_ids
        Mixes that get a full ticket though they are plain.
    mix_ids
        Only these mixes; empty for all.
    """

    papers: tuple[Paper, ...] = ()
    person_id: str | None = None
    place_id: str | None = None
    from_utc: datetime | None = None
    until_utc: datetime | None = None
    ticket_ids: frozenset[str] = frozenset()
    mix_ids: frozenset[str] = frozenset()

    def kinds(self, plan: Plan) -> tuple[Paper, ...]:
        """Return the kinds of paper that are printed."""
        if self.papers:
            both = Paper.TICKETS in self.papers
            return tuple(p for p in dict.fromkeys(self.papers) if not (both and p is Paper.MIXES))
        if self.place_id is not None:
            return _papers_of_place(plan, self.place_id)
        if self.person_id is not None:
            return (Paper.ROWS, Paper.MIXES, Paper.CARDS)
        return WHOLE_SHIFT

    def rows(self, rows: Iterable[TimelineRow]) -> tuple[TimelineRow, ...]:
        """Return the rows that are wanted; a wait goes with the work that it follows."""
        rows = list(rows)
        own = {(r.at_utc, r.subject) for r in rows if r.hands_on and self._wants_row(r)}
        return tuple(
            row
            for row in rows
            if (row.hands_on and self._wants_row(row))
            or (not row.hands_on and ((row.at_utc, row.subject) in own or self._wants_wait(row)))
        )

    def mixes(self, plan: Plan) -> tuple[PlannedMix, ...]:
        """Return the mixes that are wanted, in order of their start."""
        doing = self._subjects(plan)
        found = [
            mix
            for mix in plan.mixes
            if self._in_span(mix.start_utc)
            and (not self.mix_ids or mix.id in self.mix_ids)
            and (doing is None or mix.id in doing or any(x.id in doing for x in mix.loads))
            and (self.place_id is None or self.place_id in _places_of(plan, mix))
        ]
        return tuple(sorted(found, key=lambda mix: mix.start_utc))

    def preparations(self, plan: Plan) -> tuple[PlannedPreparation, ...]:
        """Return the preparations that are wanted, in order of their start."""
        doing = self._subjects(plan)
        found = [
            one
            for one in plan.preparations
            if self._in_span(one.start_utc)
            and (doing is None or one.id in doing or one.part_id in doing)
            and (self.place_id is None or self.place_id in (one.place_id, one.mixer_id))
        ]
        return tuple(sorted(found, key=lambda one: one.start_utc))

    def _in_span(self, moment: datetime) -> bool:
        after = self.from_utc is None or moment >= self.from_utc
        return after and (self.until_utc is None or moment < self.until_utc)

    def _wants_row(self, row: TimelineRow) -> bool:
        return (
            self._in_span(row.at_utc)
            and (self.person_id is None or row.person_id == self.person_id)
            and (self.place_id is None or row.place_id == self.place_id)
        )

    def _wants_wait(self, row: TimelineRow) -> bool:
        return self.person_id is None and self._wants_row(row)

    def _subjects(self, plan: Plan) -> frozenset[str] | None:
        """Return what the person has to do with; None when no person is named."""
        if self.person_id is None:
            return None
        return frozenset(t.subject for t in plan.tasks if t.person_id == self.person_id)


def _papers_of_place(plan: Plan, place_id: str) -> tuple[Paper, ...]:
    house = plan.day.bakery
    if place_id == BENCH:
        return (Paper.DIVIDE,)
    if place_id in {oven.id for oven in house.ovens}:
        return (Paper.BAKE,)
    if place_id in {mixer.id for mixer in house.mixers}:
        return (Paper.MIXES, Paper.CARDS)
    return (Paper.ROWS, Paper.CARDS)


def _places_of(plan: Plan, mix: PlannedMix) -> set[str]:
    loads = {place for load in mix.loads for place in (load.proof_place_id, load.oven_id)}
    return {mix.mixer_id, plan.day.formula(mix.formula_id).bulk.place_id, BENCH, *loads}

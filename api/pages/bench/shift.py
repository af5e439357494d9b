"""A shift as it stands: the plan, what was read of it, and each mix with that put in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from api.pages.reader import Reader
from planner.planned import Answer, Plan, PlannedMix
from planner.readings import Reading, ReadingKind

Box = tuple[ReadingKind, str, int]
"""What a reading is of, at one mix: its kind, part and step."""


@dataclass(frozen=True, slots=True)
class Noted:
    """A reading that was taken, as it was sent.

    Attributes
    ----------
    offset_k
        Added to it because of its thermometer's check in ice [K].
    answer
        What it was answered; None where a later answer at the same mix says more.
    """

    reading: Reading
    received_at: datetime
    offset_k: float = 0.0
    answer: Answer | None = None
    is_answered: bool = True


@dataclass(frozen=True)
class Shift:
    """A plan in its night.

    Attributes
    ----------
    bakery_id, plan_id
        Whose plan, and which.
    plan
        The plan as it was made.
    in_force
        Whether it is the one that counts.
    reader
        How the house reads.
    noted
        What was read, in the order of arrival.
    now
        The moment [UTC].
    """

    bakery_id: str
    plan_id: str
    plan: Plan
    in_force: bool
    reader: Reader
    noted: tuple[Noted, ...]
    now: datetime

    @cached_property
    def by_id(self) -> Mapping[str, Noted]:
        """Readings by their ids."""
        return {one.reading.id: one for one in self.noted}

    @cached_property
    def _gone(self) -> frozenset[str]:
        gone = {one.reading.supersedes for one in self.noted if one.reading.supersedes}
        back = {one.reading.id for one in self.noted if one.reading.kind is ReadingKind.WITHDRAWN}
        return frozenset(gone | back)

    @cached_property
    def standing(self) -> tuple[Noted, ...]:
        """Readings that nothing has superseded or taken back, in the order of arrival."""
        return tuple(one for one in self.noted if one.reading.id not in self._gone)

    def is_standing(self, reading: Reading) -> bool:
        """Return whether nothing has superseded a reading or taken it back."""
        return reading.id not in self._gone

    @cached_property
    def _by_mix(self) -> Mapping[str, Mapping[Box, Noted]]:
        found: dict[str, dict[Box, Noted]] = {}
        for one in self.standing:
            found.setdefault(one.reading.mix_id, {})[box_of(one.reading)] = one
        return found

    def read_at(self, mix_id: str) -> Mapping[Box, Noted]:
        """Return the standing reading of each box at one mix."""
        return self._by_mix.get(mix_id, {})

    def began(self, mix_id: str) -> datetime | None:
        """Return when a mixer was started [UTC], or None before."""
        return self._moment(mix_id, ReadingKind.MIX_START)

    def ended(self, mix_id: str) -> datetime | None:
        """Return when a dough came off its mixer [UTC], or None before."""
        return self._moment(mix_id, ReadingKind.MIX_END)

    def end(self, mix_id: str) -> Noted | None:
        """Return the reading of a dough off its mixer, or None before."""
        return self.read_at(mix_id).get((ReadingKind.DOUGH_END_C, "", -1))

    def _moment(self, mix_id: str, kind: ReadingKind) -> datetime | None:
        found = self.read_at(mix_id).get((kind, "", -1))
        return None if found is None else found.reading.at_utc

    @cached_property
    def _mixes(self) -> Mapping[str, PlannedMix]:
        now = {mix.id: mix for mix in self.plan.mixes}
        for one in self.noted:
            if one.answer is not None and one.is_answered:
                now[one.reading.mix_id] = one.answer.mix
        return now

    @property
    def mixes(self) -> tuple[PlannedMix, ...]:
        """Mixes with everything that was read put in, in the order of starting."""
        planned = sorted(self.plan.mixes, key=lambda mix: mix.start_utc)
        return tuple(self._mixes[mix.id] for mix in planned)

    @cached_property
    def plan_now(self) -> Plan:
        """The plan with every mix as it is now, and with what was read."""
        kept = (
            replace(one.reading, value_c=one.reading.value_c + one.offset_k)
            if one.reading.value_c is not None
            else one.reading
            for one in self.standing
        )
        mixes = tuple(self._mixes[mix.id] for mix in self.plan.mixes)
        return replace(self.plan, mixes=mixes, readings=(*self.plan.readings, *kept))


def box_of(reading: Reading) -> Box:
    """Return what a reading is of, at its mix."""
    step = -1 if reading.after_step is None else reading.after_step
    return (reading.kind, reading.part_id or "", step)

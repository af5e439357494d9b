"""Runs of like mixes: one list to weigh, and a row of five numbers per batch."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from api.pages.mix_ticket import BigNumber, MixTicket, ScalingRow, StepRow, mix_ticket
from api.pages.reader import Reader
from planner.planned import Plan, PlannedMix

LEAST = 3
"""From so many like mixes on they are a run; two are two tickets."""

SAME_KG = 0.005
"""Doughs of one formula whose weights differ by no more than 5 g are alike [kg]."""


@dataclass(frozen=True, slots=True)
class BatchRow:
    """One batch of a run."""

    ticket: MixTicket

    @property
    def numbers(self) -> tuple[BigNumber, ...]:
        """The five numbers."""
        return self.ticket.numbers

    @property
    def water_lines(self) -> tuple[ScalingRow, ...]:
        """Water by supply, and ice: what differs from batch to batch."""
        return _water_of(self.ticket)


@dataclass(frozen=True, slots=True)
class RunSheet:
    """Like mixes in a row.

    Attributes
    ----------
    scaling, together
        What is weighed alike in every batch, and what it adds up to without the water.
    """

    dough: str
    mixer: str
    use_of_mixer: str
    date: str
    start: str
    offset: str
    scaling: tuple[ScalingRow, ...]
    mass_unit: str
    ratios: tuple[str, ...]
    steps: tuple[StepRow, ...]
    batches: tuple[BatchRow, ...]

    @property
    def is_plain(self) -> bool:
        """Whether no batch needs a ticket of its own."""
        return all(batch.ticket.is_plain for batch in self.batches)


def runs_of(mixes: Iterable[PlannedMix]) -> tuple[tuple[PlannedMix, ...], ...]:
    """Return mixes in groups: like mixes that follow each other on a mixer, and single ones.

    Parameters
    ----------
    mixes
        The mixes, in any order.

    Returns
    -------
    tuple of tuple of PlannedMix
        Every mix once, groups in the order of their first start; a group of two or less is
        split into single ones.
    """
    by_mixer: dict[str, list[list[PlannedMix]]] = {}
    for mix in sorted(mixes, key=lambda one: one.start_utc):
        groups = by_mixer.setdefault(mix.mixer_id, [])
        if groups and _alike(groups[-1][-1], mix):
            groups[-1].append(mix)
        else:
            groups.append([mix])
    split = [
        part
        for groups in by_mixer.values()
        for group in groups
        for part in ([tuple(group)] if len(group) >= LEAST else [(mix,) for mix in group])
    ]
    return tuple(sorted(split, key=lambda group: group[0].start_utc))


def _alike(one: PlannedMix, other: PlannedMix) -> bool:
    lines = [(line.name, line.step) for line in one.scaling]
    return (
        one.formula_id == other.formula_id
        and abs(one.dough_kg - other.dough_kg) <= SAME_KG
        and one.steps == other.steps
        and lines == [(line.name, line.step) for line in other.scaling]
    )


def run_sheet(plan: Plan, mixes: tuple[PlannedMix, ...], reader: Reader) -> RunSheet:
    """Return the sheet of a run.

    Parameters
    ----------
    plan, mixes
        The plan, and the mixes of the run in order.
    reader
        How the house reads time and quantities.
    """
    tickets = [mix_ticket(plan, mix, reader) for mix in mixes]
    first = tickets[0]
    water = len(_water_of(first))
    return RunSheet(
        dough=first.dough,
        mixer=first.mixer,
        use_of_mixer=first.use_of_mixer,
        date=first.date,
        start=first.start,
        offset=first.offset,
        scaling=first.scaling[water:],
        mass_unit=first.mass_unit,
        ratios=first.ratios,
        steps=first.steps,
        batches=tuple(BatchRow(ticket) for ticket in tickets),
    )


def _water_of(ticket: MixTicket) -> tuple[ScalingRow, ...]:
    return ticket.scaling[: ticket.water_lines]

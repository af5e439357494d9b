"""The result of scheduling: plain data, whole minutes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class SearchStatus(StrEnum):
    """How far the search came; a time limit and a proof are different things."""

    LISTED = "listed"
    FEASIBLE = "feasible"
    OPTIMAL = "optimal"


@dataclass(frozen=True, slots=True)
class ScheduledLoad:
    """A load in an oven: when it goes in, where, and by which route it proofed."""

    load_id: str
    route: int
    proof_start: int
    load_start: int
    out: int
    oven_id: str
    places: int


@dataclass(frozen=True, slots=True)
class ScheduledJob:
    """A mix with its times.

    Attributes
    ----------
    option
        Index into the job's options.
    bulk_over_min
        Minutes by which the divide is later than the option allows; 0 unless unavoidable.
    builds
        Which build of each preparation it uses, by preparation id.
    tubs
        Which of the job's ways to keep its bulk it takes.
    """

    job_id: str
    mixer_id: str
    start: int
    mix_end: int
    option: int
    divide_start: int
    divide_end: int
    loads: tuple[ScheduledLoad, ...]
    builds: dict[str, int]
    bulk_over_min: int = 0
    tubs: int = 0


@dataclass(frozen=True, slots=True)
class ScheduledBuild:
    """One build of a preparation, and by which of its ways it is made."""

    preparation_id: str
    build: int
    start: int
    mixer_id: str | None
    job_ids: tuple[str, ...]
    way: int = 0


@dataclass(frozen=True, slots=True)
class HandsOn:
    """Hands-on work: what, for whom, from when to when, by whom."""

    kind: str
    subject: str
    start: int
    end: int
    person_id: str | None


@dataclass(frozen=True, slots=True)
class ScheduledRest:
    """A break: whose, which of theirs, from when to when."""

    person_id: str
    rest: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Unmet:
    """A wish that could not be met: which, by how much.

    Attributes
    ----------
    code
        ``late``, ``bulk_window``, ``load_window``, ``no_option``, ``no_place``,
        ``no_preparation``, ``pin``, ``rest``, or ``nobody`` for work of what has begun.
    subject
        Id of the job, load or person.
    minutes
        By how many minutes; 0 where that has no meaning.
    detail
        The resource or reason, in plain words.
    """

    code: str
    subject: str
    minutes: int
    detail: str


@dataclass(frozen=True, slots=True)
class SearchPoints:
    """Penalty points of a schedule, by what they are for.

    Attributes
    ----------
    windows
        Costs of the options taken, divides and loads past their windows, pins not kept, breaks
        not had.
    moved
        Mixes and loadings off the plan in force.
    """

    late: int = 0
    windows: int = 0
    ice: int = 0
    early: int = 0
    unplaced: int = 0
    freshness: int = 0
    builds: int = 0
    moved: int = 0

    @property
    def first_stage(self) -> int:
        """Points of the first stage: all but freshness."""
        points = self.late + self.windows + self.ice + self.early + self.unplaced
        return points + self.builds + self.moved


@dataclass(frozen=True, slots=True)
class Schedule:
    """A whole day on the grid."""

    status: SearchStatus
    jobs: tuple[ScheduledJob, ...]
    builds: tuple[ScheduledBuild, ...]
    standing: tuple[ScheduledLoad, ...]
    hands_on: tuple[HandsOn, ...]
    unplaced: tuple[str, ...]
    unmet: tuple[Unmet, ...]
    points: SearchPoints
    bound: float | None
    search_s: float
    rests: tuple[ScheduledRest, ...] = ()

"""Levains, scalds and soakers as the search sees them: when they are ready, and what they take."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lag:
    """How long after its start a preparation can be used, for starts inside one bucket.

    Attributes
    ----------
    way
        Which of the preparation's ways it is; one start may have several.
    """

    bucket: int
    from_min: int
    by_min: int
    way: int = 0


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make a preparation, and what it takes.

    Attributes
    ----------
    cost
        Penalty points of taking it.
    work_min
        Hands-on minutes from its start; None for the preparation's own.
    ice_g, chilled_g, hot_g
        Ice, chilled water and boiling water, all out of their stores at the start [g].
    holds
        Racks of chambers, and vessels, that it takes from its start to its last use: the name by
        which they stand in ``Problem.racks``, and how many.
    visits
        When somebody must come to it after its start, and for how long [min].
    """

    cost: int = 0
    work_min: int | None = None
    ice_g: int = 0
    chilled_g: int = 0
    hot_g: int = 0
    holds: tuple[tuple[str, int], ...] = ()
    visits: tuple[tuple[int, int], ...] = ()

    @property
    def shares(self) -> bool:
        """Whether it takes anything that others want too."""
        return bool(self.ice_g or self.chilled_g or self.hot_g or self.holds or self.visits)


ONE_WAY = (Way(),)


@dataclass(frozen=True, slots=True)
class Preparation:
    """A levain build, scald or soaker that feeds one or several jobs.

    Attributes
    ----------
    lags
        Ready-from and ready-by after its start, by bucket of the start; a bucket that is not
        listed is forbidden.
    work_min
        Hands-on minutes from its start.
    mixer_ids, mix_min
        Mixers it may use and minutes on them; empty when made by hand in its vessel.
    max_builds
        Into how many separate builds it may be split; each job uses one of them.
    earliest_start, latest_start
        Bounds of its start; the latest is None when nothing bounds it.
    ways
        How it may be made.
    skill
        The kind of work that making it is.
    """

    id: str
    lags: tuple[Lag, ...]
    work_min: int
    mixer_ids: tuple[str, ...] = ()
    mix_min: int = 0
    max_builds: int = 1
    earliest_start: int = 0
    latest_start: int | None = None
    ways: tuple[Way, ...] = ONE_WAY
    skill: str = "prepare"

    def work_of(self, way: int) -> int:
        """Return the hands-on minutes of one of its ways."""
        own = self.ways[way].work_min
        return self.work_min if own is None else own

    def hands_of(self, way: int, start: int) -> list[tuple[int, int]]:
        """Return from when to when hands are on a build started at a minute by a way [min]."""
        stretches = [(0, self.work_of(way)), *self.ways[way].visits]
        return [(start + after, start + after + length) for after, length in stretches]

    @property
    def is_plain(self) -> bool:
        """Whether it has one way that takes nothing others want."""
        return len(self.ways) == 1 and not self.ways[0].shares

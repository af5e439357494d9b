"""What the baker fixes, and how long the planner may think."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any

from planner.day import check_utc
from planner.errors import check_name, check_within, refuse


@dataclass(frozen=True, slots=True)
class Pin:
    """Something the baker fixes about one mix; obeyed, or its cost stated.

    Attributes
    ----------
    mix_id
        The mix.
    start_utc
        Starts exactly then [UTC].
    not_before_utc
        Starts then or later [UTC].
    mixer_id
        Mixed there.
    dough_c
        Desired dough temperature, inside or outside the formula's band [°C].
    load_utc
        Loaded exactly then [UTC].
    first
        Must be the first mix of its mixer.
    oven_id
        Baked there.
    before_ids
        Off its mixer before each of these mixes starts.
    """

    mix_id: str
    start_utc: datetime | None = None
    not_before_utc: datetime | None = None
    mixer_id: str | None = None
    dough_c: float | None = None
    load_utc: datetime | None = None
    first: bool = False
    oven_id: str | None = None
    before_ids: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_name("mix_id", self.mix_id)
        for name, moment in (
            ("start_utc", self.start_utc),
            ("not_before_utc", self.not_before_utc),
            ("load_utc", self.load_utc),
        ):
            if moment is not None:
                check_utc(name, moment)
        if self.dough_c is not None:
            check_within("dough_c", self.dough_c, 5, 33, "°C")
        if self.mix_id in self.before_ids:
            raise refuse("before_ids", self.mix_id, "is the mix itself", "name another mix")

    @property
    def parts(self) -> tuple[Pin, ...]:
        """The pin as several, each of which fixes one thing.

        Examples
        --------
        >>> [p.mixer_id or p.dough_c for p in Pin("a", mixer_id="one", dough_c=24.0).parts]
        ['one', 24.0]
        """
        return tuple(
            Pin(self.mix_id, **{field.name: getattr(self, field.name)})
            for field in fields(self)
            if field.name != "mix_id" and getattr(self, field.name) != field.default
        )

    def without(self, part: Pin) -> Pin:
        """Return the pin without what another fixes."""
        freed: dict[str, Any] = {
            field.name: field.default
            for field in fields(part)
            if field.name != "mix_id" and getattr(part, field.name) != field.default
        }
        return replace(self, **freed)


def merged_pins(pins: Iterable[Pin]) -> tuple[Pin, ...]:
    """Return one pin per mix: of two that fix the same thing, the later counts.

    Examples
    --------
    >>> merged_pins([Pin("a", mixer_id="one", dough_c=24.0), Pin("a", mixer_id="two")])[0].mixer_id
    'two'
    """
    merged: dict[str, Pin] = {}
    for pin in pins:
        before = merged.get(pin.mix_id)
        said = {
            field.name: getattr(pin, field.name)
            for field in fields(Pin)
            if getattr(pin, field.name) != field.default
        }
        merged[pin.mix_id] = pin if before is None else replace(before, **said)
    return tuple(merged.values())


@dataclass(frozen=True, slots=True)
class Limits:
    """How long and how the planner may think.

    Attributes
    ----------
    solve_s
        Wall time after which the search ends [s]; guards a slow machine.
    deterministic_s
        Deterministic work after which the search ends; the same on every machine, so that the
        same input gives the same plan.
    workers
        Search workers.
    seed
        Seed of the search and of the list pass.
    grid_min
        Time grid of the search [min].
    list_only
        Stop after the list pass, which gives a usable plan at once; what binds each mix is not
        looked for then.
    to_the_minute
        Time what was found anew to the minute, its order kept.
    """

    solve_s: float = 4.0
    deterministic_s: float = 4.0
    workers: int = 2
    seed: int = 7
    grid_min: int = 5
    list_only: bool = False
    to_the_minute: bool = True

    def __post_init__(self) -> None:
        check_within("solve_s", self.solve_s, 0.1, 3600, "s")
        check_within("deterministic_s", self.deterministic_s, 0.01, 3600, "s")
        check_within("workers", self.workers, 1, 64, "workers")
        check_within("grid_min", self.grid_min, 1, 15, "min")
        if 30 % self.grid_min:
            raise refuse(
                "grid_min",
                self.grid_min,
                "does not divide half an hour",
                "enter 1, 2, 3, 5, 6, 10 or 15",
            )


@dataclass(frozen=True, slots=True)
class Progress:
    """Where planning stands.

    Attributes
    ----------
    stage
        What is being done, in plain words.
    best
        Penalty points of the best plan so far; None before there is one.
    bound
        Points below which no plan can come; None when unknown.
    search_s
        Seconds of search so far, by the solver's own account [s].
    """

    stage: str
    best: float | None = None
    bound: float | None = None
    search_s: float = 0.0


OnProgress = Callable[[Progress], bool | None]
"""Called with each `Progress`; returning False stops the search and keeps the best plan."""

"""How a dough or a preferment becomes ripe, as the baker states it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum

from planner.bakery import Cover
from planner.errors import check_name, check_within, refuse
from planner.estimate import Estimate


class Curve(StrEnum):
    """Which relative-rate curve a fermentation follows."""

    YEAST = "yeast"
    LEVAIN = "levain"
    ACID = "acid"


@dataclass(frozen=True, slots=True)
class HoursAt:
    """Ripe after so many hours with the *dough* at this temperature."""

    hours: float
    dough_c: float

    def __post_init__(self) -> None:
        check_within("hours", self.hours, 0.05, 240, "h")
        check_within("dough_c", self.dough_c, 1, 40, "°C")


@dataclass(frozen=True, slots=True)
class ByTheClock:
    """Ripe after so many minutes as done today, in a usual room.

    Attributes
    ----------
    minutes
        Minutes by the clock [min].
    room_c
        Air temperature of the usual place [°C].
    dough_c
        Dough temperature at the start [°C]; None for the formula's own number.
    dough_kg
        The usual mass that stands together [kg]; None for the mass of the day.
    """

    minutes: float
    room_c: float
    dough_c: float | None = None
    dough_kg: float | None = None

    def __post_init__(self) -> None:
        check_within("minutes", self.minutes, 3, 14400, "min")
        check_within("room_c", self.room_c, -5, 60, "°C")
        if self.dough_c is not None:
            check_within("dough_c", self.dough_c, 1, 40, "°C")
        if self.dough_kg is not None:
            check_within("dough_kg", self.dough_kg, 0.01, 5000, "kg")


@dataclass(frozen=True, slots=True)
class Move:
    """On to another room or chamber.

    Attributes
    ----------
    after_min
        Minutes from the start of the fermentation [min].
    place_id
        Room or chamber it goes to.
    """

    after_min: float
    place_id: str

    def __post_init__(self) -> None:
        check_name("place_id", self.place_id)
        check_within("after_min", self.after_min, 5, 5760, "min")


@dataclass(frozen=True, slots=True)
class Ripening:
    """How a dough or preferment becomes ripe.

    Attributes
    ----------
    reference
        What the baker knows: hours at a dough temperature, or minutes by the clock.
    curve
        Relative-rate curve.
    place_id
        Room or chamber in which it stands, at first when there are moves.
    exponent
        Learned exponent on the curve; 1 ± 0.2 until learned.
    from_progress, by_progress
        The window: ripe from and by these shares of the reference.
    folds_min
        Minutes after the start at which it is folded.
    moves
        Where it goes on the way, in the order of time.
    vessel_id
        The tub it stands in, split over as many as it takes; None for the usual one of its mass.
    cover
        What lies on it. Pieces under a lid stand in closed boxes, out of the draught of a fan.
    at_progress
        The share of the reference at which it is wanted: 1, or less where the next stage goes on
        with the same clock.
    goes_on
        Whether a proof goes on with the clock of its bulk, and from the progress it has: then the
        bulk's reference, curve and exponent are its own.
    """

    reference: HoursAt | ByTheClock
    curve: Curve
    place_id: str
    exponent: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 1.0, 0.2, "published curves")
    )
    from_progress: float = 0.90
    by_progress: float = 1.15
    folds_min: tuple[int, ...] = ()
    moves: tuple[Move, ...] = ()
    vessel_id: str | None = None
    cover: Cover = Cover.FILM
    at_progress: float = 1.0
    goes_on: bool = False

    def __post_init__(self) -> None:
        check_name("place_id", self.place_id)
        check_within("exponent", self.exponent.value, 0.4, 2.0, "(no unit)")
        check_within("from_progress", self.from_progress, 0.3, 1.5, "(share)")
        check_within("by_progress", self.by_progress, 0.3, 3.0, "(share)")
        if self.by_progress <= self.from_progress:
            raise refuse(
                "by_progress",
                self.by_progress,
                f"the window ends before it starts at {self.from_progress:g}",
                "enter a larger share",
            )
        check_within("at_progress", self.at_progress, 0.3, 3.0, "(share)")
        if [m.after_min for m in self.moves] != sorted({m.after_min for m in self.moves}):
            raise refuse(
                "moves",
                ", ".join(f"{m.after_min:g}" for m in self.moves),
                "are not in the order of time",
                "enter each move after the one before it",
            )

    @property
    def places(self) -> tuple[tuple[float, str], ...]:
        """Where it stands from which minute on."""
        return ((0.0, self.place_id), *((m.after_min, m.place_id) for m in self.moves))

    @property
    def wanted_progress(self) -> float:
        """Where in its window it is wanted: at its share, as far as the window goes."""
        return min(max(self.at_progress, self.from_progress), self.by_progress)

    def in_place(self, place_id: str) -> Ripening:
        """Return the same, standing in one place all the time."""
        return replace(self, place_id=place_id, moves=())

"""Rises: the ripening of a dough, a shaped piece or a preferment in its place, over the night.

A baker's statement ("two hours in the usual room") becomes reference hours once; from then on
every start time and every start temperature of the day is one call to the fermentation clock.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.formula import (
    Product,
)
from planner.night import AirCurve, Night
from planner.physics.dough_temperature import DoughShape, time_constant_min
from planner.physics.fermentation import (
    FINE_STEP_MIN,
    RipeningPath,
    hours_from_clock,
    minutes_to,
    relative_rate,
    ripening_path,
)
from planner.ripening import (
    ByTheClock,
    Curve,
    Ripening,
)

LONGEST_MIN = 2880.0
"""No rise is followed for more than two days [min]."""

LONG_SPAN_MIN = 720.0
COARSE_STEP_MIN = 15.0
"""Steps of a path [min]; each step relaxes to the air exactly, so a long one loses little."""

REFERENCE_C = 25.0
"""Dough temperature at which reference hours of a clock statement are kept [°C]."""


@dataclass(frozen=True, slots=True)
class Rise:
    """One ripening in one place.

    Attributes
    ----------
    reference_hours, reference_c
        Ripe after so many hours with the dough held at this temperature.
    time_constant_min
        How fast the dough follows the air [min].
    air_c
        Air temperature of its place over minutes.
    longest_min
        A span that surely holds the window, unless the place is far too cold [min].
    """

    ripening: Ripening
    reference_hours: float
    reference_c: float
    time_constant_min: float
    air_c: AirCurve
    longest_min: float

    @property
    def curve(self) -> Curve:
        """Relative-rate curve."""
        return self.ripening.curve

    def path(
        self,
        start_minute: ArrayLike,
        start_c: ArrayLike,
        *,
        span_min: float | None = None,
        step_min: float | None = None,
        rate: ArrayLike = 1.0,
        air_offset_k: float = 0.0,
    ) -> RipeningPath:
        """Return temperature and progress over time.

        Parameters
        ----------
        start_minute, start_c
            Start [min] and temperature at the start [°C]; they broadcast.
        span_min
            Minutes to follow; None for a span that holds the window.
        step_min
            Time step [min]; None for 5, or 15 when the span is half a day or more.
        rate
            Factor on the speed of fermentation, for tests of robustness.
        air_offset_k
            Added to the air temperature [K], likewise.
        """
        base = self.air_c
        span = self.longest_min if span_min is None else span_min
        air = base if air_offset_k == 0 else lambda minute: base(minute) + air_offset_k
        return ripening_path(
            start_minute=np.asarray(start_minute, dtype=np.float64),
            start_c=np.asarray(start_c, dtype=np.float64),
            air_c=air,
            time_constant_min=self.time_constant_min,
            reference_hours=self.reference_hours / np.asarray(rate, dtype=np.float64),
            reference_c=self.reference_c,
            curve=self.curve,
            exponent=self.ripening.exponent.value,
            span_min=span,
            step_min=step_min or (COARSE_STEP_MIN if span > LONG_SPAN_MIN else FINE_STEP_MIN),
        )

    def window(self, path: RipeningPath) -> tuple[NDArray[np.float64], ...]:
        """Return minutes from the start to ripe-from, ripe and ripe-by [min]."""
        return tuple(
            np.asarray(minutes_to(path, progress), dtype=np.float64)
            for progress in (self.ripening.from_progress, 1.0, self.ripening.by_progress)
        )


def dough_rise(night: Night, ripening: Ripening, dough_kg: float, dough_c: float) -> Rise:
    """Return the rise of a tub of dough or preferment.

    Parameters
    ----------
    dough_kg
        What stands together [kg].
    dough_c
        The temperature the baker starts it at [°C]; used for a statement by the clock.
    """
    return _rise(night, ripening, dough_kg, dough_c, DoughShape.TUB)


def piece_rise(night: Night, product: Product, route: int, dough_c: float) -> Rise:
    """Return the rise of shaped pieces by one of a product's routes."""
    return _rise(night, product.routes[route], product.piece_kg, dough_c, DoughShape.PIECE)


def _rise(
    night: Night, ripening: Ripening, mass_kg: float, dough_c: float, shape: DoughShape
) -> Rise:
    surroundings = night.surroundings(ripening.place_id)
    tau_min = float(time_constant_min(mass_kg, surroundings, shape=shape))
    reference = ripening.reference
    if isinstance(reference, ByTheClock):
        usual_kg = reference.dough_kg or mass_kg
        hours = float(
            hours_from_clock(
                minutes=reference.minutes,
                room_c=reference.room_c,
                dough_c=dough_c if reference.dough_c is None else reference.dough_c,
                time_constant_min=float(time_constant_min(usual_kg, surroundings, shape=shape)),
                curve=ripening.curve,
                exponent=ripening.exponent.value,
                reference_c=REFERENCE_C,
            )
        )
        reference_c = REFERENCE_C
    else:
        hours, reference_c = reference.hours, reference.dough_c
    air_c = night.air_c(ripening.place_id)
    slowest = relative_rate(ripening.curve, np.min(air_c(night.hours)) - 1.0) / relative_rate(
        ripening.curve, reference_c
    )
    slowest = min(1.0, float(slowest)) ** ripening.exponent.value
    longest = hours * 60 * ripening.by_progress / max(slowest, 1e-3) + 30.0
    return Rise(ripening, hours, reference_c, tau_min, air_c, min(longest, LONGEST_MIN))


def on_the_bench_c(
    night: Night, room_id: str, piece_kg: float, dough_c: ArrayLike, minute: ArrayLike, min_: float
) -> NDArray[np.float64]:
    """Return the temperature of pieces after some minutes on the bench [°C]."""
    room = night.air_c(room_id)(np.asarray(minute, dtype=np.float64))
    tau = float(time_constant_min(piece_kg, night.surroundings(room_id), shape=DoughShape.PIECE))
    return np.asarray(room + (np.asarray(dough_c) - room) * np.exp(-min_ / tau), dtype=np.float64)

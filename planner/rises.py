"""Rises: the ripening of a dough, a shaped piece or a preferment in its place, over the night.

A baker's statement ("two hours in the usual room") becomes reference hours once; from then on
every start time and every start temperature of the day is one call to the fermentation clock.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Vessel, VesselShape
from planner.chambers import most_w_per_kg
from planner.night import Night
from planner.physics.dough_body import Box, DoughBody, dough_body
from planner.physics.dough_temperature import (
    DoughShape,
    box_m,
    surface_of,
    time_constant_min,
)
from planner.physics.ripening_path import (
    FINE_STEP_MIN,
    Clock,
    RipeningPath,
    Stay,
    hours_from_clock,
    minutes_to,
    ripening_path,
)
from planner.product import Product
from planner.ripening import ByTheClock, Curve, Ripening

LONGEST_MIN = 2880.0
"""No rise is followed for more than two days [min]."""

LONG_SPAN_MIN = 720.0
COARSE_STEP_MIN = 15.0
"""Steps of a path [min]; each step relaxes to the air exactly, so a long one loses little."""

REFERENCE_C = 25.0
"""Dough temperature at which reference hours of a clock statement are kept [°C]."""


@dataclass(frozen=True, slots=True)
class Rise:
    """One ripening on its way through its places.

    Attributes
    ----------
    reference_hours, reference_c
        Ripe after so many hours with the dough held at this temperature.
    curve, exponent
        Relative-rate curve, and the exponent on it.
    stays
        Where it stands from which minute on, and how it follows the air there.
    longest_min
        A span that surely holds the window, unless a place is far too cold [min].
    """

    ripening: Ripening
    reference_hours: float
    reference_c: float
    curve: Curve
    exponent: float
    stays: tuple[Stay, ...]
    longest_min: float

    def path(
        self,
        start_minute: ArrayLike,
        start_c: ArrayLike,
        *,
        span_min: float | None = None,
        step_min: float | None = None,
        rate: ArrayLike = 1.0,
        air_offset_k: ArrayLike = 0.0,
        progress: ArrayLike = 0.0,
        inside: bool = False,
        until_window_ends: bool = False,
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
        progress
            What it comes with, if it goes on with the clock of the stage before.
        inside
            Whether core and skin are wanted too.
        until_window_ends
            Stop when the window of every start is past.
        """
        span = self.longest_min if span_min is None else span_min
        return ripening_path(
            start_minute=start_minute,
            start_c=start_c,
            stays=[_warmer(stay, air_offset_k) for stay in self.stays],
            clock=self.clock(rate),
            span_min=span,
            step_min=step_min or (COARSE_STEP_MIN if span > LONG_SPAN_MIN else FINE_STEP_MIN),
            folds_min=self.ripening.folds_min,
            start_progress=progress if self.ripening.goes_on else 0.0,
            inside=inside,
            until_progress=self.ripening.by_progress if until_window_ends else None,
        )

    def clock(self, rate: ArrayLike = 1.0) -> Clock:
        """Return its clock, faster by a factor."""
        hours = self.reference_hours / np.asarray(rate, dtype=np.float64)
        return Clock(hours, self.reference_c, self.curve, self.exponent)

    def window(self, path: RipeningPath) -> tuple[NDArray[np.float64], ...]:
        """Return minutes from the start to ripe-from, ripe and ripe-by [min]."""
        return tuple(
            np.asarray(minutes_to(path, progress), dtype=np.float64)
            for progress in (
                self.ripening.from_progress,
                self.ripening.wanted_progress,
                self.ripening.by_progress,
            )
        )


def _warmer(stay: Stay, by_k: ArrayLike) -> Stay:
    usual, offset_k = stay.air_c, np.asarray(by_k, dtype=np.float64)
    if not np.any(offset_k):
        return stay
    return replace(stay, air_c=lambda minute: usual(minute) + offset_k)


def in_rooms_off_by(night: Night, rise: Rise, by_k: ArrayLike) -> Rise:
    """Return a rise on a night whose rooms are warmer; chambers keep what they are set to.

    Parameters
    ----------
    night, rise
        The night, and the rise as foreseen.
    by_k
        By how much its rooms are warmer [K]; broadcasts with the starts of a path.
    """
    chambers = {chamber.id for chamber in night.day.bakery.chambers}
    stays = tuple(
        stay if place_id in chambers else _warmer(stay, by_k)
        for stay, (_, place_id) in zip(rise.stays, rise.ripening.places, strict=True)
    )
    return replace(rise, stays=stays)


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


def piece_rise(
    night: Night, product: Product, route: int, dough_c: float, bulk: Rise | None = None
) -> Rise:
    """Return the rise of shaped pieces by one of a product's routes.

    Parameters
    ----------
    product, route
        What is proofed, and how.
    dough_c
        The dough temperature the baker uses [°C].
    bulk
        The rise before it, for a route that goes on with its clock; None for the usual one of a
        piece.
    """
    ripening = product.routes[route]
    if not ripening.goes_on:
        return _rise(night, ripening, product.piece_kg, dough_c, DoughShape.PIECE)
    if bulk is None:
        formula = night.day.formula(product.formula_id)
        bulk = dough_rise(night, formula.bulk, product.piece_kg, formula.dough_c)
    stays = _stays(night, ripening, product.piece_kg, DoughShape.PIECE)
    return replace(
        bulk,
        ripening=ripening,
        stays=stays,
        longest_min=_longest_min(night, bulk.clock(), ripening, stays),
    )


def _rise(
    night: Night, ripening: Ripening, mass_kg: float, dough_c: float, shape: DoughShape
) -> Rise:
    # One rise serves many questions of a night: options, evaluation, answers, ways back.
    asked = (ripening, mass_kg, dough_c, shape)
    known = night.worked_out.get(asked)
    if isinstance(known, Rise):
        return known
    reference = ripening.reference
    if isinstance(reference, ByTheClock):
        hours = _hours_behind(night, ripening, reference, mass_kg, dough_c, shape)
        reference_c = REFERENCE_C
    else:
        hours, reference_c = reference.hours, reference.dough_c
    stays = _stays(night, ripening, mass_kg, shape)
    exponent = ripening.exponent.value
    clock = Clock(hours, reference_c, ripening.curve, exponent)
    longest = _longest_min(night, clock, ripening, stays)
    rise = Rise(ripening, hours, reference_c, ripening.curve, exponent, stays, longest)
    night.worked_out[asked] = rise
    return rise


def _hours_behind(
    night: Night,
    ripening: Ripening,
    reference: ByTheClock,
    mass_kg: float,
    dough_c: float,
    shape: DoughShape,
) -> float:
    """Return the hours behind a statement by the clock, of the usual mass in the usual room [h]."""
    usual_kg = reference.dough_kg or mass_kg
    return hours_from_clock(
        minutes=reference.minutes,
        room_c=reference.room_c,
        dough_c=dough_c if reference.dough_c is None else reference.dough_c,
        body=_body(night, ripening, usual_kg, ripening.place_id, shape),
        curve=ripening.curve,
        exponent=ripening.exponent.value,
        reference_c=REFERENCE_C,
        folds_min=ripening.folds_min,
    )


def _longest_min(night: Night, clock: Clock, ripening: Ripening, stays: tuple[Stay, ...]) -> float:
    """Return a span that surely holds the window, unless a place is far too cold [min]."""
    coldest_c = min(float(np.min(stay.air_c(night.hours))) for stay in stays) - 1.0
    rate = float(clock.rate(coldest_c))
    slowest = float(np.power(min(1.0, rate), clock.exponent))
    hours = float(np.asarray(clock.reference_hours))
    longest = hours * 60 * ripening.by_progress / max(slowest, 1e-3) + 30.0
    return min(longest, LONGEST_MIN)


def _stays(night: Night, ripening: Ripening, mass_kg: float, shape: DoughShape) -> tuple[Stay, ...]:
    return tuple(
        Stay(
            night.air_c(place_id),
            _body(night, ripening, mass_kg, place_id, shape),
            from_min,
            most_w_per_kg(night, place_id),
        )
        for from_min, place_id in ripening.places
    )


def _body(
    night: Night, ripening: Ripening, mass_kg: float, place_id: str, shape: DoughShape
) -> DoughBody:
    """Return how a dough follows the air of a place, in its own tub or the usual one."""
    surface = surface_of(night.surroundings(place_id), ripening.cover, shape)
    if ripening.vessel_id is None:
        return dough_body(Box(*box_m(mass_kg, shape), mass_kg), surface)
    vessel = night.day.bakery.vessel(ripening.vessel_id)
    each_kg = mass_kg / max(1, ceil(mass_kg / vessel.capacity_kg - 1e-9))
    return dough_body(Box.in_vessel(*_floor_m(vessel), each_kg), surface)


def _floor_m(vessel: Vessel) -> tuple[float, float]:
    """Return the sides of a vessel's floor, of a round one those of the square as large [m]."""
    if vessel.shape is VesselShape.BOX:
        return vessel.length_m, vessel.width_m
    side_m = sqrt(pi / 4) * vessel.length_m
    return side_m, side_m


def on_the_bench_c(
    night: Night,
    room_id: str,
    piece_kg: float,
    dough_c: ArrayLike,
    minute: ArrayLike,
    min_: ArrayLike,
) -> NDArray[np.float64]:
    """Return the temperature of pieces after some minutes on the bench [°C]."""
    room = night.air_c(room_id)(np.asarray(minute, dtype=np.float64))
    tau = float(time_constant_min(piece_kg, night.surroundings(room_id), shape=DoughShape.PIECE))
    left = np.exp(-np.asarray(min_, dtype=np.float64) / tau)
    return np.asarray(room + (np.asarray(dough_c) - room) * left, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Divided:
    """A dough at the divide, and the bench its pieces lie on.

    Attributes
    ----------
    room_id, piece_kg
        The bench's room, and what a piece weighs [kg].
    minute
        When it is divided [min].
    dough_c, progress
        Its temperature [°C] and progress then.
    room_off_k
        By how much the bench's room is warmer than foreseen [K].
    """

    room_id: str
    piece_kg: float
    minute: ArrayLike
    dough_c: ArrayLike
    progress: ArrayLike
    room_off_k: ArrayLike = 0.0


def off_the_bench(
    night: Night,
    divided: Divided,
    rise: Rise,
    offset_min: ArrayLike,
    rate: ArrayLike = 1.0,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return temperature [°C] and progress with which pieces begin their proof.

    Parameters
    ----------
    divided
        The dough they come from.
    rise
        The proof to come; its clock counts on the bench too, where it goes on with the bulk's.
    offset_min
        From the divide to the start of the proof [min]; a piece lies about half of it.
    rate
        Factor on the speed of fermentation.
    """
    offset, off_k = np.asarray(offset_min, dtype=np.float64), np.asarray(divided.room_off_k)
    # In a room warmer by so much, a dough is as one cooler by as much in the room foreseen.
    piece_c = off_k + on_the_bench_c(
        night,
        divided.room_id,
        divided.piece_kg,
        np.asarray(divided.dough_c) - off_k,
        divided.minute,
        offset / 2,
    )
    clock = rise.clock(rate)
    hours = np.asarray(clock.reference_hours, dtype=np.float64)
    gained = offset / 60 / hours * clock.rate(piece_c) ** clock.exponent
    return piece_c, np.asarray(np.asarray(divided.progress) + gained)

"""The night as the stages see it: what temperature anything has, anywhere, at any minute.

Minutes count from the start of the planned span. Every method takes numbers or arrays.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bakery import Chamber, FlourStore
from planner.conditions import ChamberFailure, Conditions
from planner.corrections import Corrections
from planner.day import Day
from planner.errors import Fault, InputError
from planner.estimate import Estimate
from planner.lines import Line
from planner.materials import properties
from planner.mixers import Mixer, Speed
from planner.physics.dough_temperature import Surroundings
from planner.physics.flour_store import stored_flour_c
from planner.physics.rooms import humidity_at, sd_at, temperature_at
from planner.physics.scald import boiling_point_c
from planner.water_sources import SupplyKind, WaterSupply

Minutes = NDArray[np.float64]
AirCurve = Callable[[Minutes], Minutes]

CHAMBER_K_PER_H = 15.0
"""How fast the air of a chamber goes to another set point [K/h] (our guess)."""

CHAMBER_STANDS_MIN = 240.0
"""Time constant with which a shut chamber that stands still goes to the air of the house [min] (our
guess for a loaded one with its door kept shut)."""

CHAMBER_HUMIDITY = 0.8
"""Relative humidity in a retarder or proofer when none is given (our guess)."""


@dataclass(frozen=True)
class Night:
    """A day, its conditions and what was learned, seen as temperatures over time.

    Attributes
    ----------
    day, conditions, corrections
        The input, unchanged.
    """

    day: Day
    conditions: Conditions
    corrections: Corrections

    def __post_init__(self) -> None:
        faults = self._inherited_faults() + self._measured_faults() + self._stale_faults()
        faults += [
            Fault(
                f"conditions.rooms.{room.id}",
                "nothing",
                "this room has no forecast",
                "enter its coolest and hottest of the night, or hour by hour",
            )
            for room in self.day.bakery.rooms
            if room.id not in self.conditions.rooms
        ] + [
            Fault(
                f"conditions.fires.{oven.id}",
                "nothing",
                "this oven cools after its fire, and no fire is entered",
                "enter at what time it is ready and how hot it is then",
            )
            for oven in self.day.bakery.ovens
            if oven.falls_k_per_h is not None and oven.id not in self.conditions.fires
        ]
        if faults:
            raise InputError(faults)

    def _measured_faults(self) -> list[Fault]:
        """Return what was measured of things that do not exist."""
        bakery, given = self.day.bakery, self.conditions
        lists = (
            ("supplies_c", given.supplies_c, [s.id for s in bakery.supplies], "water supply"),
            ("flour_c", given.flour_c, [s.id for s in bakery.flour_stores], "flour store"),
            ("chambers_c", given.chambers_c, [c.id for c in bakery.chambers], "chamber"),
            ("programmes", given.programmes, [c.id for c in bakery.chambers], "chamber"),
            ("rooms", given.rooms, [r.id for r in bakery.rooms], "room"),
            ("fires", given.fires, [o.id for o in bakery.ovens if o.falls_k_per_h], "such oven"),
        )
        return [
            Fault(
                f"conditions.{name}.{key}",
                repr(key),
                f"no such {what}",
                f"use one of: {', '.join(sorted(known)) or 'none'}",
            )
            for name, told, known, what in lists
            for key in told
            if key not in known
        ]

    def _stale_faults(self) -> list[Fault]:
        """Return forecasts that say nothing about the planned span."""
        return [
            Fault(
                f"conditions.rooms.{room_id}",
                f"{forecast.start_utc:%Y-%m-%d %H:%M} to {forecast.end_utc:%Y-%m-%d %H:%M} UTC",
                "this forecast lies outside the planned span",
                "enter the hours of this production day",
            )
            for room_id, forecast in self.conditions.rooms.items()
            if forecast.end_utc <= self.day.start_utc or forecast.start_utc >= self.day.end_utc
        ]

    def _inherited_faults(self) -> list[Fault]:
        """Return what already stands as a product or in a place that does not exist."""
        products, places = {p.id for p in self.day.products}, self.day.bakery.place_ids
        return [
            Fault(
                f"conditions.inherited.{one.id}.{field}",
                repr(value),
                f"no such {field}",
                f"use one of: {', '.join(sorted(known))}",
            )
            for one in self.conditions.inherited
            for field, value, known in (
                ("product", one.product_id, products),
                ("place", one.place_id, places),
            )
            if value not in known
        ]

    def air_c(self, place_id: str) -> AirCurve:
        """Return the air temperature of a room or chamber over minutes [°C]."""
        chamber = self.day.bakery.chamber(place_id)
        if chamber is not None:
            minutes, degrees = self._chamber_points(chamber)
            return lambda minute: np.asarray(
                np.interp(np.asarray(minute, dtype=np.float64), minutes, degrees), dtype=np.float64
            )
        forecast = self.conditions.rooms[place_id]
        return lambda minute: temperature_at(forecast, self.day.start_utc, minute)

    def _chamber_points(self, chamber: Chamber) -> tuple[list[float], list[float]]:
        """Return the air of a chamber as points, straight between them [min, °C]."""
        now_c = self.conditions.chambers_c.get(chamber.id, chamber.temperature_c).value
        minutes, degrees = [0.0], [now_c]
        for point in self.conditions.programmes.get(chamber.id, ()):
            at = self.day.minute(point.from_utc)
            now_c = float(np.interp(at, minutes, degrees))
            earlier = [n for n, minute in enumerate(minutes) if minute < at]
            minutes, degrees = [minutes[n] for n in earlier], [degrees[n] for n in earlier]
            there = at + 60 * abs(point.temperature_c - now_c) / CHAMBER_K_PER_H
            minutes += [at, there]
            degrees += [now_c, point.temperature_c]
        for failure in self.conditions.failed:
            if failure.chamber_id == chamber.id:
                minutes, degrees = self._standing_still(failure, minutes, degrees)
        return minutes, degrees

    def _standing_still(
        self, failure: ChamberFailure, minutes: list[float], degrees: list[float]
    ) -> tuple[list[float], list[float]]:
        """Return the air of a chamber that stands still for a while: it goes to the house's."""
        stops = self.day.minute(failure.from_utc)
        until = self.day.end_utc if failure.until_utc is None else failure.until_utc
        runs = self.day.minute(until)
        steps = np.append(np.arange(stops, max(runs, stops + 1.0), 15.0), max(runs, stops + 1.0))
        room_c = self.air_c(self.day.bakery.rooms[0].id)(steps)
        shares = 1.0 - np.exp(-np.diff(steps) / CHAMBER_STANDS_MIN)
        stood = [float(np.interp(stops, minutes, degrees))]
        for air_c, share in zip(room_c[1:], shares, strict=True):
            stood.append(stood[-1] + float(share) * (float(air_c) - stood[-1]))
        kept = [(m, c) for m, c in zip(minutes, degrees, strict=True) if m < stops]
        kept += zip((float(s) for s in steps), stood, strict=True)
        if failure.until_utc is not None:
            wanted_c = float(np.interp(runs, minutes, degrees))
            back = runs + 60 * abs(wanted_c - stood[-1]) / CHAMBER_K_PER_H
            kept += [(back, float(np.interp(back, minutes, degrees)))]
            kept += [(m, c) for m, c in zip(minutes, degrees, strict=True) if m > back]
        return [m for m, _ in kept], [c for _, c in kept]

    def humidity(self, place_id: str) -> AirCurve:
        """Return the relative humidity of a room or chamber over minutes, 0 to 1."""
        if self.day.bakery.chamber(place_id) is not None:
            return lambda minute: np.full_like(
                np.asarray(minute, dtype=np.float64), CHAMBER_HUMIDITY
            )
        forecast = self.conditions.rooms[place_id]
        return lambda minute: humidity_at(forecast, self.day.start_utc, minute)

    def air_sd_k(self, place_id: str, minute: float) -> float:
        """Return one standard deviation of the air temperature [K]."""
        if self.day.bakery.chamber(place_id) is not None:
            return 0.5
        forecast = self.conditions.rooms[place_id]
        return float(sd_at(forecast, self.day.start_utc, np.asarray(minute, dtype=np.float64)))

    def surroundings(self, place_id: str) -> Surroundings:
        """Return how air moves in a place: still in a room, by fan in a chamber."""
        is_chamber = self.day.bakery.chamber(place_id) is not None
        return Surroundings.FAN_CHAMBER if is_chamber else Surroundings.ROOM

    @cached_property
    def worked_out(self) -> dict[Hashable, object]:
        """What was worked out of this night and is asked for again; it depends on nothing else."""
        return {}

    @cached_property
    def hours(self) -> Minutes:
        """Minutes of the full hours of the span, its end included [min]."""
        return np.arange(0.0, self.day.span_min + 60.0, 60.0)

    @cached_property
    def _flour_hours_c(self) -> dict[str, Minutes]:
        return {
            store.id: np.asarray(
                stored_flour_c(store.kind, self.air_c(store.place_id)(self.hours)),
                dtype=np.float64,
            )
            + store.conveying_offset_k
            for store in self.day.bakery.flour_stores
        }

    def flour_c(self, store: FlourStore, minute: ArrayLike) -> Minutes:
        """Return the temperature of the flour of a store [°C]: measured, or it follows its room."""
        measured = self.conditions.flour_c.get(store.id)
        minute = np.asarray(minute, dtype=np.float64)
        if measured is not None:
            return np.full_like(minute, measured.value)
        known_c = self._flour_hours_c[store.id]
        return np.asarray(np.interp(minute, self.hours, known_c), dtype=np.float64)

    def flour_store(self, line: Line) -> FlourStore:
        """Return the flour store a line comes from: its own, or the first of the house."""
        stores = {store.id: store for store in self.day.bakery.flour_stores}
        return stores.get(line.store_id or "", self.day.bakery.flour_stores[0])

    def line_c(self, line: Line, room_id: str, minute: ArrayLike) -> Minutes:
        """Return the temperature of an ingredient when it goes in [°C].

        Its own if given; else that of where it stands: flour store, cold store, chamber or the
        room of the mixer.
        """
        minute = np.asarray(minute, dtype=np.float64)
        if line.temperature_c is not None:
            return np.full_like(minute, line.temperature_c)
        usual = properties(line.material).store
        if line.store_id in self.day.bakery.place_ids:
            return self.air_c(str(line.store_id))(minute)
        if usual == "flour" or line.store_id is not None:
            return self.flour_c(self.flour_store(line), minute)
        if usual == "cold":
            return np.full_like(minute, self.day.bakery.cold_store_c.value)
        return self.air_c(room_id)(minute)

    def supply_c(self, supply: WaterSupply) -> Estimate:
        """Return the temperature of a supply [°C]: measured, or by the season, or as entered."""
        measured = self.conditions.supplies_c.get(supply.id)
        return measured or supply.usual_c(self.day.production_date)

    def supply(self, kind: SupplyKind) -> WaterSupply | None:
        """Return the supply of a kind, if the house has one."""
        return self.day.bakery.supply(kind)

    @cached_property
    def boiling_c(self) -> float:
        """Boiling point of water in this house [°C]."""
        return float(boiling_point_c(self.day.bakery.altitude_m))

    def work_kj_per_kg_min(self, mixer: Mixer, dough_class: str) -> dict[Speed, Estimate]:
        """Return mixing work by speed with what was learned applied [kJ/kg min]."""
        return self.corrections.corrected_work(mixer, dough_class)

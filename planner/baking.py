"""What a load asks of an oven: places, minutes, heat, and how long the oven recovers from it."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from planner.bakery import Oven, OvenKind
from planner.conditions import Conditions
from planner.day import Day
from planner.product import Product
from planner.scheduling.problem import OvenChoice, OvenPlaces


@dataclass(frozen=True, slots=True)
class Baking:
    """A load as the ovens see it.

    Attributes
    ----------
    places
        Decks or racks of pieces, also where it stands before it is loaded.
    ovens
        Ovens that take it.
    bake_min
        Minutes from its loading until all of it is out [min].
    bake_c
        At what the oven is set for it [°C]; None when that does not matter.
    """

    places: int
    ovens: tuple[OvenChoice, ...]
    bake_min: int
    bake_c: int | None


def baking_of(day: Day, conditions: Conditions, product: Product, pieces: int) -> Baking:
    """Return what so many pieces of a product ask of the ovens.

    Parameters
    ----------
    day, conditions
        The production day with its bakery, and the fires of the night.
    product
        What is baked.
    pieces
        Pieces of the load.

    Notes
    -----
    A place recovers for the oven's minutes and, by the kilo, for those of the dough on it. A belt
    takes a load for as long as its last piece needs to get onto it; the load is out when that
    piece has gone through. An oven that cools after its fire, by ``T0 - rate (t - t0)``, takes a
    load while it is within the product's band.
    """
    ovens = [day.bakery.oven(one_id) for one_id in product.oven_ids]
    places = ceil(pieces / product.pieces_per_place)
    feed_min = 0
    if product.pieces_per_min is not None and any(o.kind is OvenKind.CONVEYOR for o in ovens):
        feed_min = ceil(pieces / product.pieces_per_min - 1e-9)
    return Baking(
        places=places,
        ovens=tuple(
            _choice(day, conditions, product, oven, _places_in(oven, places), pieces, feed_min)
            for oven in ovens
            if oven.places >= _places_in(oven, places)
        ),
        bake_min=product.bake_min + feed_min,
        bake_c=None if product.bake_c is None else round(product.bake_c),
    )


def _places_in(oven: Oven, places: int) -> int:
    return 1 if oven.kind is OvenKind.CONVEYOR else places


def _choice(
    day: Day,
    conditions: Conditions,
    product: Product,
    oven: Oven,
    places: int,
    pieces: int,
    feed_min: int,
) -> OvenChoice:
    hold_min = product.bake_min + recovery_min(oven, pieces * product.piece_kg / places)
    if oven.kind is OvenKind.CONVEYOR:
        hold_min = feed_min
    hot_from, hot_by = _hot(day, conditions, product, oven)
    return OvenChoice(oven.id, places, hold_min, hot_from, hot_by)


def recovery_min(oven: Oven, kg_a_place: float) -> int:
    """Return the minutes a place needs after a load to regain its heat.

    Examples
    --------
    >>> recovery_min(Oven("o", "deck oven", OvenKind.DECK, 2, 5, 0.25), 18.0)
    10
    """
    return oven.recovery_min + ceil(oven.recovery_min_per_kg * kg_a_place - 1e-9)


def _hot(
    day: Day, conditions: Conditions, product: Product, oven: Oven
) -> tuple[int | None, int | None]:
    """Return between which minutes of the span an oven is as hot as a product wants it."""
    fire = conditions.fires.get(oven.id)
    if fire is None or oven.falls_k_per_h is None:
        return None, None
    ready = day.minute(fire.at_utc)
    if product.bake_c is None:
        return ceil(ready), None
    low, high = (
        ready + 60 * (fire.temperature_c - (product.bake_c + band_k)) / oven.falls_k_per_h
        for band_k in (product.bake_band_k, -product.bake_band_k)
    )
    return ceil(max(ready, low)), floor(high)


def oven_places(day: Day) -> tuple[OvenPlaces, ...]:
    """Return the ovens of a bakery as the schedule sees them."""
    return tuple(
        OvenPlaces(
            oven.id,
            1 if oven.kind is OvenKind.CONVEYOR else oven.places,
            oven.recovery_min,
            oven.heats_k_per_min or 0.0,
            oven.cools_k_per_min or 0.0,
            oven.gap_min if oven.kind is OvenKind.CONVEYOR else None,
        )
        for oven in day.bakery.ovens
    )

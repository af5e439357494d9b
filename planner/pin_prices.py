"""What each pin costs: the night planned once with it and once without, by the same search."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planner.batches import Batch
from planner.contradicting import names_of
from planner.day import Day
from planner.night import Night
from planner.offers import offer
from planner.options import Offer
from planner.pins import Pin, merged_pins
from planner.planned import Plan
from planner.posing import pose
from planner.preparations import Offered
from planner.remarks import Figure, Remark, RemarkKind, mass, minutes, word
from planner.scheduling.points import lateness
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule
from planner.start_times import start_buckets

MOST_PRICED = 6
"""So many pins are priced by themselves when a plan misses something."""

WHATS = {
    "start_utc": "start",
    "not_before_utc": "not before",
    "mixer_id": "mixer",
    "dough_c": "dough temperature",
    "load_utc": "loading",
    "first": "first on its mixer",
    "oven_id": "oven",
    "before_ids": "order",
}


@dataclass(frozen=True, slots=True)
class PinPrice:
    """What one thing that is fixed costs, against the night without it; below zero is never told.

    Attributes
    ----------
    pin
        A pin that fixes this one thing.
    late_min
        Minutes by which bread leaves later, of all loads together.
    window_min
        Minutes by which divides and loadings lie further outside their windows.
    ice_kg
        More ice.
    left_out
        Mixes more without a place.
    points
        All of it, and what is smaller, in the points of the search.
    """

    pin: Pin
    late_min: float
    window_min: float
    ice_kg: float
    left_out: int
    points: float

    @property
    def is_free(self) -> bool:
        """Whether the night without it is no better."""
        return self.points <= 0


@dataclass(frozen=True)
class Posed:
    """A night ready to be searched, of which one mix can be posed otherwise."""

    night: Night
    batches: tuple[Batch, ...]
    preparations: tuple[Offered, ...]
    offers: tuple[Offer, ...]
    grid_min: int

    def problem(self, pins: Sequence[Pin], other: Batch | None = None) -> Problem:
        """Return the problem with these pins; the options of one mix are worked out anew."""
        by_mix = {pin.mix_id: pin for pin in merged_pins(pins)}
        offers = tuple(
            o if other is None or o.batch.id != other.id else self._offer(other, by_mix)
            for o in self.offers
        )
        feeds = [(p.problem, frozenset(b.id for b in p.users)) for p in self.preparations]
        return pose(self.night, offers, feeds, pins, self.grid_min)

    def batch(self, mix_id: str) -> Batch:
        """Return the bowl of dough with this id."""
        return next(b for b in self.batches if b.id == mix_id)

    def _offer(self, batch: Batch, by_mix: dict[str, Pin]) -> Offer:
        pin = by_mix.get(batch.id)
        curves = {p.part.id: p.curve for p in self.preparations if p.feeds(batch.id)}
        buckets = start_buckets(self.night, batch, pin)
        return offer(self.night, batch, pin, self.grid_min, buckets, curves)


def pin_prices(
    posed: Posed, pins: Sequence[Pin], look: Callable[[Problem], Schedule]
) -> tuple[PinPrice, ...]:
    """Return what each thing that is fixed costs, the dearest first.

    Parameters
    ----------
    posed
        The night with these pins.
    pins
        What the baker fixed.
    look
        How a problem is searched; the same way for all of them.
    """
    merged = merged_pins(pins)
    parts = [part for pin in merged for part in pin.parts]
    if not parts:
        return ()
    problem = posed.problem(merged)
    kept = look(problem)
    found = []
    for part in parts:
        freed = tuple(pin.without(part) if pin.mix_id == part.mix_id else pin for pin in merged)
        other = posed.problem(freed, posed.batch(part.mix_id))
        found.append(_price(part, problem, kept, other, look(other)))
    return tuple(sorted(found, key=lambda p: -p.points))


def _price(part: Pin, problem: Problem, kept: Schedule, other: Problem, free: Schedule) -> PinPrice:
    def more(measured: tuple[float, float]) -> float:
        return max(0.0, measured[0] - measured[1])

    with_pin, without = _measured(problem, kept), _measured(other, free)
    late, window, ice = (more(pair) for pair in zip(with_pin, without, strict=True))
    points = _worth(problem, kept) - _worth(other, free)
    return PinPrice(
        pin=part,
        late_min=late,
        window_min=window,
        ice_kg=ice / 1000,
        left_out=max(0, len(kept.unplaced) - len(free.unplaced)),
        points=max(0.0, points),
    )


def _worth(problem: Problem, schedule: Schedule) -> float:
    """Return what the search makes small, in points of the first stage."""
    rest = schedule.points.freshness if problem.weights.fresh_trade else 0
    return float(schedule.points.first_stage + rest)


def _measured(problem: Problem, schedule: Schedule) -> tuple[float, float, float]:
    """Return minutes late, minutes outside windows, and ice [g]."""
    late = sum(max(0, m) for _, m, _ in lateness(problem, schedule.jobs, schedule.standing))
    window = sum(u.minutes for u in schedule.unmet if u.code in ("bulk_window", "load_window"))
    ice = sum(problem.job(j.job_id).options[j.option].ice_g for j in schedule.jobs)
    return float(late), float(window), float(ice)


def price_remarks(day: Day, prices: Sequence[PinPrice]) -> list[Remark]:
    """Return what each pin costs as a sentence."""
    names = names_of(day)
    return [_sentence(names, price) for price in prices]


def _sentence(names: dict[str, str], price: PinPrice) -> Remark:
    pin = price.pin
    field = next(f for f in WHATS if getattr(pin, f) not in (None, False, ()))
    figures: list[Figure] = [
        word("name", names.get(pin.mix_id, pin.mix_id)),
        word("what", WHATS[field]),
    ]
    if price.is_free:
        text = "{name}, {what} as you fixed it: it costs the night nothing."
    elif price.left_out:
        text = "{name}, {what} as you fixed it: {count} mixes more find no place."
        figures.append(word("count", str(price.left_out)))
    elif price.late_min > 0:
        text = "{name}, {what} as you fixed it: bread leaves {late} later in all."
        figures.append(minutes("late", price.late_min))
    elif price.window_min > 0:
        text = "{name}, {what} as you fixed it: doughs lie {window} further outside their windows."
        figures.append(minutes("window", price.window_min))
    elif price.ice_kg >= 0.05:
        text = "{name}, {what} as you fixed it: it takes {ice} more ice."
        figures.append(mass("ice", price.ice_kg))
    else:
        text = "{name}, {what} as you fixed it: ripeness and freshness are a little off, no more."
    kind = RemarkKind.NOTE if price.is_free else RemarkKind.LEVER
    return Remark(kind, "pin_price", text, tuple(figures), pin.mix_id)


def are_worth_pricing(plan: Plan) -> bool:
    """Return whether a plan misses something that a pin may cost, and has few pins enough."""
    missed = {"late", "bulk_window", "load_window", "no_place", "no_option", "pin"}
    count = sum(len(pin.parts) for pin in merged_pins(plan.pins))
    return 0 < count <= MOST_PRICED and any(r.code in missed for r in plan.remarks)

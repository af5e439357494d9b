"""What is told in the course of a night: readings, breakdowns, late orders, somebody away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from planner.answer import with_reading
from planner.changes import AFTER_CUT_OFF
from planner.conditions import ChamberFailure, Conditions
from planner.day import Day, MixRequest, Order, Shift, check_since, check_utc
from planner.errors import InputError, check_name, no_such, refuse
from planner.happened import Breakdown, Override
from planner.mixers import MixerKind
from planner.planned import Plan, PlannedMove
from planner.readings import Reading
from planner.remarks import Remark, RemarkKind, minutes, word
from planner.ripening import Move


@dataclass(frozen=True, slots=True)
class RunsAgain:
    """A mixer, oven or chamber that was out of order runs again, now when no time is told."""

    resource_id: str
    at_utc: datetime | None = None


@dataclass(frozen=True, slots=True)
class PowerCut:
    """The power is out: ovens, chambers and every mixer but hands stop.

    Attributes
    ----------
    from_utc, until_utc
        Since when, and until when as far as anybody knows [UTC].
    keeps
        Ids of what runs on all the same, such as a gas oven.
    """

    from_utc: datetime
    until_utc: datetime | None = None
    keeps: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        check_since(self.from_utc, self.until_utc)


@dataclass(frozen=True, slots=True)
class PowerBack:
    """The power is back: what stopped with it runs again."""

    at_utc: datetime

    def __post_init__(self) -> None:
        check_utc("at_utc", self.at_utc)


@dataclass(frozen=True, slots=True)
class NewConditions:
    """The night turned out otherwise: a new forecast, other ice, another tap."""

    conditions: Conditions


@dataclass(frozen=True, slots=True)
class LateOrder:
    """An order or a mix that comes in, or is another now, while the night is planned already.

    Attributes
    ----------
    line
        The whole line; one with the id of a line that is there takes its place.
    at_utc
        When it came in [UTC].
    by
        Who takes it after the house's cut-off; empty when nobody has said so.
    """

    line: Order | MixRequest
    at_utc: datetime
    by: str = ""

    def __post_init__(self) -> None:
        check_utc("at_utc", self.at_utc)


@dataclass(frozen=True, slots=True)
class OrderDropped:
    """A line that nobody wants any more; what of it has begun goes on."""

    line_id: str


@dataclass(frozen=True, slots=True)
class SomebodyAway:
    """A person who does not come, or goes home.

    Attributes
    ----------
    from_utc, until_utc
        Hours in which they are missing [UTC]; to the end of the span when no end is told.
    """

    person_id: str
    from_utc: datetime
    until_utc: datetime | None = None

    def __post_init__(self) -> None:
        check_name("person_id", self.person_id)
        check_since(self.from_utc, self.until_utc)


@dataclass(frozen=True, slots=True)
class Carried:
    """Shaped pieces that somebody has carried elsewhere, as into the cold while the ovens stand.

    Attributes
    ----------
    load_id
        The load, or what was inherited.
    place_id
        Room or chamber it stands in now.
    at_utc
        When [UTC].
    """

    load_id: str
    place_id: str
    at_utc: datetime

    def __post_init__(self) -> None:
        check_utc("at_utc", self.at_utc)


Event = (
    Reading
    | Carried
    | Breakdown
    | RunsAgain
    | PowerCut
    | PowerBack
    | NewConditions
    | LateOrder
    | OrderDropped
    | SomebodyAway
)


def with_events(plan: Plan, events: Sequence[Event], now: datetime | None = None) -> Plan:
    """Return the plan with what was read, and what stops or runs again, noted in it.

    Parameters
    ----------
    plan
        The plan in force.
    events
        What happened, in the order in which it was told.
    now
        When something runs again of which no time was told [UTC]; the span's start if None.
    """
    for event in events:
        plan = _noted(plan, event, now or plan.day.start_utc)
    return plan


def _noted(plan: Plan, event: Event, now: datetime) -> Plan:
    """Return the plan with one event noted; orders and people are the day's own matter."""
    stops: list[Breakdown] = []
    runs: list[tuple[str, datetime]] = []
    if isinstance(event, Reading):
        plan = with_reading(plan, event)
    elif isinstance(event, NewConditions):
        conditions = replace(event.conditions, failed=plan.conditions.failed)
        plan = replace(plan, conditions=conditions)
    elif isinstance(event, Breakdown):
        stops = [event]
    elif isinstance(event, PowerCut):
        out = [one for one in _on_the_mains(plan.day) if one not in event.keeps]
        stops = [Breakdown(one, event.from_utc, event.until_utc, power=True) for one in out]
    elif isinstance(event, RunsAgain):
        runs = [(event.resource_id, event.at_utc or now)]
    elif isinstance(event, PowerBack):
        runs = [(o.resource_id, event.at_utc) for o in plan.outages if o.power]
    elif isinstance(event, Carried):
        plan = _carried(plan, event)
    for stopped in stops:
        plan = _stopped(plan, stopped)
    for one_id, at in runs:
        plan = _running(plan, one_id, at)
    return plan


def _carried(plan: Plan, event: Carried) -> Plan:
    """Return the plan with a load where it was carried."""
    loads = [load.id for mix in plan.mixes for load in mix.loads]
    inherited = {one.id: one for one in plan.conditions.inherited}
    if event.load_id not in (*loads, *inherited):
        known = [*loads, *inherited]
        raise InputError([no_such("carried.load_id", event.load_id, "load", known)])
    if event.place_id not in plan.day.bakery.place_ids:
        places = plan.day.bakery.place_ids
        raise InputError([no_such("carried.place_id", event.place_id, "room or chamber", places)])
    move = PlannedMove(event.at_utc, event.place_id)
    mixes = tuple(
        replace(
            mix,
            loads=tuple(
                replace(load, carried=(*load.carried, move)) if load.id == event.load_id else load
                for load in mix.loads
            ),
        )
        for mix in plan.mixes
    )
    plan = replace(plan, mixes=mixes)
    if event.load_id not in inherited:
        return plan
    one = inherited[event.load_id]
    after_min = max(5.0, (event.at_utc - one.since_utc) / timedelta(minutes=1))
    there = replace(one, moves=(*one.moves, Move(after_min, event.place_id)))
    others = tuple(there if o.id == one.id else o for o in plan.conditions.inherited)
    return replace(plan, conditions=replace(plan.conditions, inherited=others))


def _on_the_mains(day: Day) -> list[str]:
    bakery = day.bakery
    machines = [m.id for m in bakery.mixers if m.kind is not MixerKind.HAND]
    return [*machines, *(o.id for o in bakery.ovens), *(c.id for c in bakery.chambers)]


def _stopped(plan: Plan, stops: Breakdown) -> Plan:
    bakery, one_id = plan.day.bakery, stops.resource_id
    known = [*(m.id for m in bakery.mixers), *(o.id for o in bakery.ovens)]
    known += [c.id for c in bakery.chambers]
    if one_id not in known:
        raise InputError(
            [no_such("breakdown.resource_id", one_id, "mixer, oven or chamber", known)]
        )
    others = tuple(o for o in plan.outages if o.resource_id != one_id)
    plan = replace(plan, outages=(*others, stops))
    if bakery.chamber(one_id) is None:
        return plan
    failed = tuple(
        f for f in plan.conditions.failed if f.chamber_id != one_id or _is_over(f, stops)
    )
    failure = ChamberFailure(one_id, stops.from_utc, stops.until_utc)
    return replace(plan, conditions=replace(plan.conditions, failed=(*failed, failure)))


def _is_over(failure: ChamberFailure, stops: Breakdown) -> bool:
    """Return whether a failure ended before the next one began, so that its traces stay."""
    return failure.until_utc is not None and failure.until_utc <= stops.from_utc


def _running(plan: Plan, one_id: str, at: datetime) -> Plan:
    others = tuple(o for o in plan.outages if o.resource_id != one_id)
    failed = tuple(
        replace(f, until_utc=at)
        if f.chamber_id == one_id and (f.until_utc is None or f.until_utc > at)
        else f
        for f in plan.conditions.failed
    )
    conditions = replace(plan.conditions, failed=failed)
    return replace(plan, outages=others, conditions=conditions)


def day_after(day: Day, events: Sequence[Event]) -> Day:
    """Return the day with late orders taken, dropped ones gone, and who is away not at work.

    Raises
    ------
    InputError
        If a line or person is not known, or an order comes after the cut-off and nobody takes it.
    """
    for event in events:
        if isinstance(event, LateOrder):
            check_cut_off(day, event)
            day = _with_line(day, event.line)
        elif isinstance(event, OrderDropped):
            known = [line.id for line in day.lines]
            if event.line_id not in known:
                raise InputError([no_such("order_dropped.line_id", event.line_id, "line", known)])
            lines = tuple(line for line in day.lines if line.id != event.line_id)
            splits = tuple(s for s in day.splits if s.line_id != event.line_id)
            day = replace(day, lines=lines, splits=splits)
        elif isinstance(event, SomebodyAway):
            day = replace(day, shifts=_without(day, event))
    return day


def _with_line(day: Day, line: Order | MixRequest) -> Day:
    if any(one.id == line.id for one in day.lines):
        return replace(day, lines=tuple(line if o.id == line.id else o for o in day.lines))
    return replace(day, lines=(*day.lines, line))


def _without(day: Day, away: SomebodyAway) -> tuple[Shift, ...]:
    known = [p.id for p in day.bakery.people]
    if away.person_id not in known:
        raise InputError([no_such("somebody_away.person_id", away.person_id, "person", known)])
    until = away.until_utc or day.end_utc
    kept: list[Shift] = []
    for shift in day.shifts:
        if shift.person_id != away.person_id:
            kept.append(shift)
            continue
        if shift.start_utc < min(shift.end_utc, away.from_utc):
            kept.append(replace(shift, end_utc=min(shift.end_utc, away.from_utc)))
        if max(shift.start_utc, until) < shift.end_utc:
            kept.append(replace(shift, start_utc=max(shift.start_utc, until)))
    return tuple(kept)


def hours_short(day: Day, event: LateOrder) -> float:
    """Return by how much an order comes after the cut-off of the house [h]; 0 when in time."""
    cut_off_h, leave_by = day.bakery.order_cut_off_h, event.line.leave_by
    if cut_off_h is None or leave_by is None:
        return 0.0
    return max(0.0, cut_off_h - (leave_by - event.at_utc) / timedelta(hours=1))


def check_cut_off(day: Day, event: LateOrder) -> None:
    """Refuse an order after the cut-off that nobody takes by name.

    Raises
    ------
    InputError
        If so.
    """
    short_h = hours_short(day, event)
    if short_h > 0 and not event.by:
        raise refuse(
            f"late_order.{event.line.id}.at_utc",
            event.at_utc.isoformat(),
            f"comes {short_h:.1f} h after the cut-off of {day.bakery.order_cut_off_h:g} h",
            "let somebody who may do so take it by name, or have it leave later",
        )


def overrides_of(day: Day, events: Sequence[Event]) -> tuple[Override, ...]:
    """Return the orders that were taken after the cut-off, and by whom."""
    return tuple(
        Override(
            event.at_utc,
            event.by,
            Remark(
                RemarkKind.NOTE,
                "after_cut_off",
                AFTER_CUT_OFF,
                (
                    word("line", event.line.id),
                    word("by", event.by),
                    minutes("short", 60 * hours_short(day, event)),
                ),
                event.line.id,
            ),
        )
        for event in events
        if isinstance(event, LateOrder) and hours_short(day, event) > 0
    )

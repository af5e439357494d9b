"""Starts of an earlier plan: found again, and kept where that costs little."""

from dataclasses import replace
from datetime import timedelta

from planner import Limits, make_plan
from planner.bakery import Care
from planner.batches import batches_of
from planner.day import MixRequest, Order
from planner.earlier import earlier_starts
from tests.planner.builders import at, bakery, day, night_of

QUICK = Limits(solve_s=60.0, deterministic_s=0.5, workers=1)


def a_day_later(one):
    """The same day of the week after: everything 24 h later."""
    later = timedelta(days=1)
    lines = tuple(
        replace(line, leave_by_utc=line.leave_by_utc + later) if isinstance(line, Order) else line
        for line in one.lines
    )
    shifts = tuple(
        replace(s, start_utc=s.start_utc + later, end_utc=s.end_utc + later) for s in one.shifts
    )
    return replace(
        one,
        production_date=one.production_date + later,
        lines=lines,
        shifts=shifts,
        start_utc=one.start_utc + later,
        end_utc=one.end_utc + later,
    )


def warm_and_free():
    """A ready mix with nothing that leaves: its start is free, and the first hour is as good."""
    return day(lines=(MixRequest("m1", "white", 30.0),))


def test_a_mix_is_found_again_by_product_and_in_order():
    """Two mixes of one loaf: the one that leaves first goes with the first start of yesterday."""
    lines = (Order("second", "loaf", 40, at(15)), Order("first", "loaf", 40, at(13)))
    today = day(lines=lines)
    was = make_plan(today, night_of(24.0), limits=replace(QUICK, list_only=True))
    starts = sorted(today.minute(mix.start_utc) for mix in was.mixes)
    found = earlier_starts(today, batches_of(today), was)
    assert found == {"first": starts[0], "second": starts[1]}


def test_starts_go_with_the_clock_from_day_to_day():
    today = warm_and_free()
    was = make_plan(today, night_of(24.0), limits=replace(QUICK, list_only=True))
    tomorrow = a_day_later(today)
    found = earlier_starts(tomorrow, batches_of(tomorrow), was)
    assert found == {"m1": today.minute(was.mixes[0].start_utc)}


def test_what_an_earlier_plan_had_not_is_not_found():
    today = day(lines=(MixRequest("m1", "white", 30.0, product_id="loaf"),))
    was = make_plan(warm_and_free(), night_of(24.0), limits=replace(QUICK, list_only=True))
    assert earlier_starts(today, batches_of(today), was) == {}
    assert earlier_starts(today, batches_of(today), None) == {}


def test_a_house_that_cares_for_few_changes_starts_when_it_did():
    """Yesterday at the sixth hour; without it the mix would start as soon as somebody is there."""
    one = replace(warm_and_free(), bakery=bakery(cares_for=Care.FEW_CHANGES))
    free = make_plan(one, night_of(24.0), limits=QUICK)
    moved = replace(free.mixes[0], start_utc=at(6))
    was = replace(free, mixes=(moved,))
    kept = make_plan(one, night_of(24.0), limits=QUICK, earlier=was)
    assert free.mixes[0].start_utc < at(3)
    assert at(6) <= kept.mixes[0].start_utc < at(6.5)

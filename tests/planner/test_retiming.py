"""A plan at the minute: exact windows, both judges, order kept, nothing worse."""

from dataclasses import replace
from functools import cache

import pytest

from planner import Limits, Pin, make_plan, verify
from planner.day import Order, Shift
from planner.planned import Plan
from planner.scheduling.exact import Window
from tests.planner.builders import at, day, night_of
from tests.planner.conftest import small_day

QUICK = Limits(solve_s=60.0, deterministic_s=0.5, workers=1)


@cache
def planned(*, to_the_minute: bool) -> Plan:
    """The small night, on its grid or to the minute."""
    conditions = replace(night_of(29.0), ice_stored_kg=10.0)
    return make_plan(small_day(), conditions, limits=replace(QUICK, to_the_minute=to_the_minute))


def order_of(plan: Plan) -> list[list[str]]:
    """Who follows whom on every mixer and in every oven."""
    house = plan.day.bakery
    mixes = sorted(plan.mixes, key=lambda m: m.start_utc)
    loads = sorted((load for m in plan.mixes for load in m.loads), key=lambda ld: ld.load_utc)
    on_mixers = [[m.id for m in mixes if m.mixer_id == one.id] for one in house.mixers]
    in_ovens = [[ld.id for ld in loads if ld.oven_id == one.id] for one in house.ovens]
    return on_mixers + in_ovens


def test_both_judges_are_content_with_a_plan_at_the_minute():
    plan = planned(to_the_minute=True)
    assert verify(plan) == ()
    assert [r for r in plan.remarks if r.code.startswith("judge")] == []


def test_it_is_really_at_the_minute():
    """On the grid every divide and load lies on five minutes; to the minute not all do."""
    grid, fine = planned(to_the_minute=False), planned(to_the_minute=True)
    times = [[m.divide_utc, *(ld.load_utc for ld in m.loads)] for m in grid.mixes]
    assert {t.minute % 5 for one in times for t in one} == {0}
    times = [[m.divide_utc, *(ld.load_utc for ld in m.loads)] for m in fine.mixes]
    assert {t.minute % 5 for one in times for t in one} != {0}


def test_order_machines_ways_and_builds_are_kept():
    grid, fine = planned(to_the_minute=False), planned(to_the_minute=True)
    assert order_of(grid) == order_of(fine)
    assert [(p.id, p.start_utc) for p in grid.preparations] == [
        (p.id, p.start_utc) for p in fine.preparations
    ]
    ways = [[(ld.route, ld.oven_id) for m in p.mixes for ld in m.loads] for p in (grid, fine)]
    assert ways[0] == ways[1]


def test_doughs_are_nearer_to_ripe():
    """The bulks of the grid are off by up to half of five minutes; these by less than one."""
    assert off_ripe(planned(to_the_minute=True)) < off_ripe(planned(to_the_minute=False))


def off_ripe(plan: Plan) -> float:
    return sum(abs(mix.ripeness - 1.0) for mix in plan.mixes)


def test_fewer_doughs_leave_their_window_on_other_nights():
    grid, fine = planned(to_the_minute=False).robustness, planned(to_the_minute=True).robustness
    assert grid is not None
    assert fine is not None
    assert fine.outside_share < grid.outside_share


def test_no_more_bread_is_late():
    assert planned(to_the_minute=True).points.late == planned(to_the_minute=False).points.late == 0


def test_a_pinned_start_is_kept_to_its_minute():
    """Pinned at three minutes past; the search had it at five past."""
    one = day(lines=(Order("o1", "loaf", 40, at(14)),))
    moment = at(9 + 3 / 60)
    plan = make_plan(one, night_of(24.0), pins=[Pin("o1", start_utc=moment)], limits=QUICK)
    assert plan.mix("o1").start_utc == moment


def test_a_pinned_loading_is_kept_to_its_minute():
    one = day(lines=(Order("o1", "loaf", 40, at(14)),))
    free = make_plan(one, night_of(24.0), limits=QUICK).mix("o1").loads[0]
    moment = free.load_utc.replace(minute=free.load_utc.minute // 5 * 5 + 1)
    plan = make_plan(one, night_of(24.0), pins=[Pin("o1", load_utc=moment)], limits=QUICK)
    assert plan.mix("o1").loads[0].load_utc == moment


def test_a_plan_without_a_mix_is_left_alone():
    nobody_can = day(shifts=(Shift("ada", at(2), at(2.5)),))
    plan = make_plan(nobody_can, night_of(24.0), limits=replace(QUICK, list_only=True))
    assert plan.mixes == ()
    assert plan.unplaced == ("o1",)


def test_the_same_input_gives_the_same_minutes():
    conditions = replace(night_of(29.0), ice_stored_kg=10.0)
    again = make_plan(small_day(), conditions, limits=QUICK)
    assert [m.start_utc for m in again.mixes] == [
        m.start_utc for m in planned(to_the_minute=True).mixes
    ]
    assert again.robustness == planned(to_the_minute=True).robustness


@pytest.mark.parametrize(("minutes", "missed"), [(49, 1), (50, 0), (60, 0), (63, 3)])
def test_a_window_is_missed_by_minutes(minutes, missed):
    assert Window(50, 60, None, 0).missed(minutes) == missed

"""What a replan changes, and when it stays silent."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner import Breakdown, Limits, NewConditions, Reading, ReadingKind, make_plan, replan
from planner.changes import change_of
from tests.planner.builders import at, night_of
from tests.planner.conftest import small_day
from tests.planner.test_replan_begun import first_of, judged, night

QUICK = Limits(list_only=True)
MINUTE = timedelta(minutes=1)


def came_off(mix, off_k):
    return Reading(
        "r", ReadingKind.DOUGH_END_C, mix.id, mix.mix_end_utc, mix.ticket.expected_c + off_k
    )


def codes(plan):
    return [r.code for r in plan.change.remarks]


@pytest.mark.parametrize("minutes", [-60, 3, 60, 200])
def test_a_night_in_which_nothing_happens_stays_as_it_is(minutes):
    plan = night()
    now = first_of(plan).start_utc + minutes * MINUTE
    after = replan(plan, now, [], limits=QUICK)
    assert not after.change.is_proposed
    assert after.change.remarks == after.change.moved == ()
    for mix in plan.mixes:
        again = after.mix(mix.id)
        assert (again.start_utc, again.mixer_id) == (mix.start_utc, mix.mixer_id)
        assert abs(again.divide_utc - mix.divide_utc) <= 5 * MINUTE


def test_a_dough_two_degrees_warm_is_told_with_its_new_times():
    plan = night()
    mix = first_of(plan)
    after = replan(plan, mix.mix_end_utc + 2 * MINUTE, [came_off(mix, 2.0)], limits=QUICK)
    assert after.change.is_proposed
    moved = next(m for m in after.change.moved if m.mix_id == mix.id)
    assert moved.divide_min < -5
    assert moved.start_min == moved.water_k == moved.ice_share == 0
    assert "moved_divide" in codes(after)
    told = next(r for r in after.change.remarks if r.code == "moved_divide" and r.subject == mix.id)
    assert told.text == "{name} is divided {by} sooner, at {at}."
    assert told.figures[2].value == after.mix(mix.id).divide_utc


def test_a_dough_a_tenth_of_a_degree_warm_is_not_told():
    plan = night()
    mix = first_of(plan)
    after = replan(plan, mix.mix_end_utc + 2 * MINUTE, [came_off(mix, 0.1)], limits=QUICK)
    assert not after.change.is_proposed


def test_a_room_a_little_warmer_than_foreseen_leaves_the_sheet_alone():
    """0.4 °C more in the room is 0.2 °C of water at most and no five minutes."""
    day = small_day()
    plan = make_plan(day, replace(night_of(24.0), ice_stored_kg=10.0), limits=QUICK)
    warmer = NewConditions(replace(night_of(24.4), ice_stored_kg=10.0))
    after = replan(plan, plan.mixes[0].start_utc - 30 * MINUTE, [warmer], limits=QUICK)
    assert not after.change.is_proposed


def test_a_room_five_degrees_warmer_is_told():
    plan = make_plan(small_day(), replace(night_of(24.0), ice_stored_kg=10.0), limits=QUICK)
    warmer = NewConditions(replace(night_of(29.0), ice_stored_kg=10.0))
    after = replan(plan, plan.mixes[0].start_utc - 30 * MINUTE, [warmer], limits=QUICK)
    assert after.change.is_proposed


def test_a_mix_on_another_mixer_is_told():
    plan = night()
    mix = first_of(plan)
    now = mix.start_utc - 30 * MINUTE
    after = replan(plan, now, [Breakdown(mix.mixer_id, now)], limits=QUICK)
    assert after.change.is_proposed
    assert "other_mixer" in codes(after)
    assert after.points.moved >= 3


def test_an_unmoved_plan_costs_what_it_did():
    """Points are those of a new plan, whatever the replan weighs beside them: not double.

    Tickets are worked out at the times that were known before; 0.03 K of dough at 120 points a
    degree are some 4 points.
    """
    plan = night()
    after = replan(plan, first_of(plan).start_utc - 60 * MINUTE, [], limits=QUICK)
    assert after.points.first_stage == pytest.approx(plan.points.first_stage, abs=5)
    assert after.points.moved <= 1  # a minute


def moved_by(plan, mix_id, minutes):
    """The plan with one mix and all that follows from it later; the rest as it is."""
    by = minutes * MINUTE

    def later(mix):
        loads = tuple(
            replace(
                ld,
                load_utc=ld.load_utc + by,
                out_utc=ld.out_utc + by,
                ready_utc=ld.ready_utc + by,
            )
            for ld in mix.loads
        )
        return replace(mix, start_utc=mix.start_utc + by, loads=loads)

    return replace(plan, mixes=tuple(later(m) if m.id == mix_id else m for m in plan.mixes))


@pytest.mark.parametrize(("minutes", "told"), [(5, False), (-5, False), (6, True), (-6, True)])
def test_five_minutes_are_a_trifle_and_six_are_not(minutes, told):
    plan = night()
    mix = first_of(plan)
    change = change_of(plan, moved_by(plan, mix.id, minutes), at(0))
    assert change.is_proposed == told


@pytest.mark.parametrize(
    ("water_k", "ice_share", "told"),
    [(1.0, 0.0, False), (1.1, 0.0, True), (0.0, 0.05, False), (0.0, 0.06, True)],
)
def test_a_degree_of_water_and_a_twentieth_of_ice_are_trifles(water_k, ice_share, told):
    plan = night()
    mix = first_of(plan)
    ice = replace(mix.ticket, ice_kg=3.0)
    before = replace(
        plan, mixes=tuple(replace(m, ticket=ice) if m is mix else m for m in plan.mixes)
    )
    other = replace(ice, water_c=ice.water_c + water_k, ice_kg=3.0 * (1 - ice_share))
    after = replace(
        plan, mixes=tuple(replace(m, ticket=other) if m is mix else m for m in plan.mixes)
    )
    assert change_of(before, after, at(0)).is_proposed == told


def test_a_dough_saved_by_three_minutes_is_told():
    """Its window ended three minutes before the old divide; the new one lies inside."""
    plan = night()
    mix = first_of(plan)
    ends = mix.divide_utc - 3 * MINUTE
    saved = replace(mix, divide_utc=ends, divide_from_utc=ends - 20 * MINUTE, divide_by_utc=ends)
    after = replace(plan, mixes=tuple(saved if m is mix else m for m in plan.mixes))
    change = change_of(plan, after, at(0))
    assert change.is_proposed
    assert change.saved == (mix.id,)
    assert judged(after) == []

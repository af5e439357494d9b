"""The rest of the night is planned again; what has begun stays."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner import (
    Breakdown,
    InputError,
    Limits,
    NewConditions,
    Reading,
    ReadingKind,
    answer,
    make_plan,
    replan,
    verify,
)
from planner.events import with_events
from planner.mixers import MixerKind, mixer
from tests.planner.builders import bakery, night_of
from tests.planner.conftest import LIMITS, small_day

QUICK = Limits(solve_s=20.0, deterministic_s=1.0, workers=1)


def begun(plan, count=1):
    """Moment just after the count-th mix has come off."""
    return sorted(m.mix_end_utc for m in plan.mixes)[count - 1] + timedelta(minutes=2)


def test_what_has_begun_keeps_start_mixer_and_ticket(plan):
    now = begun(plan)
    after = replan(plan, now, [], limits=QUICK)
    for mix in plan.mixes:
        if mix.start_utc <= now:
            again = after.mix(mix.id)
            assert again.start_utc == mix.start_utc
            assert again.mixer_id == mix.mixer_id
            assert again.ticket == mix.ticket
    assert after.version == plan.version + 1
    assert verify(after) == ()


def test_nothing_that_is_still_open_starts_in_the_past(plan):
    now = begun(plan) + timedelta(minutes=20)
    after = replan(plan, now, [], limits=QUICK)
    started = {m.id for m in plan.mixes if m.start_utc <= now}
    assert all(m.start_utc >= now for m in after.mixes if m.id not in started)


def test_a_warm_dough_is_divided_sooner(plan):
    first = min(plan.mixes, key=lambda m: m.start_utc)
    warm = Reading(
        "r", ReadingKind.DOUGH_END_C, first.id, first.mix_end_utc, first.ticket.expected_c + 2
    )
    after = replan(plan, begun(plan), [warm], limits=QUICK)
    assert after.mix(first.id).divide_by_utc < first.divide_by_utc
    assert after.readings == (warm,)


def test_a_warmer_forecast_reaches_the_mixes_to_come(plan):
    hotter = NewConditions(replace(night_of(33.0), ice_stored_kg=10.0))
    after = replan(plan, begun(plan), [hotter], limits=QUICK)
    last = max(plan.mixes, key=lambda m: m.start_utc)
    cold = [
        (t.water_c or 0) - 80 * t.ice_kg / t.formula_water_kg
        for t in (last.ticket, after.mix(last.id).ticket)
    ]
    assert cold[1] < cold[0]


def test_a_broken_mixer_is_not_used_again():
    two = bakery(
        mixers=(
            mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0),
            mixer("twin", "twin arm", MixerKind.TWIN_ARM, "room", 60.0, min_dough_kg=5.0),
        )
    )
    day = replace(small_day(), bakery=two)
    plan = make_plan(day, night_of(24.0), limits=LIMITS)
    now = begun(plan)
    used = next(m.mixer_id for m in plan.mixes if m.start_utc > now)
    after = replan(plan, now, [Breakdown(used, now)], limits=QUICK)
    open_mixes = [m for m in after.mixes if m.start_utc > now]
    assert open_mixes
    assert all(m.mixer_id != used for m in open_mixes)


def test_when_the_only_mixer_breaks_the_plan_says_so(plan):
    now = begun(plan)
    after = replan(plan, now, [Breakdown("spiral", now)], limits=QUICK)
    open_ids = {m.id for m in plan.mixes if m.start_utc > now}
    assert set(after.unplaced) == open_ids
    assert {r.subject for r in after.remarks if r.kind.value == "unmet wish"} >= open_ids


def test_now_must_be_in_utc(plan):
    with pytest.raises(InputError, match="UTC"):
        replan(plan, plan.day.start_utc.replace(tzinfo=None), [])


# ---- what the night teaches --------------------------------------------------------------------


def came_off(plan, off_k: float, **changes):
    """The first mix came off so far from what its ticket said."""
    first = min(plan.mixes, key=lambda m: m.start_utc)
    values = {"id": "end", "value_c": first.ticket.expected_c + off_k} | changes
    return Reading(
        kind=ReadingKind.DOUGH_END_C, mix_id=first.id, at_utc=first.mix_end_utc, **values
    )


def test_a_mix_that_came_off_warm_gives_the_mixes_to_come_colder_water(plan):
    """Four degrees of some six of work: the mixer heats more, and the later mixes are told so."""
    now = begun(plan)
    usual, warned = (
        replan(plan, now, events, limits=QUICK) for events in ([], [came_off(plan, 4.0)])
    )
    assert usual.corrections == plan.corrections
    assert warned.corrections.mixing_work[0].readings == 1
    last = max(plan.mixes, key=lambda m: m.start_utc).id
    assert warned.mix(last).ticket.equivalent_c < usual.mix(last).ticket.equivalent_c - 1.0
    assert verify(warned) == ()


def test_what_has_begun_keeps_what_was_predicted_for_it(plan):
    """Later readings at a begun mix are answered with what was known when it began."""
    end = came_off(plan, 4.0)
    after = replan(plan, begun(plan), [end], limits=QUICK)
    assert after.mix(end.mix_id).ticket == plan.mix(end.mix_id).ticket
    again = Reading("off", ReadingKind.MIX_END, end.mix_id, end.at_utc)
    told, before = answer(after, again), answer(with_events(plan, [end]), again)
    assert told.mix.ticket.water == before.mix.ticket.water
    assert told.mix.ticket.expected_c == pytest.approx(plan.mix(end.mix_id).ticket.expected_c)


def test_a_night_that_is_replanned_again_learns_nothing_twice(plan):
    first = replan(plan, begun(plan), [came_off(plan, 4.0)], limits=QUICK)
    again = replan(first, begun(plan) + timedelta(minutes=5), [], limits=QUICK)
    assert again.corrections == first.corrections
    assert again.foreseen[0].corrections == plan.corrections
    mended = came_off(plan, 0.5, id="mended", supersedes="end")
    after = replan(again, begun(plan) + timedelta(minutes=6), [mended], limits=QUICK)
    at_once = replan(plan, begun(plan), [came_off(plan, 0.5)], limits=QUICK)
    assert after.corrections == at_once.corrections


def test_a_forecast_that_changed_meanwhile_is_not_blamed_on_the_mixer(plan):
    """The first mix came off as foreseen; the room that is foreseen since is another matter."""
    hotter = NewConditions(replace(night_of(34.0), ice_stored_kg=10.0))
    changed = replan(plan, begun(plan), [hotter], limits=QUICK)
    read = replan(changed, begun(plan), [came_off(plan, 0.0)], limits=QUICK)
    assert read.corrections.mixing_work[0].mean == pytest.approx((1.0, 1.0, 0.0), abs=1e-6)


@pytest.mark.parametrize(
    "changes",
    [
        {"value_c": 100.0},
        {"value_c": 61.0},
        {"value_c": -25.0},
        {"kind": ReadingKind.METERED_KWH, "value_c": None, "energy_kwh": 0.0},
        {"kind": ReadingKind.METERED_KWH, "value_c": None, "energy_kwh": 1000.0},
        {"kind": ReadingKind.DOUGH_MID_C, "value_c": 100.0, "after_step": 0},
        {"kind": ReadingKind.DOUGH_MID_C, "value_c": -25.0, "after_step": 49},
        {"kind": ReadingKind.FLOUR_C, "value_c": 100.0},
        {"kind": ReadingKind.ROOM_C, "value_c": -25.0},
        {"kind": ReadingKind.WATER_C, "value_c": -25.0},
        {"kind": ReadingKind.WATER_C, "value_c": 100.0},
        {"kind": ReadingKind.BOWL_C, "value_c": 100.0},
        {"kind": ReadingKind.PART_C, "value_c": 100.0, "part_id": "nobody"},
    ],
)
def test_an_absurd_reading_never_stops_a_replan(plan, changes):
    end = came_off(plan, 0.0)
    absurd = replace(end, id="absurd", at_utc=end.at_utc - timedelta(minutes=20), **changes)
    events = [absurd] if absurd.kind is ReadingKind.DOUGH_END_C else [end, absurd]
    after = replan(plan, begun(plan), events, limits=Limits(list_only=True))
    assert len(after.mixes) == len(plan.mixes)
    factors = after.corrections.work_factors(after.day.bakery.mixers[0], "wheat")
    assert all(0.5 < factor < 2.0 for factor, _ in factors.values())

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
    make_plan,
    replan,
    verify,
)
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

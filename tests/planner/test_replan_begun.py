"""What has begun is not moved: mixes, divides, loads, builds; what breaks is not forgotten."""

from dataclasses import replace
from datetime import timedelta
from functools import cache

import pytest

from planner import (
    Breakdown,
    Limits,
    NewConditions,
    Reading,
    ReadingKind,
    RunsAgain,
    make_plan,
    replan,
    verify,
)
from planner.bakery import Oven, OvenKind
from planner.day import Order
from planner.mixers import MixerKind, mixer
from planner.pins import Pin, merged_pins
from tests.planner.builders import at, bakery, lean_dough, loaf, night_of
from tests.planner.conftest import small_day

QUICK = Limits(list_only=True)
MINUTE = timedelta(minutes=1)


def two_mixers():
    return bakery(
        mixers=(
            mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0),
            mixer("twin", "twin arm", MixerKind.TWIN_ARM, "room", 60.0, min_dough_kg=5.0),
        ),
        ovens=(
            Oven("deck", "deck oven", OvenKind.DECK, places=3),
            Oven("stone", "stone oven", OvenKind.DECK, places=3),
        ),
    )


@cache
def night():
    """Three doughs, two mixers, two ovens that both can bake all."""
    both = ("deck", "stone")
    day = replace(
        small_day(),
        bakery=two_mixers(),
        products=(
            loaf(oven_ids=both),
            loaf(id="round", name="round loaf", formula_id="country", oven_ids=both),
        ),
    )
    return make_plan(day, night_of(26.0), limits=QUICK)


def first_of(plan):
    return min(plan.mixes, key=lambda m: m.start_utc)


def judged(plan):
    return [r for r in plan.remarks if r.code.startswith("judge_")]


def test_a_begun_mix_keeps_its_mixer_even_when_that_mixer_breaks():
    plan = night()
    mix = first_of(plan)
    now = mix.start_utc + 3 * MINUTE
    after = replan(plan, now, [Breakdown(mix.mixer_id, now)], limits=QUICK)
    assert after.mix(mix.id).mixer_id == mix.mixer_id
    assert after.mix(mix.id).start_utc == mix.start_utc
    assert judged(after) == []


def test_a_divide_in_the_past_stays():
    plan = night()
    mix = first_of(plan)
    after = replan(plan, mix.divide_utc + 6 * MINUTE, [], limits=QUICK)
    again = after.mix(mix.id)
    assert (again.divide_utc, again.divide_end_utc) == (mix.divide_utc, mix.divide_end_utc)
    assert judged(after) == []


def test_a_load_in_the_oven_stays_there_when_its_oven_breaks():
    plan = night()
    load = min((one for m in plan.mixes for one in m.loads), key=lambda one: one.load_utc)
    now = load.load_utc + 5 * MINUTE
    after = replan(plan, now, [Breakdown(load.oven_id, now)], limits=QUICK)
    again = next(one for m in after.mixes for one in m.loads if one.id == load.id)
    assert (again.load_utc, again.oven_id, again.out_utc) == (
        load.load_utc,
        load.oven_id,
        load.out_utc,
    )
    later = [one for m in after.mixes for one in m.loads if one.load_utc > now]
    assert later
    assert all(one.oven_id != load.oven_id for one in later)


def test_loads_of_a_begun_mix_leave_a_broken_oven():
    plan = night()
    mix = first_of(plan)
    now = mix.mix_end_utc + 3 * MINUTE
    broken = mix.loads[0].oven_id
    after = replan(plan, now, [Breakdown(broken, now)], limits=QUICK)
    assert all(one.oven_id != broken for one in after.mix(mix.id).loads)


def test_a_breakdown_is_remembered_until_it_runs_again():
    plan = night()
    now = first_of(plan).start_utc - 30 * MINUTE
    first = replan(plan, now, [Breakdown("spiral", now)], limits=QUICK)
    second = replan(first, now + 5 * MINUTE, [], limits=QUICK)
    assert all(m.mixer_id == "twin" for m in second.mixes)
    later = now + 10 * MINUTE
    third = replan(second, later, [RunsAgain("spiral")], limits=QUICK)
    assert third.outages == ()
    assert all(m.mixer_id == "twin" for m in third.mixes)  # nothing is moved back for nothing
    swapped = [RunsAgain("spiral"), Breakdown("twin", later)]
    fourth = replan(second, later, swapped, limits=QUICK)
    assert all(m.mixer_id == "spiral" for m in fourth.mixes)


def test_a_build_that_is_set_feeds_only_what_it_was_made_for():
    plan = night()
    build = next(p for p in plan.preparations if p.part_id == "levain")
    after = replan(plan, build.start_utc + 10 * MINUTE, [], limits=QUICK)
    assert len({p.id for p in after.preparations}) == len(after.preparations)
    assert next(p for p in after.preparations if p.id == build.id).start_utc == build.start_utc
    assert [f for f in verify(after) if f.rule == "enough_is_made"] == []


def test_a_very_hot_dough_can_be_replanned():
    """34.4 °C lies outside what a baker may pin; it came off so all the same."""
    plan = night()
    mix = first_of(plan)
    hot = Reading("h", ReadingKind.DOUGH_END_C, mix.id, mix.mix_end_utc, 34.4)
    after = replan(plan, mix.mix_end_utc + 2 * MINUTE, [hot], limits=QUICK)
    assert after.mix(mix.id).divide_by_utc < mix.divide_by_utc


def test_windows_follow_the_time_it_came_off():
    plan = night()
    mix = first_of(plan)
    late = Reading("t", ReadingKind.MIX_END, mix.id, mix.mix_end_utc + 12 * MINUTE)
    after = replan(plan, mix.mix_end_utc + 13 * MINUTE, [late], limits=QUICK).mix(mix.id)
    assert after.mix_end_utc == mix.mix_end_utc + 12 * MINUTE
    assert timedelta() < after.divide_from_utc - mix.divide_from_utc <= 13 * MINUTE


def test_new_conditions_do_not_put_a_begun_mix_in_the_wrong():
    """Ten degrees more in the room after it was mixed: its ticket was right when it was used."""
    plan = night()
    mix = first_of(plan)
    hotter = NewConditions(night_of(36.0))
    after = replan(plan, mix.mix_end_utc + 2 * MINUTE, [hotter], limits=QUICK)
    assert after.mix(mix.id).ticket == mix.ticket
    assert [r for r in judged(after) if r.subject.startswith(mix.id)] == []


def test_a_late_start_is_late_and_not_left_out():
    """Not before an hour from which the bread can no longer leave in time."""
    day = replace(
        small_day(),
        formulas=(lean_dough(),),
        products=(loaf(),),
        lines=(Order("white", "loaf", 40, at(9)),),
    )
    pin = Pin("white", not_before_utc=at(8))
    plan = make_plan(day, night_of(25.0), pins=[pin], limits=QUICK)
    assert plan.unplaced == ()
    assert plan.mixes[0].start_utc >= at(8)
    assert "late" in [r.code for r in plan.remarks]


def test_two_pins_of_one_mix_are_one_and_the_later_counts():
    first, second = Pin("a", mixer_id="one", dough_c=24.0), Pin("a", mixer_id="two", first=True)
    assert merged_pins([first, second, Pin("b")]) == (
        Pin("a", mixer_id="two", dough_c=24.0, first=True),
        Pin("b"),
    )


@pytest.mark.parametrize("second", [True, False])
def test_both_pins_of_a_mix_are_obeyed(second):
    day = replace(small_day(), bakery=two_mixers())
    pins = [Pin("white", mixer_id="twin"), Pin("white", dough_c=24.5)]
    plan = make_plan(day, night_of(24.0), pins=pins if second else pins[::-1], limits=QUICK)
    mix = plan.mix("white")
    assert mix.mixer_id == "twin"
    assert mix.steered.dough_c == 24.5


def test_through_a_whole_night_nothing_begun_is_moved():
    """Every forty minutes a replan, with doughs a degree off; the judges find nothing."""
    plan, now = night(), first_of(night()).start_utc
    end = max(one.out_utc for m in plan.mixes for one in m.loads)
    while now < end:
        off = [
            Reading(f"e{m.id}{now:%H%M}", ReadingKind.DOUGH_END_C, m.id, m.mix_end_utc,
                    m.ticket.expected_c + 1.0)
            for m in plan.mixes
            if now - 40 * MINUTE < m.mix_end_utc <= now
        ]  # fmt: skip
        after = replan(plan, now, off, limits=QUICK)
        assert judged(after) == []
        assert {m.id for m in after.mixes} == {m.id for m in plan.mixes}
        for mix in plan.mixes:
            again = after.mix(mix.id)
            if mix.start_utc <= now:
                assert (again.start_utc, again.ticket) == (mix.start_utc, mix.ticket)
            for load, placed in zip(mix.loads, again.loads, strict=True):
                if load.load_utc <= now:
                    assert placed.load_utc == load.load_utc
        plan, now = after, now + 40 * MINUTE

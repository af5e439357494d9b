"""Bakers' questions on sequence: the full oven, two days ahead, one big sour, a room that climbs.

Practitioner cases S01, S09, S10 and S12; hand workings stand above each test.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import pairwise

import pytest

from planner import Limits, OrderDropped, Pin, make_plan, replan, verify
from planner.bakery import Oven, OvenKind, Person
from planner.conditions import Conditions, HourlyForecast
from planner.day import Order, Shift
from planner.estimate import Estimate
from planner.formula import Preferment
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, mixer
from planner.ripening import Curve, HoursAt, Ripening
from planner.water_sources import IceKind, IceSupply
from tests.planner.builders import START, at, bakery, day, lean_dough, loaf, night_of, steady_room
from tests.planner.conftest import levain_dough

QUICK = Limits(list_only=True)
SEARCHED = Limits(solve_s=30.0, deterministic_s=0.4, workers=1)
MINUTE = timedelta(minutes=1)


def judged(plan):
    return [r for r in plan.remarks if r.code.startswith("judge_")]


# ---- S01: dough ready before the oven -----------------------------------------------------------


def two_that_meet(leave=12.0, leave_other=None):
    """Two mixers, two people, one oven that a load of sixty loaves fills: it alone is short."""
    house = bakery(
        mixers=tuple(
            mixer(one, one, MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0)
            for one in ("spiral", "twin")
        ),
        people=(Person("ada", "Ada"), Person("bo", "Bo")),
        ovens=(Oven("deck", "deck oven", OvenKind.DECK, places=3, recovery_min=5),),
    )
    lines = (
        Order("one", "loaf", 60, at(leave)),
        Order("two", "loaf", 60, at(leave if leave_other is None else leave_other)),
    )
    shifts = (Shift("ada", at(1), at(15)), Shift("bo", at(1), at(15)))
    return day(bakery=house, lines=lines, shifts=shifts)


@cache
def meeting(width=None):
    """Both planned; with a width, doughs that are ripe for so small a share of their time only."""
    one = two_that_meet()
    if width is not None:
        low, high = 1 - width, 1 + width
        bulk, proof = one.formulas[0].bulk, one.products[0].routes[0]
        one = replace(
            one,
            formulas=(
                replace(
                    one.formulas[0],
                    band_k=0.0,
                    bulk=replace(bulk, from_progress=low, by_progress=high),
                ),
            ),
            products=(
                replace(
                    one.products[0],
                    routes=(replace(proof, from_progress=low, by_progress=high),),
                ),
            ),
        )
    return make_plan(one, night_of(24.0), limits=SEARCHED)


def test_s01_no_load_waits_longer_than_its_proof_bears():
    plan = meeting()
    loads = [ld for m in plan.mixes for ld in m.loads]
    assert len(loads) == 2
    assert all(ld.load_from_utc <= ld.load_utc <= ld.load_by_utc for ld in loads)
    first, second = sorted(loads, key=lambda ld: ld.load_utc)
    assert second.load_utc >= first.out_utc + 5 * MINUTE
    assert judged(plan) == []
    assert not [r for r in plan.remarks if r.code in ("late", "load_window")]


def test_s01_the_plan_tells_which_mix_is_moved_and_why():
    """Doughs that are ripe for 4 % of their time only: their start is their hour in the oven.

    The second load leaves just in time; the first is in the oven 45 min before it (40 of baking,
    5 of recovery) and could leave as late by its own order. Ten minutes later the other is in its
    way, and after it it leaves 45 min late.
    """
    plan = meeting(0.04)
    sooner, later = sorted(plan.mixes, key=lambda m: m.loads[0].load_utc)
    tries = {(m.id, a.what.value, a.by > 0): a for m in plan.mixes for a in m.alternatives}
    first, second = tries[sooner.id, "start", True], tries[later.id, "start", True]
    assert (first.late_min, first.because) == (45, "ovens")
    assert 0 < second.late_min <= 15
    told = next(r for r in sooner.reasons if r.code == "why_not_later")
    assert told.text == "{by} later it would leave {more} late: {cause}."
    assert told.figures[2].value == "the oven has no room for it when it is ripe"
    told = next(r for r in later.reasons if r.code == "why_not_later")
    assert told.text == "{by} later it would leave {more} late."


def test_s01_a_day_that_cannot_be_names_the_fewest_loads_that_break_it():
    """Ripe at 3.9 h or so, both out by 5.15 h: 75 min for 85. Leaving out one will do."""
    plan = make_plan(two_that_meet(5.9), night_of(24.0), limits=QUICK)
    cause = next(r for r in plan.remarks if r.code.startswith("cannot_"))
    assert cause.code == "cannot_ovens"
    out = next(r for r in plan.remarks if r.code == "way_leave_out")
    assert {f.name for f in out.figures} == {"mixes"}
    assert "," not in str(out.figures[0].value)  # one mix, not both
    late = {r.subject for r in plan.remarks if r.code == "late"}
    assert len(late) == 1


# ---- S09: two days ahead ------------------------------------------------------------------------

SATURDAY = datetime(2026, 7, 11, 6, 0, tzinfo=UTC)
"""A span from Saturday morning, over a closed Sunday, to Monday's bread."""


def stiff_preferment():
    """A stiff preferment of 24 h at 18 °C in a dough for Monday."""
    biga = Preferment(
        "biga",
        "biga",
        (Line(Material.WHEAT_FLOUR, 30), Line(Material.WATER, 15), Line(Material.FRESH_YEAST, 0.1)),
        Ripening(HoursAt(38, 20), Curve.YEAST, "room", from_progress=0.8, by_progress=1.3),
        20.0,
    )
    return lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 70),
            Line(Material.WATER, 50),
            Line(Material.SALT, 2),
            Line(Material.FRESH_YEAST, 1.0),
        ),
        parts=(biga,),
    )


@cache
def monday():
    hours = 60
    leave = SATURDAY + timedelta(hours=52)
    one = day(
        formulas=(stiff_preferment(),),
        lines=(Order("first", "loaf", 40, leave), Order("second", "loaf", 20, leave)),
        shifts=(
            Shift("ada", SATURDAY, SATURDAY + timedelta(hours=14)),
            Shift("ada", SATURDAY + timedelta(hours=40), SATURDAY + timedelta(hours=54)),
        ),
        start_utc=SATURDAY,
        end_utc=SATURDAY + timedelta(hours=56),
    )
    room = HourlyForecast(SATURDAY, (20.0,) * hours, (1.0,) * hours, (0.5,) * hours)
    return make_plan(one, Conditions({"room": room}), limits=QUICK)


def test_s09_what_must_be_set_two_days_before_stands_on_that_day_with_its_hour():
    plan = monday()
    assert plan.unplaced == ()
    build = plan.preparations[0]
    assert build.start_utc.date() == SATURDAY.date()
    assert {m.start_utc.date() for m in plan.mixes} <= {
        (SATURDAY + timedelta(days=d)).date() for d in (1, 2)
    }
    assert min(m.start_utc for m in plan.mixes) - build.start_utc > timedelta(hours=24)
    assert next(t for t in plan.tasks if t.kind == "prepare").start_utc == build.start_utc
    assert verify(plan) == ()


def test_s09_nobody_works_on_the_closed_day():
    """From Saturday 20:00 to Sunday 22:00 UTC the house is shut."""
    shut = (SATURDAY + timedelta(hours=14), SATURDAY + timedelta(hours=40))
    for task in monday().tasks:
        assert task.end_utc <= shut[0] or task.start_utc >= shut[1]


def test_s09_an_order_that_is_dropped_makes_tonights_build_smaller():
    """Forty and twenty loaves share a build: without the twenty it is two thirds, and is told."""
    plan = monday()
    before = plan.preparations[0]
    now = before.start_utc - 30 * MINUTE
    after = replan(plan, now, [OrderDropped("second")], limits=QUICK)
    build = after.preparations[0]
    assert build.made_kg == pytest.approx(before.made_kg * 40 / 60, rel=1e-6)
    told = next(r for r in after.change.remarks if r.code == "set_other")
    assert {f.name: f.value for f in told.figures if f.name != "name"} == pytest.approx(
        {"made": build.made_kg, "old": before.made_kg}
    )


# ---- S10: one big sour --------------------------------------------------------------------------


def one_sour():
    """One levain for a dough before dawn and one in the afternoon; a split shift."""
    return day(
        formulas=(levain_dough(),),
        products=(loaf(id="round", name="round loaf", formula_id="country"),),
        lines=(Order("early", "round", 30, at(11)), Order("late", "round", 45, at(12.5))),
        shifts=(Shift("ada", at(0), at(3)), Shift("ada", at(4), at(15))),
    )


def test_s10_the_sour_is_what_the_doughs_take_and_the_seed():
    """75 loaves of 0.8 kg and 1 % for the bench: 60.6 kg of dough of 172 % are 35.23 kg of flour.

    40 % of it is levain, 14.09 kg. Of the ripe sour the seed of the next is kept back: 20 % of the
    sour's flour, by the formula, in every build.
    """
    plan = make_plan(one_sour(), night_of(24.0), limits=QUICK)
    builds = [p for p in plan.preparations if p.part_id == "levain"]
    flour_kg = 75 * 0.8 * 1.01 / 1.72
    taken_kg = sum(p.made_kg - p.kept_back_kg for p in builds)
    assert taken_kg == pytest.approx(0.40 * flour_kg, rel=1e-3)
    assert all(p.kept_back_kg > 0 for p in builds)
    assert verify(plan) == ()


def test_s10_draws_at_different_hours_see_different_dough():
    """Both from one build: the later draw has stood longer in the room and is nearer to it."""
    room_c = 21.0
    plan = make_plan(one_sour(), night_of(room_c), limits=QUICK)
    shared = [p for p in plan.preparations if len(p.mix_ids) == 2]
    assert shared
    for build in shared:
        by_hour = sorted(zip(build.mix_ids, build.use_c, strict=True),
                         key=lambda pair: plan.mix(pair[0]).start_utc)  # fmt: skip
        starts = [plan.mix(m).start_utc for m, _ in by_hour]
        if starts[0] < starts[1]:
            (_, sooner_c), (_, later_c) = by_hour
            assert abs(later_c - sooner_c) > 0
        assert all(build.ready_from_utc <= s <= build.ready_by_utc for s in starts)


def test_s10_a_split_shift_leaves_its_gap_free():
    plan = make_plan(one_sour(), night_of(24.0), limits=QUICK)
    assert plan.tasks
    for task in plan.tasks:
        assert task.end_utc <= at(3) or task.start_utc >= at(4)


# ---- S12: the room climbs as the ovens run ------------------------------------------------------


@cache
def climbing():
    """Ten equal mixes an hour apart over 24 to 32 °C."""
    hours = 40
    ramp = tuple(24.0 + 8.0 * min(1.0, max(0.0, (h - 4) / 9)) for h in range(hours))
    room = HourlyForecast(START, ramp, (1.0,) * hours, (0.5,) * hours)
    lines = tuple(Order(f"o{i}", "loaf", 20, at(19)) for i in range(10))
    people = tuple(Person(p, p) for p in ("ada", "bo", "cy"))
    flakes = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 5.0, 100.0)
    one = day(
        bakery=bakery(people=people, ice=flakes),
        lines=lines,
        shifts=tuple(Shift(p.id, at(2), at(20)) for p in people),
        end_utc=at(24),
    )
    pins = [Pin(f"o{i}", start_utc=at(4 + i), dough_c=26.0) for i in range(10)]
    conditions = Conditions({"room": room}, ice_stored_kg=100.0)
    return make_plan(one, conditions, pins=pins, limits=QUICK)


def test_s12_each_mix_sees_the_room_of_its_own_start_and_the_water_falls():
    plan = climbing()
    assert len(plan.mixes) == 10
    by_start = sorted(plan.mixes, key=lambda m: m.start_utc)
    water = [m.ticket.equivalent_c for m in by_start]
    assert all(later < sooner for sooner, later in pairwise(water))
    # Flour follows the room: some 8 °C of it over 8 °C of room are several degrees of water.
    assert water[0] - water[-1] > 4.0


def test_s12_every_dough_comes_off_within_half_a_degree():
    assert all(abs(m.ticket.expected_c - 26.0) <= 0.5 for m in climbing().mixes)


def test_the_steady_room_has_no_fall():
    """In a steady room equal mixes an hour apart want the same water, once the bowl is warm."""
    lines = tuple(Order(f"o{i}", "loaf", 20, at(15)) for i in range(4))
    one = day(lines=lines, shifts=(Shift("ada", at(2), at(18)),))
    pins = [Pin(f"o{i}", start_utc=at(5 + 1.5 * i), dough_c=26.0) for i in range(4)]
    plan = make_plan(one, replace(night_of(24.0), rooms={"room": steady_room(24.0)}), pins=pins,
                     limits=QUICK)  # fmt: skip
    water = [m.ticket.equivalent_c for m in sorted(plan.mixes, key=lambda m: m.start_utc)]
    assert max(water[1:]) - min(water[1:]) < 0.3

"""The door: what goes in wrong is refused, what is pinned is kept, progress is told."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner import InputError, Limits, Pin, make_plan
from planner.conditions import Inherited, Standing
from planner.day import MixRequest, Order
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.planned import PlanStatus
from planner.remarks import RemarkKind
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of

LISTED = Limits(list_only=True)
QUICK = Limits(solve_s=20.0, deterministic_s=0.5, workers=1)


def warm_tap_day():
    """The usual day in a house that also has hot water."""
    taps = (*bakery().supplies, WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(55.0)))
    return day(bakery=bakery(supplies=taps))


def test_the_list_pass_alone_gives_a_plan():
    plan = make_plan(day(), night_of(), limits=LISTED)
    assert plan.status is PlanStatus.LISTED
    assert len(plan.mixes) == 1
    assert plan.unplaced == ()


def test_a_caller_that_says_no_gets_the_first_plan():
    told = []

    def stop(progress):
        told.append(progress.stage)
        return progress.stage != "first plan"

    plan = make_plan(day(), night_of(), on_progress=stop)
    assert told[-1] == "first plan"
    assert plan.status is PlanStatus.LISTED


def test_the_same_input_gives_the_same_plan():
    plans = [make_plan(day(), night_of(28.0), limits=QUICK) for _ in range(2)]
    assert plans[0].mixes == plans[1].mixes
    assert plans[0].tasks == plans[1].tasks


def test_a_pinned_start_and_dough_are_kept():
    house = warm_tap_day()
    free = make_plan(house, night_of(), limits=LISTED).mixes[0]
    start = free.start_utc - timedelta(minutes=30)
    pin = Pin("o1", start_utc=start, dough_c=25.5)
    mix = make_plan(house, night_of(), pins=[pin], limits=QUICK).mixes[0]
    assert mix.start_utc == start
    assert mix.ticket.wanted_c == 25.5


def test_a_pin_outside_the_band_is_kept_and_named():
    plan = make_plan(warm_tap_day(), night_of(), pins=[Pin("o1", dough_c=27.0)], limits=LISTED)
    assert plan.mixes[0].ticket.wanted_c == 27.0
    assert "pinned_outside_band" in [r.code for r in plan.remarks]


def test_a_pin_out_of_reach_is_planned_as_it_will_come_and_named():
    """Tap at 15 °C cannot bring this dough to 20 °C, and there is neither chiller nor ice."""
    plan = make_plan(day(), night_of(), pins=[Pin("o1", dough_c=20.0)], limits=LISTED)
    ticket = plan.mixes[0].ticket
    assert ticket.wanted_c == ticket.expected_c > 22
    assert "pin" in [r.code for r in plan.remarks if r.kind is RemarkKind.UNMET]


def test_a_pin_of_nothing_names_what_there_is():
    with pytest.raises(InputError, match=r"pins\[0\].mix: no such mix .* use one of: o1"):
        make_plan(day(), night_of(), pins=[Pin("o9")])
    with pytest.raises(InputError, match=r"pins\[0\].mixer: no such mixer"):
        make_plan(day(), night_of(), pins=[Pin("o1", mixer_id="fork")])


def test_a_room_without_a_forecast_is_named():
    conditions = replace(night_of(), rooms={})
    with pytest.raises(InputError, match=r"conditions.rooms.room: this room has no forecast"):
        make_plan(day(), conditions)


def standing(product_id: str = "loaf", pieces: int = 20):
    """Shaped loaves that already proof when the span begins to be worked."""
    one = Inherited("i1", product_id, pieces, Standing.PROOF, "room", at(2), 25.0, at(12))
    return replace(night_of(), inherited=(one,))


def test_what_already_stands_is_loaded():
    plan = make_plan(day(), standing(), limits=LISTED)
    assert [load.id for load in plan.inherited_loads] == ["i1"]


def test_what_already_stands_must_be_a_product_of_the_day():
    with pytest.raises(InputError, match=r"conditions.inherited.i1.product: no such product"):
        make_plan(day(), standing("bun"))


def test_more_than_any_oven_takes_is_not_loaded_silently():
    """2000 loaves do not go onto three decks of 20."""
    plan = make_plan(day(), standing(pieces=2000), limits=LISTED)
    assert plan.inherited_loads == ()
    assert "i1" in [r.subject for r in plan.remarks if r.kind is RemarkKind.UNMET]


def test_a_day_that_cannot_be_met_is_a_plan_that_says_so():
    """Bread that leaves an hour after the only shift begins is late, and is named."""
    early = day(lines=(Order("o1", "loaf", 40, at(3)),))
    plan = make_plan(early, night_of(), limits=QUICK)
    unmet = [r for r in plan.remarks if r.kind is RemarkKind.UNMET]
    assert unmet
    assert not [r for r in unmet if r.code.startswith("judge")]


def test_a_batch_larger_than_every_mixer_becomes_several():
    plan = make_plan(day(lines=(MixRequest("m1", "white", 150.0),)), night_of(), limits=LISTED)
    assert [m.batches for m in plan.mixes] == [3, 3, 3]


def test_a_brioche_without_water_names_its_levers():
    """Nothing to steer with in a 32 °C room: the plan says so and what would help."""
    brioche = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.EGG, 50),
            Line(Material.BUTTER, 40),
            Line(Material.SUGAR, 12),
            Line(Material.FRESH_YEAST, 4),
        ),
        steps=(MixStep(Speed.FIRST, 6), MixStep(Speed.SECOND, 12)),
        dough_c=22.0,
    )
    plan = make_plan(day(formulas=(brioche,)), night_of(32.0), limits=LISTED)
    mix = plan.mixes[0]
    assert mix.ticket.water_c is None
    assert mix.ticket.water == ()
    codes = [r.code for r in mix.remarks]
    assert "dough_missed" in codes
    assert "ingredient_temperature" in codes


def test_cubes_are_melted_first_in_a_short_mix():
    cubes = IceSupply(IceKind.CUBE, Estimate(-18.0), Estimate(1.0), 0.0, 10.0)
    hot = replace(night_of(31.0), ice_stored_kg=8.0)
    plan = make_plan(day(bakery=bakery(ice=cubes)), hot, limits=LISTED)
    mix = plan.mixes[0]
    assert mix.ticket.ice_kg > 0
    assert "melt_first" in [r.code for r in mix.remarks]


def test_colder_bread_is_never_promised_than_there_is_ice():
    """No ice and no chiller in a hot room: the dough comes off warm and is named."""
    plan = make_plan(day(), night_of(35.0), limits=LISTED)
    mix = plan.mixes[0]
    assert mix.ticket.ice_kg == 0
    assert mix.ticket.expected_c > 26
    assert "dough_missed" in [r.code for r in mix.remarks]


def test_loaves_are_not_sold_twice():
    plan = make_plan(day(products=(loaf(),)), night_of(), limits=LISTED)
    assert sum(load.pieces for mix in plan.mixes for load in mix.loads) == 40

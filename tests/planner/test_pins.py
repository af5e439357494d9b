"""What the baker fixes is obeyed, or named; and what it costs is told."""

from dataclasses import replace

import pytest

from planner import InputError, Limits, Pin, make_plan, price_pins, price_remarks
from planner.bakery import Oven, OvenKind
from tests.planner.builders import at, bakery, day, loaf, night_of
from tests.planner.conftest import small_day
from tests.planner.test_replan_begun import two_mixers

QUICK = Limits(list_only=True)
COOL = replace(night_of(24.0), ice_stored_kg=9)


def two_ovens():
    both = ("deck", "stone")
    return replace(
        small_day(),
        bakery=two_mixers(),
        products=(
            loaf(oven_ids=both),
            loaf(id="round", name="round loaf", formula_id="country", oven_ids=both),
        ),
    )


@pytest.mark.parametrize(("sooner", "later"), [("white", "more"), ("more", "white")])
def test_this_mix_before_that_one(sooner, later):
    plan = make_plan(two_ovens(), night_of(24.0), pins=[Pin(sooner, before_ids=(later,))],
                     limits=QUICK)  # fmt: skip
    assert plan.mix(sooner).mix_end_utc <= plan.mix(later).start_utc
    assert not [r for r in plan.remarks if r.code in ("pin", "judge_pins_kept")]


@pytest.mark.parametrize("oven_id", ["deck", "stone"])
def test_a_mix_is_baked_in_the_oven_that_is_fixed(oven_id):
    pins = [Pin("white", oven_id=oven_id), Pin("country", oven_id=oven_id)]
    plan = make_plan(two_ovens(), night_of(24.0), pins=pins, limits=QUICK)
    ovens = {ld.oven_id for m in plan.mixes if m.id != "more" for ld in m.loads}
    assert ovens == {oven_id}


@pytest.mark.parametrize(
    ("pin", "words"),
    [
        (Pin("white", before_ids=("nobody",)), r"pins\[0\].before.*no such mix"),
        (Pin("white", oven_id="nowhere"), r"pins\[0\].oven.*no such oven for white"),
        (Pin("nobody"), "no such mix"),
        (Pin("white", mixer_id="nothing"), "no such mixer"),
    ],
)
def test_a_pin_of_what_is_not_there_is_refused_by_name(pin, words):
    with pytest.raises(InputError, match=words):
        make_plan(two_ovens(), night_of(24.0), pins=[pin], limits=QUICK)


def test_an_oven_too_small_for_a_load_is_refused():
    """Forty loaves, twenty a deck: two decks, and the stone oven has one."""
    ovens = (
        Oven("deck", "deck oven", OvenKind.DECK, places=3),
        Oven("stone", "stone oven", OvenKind.DECK, places=1),
    )
    one = day(bakery=bakery(ovens=ovens), products=(loaf(oven_ids=("deck", "stone")),))
    with pytest.raises(InputError, match="holds 1 of the 2 decks"):
        make_plan(one, night_of(24.0), pins=[Pin("o1", oven_id="stone")], limits=QUICK)


def test_a_mix_before_itself_is_refused():
    with pytest.raises(InputError, match="is the mix itself"):
        Pin("white", before_ids=("white",))


def test_a_pin_that_changes_nothing_costs_nothing():
    """Fixed to the only mixer there is."""
    (price,) = price_pins(small_day(), COOL, pins=[Pin("white", mixer_id="spiral")], limits=QUICK)
    assert price.is_free
    assert (price.late_min, price.window_min, price.ice_kg, price.left_out) == (0, 0, 0, 0)


def test_a_start_two_hours_too_late_costs_as_many_minutes_as_the_bread_is_late():
    """The free plan is in time; fixed, the bread leaves when it is ready: that is the price."""
    free = make_plan(day(), night_of(24.0), limits=QUICK)
    assert not [r for r in free.remarks if r.code == "late"]
    pin = Pin("o1", start_utc=at(11))
    fixed = make_plan(day(), night_of(24.0), pins=[pin], limits=QUICK)
    late = sum(
        max(0.0, (ld.ready_utc - m.leave_by_utc).total_seconds() / 60)
        for m in fixed.mixes
        for ld in m.loads
    )
    assert late > 0
    (price,) = price_pins(day(), night_of(24.0), pins=[pin], limits=QUICK)
    assert price.late_min == late
    assert price.pin == pin
    (told,) = price_remarks(day(), [price])
    assert told.text.endswith("bread leaves {late} later in all.")
    # It is told by itself, since the plan misses something.
    assert [r.subject for r in fixed.remarks if r.code == "pin_price"] == ["o1"]


def test_each_thing_fixed_has_its_own_price_and_the_dearest_comes_first():
    pin = Pin("o1", start_utc=at(11), mixer_id="spiral")
    late, mixer = price_pins(day(), night_of(24.0), pins=[pin], limits=QUICK)
    assert (late.pin.start_utc, late.pin.mixer_id) == (at(11), None)
    assert (mixer.pin.start_utc, mixer.pin.mixer_id) == (None, "spiral")
    assert late.points > mixer.points == 0


def test_a_cold_dough_costs_ice():
    """22 °C in a room of 29 °C: colder water by some 3 °C of dough than at 25, which is ice."""
    hot = replace(night_of(29.0), ice_stored_kg=10.0)
    prices = price_pins(small_day(), hot, pins=[Pin("white", dough_c=22.0)], limits=QUICK)
    assert prices[0].ice_kg > 0.5
    assert prices[0].late_min == 0


def test_nothing_is_priced_when_nothing_is_missed():
    plan = make_plan(small_day(), COOL, pins=[Pin("white", dough_c=24.5)], limits=QUICK)
    assert [r for r in plan.remarks if r.code == "pin_price"] == []

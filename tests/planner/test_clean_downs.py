"""Allergens and colours on a mixer: bakers' questions, with what must be answered."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from planner import InputError, Limits, make_plan, verify
from planner.bakery import Room
from planner.clean_downs import (
    clean_min_between,
    cleaning_remarks,
    cleanings,
    least_cleaning,
    rechecks,
)
from planner.conditions import Conditions
from planner.day import MixRequest, Order, ReadyWindow
from planner.formula import MixStep
from planner.lines import Line
from planner.materials import Material
from planner.mixers import ColourClean, MixerKind, Speed, mixer
from planner.pins import Pin
from planner.remarks import RemarkKind
from planner.replan import Breakdown, replan
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of, steady_room

LISTED = Limits(list_only=True)
BASE = (
    Line(Material.WHEAT_FLOUR, 100),
    Line(Material.WATER, 60),
    Line(Material.SALT, 2),
    Line(Material.FRESH_YEAST, 1.5),
)
PLAIN = lean_dough(id="plain", name="plain", lines=BASE)
MILK = lean_dough(id="milk", name="milk", lines=(*BASE, Line(Material.MILK, 10)))
NUTS = lean_dough(
    id="nuts", name="nuts", lines=(*BASE, Line(Material.MILK, 10), Line(Material.NUTS, 20))
)
SESAME = lean_dough(id="sesame", name="sesame", lines=(*BASE, Line(Material.SESAME, 10)))
FOUR = (NUTS, PLAIN, SESAME, MILK)


def machine(one_id: str = "spiral", **changes):
    values = {"min_dough_kg": 2.0, "clean_down_min": 20} | changes
    return mixer(one_id, one_id, MixerKind.SPIRAL, "room", 60.0, **values)


def four_doughs(*mixers, formulas=FOUR, **changes):
    values = {
        "bakery": bakery(mixers=mixers or (machine(),)),
        "formulas": formulas,
        "products": (),
        "lines": tuple(MixRequest(f.id, f.id, 15.0) for f in formulas),
    }
    return day(**(values | changes))


def order_of(plan):
    return [m.formula_id for m in sorted(plan.mixes, key=lambda m: m.start_utc)]


# Q04: plain, milk, milk + nuts, sesame on one mixer; adding is free, removing is a clean.


@pytest.mark.parametrize(
    ("before", "after", "minutes"),
    [(PLAIN, MILK, 0), (MILK, NUTS, 0), (NUTS, MILK, 20), (NUTS, SESAME, 20), (SESAME, PLAIN, 20)],
)
def test_q04_adding_an_allergen_is_free_and_taking_it_away_is_a_clean(before, after, minutes):
    assert clean_min_between(machine(), before, after) == minutes


def test_q04_four_doughs_on_one_mixer_need_one_clean_at_least():
    """Plain, milk, milk + nuts, clean, sesame: 20 min; sesame has none of the others' allergens."""
    least, order = least_cleaning(machine(), FOUR)
    assert least == 20
    ids = [dough.id for dough in order]
    assert ids.index("milk") < ids.index("nuts")


def test_q04_the_plan_takes_that_order_where_nothing_asks_for_another():
    plan = make_plan(four_doughs(), night_of(24.0), limits=LISTED)
    assert [c.minutes for c in cleanings(plan.day, plan.mixes)] == [20]
    assert order_of(plan).index("milk") < order_of(plan).index("nuts")
    (clean,) = cleanings(plan.day, plan.mixes)
    assert clean.after.start_utc - clean.before.mix_end_utc >= timedelta(minutes=20)
    assert cleaning_remarks(plan.day, plan.mixes) == []


def test_q04_on_another_mixer_sesame_needs_no_clean():
    plan = make_plan(four_doughs(machine(), machine("second")), night_of(24.0), limits=LISTED)
    assert cleanings(plan.day, plan.mixes) == ()


def ready(formula, hours: float) -> MixRequest:
    """A mix that is wanted ripe within a quarter of an hour."""
    window = ReadyWindow(at(hours), at(hours + 0.5))
    return MixRequest(formula.id, formula.id, 15.0, window=window)


def test_q04_breaking_the_order_for_ripeness_is_shown_in_minutes():
    """Nuts ripe first, then milk, then plain: two cleans, 40 min; in the other order none."""
    lines = (ready(NUTS, 6), ready(MILK, 7), ready(PLAIN, 8))
    plan = make_plan(
        four_doughs(formulas=(NUTS, MILK, PLAIN), lines=lines), night_of(24.0), limits=LISTED
    )
    assert order_of(plan) == ["nuts", "milk", "plain"]
    (said,) = [r for r in plan.remarks if r.code == "cleaning_order"]
    figures = {f.name: f.value for f in said.figures}
    assert (figures["spent"], figures["least"], figures["more"]) == (40, 0, 40)
    assert figures["order"] == "plain, milk, nuts"


def test_q04_cleaning_between_colours_may_differ_by_direction():
    cleans = (ColourClean("dark", "light", 15), ColourClean("light", "dark", 0))
    spiral = machine(colour_cleans=cleans)
    dark = replace(PLAIN, id="dark", name="dark", colour_class="dark")
    light = replace(PLAIN, id="light", name="light", colour_class="light")
    assert clean_min_between(spiral, dark, light) == 15
    assert clean_min_between(spiral, light, dark) == 0
    plan = make_plan(four_doughs(spiral, formulas=(dark, light)), night_of(24.0), limits=LISTED)
    assert order_of(plan) == ["light", "dark"]


def test_q04_a_colour_that_hides_another_may_not_carry_it_on():
    """Seeds stay under dark dough, so dark to light needs what seeds to light needs."""
    cleans = (
        ColourClean("seeds", "dark", 0),
        ColourClean("seeds", "light", 25),
        ColourClean("dark", "light", 5),
    )
    with pytest.raises(InputError, match=r"'dark' hides what is left of 'seeds'") as refused:
        machine(colour_cleans=cleans)
    assert "enter 25 min or more from 'dark' to 'light'" in str(refused.value)


def test_q04_like_mixes_follow_each_other_where_nothing_asks_for_another_order():
    """Two doughs, two mixes each, one mixer: one change of dough, not three."""
    other = replace(PLAIN, id="other", name="other")
    lines = tuple(MixRequest(f"{f.id}{n}", f.id, 15.0) for n in (1, 2) for f in (PLAIN, other))
    plan = make_plan(
        four_doughs(formulas=(PLAIN, other), lines=lines), night_of(24.0), limits=LISTED
    )
    order = order_of(plan)
    assert sum(a != b for a, b in pairwise(order)) == 1


# Q05: a nut bread moved before a plain one; butter swapped for a fat with nuts in it.


def three_doughs(*pins):
    one = four_doughs(formulas=(PLAIN, MILK, NUTS))
    return make_plan(one, night_of(24.0), limits=LISTED, pins=pins)


def test_q05_a_nut_bread_moved_before_a_plain_one_is_flagged_at_once():
    before = three_doughs()
    assert order_of(before) == ["plain", "milk", "nuts"]
    after = three_doughs(Pin("nuts", first=True))
    assert order_of(after)[0] == "nuts"
    flags = [r for r in rechecks(before, after) if r.code == "clean_recheck"]
    assert flags
    assert all(r.kind is RemarkKind.CAUTION for r in flags)
    figures = {f.name: f.value for f in flags[0].figures}
    assert (figures["before"], figures["allergens"], figures["clean"]) == ("nuts", "milk, nuts", 20)
    # The clean has its time in the new plan.
    for clean in cleanings(after.day, after.mixes):
        assert clean.after.start_utc - clean.before.mix_end_utc >= timedelta(minutes=clean.minutes)


def test_q05_a_fat_with_nuts_in_it_for_butter_is_flagged_at_once():
    fat = Line(Material.OTHER, 10, name="nut fat", allergens=frozenset({"nuts"}))
    rich = replace(PLAIN, id="rich", name="rich", lines=(*BASE, Line(Material.BUTTER, 10)))
    swapped = replace(rich, lines=(*BASE, fat))
    lines = (ready(rich, 6), ready(PLAIN, 8))
    before, after = (
        make_plan(four_doughs(formulas=(dough, PLAIN), lines=lines), night_of(24.0), limits=LISTED)
        for dough in (rich, swapped)
    )
    said = {r.code: {f.name: f.value for f in r.figures} for r in rechecks(before, after)}
    assert said["allergen_came"]["allergens"] == "nuts"
    assert said["allergen_went"]["allergens"] == "milk"
    # The plain dough after it must now be kept from nuts, no longer from milk.
    assert said["clean_recheck"]["allergens"] == "nuts"
    assert said["clean_recheck"]["after"] == "plain"


def test_q05_the_same_plan_has_nothing_to_recheck():
    plan = three_doughs()
    assert rechecks(plan, plan) == ()
    nuts_first = three_doughs(Pin("nuts", first=True))
    assert rechecks(nuts_first, nuts_first) == ()


def test_q05_a_replan_that_moves_a_dough_behind_nuts_says_so():
    """Sesame on a second mixer needs no clean; when that mixer stops, it does."""
    one = four_doughs(machine(), machine("second"), formulas=(PLAIN, MILK, NUTS, SESAME))
    plan = make_plan(one, night_of(24.0), limits=LISTED)
    assert cleanings(plan.day, plan.mixes) == ()
    start = min(m.start_utc for m in plan.mixes) - timedelta(minutes=30)
    later = replan(plan, start, [Breakdown("second", start)], limits=LISTED)
    assert {m.mixer_id for m in later.mixes} == {"spiral"}
    flags = [r for r in later.remarks if r.code == "clean_recheck"]
    assert len(flags) == len([c for c in cleanings(later.day, later.mixes) if c.lost]) >= 1


# Q07: gluten-free beside bread.

FREE_LINES = (
    Line(Material.GLUTEN_FREE_FLOUR, 100),
    Line(Material.WATER, 90),
    Line(Material.SALT, 2),
    Line(Material.FRESH_YEAST, 2),
)
FREE = lean_dough(
    id="free", name="free of gluten", lines=FREE_LINES, gluten_free=True,
    steps=(MixStep(Speed.FIRST, 5),),
)  # fmt: skip
CAKE = loaf(id="free", name="free loaf", formula_id="free")
ROOMS = (Room("room", "bakehouse"), Room("side", "side room"))


def two_rooms() -> Conditions:
    return Conditions({"room": steady_room(24.0), "side": steady_room(24.0)})


def mixed_night(*mixers, **changes):
    values = {
        "bakery": bakery(mixers=mixers or (machine(), machine("second")), rooms=ROOMS),
        "formulas": (lean_dough(), FREE),
        "products": (loaf(), CAKE),
        "lines": (Order("bread", "loaf", 20, at(14)), Order("free", "free", 10, at(14))),
    }
    return day(**(values | changes))


def test_q07_gluten_free_goes_before_any_wheat_in_its_room():
    plan = make_plan(mixed_night(), two_rooms(), limits=LISTED)
    free, bread = (plan.mix(one) for one in ("free", "bread"))
    scaling = [t for t in plan.tasks if t.subject == "bread" and t.kind == "scale"]
    assert all(t.start_utc >= free.divide_end_utc for t in scaling)
    assert bread.start_utc >= free.divide_end_utc
    assert "keep_gluten_out" in {r.code for r in free.remarks}
    assert verify(plan) == ()


def test_q07_in_a_room_and_on_a_mixer_of_its_own_wheat_need_not_wait():
    side = mixer("side", "side", MixerKind.SPIRAL, "side", 30.0, min_dough_kg=2.0)
    fast_only = lean_dough(steps=(MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 6)))
    own = replace(side, work_kj_per_kg_min={Speed.FIRST: side.work_kj_per_kg_min[Speed.FIRST]})
    one = mixed_night(
        machine(), own, formulas=(fast_only, FREE), lines=(
            Order("bread", "loaf", 20, at(9)), Order("free", "free", 10, at(14)),
        ),
    )  # fmt: skip
    plan = make_plan(one, two_rooms(), limits=LISTED)
    free, bread = (plan.mix(one_id) for one_id in ("free", "bread"))
    assert (free.mixer_id, bread.mixer_id) == ("side", "spiral")
    assert bread.start_utc < free.divide_end_utc
    assert verify(plan) == ()


def test_q07_where_wheat_must_come_first_it_is_refused_with_the_reason():
    """Bread that leaves at 8 is mixed long before what leaves at 20 can be."""
    one = mixed_night(
        lines=(Order("bread", "loaf", 20, at(7)), Order("free", "free", 10, at(19.9), priority=1))
    )
    pins = [Pin("free", not_before_utc=at(10))]
    plan = make_plan(one, two_rooms(), pins=pins, limits=LISTED)
    assert len(plan.unplaced) == 1
    (unmet,) = [r for r in plan.remarks if r.code == "no_place"]
    assert unmet.kind is RemarkKind.UNMET
    assert "wheat flour is handled in its room" in str(unmet.figures)


def test_q07_gluten_in_its_own_lines_is_refused():
    with pytest.raises(InputError, match="wheat flour has gluten in it"):
        lean_dough(gluten_free=True)


def test_q07_nothing_is_ever_called_safe():
    plan = make_plan(mixed_night(), two_rooms(), limits=LISTED)
    said = [r.text for r in (*plan.remarks, *(r for m in plan.mixes for r in m.remarks))]
    assert not [text for text in said if "safe" in text.replace("food-safety", "").split()]

"""Rows of the shift's sheet: every action once, waiting told apart."""

from dataclasses import replace

import pytest

from api.pages.timeline import timeline
from planner.bakery import Tub
from planner.planned import PlannedTask, TubsTaken
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import at


def rows_of(plan):
    return timeline(plan, reader_for(plan))


def test_each_mix_has_its_actions_once():
    """Mix 1 has one fold and one load: on, off, fold, divide, load, out; and its scaling task."""
    actions = [
        r.what for r in rows_of(sample_plan()) if r.hands_on and r.mix == "1 White tin dough"
    ]
    assert actions == [
        "scale",
        "mixer on",
        "off",
        "fold",
        "divide",
        "load",
        "out",
    ]


def test_bulk_proof_baking_and_cooling_are_what_waits():
    waits = [r for r in rows_of(sample_plan()) if not r.hands_on and r.mix == "1 White tin dough"]
    assert [(r.what, r.time, r.ends) for r in waits] == [
        ("bulk", "23:51", "Thu 16 01:15"),
        ("proof", "01:40", "02:30"),
        ("bake", "02:30", "03:05"),
        ("cool", "03:05", "03:50"),
    ]


@pytest.mark.parametrize("minutes_apart", ["1:15", "1:20", "1:45"])
def test_a_task_near_an_action_is_not_a_second_row(minutes_apart):
    """The divide is at 1:15, its task on a grid of five minutes; half an hour is other work."""
    plan = sample_plan()
    task = PlannedTask("divide and shape", "white", at(minutes_apart), at("1:55"), "tom", "bench")
    rows = [r for r in rows_of(replace(plan, tasks=(task,))) if r.mix == "1 White tin dough"]
    divides = [r.person for r in rows if r.what.startswith("divide")]
    assert divides == (["", "Tom"] if minutes_apart == "1:45" else ["Tom"])


def test_a_preparation_for_several_mixes_names_them_in_order():
    plan = sample_plan()
    levain = replace(plan.preparations[0], mix_ids=("rye", "white"))
    row = rows_of(replace(plan, preparations=(levain,)))[0]
    assert (row.what, row.mix) == ("make levain", "for mixes 1, 3")


def test_what_stands_from_yesterday_is_loaded_too():
    plan = sample_plan()
    inherited = replace(plan.mixes[0].loads[0], id="yesterday", product_id="rye_loaf")
    rows = rows_of(replace(plan, mixes=(), preparations=(), tasks=(), inherited_loads=(inherited,)))
    assert [(r.what, r.mix) for r in rows if r.hands_on] == [
        ("load", "rye tin loaf"),
        ("out", "rye tin loaf"),
    ]


def test_a_preparation_task_may_name_its_part():
    """The sample's scald task is filed under the part, as the schedule does it."""
    row = next(r for r in rows_of(sample_plan()) if r.what == "make rye scald")
    assert row.person == "Tom"


def test_a_visit_names_what_is_seen_to():
    plan = sample_plan()
    levain = plan.preparations[0]
    task = PlannedTask("see to", levain.part_id, at("1:55"), at("2:10"), "tom", levain.place_id)
    rows = [r for r in rows_of(replace(plan, tasks=(task,))) if r.what == "see to"]
    assert [(r.mix, r.time, r.person) for r in rows] == [(levain.name, "01:55", "Tom")]


def test_a_dough_comes_off_into_its_tubs():
    plan = sample_plan()
    house = replace(plan.day.bakery, tubs=(Tub("large", "large tub", 40, 6),))
    mixes = tuple(replace(mix, tubs=(TubsTaken("large", 2),)) for mix in plan.mixes)
    rows = rows_of(replace(plan, day=replace(plan.day, bakery=house), mixes=mixes))
    assert {r.amount for r in rows if r.what == "off"} == {"2 × large tub"}
    assert {r.amount for r in rows_of(plan) if r.what == "off"} == {""}


def test_a_break_is_a_row_of_its_person():
    plan = sample_plan()
    rest = PlannedTask("break", "tom", at("3:00"), at("3:20"), "tom", "")
    (row,) = [r for r in rows_of(replace(plan, tasks=(rest,))) if r.what == "break"]
    assert (row.person, row.until, row.time) == ("Tom", "until 03:20", "03:00")

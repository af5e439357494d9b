"""Rows of the shift's sheet: every action once, waiting told apart."""

from dataclasses import replace

import pytest

from api.pages.timeline import timeline
from api.pages.wording import Units, clock_of
from planner.planned import PlannedTask
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import ZONE, at


def rows_of(plan):
    return timeline(plan, clock_of(plan, ZONE), Units.METRIC)


def test_each_mix_has_its_actions_once():
    """Mix 1 has one fold and one load: on, off, fold, divide, load, out; and its scaling task."""
    actions = [
        r.what for r in rows_of(sample_plan()) if r.hands_on and r.mix == "1 White tin dough"
    ]
    assert actions == [
        "scale",
        "mixer on",
        "off the mixer",
        "fold",
        "divide and shape",
        "load the oven",
        "out of the oven",
    ]


def test_bulk_and_proof_are_what_waits():
    waits = [r for r in rows_of(sample_plan()) if not r.hands_on and r.mix == "1 White tin dough"]
    assert [(r.what, r.time, r.until) for r in waits] == [
        ("bulk", "23:51", "until 01:15"),
        ("proof", "01:40", "until 02:30"),
    ]


@pytest.mark.parametrize("minutes_apart", ["1:15", "1:17"])
def test_a_task_at_the_moment_of_an_action_is_not_a_second_row(minutes_apart):
    """At 1:15 the task is the divide itself; two minutes later it is work of its own."""
    plan = sample_plan()
    task = PlannedTask("divide and shape", "white", at(minutes_apart), at("1:40"), "tom", "bench")
    rows = [r for r in rows_of(replace(plan, tasks=(task,))) if r.mix == "1 White tin dough"]
    divides = [r.person for r in rows if r.what == "divide and shape"]
    assert divides == (["Tom"] if minutes_apart == "1:15" else ["", "Tom"])


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
        ("load the oven", "rye tin loaf"),
        ("out of the oven", "rye tin loaf"),
    ]


def test_a_preparation_task_may_name_its_part():
    """The sample's scald task is filed under the part, as the schedule does it."""
    row = next(r for r in rows_of(sample_plan()) if r.what == "make rye scald")
    assert row.person == "Tom"

"""The ticket of one mix: every line where it goes in."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from api.pages.mix_ticket import mix_ticket
from planner.remarks import Remark, RemarkKind
from planner.water_ticket import HeldBack
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan


def shown(ticket_changes, remarks=()):
    """The first ticket of the sample, an egg dough with two supplies and ice, changed."""
    plan = sample_plan()
    mix = plan.mixes[0]
    mix = replace(mix, ticket=replace(mix.ticket, **ticket_changes), remarks=tuple(remarks))
    changed = replace(plan, mixes=(mix,))
    return mix_ticket(changed, mix, reader_for(changed))


@pytest.fixture
def late():
    """All the water goes in at the second step."""
    ticket = sample_plan().mixes[0].ticket
    held = HeldBack(1, ticket.water_kg, ticket.ice_kg)
    cautions = [
        Remark(RemarkKind.CAUTION, code, f"{code}.")
        for code in ("ice_in_bowl", "hot_water", "melt_first", "pour")
    ]
    return shown({"held_back": (held,), "water_step": 1}, cautions)


def test_water_of_a_later_step_is_weighed_with_that_step(late):
    rows = [(row.group, row.name) for row in late.scaling]
    assert rows[0] == ("", "strong flour")
    added = [name for group, name in rows if group == "add at step 2, second speed"]
    assert added == ["water, tap", "water, chiller", "ice, flake", "whole egg"]
    assert not any("keep back" in name for _, name in rows)


def test_water_and_ice_stand_at_their_step_with_their_cautions(late):
    assert late.steps[2].what == (
        "2. second speed, with the 17.22 kg of water kept back, its 8.35 kg of ice, whole egg"
    )
    assert late.steps[2].cautions == ("ice_in_bowl.", "hot_water.", "melt_first.")
    assert late.steps[0].cautions == ("pour.",)


def test_of_two_portions_the_second_is_kept_back_from_the_first():
    ticket = shown({"held_back": (HeldBack(1, 3.0),)})
    names = [row.name for row in ticket.scaling if not row.group]
    assert names[:4] == [
        "water, tap", "water, chiller", "ice, flake", "of the water keep back for step 2"
    ]  # fmt: skip
    assert any("with the 3.00 kg of water kept back" in step.what for step in ticket.steps)


def test_when_to_draw_the_water_is_told_in_whole_minutes_and_never_too_soon():
    """21:02:20 UTC in summer is 23:02:20 in Vienna."""
    drawn = shown({"draw_not_before_utc": datetime(2026, 7, 15, 21, 2, 20, tzinfo=UTC)})
    assert drawn.draw_from.endswith("23:03")
    on_the_minute = shown({"draw_not_before_utc": datetime(2026, 7, 15, 21, 2, tzinfo=UTC)})
    assert on_the_minute.draw_from.endswith("23:02")


def test_water_that_may_wait_needs_no_word():
    assert shown({"draw_not_before_utc": None}).draw_from == ""

"""The slip of a replan: what to strike and what to write, and nothing when paper stays true."""

from dataclasses import replace
from datetime import timedelta

import pytest

from api.pages.changes import slip
from api.pages.choice import Choice, Paper
from api.pages.sheet import sheet_html
from planner.planned import Plan
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan


def with_mix(plan: Plan, index: int, **changes: object) -> Plan:
    mixes = list(plan.mixes)
    mixes[index] = replace(mixes[index], **changes)
    return replace(plan, mixes=tuple(mixes), version=plan.version + 1)


@pytest.fixture
def before() -> Plan:
    return sample_plan()


def changed(before, now):
    made = slip(before, now, reader_for(now))
    return {thing.name: [(x.what, x.before, x.now) for x in thing.lines] for thing in made.things}


def test_the_same_plan_again_changes_no_paper(before):
    assert slip(before, replace(before, version=4), reader_for(before)).is_empty


def test_what_rounding_hides_is_no_change(before):
    """0.2 g of ice and 0.1 °C of water are on no paper."""
    ticket = before.mixes[0].ticket
    now = with_mix(before, 0, ticket=replace(ticket, ice_kg=ticket.ice_kg + 0.0002, water_c=7.6))
    assert changed(before, now) == {}


def test_changed_figures_stand_beside_the_old_ones(before):
    """A kilo more ice, one less of chilled water; nothing else of the mix has changed."""
    ticket = before.mixes[0].ticket
    water = (ticket.water[0], replace(ticket.water[1], water_kg=12.2163))
    now = with_mix(before, 0, ticket=replace(ticket, ice_kg=9.35, water=water))
    assert changed(before, now) == {
        "mix 1, White tin dough": [
            (
                "water, kg",
                "17.22 (tap 18 °C: 4.00 kg; chiller 4 °C: 13.22 kg)",
                "16.22 (tap 18 °C: 4.00 kg; chiller 4 °C: 12.22 kg)",
            ),
            ("ice, kg", "8.35 (flake)", "9.35 (flake)"),
        ]
    }


def test_a_mix_that_moves_behind_another_gets_its_new_number(before):
    """Mix 1 starts an hour later, after mix 2: on the old sheet it is still mix 1."""
    now = with_mix(before, 0, start_utc=before.mixes[0].start_utc + timedelta(hours=1))
    made = slip(before, now, reader_for(now))
    white = next(thing for thing in made.things if "White" in thing.name)
    assert (white.name, white.old_name) == ("mix 2, White tin dough", "mix 1")
    lines = {line.what: (line.before, line.now) for line in white.lines}
    assert lines["start"] == ("Wed 15 Jul 23:40", "00:40")
    assert lines["number on paper"] == ("1", "2")


def test_what_is_left_out_and_what_is_new_are_told(before):
    gone = replace(before, mixes=before.mixes[1:], version=4)
    assert changed(before, gone)["mix 1, White tin dough"] == [("left out now", "", "")]
    assert "mix 1, White tin dough" in changed(gone, before)


def test_what_has_begun_is_marked(before):
    ticket = replace(before.mixes[0].ticket, wanted_c=25.6)
    now = replace(with_mix(before, 0, ticket=ticket), begun=("white",))
    (thing,) = slip(before, now, reader_for(now)).things
    assert thing.has_begun


def test_the_slip_strikes_and_writes(before):
    ticket = replace(before.mixes[0].ticket, wanted_c=25.6)
    now = with_mix(before, 0, ticket=ticket)
    page = sheet_html(now, reader_for(now), Choice((Paper.SLIP,)), before=before)
    assert "Version 4 instead of version 3" in page
    assert "<s>25.0</s>" in page
    assert "White tin dough" in page
    assert "Rye" not in page


def test_a_sheet_printed_again_shows_its_changes_first(before):
    ticket = replace(before.mixes[0].ticket, wanted_c=25.6)
    now = with_mix(before, 0, ticket=ticket)
    page = sheet_html(now, reader_for(now), before=before)
    assert page.index("Changed since version 3") < page.index("Read first")


def test_a_slip_of_nothing_says_so(before):
    again = replace(before, version=4)
    page = sheet_html(again, reader_for(again), Choice((Paper.SLIP,)), before=before)
    assert "hang up nothing" in page

"""Which papers are printed, for whom, and in which form."""

from dataclasses import replace

import pytest

from api.pages.choice import Choice, Paper
from planner.water_ticket import HeldBack
from tests.api.pages.papers import content_of, html_of
from tests.api.pages.sample import country_mix, sample_plan, white_mix
from tests.api.pages.sample_house import at
from tests.api.pages.sample_nights import copies, night_of, plain_mixes


def forms(content):
    """Numbers of the mixes in row form, of those with a ticket, and of the batches of runs."""
    return (
        [one.number for one in content.plain],
        [one.number for one in content.tickets],
        [[batch.ticket.number for batch in run.batches] for run in content.runs],
    )


def test_ice_and_scald_get_a_ticket_and_plain_mixes_some_lines():
    """Mix 1 has ice, mix 2 tap water and a levain, mix 3 a scald."""
    assert forms(content_of(sample_plan())) == ([2], [1, 3], [])


def test_second_water_gets_a_ticket():
    plan = sample_plan()
    country = plan.mixes[1]
    wet = replace(country, ticket=replace(country.ticket, held_back=(HeldBack(1, 1.5),)))
    content = content_of(replace(plan, mixes=(plan.mixes[0], wet, plan.mixes[2])))
    assert forms(content) == ([], [1, 2, 3], [])


def test_a_ticket_is_printed_when_it_is_asked_for():
    choice = Choice(ticket_ids=frozenset({"country"}))
    assert forms(content_of(sample_plan(), choice=choice)) == ([], [1, 2, 3], [])


def test_all_tickets_leave_no_row_form_and_no_mix_twice():
    choice = Choice((Paper.MIXES, Paper.TICKETS))
    page = html_of(sample_plan(), choice=choice)
    assert forms(content_of(sample_plan(), choice=choice)) == ([], [1, 2, 3], [])
    assert page.count('id="mix-2"') == 1


def test_three_like_mixes_in_a_row_are_a_run_and_two_are_not():
    many = night_of([*copies(white_mix(), 4), *copies(country_mix(), 2, preparation_ids=())])
    found = forms(content_of(many))
    assert [len(run) for run in found[2]] == [4]
    assert len(found[0]) == 2


def test_a_run_shares_its_list_and_has_five_numbers_for_each_batch():
    """Water and ice differ from batch to batch; flour, yeast, salt and egg do not."""
    whites = copies(white_mix(), 3)
    colder = replace(whites[2].ticket, ice_kg=9.0, water_c=6.0)
    (run,) = content_of(night_of([*whites[:2], replace(whites[2], ticket=colder)])).runs
    assert [row.name for row in run.scaling] == ["strong flour", "fresh yeast", "salt", "whole egg"]
    assert [[n.value for n in b.numbers] for b in run.batches] == [
        ["25.0", "7.5", "11", "17.22", "8.35"],
        ["25.0", "7.5", "11", "17.22", "8.35"],
        ["25.0", "6", "11", "17.22", "9.00"],
    ]


def test_a_mixer_gets_its_own_mixes_only():
    content = content_of(sample_plan(), choice=Choice(place_id="twin"))
    assert content.papers == (Paper.MIXES, Paper.CARDS)
    assert forms(content) == ([2], [3], [])
    assert content.whose == "twin arm 60"


def test_an_oven_gets_its_own_loads():
    (oven,) = content_of(sample_plan(), choice=Choice(place_id="deck")).bake
    assert [(row.loads, row.mix, row.pieces) for row in oven.rows] == [
        ("04:30", "2", "60"),
        ("05:25", "3", "40"),
    ]
    assert oven.rows[0].first == "04:25"
    assert oven.rows[0].last == "05:00"
    assert oven.rows[0].out == "05:15"


def test_the_bench_divides_in_order_of_time():
    rows = content_of(sample_plan(), choice=Choice(place_id="bench")).divide
    assert [(row.starts, row.mix, row.product, row.pieces, row.piece) for row in rows] == [
        ("01:15", 1, "white tin loaf", "120", "560 g"),
        ("02:50", 2, "country loaf", "60", "900 g"),
        ("03:25", 3, "rye tin loaf", "40", "1.100 kg"),
    ]
    assert rows[0].then == "bakehouse until 02:30"


def test_a_person_gets_what_that_person_does():
    content = content_of(sample_plan(), choice=Choice(person_id="tom"))
    assert {row.person for row in content.rows if row.hands_on} == {"Tom"}
    assert ("02:30", "load") in {(row.time, row.what) for row in content.rows}


def test_a_shift_gets_the_rows_and_mixes_that_start_in_it():
    choice = Choice(from_utc=at("0:00"), until_utc=at("2:00"))
    content = content_of(sample_plan(), choice=choice)
    assert forms(content) == ([2], [], [])
    assert all(at("0:00") <= row.at_utc < at("2:00") for row in content.rows)
    assert {row.time for row in content.rows if row.hands_on} >= {"00:10", "01:15"}


def test_waiting_is_told_beside_the_work_before_it():
    lines = {(x.row.time, x.row.what): x.then for x in content_of(sample_plan()).lines}
    assert lines["23:51", "off"] == "bulk → Thu 16 01:15"
    assert lines["01:15", "divide"] == "proof → 02:30"
    assert lines["02:30", "load"] == "bake → 03:05"


def test_scaling_and_the_mixer_share_a_line():
    lines = [x for x in content_of(sample_plan()).lines if x.row.mix.startswith("1 ")]
    assert (lines[0].row.time, lines[0].row.what, lines[0].then) == (
        "23:30",
        "scale",
        "mixer 23:40",
    )
    assert not [x for x in lines if x.row.what == "mixer on"]


def test_the_blank_sheet_has_what_this_plan_has_for_each_dough():
    first = content_of(sample_plan()).by_hand.doughs[0]
    assert (first.dough, first.flour, first.numbers, first.per_degree, first.bulk) == (
        "White tin dough",
        "27.5",
        ("25.0", "7.5", "11", "17.22", "8.35"),
        "0.45°",
        "1:24",
    )


def test_an_allergen_left_in_the_bowl_is_cleaned_down_before_a_dough_without():
    """Egg in the white dough; the country dough that follows it in the same mixer has none."""
    white, country = white_mix(), replace(country_mix(), mixer_id="spiral_1")
    (one,) = content_of(night_of([white, country])).clean_downs
    assert (one.mixer, one.after, one.before, one.why) == ("spiral 120", "mix 1", "mix 2", "egg")


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_other_mixers_need_no_clean_down(order):
    mixes = [white_mix(), country_mix()]
    assert content_of(night_of([mixes[i] for i in order])).clean_downs == ()


def test_flour_of_all_doughs_is_added_up():
    """12 mixes with 25.5814 kg of wheat flour each: 306.98 kg."""
    (need,) = content_of(night_of(plain_mixes(12))).needs
    assert (need.name, need.mass) == ("wheat flour", "306.98 kg")

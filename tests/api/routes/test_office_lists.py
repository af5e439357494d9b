"""A day's mix list and conditions: typed, pasted, copied; faults at the cell; what if."""

import re

import pytest

from tests.api.fake_core import day_document
from tests.api.routes.test_office_doughs import fields_of, seen_in
from tests.api.routes.test_office_start import Inputs

LIST = "/bakery/weir/2026-07-16/mix-list"
NIGHT = "/bakery/weir/2026-07-16/conditions"


@pytest.fixture
def weir(client, planned):
    assert planned
    return client


def stored(client, what="mix-lists", day="2026-07-16"):
    return client.get(f"/api/v1/bakeries/weir/{what}/{day}").json()


def test_orders_and_ready_mixes_are_saved_in_one_list(weir):
    sent = fields_of(weir.get(LIST).text)
    assert sent["orders[0].product"] == "loaf"
    sent |= {
        "mixes[0].formula": "white", "mixes[0].dough_kg": "41,5",
        "mixes[0].bulk_from_min": "80", "mixes[0].bulk_by_min": "110",
    }  # fmt: skip
    assert weir.post(LIST, data=sent).status_code == 200
    assert stored(weir)["mix_list"] == [
        {"product": "loaf", "pieces": 96, "leave_by": "06:30"},
        {"formula": "white", "dough_kg": 41.5, "bulk_from_min": 80, "bulk_by_min": 110},
    ]


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("orders[0].pieces", "many"),
        ("orders[0].leave_by", "early"),
        ("mixes[0].dough_kg", "-3"),
        ("mixes[0].bulk_by_min", "70"),
        ("mixes[1].formula", "sand"),
    ],
)
def test_a_fault_stands_at_its_cell(weir, cell, text):
    sent = fields_of(weir.get(LIST).text)
    for i in (0, 1):
        sent |= {f"mixes[{i}].formula": "white", f"mixes[{i}].dough_kg": "40"}
    sent |= {"mixes[0].bulk_from_min": "80", "mixes[0].bulk_by_min": "110", cell: text}
    refused = weir.post(LIST, data=sent)
    assert refused.status_code == 422
    assert Inputs(refused.text).wrong == [cell]
    assert len(stored(weir)["mix_list"]) == 1


def test_a_pasted_list_comes_below_what_is_there_and_is_not_saved_yet(weir):
    sent = fields_of(weir.get(LIST).text)
    pasted = "Product;Pieces;Leave by\nloaf;48;07:15\n"
    shown = weir.post(LIST, data={**sent, "pasted": pasted, "then": "read"})
    assert shown.status_code == 200
    assert fields_of(shown.text)["orders[1].leave_by"] == "07:15"
    assert len(stored(weir)["mix_list"]) == 1
    assert seen_in(shown.text) == sent["seen"]
    wrong = weir.post(LIST, data={**sent, "pasted": "product;pieces\nloaf;4", "then": "read"})
    assert "this column is missing" in wrong.text
    assert "product;pieces" in wrong.text


def test_the_list_of_a_week_before_is_offered_first_and_copied(weir):
    for day, pieces in (("2026-07-15", 10), ("2026-07-09", 77)):
        document = day_document(production_date=day, pins=[])
        document["mix_list"][0]["pieces"] = pieces
        assert weir.put(f"/api/v1/bakeries/weir/days/{day}", json=document).status_code < 300
    page = weir.get(LIST).text
    offered = page[page.index('name="copied"') :].partition("</select>")[0]
    assert re.findall(r'value="([\d-]+)"', offered) == ["2026-07-09", "2026-07-15"]
    shown = weir.post(LIST, data={"seen": seen_in(page), "then": "copy", "copied": "2026-07-09"})
    assert fields_of(shown.text)["orders[0].pieces"] == "77"


def test_two_who_edit_a_list_lose_nothing(weir):
    sent = fields_of(weir.get(LIST).text)
    weir.post(LIST, data={**sent, "orders[0].pieces": "100"})
    second = weir.post(LIST, data={**sent, "orders[0].leave_by": "05:45"})
    assert second.status_code == 409
    assert fields_of(second.text)["orders[0].leave_by"] == "05:45"
    assert stored(weir)["mix_list"][0] == {"product": "loaf", "pieces": 100, "leave_by": "06:30"}


def test_what_was_fixed_of_a_mix_that_is_gone_is_let_go(weir):
    """Else the day could not be planned any more."""
    weir.put("/api/v1/bakeries/weir/pins/2026-07-16", json={
        "pins": [{"mix": "loaf-2", "start": "23:30"}, {"mix": "bun", "start": "22:00"}]
    })  # fmt: skip
    weir.post(LIST, data=fields_of(weir.get(LIST).text))
    assert [pin["mix"] for pin in stored(weir, "pins")["pins"]] == ["loaf-2"]


def test_a_day_that_cannot_be_planned_says_why_after_saving(weir):
    document = weir.get("/api/v1/bakeries/weir/formulas/white").json()
    weir.delete("/api/v1/bakeries/weir/formulas/white")
    shown = weir.post(LIST, data={**fields_of(weir.get(LIST).text), "then": "plan"})
    assert document["name"] == "white"
    assert "This day cannot be planned as it is." in shown.text
    assert "white" in shown.text


def test_save_and_plan_goes_to_the_new_plan(weir):
    sent = fields_of(weir.get(LIST).text)
    gone = weir.post(LIST, data={**sent, "then": "plan"}, follow_redirects=False)
    assert gone.headers["location"] == "/plan/weir.2026-07-16.2"


def test_conditions_are_shown_as_a_curve_with_its_table_and_kept_as_entered(weir):
    page = weir.get(NIGHT).text
    before = stored(weir, "conditions")
    assert '<svg viewBox="0 0 640 250" role="img" aria-label="bakehouse, air by the hour' in page
    # from 12:00 the day before to 24:00: 36 hours and the last
    table = page[page.index("<svg") :].partition("</table>")[0]
    assert table.count('<th scope="row">') == 37
    weir.post(NIGHT, data=fields_of(page))
    assert stored(weir, "conditions") == before


def test_measured_water_and_a_standing_dough_are_saved(weir):
    sent = fields_of(weir.get(NIGHT).text)
    sent |= {
        "water_c.tap": "19,5", "inherited[0].product": "loaf", "inherited[0].pieces": "24",
        "inherited[0].stage": "bulk", "inherited[0].place": "bakehouse",
        "inherited[0].since": "22:00", "inherited[0].dough_c": "25",
        "inherited[0].leave_by": "05:30",
    }  # fmt: skip
    saved = weir.post(NIGHT, data=sent)
    assert saved.status_code == 200, Inputs(saved.text).wrong
    night = stored(weir, "conditions")
    assert night["water_c"] == {"tap": 19.5}
    assert night["inherited"][0]["since"] == "22:00"
    refused = weir.post(NIGHT, data={**sent, "seen": seen_in(saved.text), "water_c.tap": "195"})
    assert Inputs(refused.text).wrong == ["water_c.tap"]


def test_conditions_in_fahrenheit_are_shown_and_kept(weir):
    weir.cookies.set("ovenward_reads", "en.us")
    sent = fields_of(weir.get(NIGHT).text)
    assert sent["coolest_f"] == "69.8"
    weir.post(NIGHT, data={**sent, "hottest_f": "86"})
    night = stored(weir, "conditions")
    assert night["hottest_c"] == pytest.approx(30)
    assert night["coolest_c"] == pytest.approx(21)


def test_what_if_asks_the_planner_for_another_night_and_stores_nothing(weir, planned, core):
    shown = weir.post(f"/plan/{planned}/what-if", data={"warmer": "3", "ice": "2,5"})
    assert shown.status_code == 200
    assert "rooms warmer by 3.0 °C" in shown.text
    (_, before, _, _), (_, asked, _, _) = core.asked
    assert asked.rooms["bakehouse"].temperature_c == pytest.approx(
        [c + 3 for c in before.rooms["bakehouse"].temperature_c]
    )
    assert asked.ice_stored_kg == 2.5
    assert len(weir.get("/api/v1/plans").json()) == 1
    assert stored(weir, "conditions") == {"coolest_c": 21, "hottest_c": 31}


def test_what_if_without_a_mixer_plans_with_the_others(weir, core):
    bakery = weir.get("/api/v1/bakeries/weir").json()
    bakery["mixers"].append({"name": "fork 40", "kind": "fork", "max_dough_kg": 40})
    weir.put("/api/v1/bakeries/weir", json=bakery)
    weir.post("/bakery/weir/2026-07-16/plan", follow_redirects=False)
    weir.get("/api/v1/plans/weir.2026-07-16.2")
    while weir.get("/api/v1/plans/weir.2026-07-16.2/progress").json()["state"] == "planning":
        pass
    # the tests' plan is of a house of its own: its mixer is named
    shown = weir.post("/plan/weir.2026-07-16.2/what-if", data={"without": "spiral_1"})
    assert shown.status_code == 200, shown.text
    assert [mixer.name for mixer in core.asked[-1][0].bakery.mixers] == ["fork 40"]


def test_what_if_nothing_is_asked_says_so(weir, planned):
    page = weir.post(f"/plan/{planned}/what-if", data={}, headers={"accept": "text/html"})
    assert page.status_code == 422
    assert "fill in one of the three" in page.text

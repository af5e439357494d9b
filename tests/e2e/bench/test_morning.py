"""Last night's papers on one grid: keyboard only, past times, nothing planned anew."""

from datetime import datetime, timedelta

import pytest

from tests.e2e.bench.hands import END, FLOUR, OFF, PART, kept, wait_sent

pytestmark = pytest.mark.e2e


@pytest.fixture
def morning(house, tab):
    """The grid at eight hours after the first mix."""
    house.now += timedelta(hours=8)

    def open_grid(**options):
        page = tab(options.pop("size", "desktop"), **options)
        page.goto(f"{house.address}/morning/{house.plan}")
        page.wait_for_selector(".grid input:focus")
        return page

    return open_grid


def focused(page):
    return page.evaluate("() => document.activeElement.dataset.kind")


def type_row(page, *texts):
    for text in texts:
        page.keyboard.type(text)
        page.keyboard.press("Enter")


def test_a_row_is_typed_with_keys_alone(house, morning):
    """Four figures and the time, each with Enter; the row is sent when it is left."""
    page = morning()
    end = datetime.fromisoformat(house.mixes[0]["mix_end_utc"]) + timedelta(minutes=4)
    local = end + timedelta(hours=1)  # winter time of the demo house
    type_row(page, "18,5", "31", "32.5", "29,6", f"{local:%H%M}")
    wait_sent(page)
    stored = house.readings()
    assert [one["kind"] for one in stored] == [FLOUR, PART, PART, END, OFF]
    assert [one["value_c"] for one in stored] == [18.5, 31.0, 32.5, 29.6, None]
    assert {one["mix_id"] for one in stored} == {house.mixes[0]["id"]}
    assert datetime.fromisoformat(stored[4]["at_utc"]) == end
    assert datetime.fromisoformat(stored[3]["at_utc"]) == end
    assert datetime.fromisoformat(stored[0]["at_utc"]) < end
    assert focused(page) == FLOUR


def test_nothing_is_planned_anew(house, morning):
    page = morning()
    type_row(page, "18,5", "31", "32.5", "31,6", "")
    wait_sent(page)
    plans = house.get("/api/v1/plans?bakery_id=bakehouse").json()
    assert [one["id"] for one in plans] == [house.plan]


def test_what_cannot_be_meant_is_asked_back_at_its_cell(house, morning):
    page = morning()
    type_row(page, "185")
    assert "18.5" in page.locator("#asks").inner_text()
    assert focused(page) == FLOUR
    page.keyboard.press("F2")
    assert focused(page) == PART
    type_row(page, "31", "32", "40")
    assert page.locator("#asks").is_visible()
    page.keyboard.press("Enter")
    assert focused(page) == OFF
    page.keyboard.press("Enter")
    wait_sent(page)
    assert [one["value_c"] for one in house.readings()] == [18.5, 31.0, 32.0, 40.0]


def test_an_emptied_cell_takes_back_and_another_figure_replaces(house, morning):
    page = morning()
    type_row(page, "18", "31", "32", "29", "")
    wait_sent(page)
    page.reload()
    page.wait_for_selector(".grid input:focus")
    cells = page.locator(".grid tbody tr").first.locator("input")
    assert cells.nth(0).input_value() == "18.0"
    cells.nth(0).fill("")
    cells.nth(1).fill("30")
    cells.nth(1).press("ArrowDown")
    wait_sent(page)
    kinds = [one["kind"] for one in house.readings()[4:]]
    assert kinds == ["withdrawn", PART]
    assert house.readings()[5]["supersedes"] == house.readings()[1]["id"]


def test_a_row_typed_without_network_outlives_a_reload(house, morning):
    page = morning()
    page.context.set_offline(True)
    type_row(page, "18", "31", "32", "29", "")
    assert kept(page) == 4
    page.context.set_offline(False)
    page.reload()
    wait_sent(page)
    assert page.locator(".grid input").first.input_value().startswith("18")
    assert len(house.readings()) == 4


def test_leaving_the_page_in_the_middle_of_a_row_keeps_it(house, morning):
    page = morning()
    type_row(page, "18", "31")
    page.goto("about:blank")
    page.go_back()
    wait_sent(page)
    assert [one["value_c"] for one in house.readings()] == [18.0, 31.0]


def test_arrows_move_up_and_down_in_their_column(morning):
    page = morning()
    page.keyboard.press("ArrowDown")
    assert focused(page) == FLOUR
    page.keyboard.press("ArrowUp")
    assert page.evaluate("() => document.activeElement === document.querySelector('.grid input')")

"""The mixer hand's night: five numbers, four readings, a network that comes and goes."""

import re

import pytest

from tests.e2e.bench.conftest import SIZES
from tests.e2e.bench.hands import (
    END,
    FLOUR,
    OFF,
    ON,
    PART,
    box,
    kept,
    numbers,
    tap,
    wait_sent,
    wait_written,
    write,
    written,
)
from tests.e2e.bench.house import BAKERY

pytestmark = pytest.mark.e2e


@pytest.mark.parametrize("size", SIZES)
def test_a_mix_from_flour_to_the_bench(house, at_mix, size):
    """Flour warmer than forecast: what is shown then is what the service answers."""
    page = at_mix(size=size)
    before = numbers(page)
    write(page, FLOUR, "21,5")
    wait_written(page, FLOUR, "21.5")
    flour = house.readings(FLOUR)[0]
    ticket = house.answer_to(flour)["mix"]["ticket"]
    shown = numbers(page)
    assert shown != before
    assert float(shown[1]) == pytest.approx(ticket["water_c"], abs=0.26)
    assert float(shown[3]) == pytest.approx(
        sum(line["water_kg"] for line in ticket["water"]), abs=0.011
    )
    write(page, PART, "30.5")
    wait_written(page, PART, "30.5")
    tap(page, ON)
    page.wait_for_selector(".mix.mixing")
    tap(page, OFF)
    page.wait_for_selector(".mix.off")
    write(page, END, "30,4")
    page.wait_for_selector(".mix.read")
    said = page.locator("[data-said]").inner_text()
    assert "warmer than expected" in said
    assert re.search(r"divide at \d\d:\d\d", said)
    kinds = [one["kind"] for one in house.readings()]
    assert kinds == [FLOUR, PART, ON, OFF, END]


def test_one_tap_takes_back(house, at_mix):
    page = at_mix()
    before = numbers(page)
    write(page, FLOUR, "24")
    wait_written(page, FLOUR, "24.0")
    assert numbers(page) != before
    tap(page, FLOUR, ".undo")
    page.wait_for_function(
        "(was) => [...document.querySelectorAll('[data-number]')].map((x) => x.textContent)"
        ".join() === was",
        arg=",".join(before),
    )
    assert written(page, FLOUR) == ""
    flour, back = house.readings()
    assert (back["kind"], back["supersedes"]) == ("withdrawn", flour["id"])


def test_taking_back_a_second_entry_leaves_the_first(house, at_mix):
    page = at_mix()
    for text, shown in (("18", "18.0"), ("24", "24.0")):
        write(page, FLOUR, text)
        wait_written(page, FLOUR, shown)
        page.wait_for_timeout(800)
    tap(page, FLOUR, ".undo")
    wait_written(page, FLOUR, "18.0")
    first, second, third = house.readings()
    assert second["supersedes"] == first["id"]
    assert (third["supersedes"], third["value_c"]) == (second["id"], 18.0)


def test_ten_times_too_large_is_asked_back_once_and_never_guessed(house, at_mix):
    page = at_mix()
    write(page, FLOUR, "245")
    question = box(page, FLOUR).locator(".ask")
    assert "24.5" in question.inner_text()
    page.wait_for_timeout(800)
    assert house.readings() == []
    question.locator("button").nth(1).click()
    assert question.is_hidden()
    assert house.readings() == []
    write(page, FLOUR, "245")
    question.locator("button").first.click()
    wait_written(page, FLOUR, "24.5")
    assert [one["value_c"] for one in house.readings()] == [24.5]


def test_far_from_what_is_expected_is_asked_back_and_can_be_right(house, at_mix):
    page = at_mix()
    write(page, FLOUR, "31")
    box(page, FLOUR).locator(".ask button").first.click()
    wait_written(page, FLOUR, "31.0")
    assert [one["value_c"] for one in house.readings()] == [31.0]


@pytest.mark.parametrize("text", ["", "warm", "24.5.1", "1e3", "900"])
def test_what_is_no_temperature_is_not_kept(house, at_mix, text):
    page = at_mix()
    write(page, FLOUR, text)
    assert box(page, FLOUR).locator(".ask").is_visible()
    assert kept(page) == 0
    assert house.readings() == []


def test_a_start_that_was_is_written_with_its_time(house, at_mix):
    """The clock is set to 14 min before the first start; written is 20 min before it."""
    page = at_mix()
    clock = page.locator("#clock").inner_text()
    hour, minute = map(int, clock.split(":"))
    past = (hour * 60 + minute - 5) % 1440
    write(page, ON, f"{past // 60:02d}{past % 60:02d}")
    page.wait_for_selector(".mix.mixing")
    stored = house.readings()[0]["at_utc"]
    assert int(stored[14:16]) == past % 60
    write(page, OFF, f"{(past // 60 + 3) % 24:02d}:{past % 60:02d}")
    assert box(page, OFF).locator(".ask").is_visible()
    assert len(house.readings()) == 1


def test_without_network_the_strip_speaks_and_says_so(house, at_mix):
    """The nearest cell of the strip: figures that are on the paper, not reckoned by the page."""
    page = at_mix()
    held = page.evaluate(f"JSON.parse(localStorage.getItem('ovenward/{BAKERY}/day'))")
    strip = held["mixes"]["mix-1"]["strip"]
    page.context.set_offline(True)
    row = len(strip["flour"]) // 2 + 2
    flour = round(strip["flour"][row] + 0.3, 1)
    write(page, FLOUR, str(flour))
    page.wait_for_function(
        "() => document.querySelector('[data-origin]').textContent.includes('strip')"
    )
    page.wait_for_selector("#notices .notice")
    cell = strip["cells"][row][len(strip["column"]) // 2]
    shown = numbers(page)
    assert (shown[1], shown[3], shown[4]) == (cell["water_c"], cell["water"], cell["ice"])
    assert "network" in page.locator("[data-origin]").inner_text()
    assert "waits" in written(page, FLOUR)
    assert house.readings() == []


def test_beyond_the_strip_the_page_says_that_it_does_not_know(at_mix):
    page = at_mix()
    before = numbers(page)
    page.context.set_offline(True)
    write(page, FLOUR, "27.9")
    page.wait_for_function(
        "() => document.querySelector('[data-origin]').textContent.includes('Beyond')"
    )
    assert numbers(page) == before


def test_the_end_read_without_network_has_times_by_the_tickets_minutes(at_mix):
    page = at_mix()
    page.context.set_offline(True)
    tap(page, OFF)
    write(page, END, "30")
    page.wait_for_function(
        "() => document.querySelector('[data-said]').textContent.includes('Ripe')"
    )
    assert "minutes a degree" in page.locator("[data-said]").inner_text()


def test_the_network_is_cut_in_the_middle_and_nothing_is_lost_or_doubled(house, at_mix):
    """Cut, entered, reloaded while it is away, opened again once it is back."""
    page = at_mix()
    write(page, FLOUR, "18")
    wait_written(page, FLOUR, "18.0")
    page.context.set_offline(True)
    write(page, PART, "31")
    tap(page, ON)
    tap(page, OFF)
    write(page, END, "28.5")
    page.wait_for_timeout(800)
    tap(page, END, ".undo")
    write(page, END, "29.5")
    assert kept(page) == 6
    page.on("dialog", lambda dialog: dialog.accept())
    with pytest.raises(Exception, match="ERR_INTERNET_DISCONNECTED"):
        page.reload()
    page.context.set_offline(False)
    page.goto(f"{house.address}/bench/{BAKERY}#mix-1")
    page.wait_for_selector(".mix.read")
    wait_sent(page)
    stored = house.readings()
    assert [one["kind"] for one in stored] == [FLOUR, PART, ON, OFF, END, "withdrawn", END]
    assert stored[-1]["value_c"] == 29.5
    assert stored[5]["supersedes"] == stored[4]["id"]
    assert "29.5" in written(page, END)


def test_a_reload_while_the_service_is_away_shows_what_waits(house, at_mix):
    """The service answers 503 to readings, as without its database; the page still loads."""
    page = at_mix()
    pattern = re.compile("/plans/.*/readings$")
    page.route(pattern, lambda route: route.fulfill(status=503, body="{}"))
    write(page, FLOUR, "18.5")
    page.wait_for_selector("#notices .notice")
    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    page.wait_for_selector(".mix")
    assert "18.5" in written(page, FLOUR)
    assert "waits" in written(page, FLOUR)
    page.unroute(pattern)
    wait_sent(page)
    assert [one["value_c"] for one in house.readings()] == [18.5]


def test_an_answer_that_is_lost_on_its_way_is_asked_for_again(house, at_mix):
    """The reading arrives, its answer does not: sent again, it is known."""
    page = at_mix()
    lost = []

    def lose(route):
        if lost:
            route.continue_()
            return
        lost.append(route.fetch())
        route.abort()

    page.route(re.compile("/plans/.*/readings$"), lose)
    write(page, FLOUR, "18.5")
    wait_sent(page)
    assert len(lost) == 1
    assert [one["value_c"] for one in house.readings()] == [18.5]
    wait_written(page, FLOUR, "18.5")


def test_a_page_opened_anew_without_network_still_has_the_day(house, at_mix):
    """The page itself is kept by the browser, its day by the page; it says how old it is."""
    page = at_mix()
    page.goto("about:blank")
    page.context.set_offline(True)
    page.goto(f"{house.address}/bench/{BAKERY}#mix-2")
    page.wait_for_selector(".mix")
    assert len(numbers(page)) == 5
    write(page, FLOUR, "19")
    assert kept(page) == 1
    page.context.set_offline(False)
    wait_sent(page)
    assert [one["value_c"] for one in house.readings()] == [19.0]


def test_the_age_of_what_is_shown_is_told(at_mix):
    page = at_mix()
    page.clock.install()
    with page.expect_response(re.compile("/day")) as answer:
        page.reload()
    answer.value.finished()
    page.wait_for_timeout(300)
    page.context.set_offline(True)
    page.clock.fast_forward("07:00")
    page.wait_for_selector("#age.stale")
    assert "7 min" in page.locator("#age").inner_text()


def test_double_taps_are_one_entry(house, at_mix):
    page = at_mix()
    box(page, ON).locator(".go").dblclick()
    page.wait_for_selector(".mix.mixing")
    wait_sent(page)
    box(page, FLOUR).locator("input").fill("18")
    box(page, FLOUR).locator(".go").dblclick()
    wait_written(page, FLOUR, "18.0")
    wait_sent(page)
    assert sorted(one["kind"] for one in house.readings()) == sorted([ON, FLOUR])


def test_a_time_that_stands_is_not_overwritten_by_a_stray_tap(house, at_mix):
    page = at_mix()
    tap(page, ON)
    page.wait_for_selector(".mix.mixing")
    page.wait_for_timeout(800)
    tap(page, ON)
    assert box(page, ON).locator(".ask").is_visible()
    assert len(house.readings()) == 1


def test_the_back_button_goes_back_and_keeps_what_was_entered(house, at_mix):
    page = at_mix()
    write(page, FLOUR, "18")
    wait_written(page, FLOUR, "18.0")
    page.locator(".beside a").first.click()
    page.wait_for_function("() => document.querySelector('.mix').dataset.key !== 'mix-1'")
    page.go_back()
    page.wait_for_function("() => document.querySelector('.mix').dataset.key === 'mix-1'")
    assert "18.0" in written(page, FLOUR)
    page.locator(".toList").click()
    page.wait_for_selector(".list")
    page.go_back()
    page.wait_for_selector(".mix")
    assert len(house.readings()) == 1


def test_two_tablets_at_one_mix_see_each_other(house, at_mix):
    one, other = at_mix(), at_mix()
    write(one, FLOUR, "18")
    wait_written(other, FLOUR, "18.0")
    other.locator('[data-kind="dough temperature at the end"] input').fill("29")
    write(one, PART, "31")
    wait_written(other, PART, "31.0")
    assert other.locator('[data-kind="dough temperature at the end"] input').input_value() == "29"
    assert len(house.readings()) == 2


def test_signed_out_while_typing_keeps_the_entry_until_signed_in_again(opened, tab):
    """The session ends by the clock; whoever signs in again in another tab loses nothing."""
    house = opened(demo=False)
    page = tab()

    def sign_in(there):
        there.goto(f"{house.address}/sign-in")
        there.fill("#login", "ana")
        there.fill("#password", "somebody's long password")
        there.locator("form").first.locator("button").click()
        there.wait_for_url(lambda address: not address.endswith("/sign-in"))

    sign_in(page)
    page.goto(f"{house.address}/bench/{BAKERY}#mix-1")
    page.wait_for_selector(".mix")
    page.context.clear_cookies()
    write(page, FLOUR, "18")
    page.wait_for_selector("#notices a[href='/sign-in']")
    assert "waits" in written(page, FLOUR)
    assert kept(page) == 1
    again = page.context.new_page()
    sign_in(again)
    again.close()
    wait_sent(page)
    wait_written(page, FLOUR, "18.0")


def test_the_whole_story_on_plain_http_under_a_name(house, at_mix):
    """A kitchen's own name, no secure context: ids, keeping and sending work all the same."""
    address = house.address.replace("127.0.0.1", "kitchen")
    page = at_mix(address=address)
    assert page.evaluate("window.isSecureContext") is False
    assert page.evaluate("typeof crypto.randomUUID") == "undefined"
    page.context.set_offline(True)
    write(page, FLOUR, "18")
    tap(page, ON)
    assert kept(page) == 2
    page.context.set_offline(False)
    wait_sent(page)
    page.wait_for_selector(".mix.mixing")
    assert [one["kind"] for one in house.readings()] == [FLOUR, ON]


def test_a_refused_reading_is_told_and_can_be_put_away(house, at_mix):
    """Somebody took back by hand what this tablet supersedes: the others are taken."""
    page = at_mix()
    write(page, FLOUR, "18")
    wait_written(page, FLOUR, "18.0")
    first = house.readings()[0]
    page.context.set_offline(True)
    page.wait_for_timeout(800)
    write(page, FLOUR, "19")
    tap(page, ON)
    back = {
        "id": "by-hand", "kind": "withdrawn", "mix_id": first["mix_id"],
        "at_utc": first["at_utc"], "supersedes": first["id"],
    }  # fmt: skip
    assert house.post(f"/api/v1/plans/{house.plan}/readings", back).is_success
    page.context.set_offline(False)
    page.wait_for_selector(".mix.mixing")
    page.wait_for_selector("#notices .notice button")
    assert "19" in page.locator("#notices").inner_text()
    page.locator("#notices button").click()
    wait_sent(page)
    assert [one["kind"] for one in house.readings()] == [FLOUR, "withdrawn", ON]


def test_a_scald_is_read_while_it_cools(house, at_mix):
    """Its ready time moves with a band, and what was read can be taken back."""
    page = at_mix()
    page.evaluate("location.hash = 'prep-2'")
    page.wait_for_selector(".preparation")
    kind = "cooling scald, stirred through"
    write(page, kind, "45")
    page.wait_for_selector(".taken")
    assert "give or take" in page.locator("p.state").first.inner_text()
    page.wait_for_timeout(800)
    write(page, kind, "44")
    page.wait_for_function("() => document.querySelectorAll('.taken tbody tr').length === 2")
    stored = house.readings(kind)
    assert [one["value_c"] for one in stored] == [45.0, 44.0]
    assert stored[1]["supersedes"] is None
    page.locator(".taken .undo").first.click()
    page.wait_for_function("() => document.querySelectorAll('.taken tbody tr').length === 1")


def test_everything_is_done_by_keyboard(house, at_mix):
    page = at_mix()
    box(page, FLOUR).locator("input").focus()
    page.keyboard.type("18,5")
    page.keyboard.press("Enter")
    page.keyboard.type("31")
    page.keyboard.press("Enter")
    page.keyboard.type("32")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.wait_for_selector(".mix.mixing")
    assert [one["kind"] for one in house.readings()] == [FLOUR, PART, PART, ON]

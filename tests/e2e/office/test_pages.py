"""Every page: for everybody to read and to use, at every size, in both schemes, without a mouse."""

import json

import pytest

from api.files.toml_day import read_day
from api.store.documents import document_of

pytestmark = pytest.mark.e2e

DATE = "2026-05-12"
HOUSE = "bakehouse_at_the_ford"
PATHS = (
    "/first-dough",
    f"/bakery/{HOUSE}/{DATE}/day",
    f"/bakery/{HOUSE}/{DATE}/mix-list",
    f"/bakery/{HOUSE}/{DATE}/conditions",
    f"/bakery/{HOUSE}/doughs",
    f"/bakery/{HOUSE}/doughs/white_tin_dough",
    f"/bakery/{HOUSE}/new-dough",
    f"/bakery/{HOUSE}/import-doughs",
    f"/bakery/{HOUSE}/products",
    f"/bakery/{HOUSE}/setup/mixers",
    f"/bakery/{HOUSE}/setup/water",
    f"/bakery/{HOUSE}/setup/house",
    f"/plan/{HOUSE}.{DATE}.1",
    f"/plan/{HOUSE}.{DATE}.1/mix/white_tin",
)
MOST_BYTES = 150_000


@pytest.fixture(scope="module")
def house(service, browser):
    """A service with the least entry's day, planned."""
    with open("scenarios/least_entry.toml", encoding="utf-8") as file:  # noqa: PTH123
        day = json.dumps(document_of(read_day(file.read())))
    with service() as address:
        context = browser.new_context()
        headers = {"content-type": "application/json"}
        put = context.request.put(
            f"{address}/api/v1/bakeries/{HOUSE}/days/{DATE}", data=day, headers=headers
        )
        assert put.ok, put.text()
        wanted = json.dumps({"bakery_id": HOUSE, "production_date": DATE})
        made = context.request.post(f"{address}/api/v1/plans", data=wanted, headers=headers)
        assert made.status == 201, made.text()
        context.close()
        yield address


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(house, hand_at, axe, scheme):
    page = hand_at("tablet", scheme).page
    found = []
    for path in PATHS:
        page.goto(house + path)
        for one in axe.run(page).response["violations"]:
            found += [(path, one["id"], node["html"][:120]) for node in one["nodes"]]
    assert found == []
    assert page.problems == []


@pytest.mark.parametrize("size", ["narrow", "phone", "tablet", "desktop"])
def test_nothing_runs_out_of_the_page(house, hand_at, size):
    page = hand_at(size).page
    wide = []
    for path in PATHS:
        page.goto(house + path)
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            wide.append(path)
    assert wide == []


def test_what_one_presses_is_as_large_as_a_finger(house, hand_at):
    page = hand_at("tablet").page
    small = []
    for path in PATHS:
        page.goto(house + path)
        small += page.evaluate(
            """path => [...document.querySelectorAll("button, input, select, .button")]
              .filter(one => !["hidden", "checkbox", "file"].includes(one.type))
              .filter(one => one.offsetParent && one.getBoundingClientRect().height < 44)
              .map(one => [path, one.outerHTML.slice(0, 80)])""",
            path,
        )
    assert small == []


def test_the_first_load_is_light(house, hand_at):
    """All that the browser fetches for the first page, uncompressed."""
    page = hand_at("phone").page
    sizes = []
    page.on("response", lambda answer: sizes.append(len(answer.body())))
    page.goto(f"{house}/first-dough", wait_until="networkidle")
    assert len(sizes) >= 4
    assert sum(sizes) < MOST_BYTES


def test_a_dough_is_written_by_keyboard_alone(house, hand_at):
    page = hand_at("tablet").page
    page.goto(f"{house}/bakery/{HOUSE}/new-dough")
    page.focus('[name="name"]')
    page.keyboard.type("rye")
    order = ["dough_c", "band_k", "colour_class", "lines[0].material", "lines[0].percent"]
    for name in order:
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.name") == name
    page.keyboard.type("100")
    page.focus('[name="steps[0].minutes"]')
    page.keyboard.press("Enter")
    page.wait_for_selector(".alert")
    assert "data-focus" in page.evaluate("document.activeElement.outerHTML.slice(0, 90)")


def test_what_could_not_be_sent_is_offered_again(house, hand_at):
    """The network goes while a list is typed and sent; the page is opened again later."""
    hand = hand_at("tablet")
    page = hand.page
    page.goto(f"{house}/bakery/{HOUSE}/{DATE}/mix-list")
    page.fill('[name="orders[0].pieces"]', "52")
    page.context.set_offline(True)
    page.locator("main").get_by_text("Save", exact=True).click()
    page.wait_for_timeout(300)
    page.context.set_offline(False)
    page.goto(f"{house}/bakery/{HOUSE}/{DATE}/mix-list")
    assert page.input_value('[name="orders[0].pieces"]') == "48"
    page.get_by_role("button", name="Bring it back").click()
    assert page.input_value('[name="orders[0].pieces"]') == "52"


def test_two_bakers_at_one_list_lose_nothing(house, hand_at):
    mine, theirs = hand_at("tablet"), hand_at("phone")
    for hand in (mine, theirs):
        hand.page.goto(f"{house}/bakery/{HOUSE}/{DATE}/mix-list")
    theirs.page.fill('[name="orders[0].leave_by"]', "06:45")
    theirs.press("Save")
    mine.page.fill('[name="orders[0].pieces"]', "60")
    mine.press("Save")
    told = mine.page.inner_text(".alert")
    assert "Somebody else changed this while you typed." in told
    assert "06:45" in told
    assert mine.page.input_value('[name="orders[0].pieces"]') == "60"
    mine.page.fill('[name="orders[0].leave_by"]', "06:45")
    mine.press("Save")
    theirs.page.reload()
    assert theirs.page.input_value('[name="orders[0].pieces"]') == "60"
    assert theirs.page.input_value('[name="orders[0].leave_by"]') == "06:45"


def test_a_search_under_way_is_told_and_stopped(house, hand_at):
    page = hand_at("tablet").page
    page.goto(f"{house}/bakery/{HOUSE}/{DATE}/day")
    page.get_by_role("button", name="Plan it again").click()
    page.wait_for_selector("h1:has-text('Plan'):has-text('version'), #progress")
    page.wait_for_selector("h2:has-text('The day, drawn')", timeout=60_000)


def test_pages_read_in_spanish_and_pounds(house, hand_at, axe):
    page = hand_at("phone").page
    page.goto(f"{house}/first-dough")
    page.select_option('[name="language"]', "es")
    page.select_option('[name="units"]', "us")
    page.get_by_role("button", name="use").click()
    page.goto(f"{house}/plan/{HOUSE}.{DATE}.1")
    assert page.get_attribute("html", "lang") == "es"
    assert "°F" in page.inner_text(".five")
    assert axe.run(page).response["violations"] == []

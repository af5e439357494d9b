"""At the mixer: the day as its page holds it, and readings that come back as screens."""

import re
from datetime import datetime
from html.parser import HTMLParser

import pytest

from api.pages.files import bench_files, bench_folder, bench_version

DAY = "/bench/weir/day"
READING = {
    "id": "b1",
    "kind": "flour temperature",
    "mix_id": "white",
    "at_utc": "2026-07-15T21:10:00Z",
    "value_c": 27.5,
}


class Reader(HTMLParser):
    """Reads boxes, numbers and words out of a screen."""

    def __init__(self, html):
        super().__init__()
        self.boxes, self.numbers, self.text, self._number = {}, {}, [], None
        self.feed(html)

    def handle_starttag(self, _, attrs):
        told = dict(attrs)
        if "data-box" in told:
            self.boxes[told["data-kind"], told["data-part"]] = told
        self._number = told.get("data-number")

    def handle_data(self, data):
        if self._number:
            self.numbers[self._number] = data
            self._number = None
        self.text.append(data.strip())


@pytest.fixture
def day(client, planned):
    assert planned
    return client.get(DAY).json()


def screen_of(held, mix_id):
    key = next(key for key, mix in held["mixes"].items() if mix["mix_id"] == mix_id)
    return Reader(held["screens"][key])


def send(client, plan, *readings):
    return client.post(f"/bench/weir/plans/{plan}/readings", json={"readings": list(readings)})


def test_every_mix_and_preparation_has_a_screen(day):
    """The sample night has three mixes, a levain and a scald."""
    keys = re.findall(r'href="#([\w-]+)"', day["list"])
    assert set(keys) == set(day["screens"])
    assert len([key for key in keys if key.startswith("mix-")]) == len(day["mixes"])


def test_a_mix_shows_the_five_numbers_of_its_ticket(client, planned, day):
    ticket = client.get(f"/api/v1/plans/{planned}").json()["night"]["mixes"]
    white = next(mix for mix in ticket if mix["id"] == "white")
    numbers = screen_of(day, "white").numbers
    assert list(numbers) == ["1", "2", "3", "4", "5"]
    assert float(numbers["1"]) == pytest.approx(white["ticket"]["wanted_c"], abs=0.05)
    assert float(numbers["5"]) == pytest.approx(white["ticket"]["ice_kg"], abs=0.005)


def test_readings_are_asked_for_in_the_order_of_the_paper(day):
    kinds = [kind for kind, _ in screen_of(day, "white").boxes]
    asked = [kind for kind in kinds if kind != "mixer started"]
    assert asked[0] == "flour temperature"
    assert asked.index("off the mixer") < asked.index("dough temperature at the end")
    assert {"room temperature", "tap temperature", "bowl temperature"} <= set(kinds)


def test_a_reading_comes_back_as_the_screen_it_changes(client, planned):
    """The fake core puts the number of readings known before into the ice."""
    told = send(client, planned, READING, READING | {"id": "b2", "supersedes": "b1"}).json()
    assert [one["outcome"] for one in told["outcomes"]] == ["stored", "stored"]
    screen = screen_of(told, "white")
    assert screen.numbers["5"].startswith("1")
    box = screen.boxes["flour temperature", ""]
    assert (box["data-standing"], box["data-before"]) == ("b2", "27.5")
    assert "27.5 °C" in screen.text


def test_readings_sent_twice_are_known(client, planned):
    first, again = (send(client, planned, READING).json() for _ in range(2))
    assert [one["outcomes"][0]["outcome"] for one in (first, again)] == ["stored", "known"]
    assert first["screens"] == again["screens"]
    assert len(client.get(f"/api/v1/plans/{planned}/readings").json()) == 1


def test_what_is_taken_back_leaves_an_empty_box(client, planned):
    back = {
        "id": "b2",
        "kind": "withdrawn",
        "mix_id": "white",
        "at_utc": READING["at_utc"],
        "supersedes": "b1",
    }
    told = send(client, planned, READING, back).json()
    assert screen_of(told, "white").boxes["flour temperature", ""]["data-standing"] == ""


def test_one_that_cannot_be_right_is_told_by_itself(client, planned):
    told = send(client, planned, READING, READING | {"id": "b2", "value_c": 245}).json()
    assert [one["outcome"] for one in told["outcomes"]] == ["stored", "refused"]
    assert told["outcomes"][1]["reason"]


def test_start_and_end_move_the_mix_on(client, planned):
    def state():
        held = client.get(DAY).json()
        key = next(k for k, mix in held["mixes"].items() if mix["mix_id"] == "white")
        return re.search(r'class="mix (\w+)"', held["screens"][key])[1]

    assert state() == "before"
    timed = {key: one for key, one in READING.items() if key != "value_c"}
    send(client, planned, timed | {"id": "s", "kind": "mixer started"})
    assert state() == "mixing"
    send(client, planned, timed | {"id": "e", "kind": "off the mixer"})
    assert state() == "off"
    end = READING | {"id": "d", "kind": "dough temperature at the end", "value_c": 25.5}
    send(client, planned, end)
    assert state() == "read"


def test_the_strip_in_the_page_is_that_of_the_ticket(client, planned, day):
    """Every cell's water adds up with its ice to the formula's water, as on paper."""
    night = client.get(f"/api/v1/plans/{planned}").json()["night"]
    white = next(mix for mix in night["mixes"] if mix["id"] == "white")
    held = next(mix for mix in day["mixes"].values() if mix["mix_id"] == "white")
    strip = held["strip"]
    assert len(strip["cells"]) == len(strip["flour"])
    assert all(len(row) == len(strip["column"]) for row in strip["cells"])
    for row in strip["cells"]:
        for cell in row:
            whole = float(cell["water"]) + float(cell["ice"])
            assert whole == pytest.approx(white["ticket"]["formula_water_kg"], abs=0.02)


def test_a_mix_that_has_begun_has_no_strip_any_more(client, planned):
    timed = {key: one for key, one in READING.items() if key != "value_c"}
    told = send(client, planned, timed | {"kind": "mixer started"}).json()
    assert [mix["strip"] for mix in told["mixes"].values()] == [None]


def test_nothing_is_sent_again_until_something_changes(client, planned):
    first = client.get(DAY)
    tag = {"If-None-Match": first.headers["etag"]}
    assert client.get(DAY, headers=tag).status_code == 304
    send(client, planned, READING)
    assert client.get(DAY, headers=tag).status_code == 200


def test_the_page_itself_holds_nothing_of_the_day_and_may_be_kept(client, planned):
    assert planned
    page = client.get("/bench/weir")
    assert "max-age" in page.headers["cache-control"]
    assert "white" not in page.text.lower()
    assert bench_folder() in page.text
    assert re.search(r"<script(?![^>]* src=)|<style| style=| on\w+=", page.text) is None


def test_scripts_and_styles_lie_under_the_name_of_what_they_hold(client):
    for name, content in bench_files().items():
        answer = client.get(f"{bench_folder()}/{name}")
        assert answer.content == content
        assert "immutable" in answer.headers["cache-control"]
    older = client.get("/bench-files/older/bench.js")
    assert older.headers["cache-control"] == "no-cache"
    assert client.get(f"{bench_folder()}/passwords.js").status_code == 404
    assert len(bench_version()) == 12


def test_a_day_without_a_plan_says_so(client, planned):
    assert planned
    assert client.get(f"{DAY}?date=2026-08-01").status_code == 404
    assert client.get("/bench/ford/day").status_code == 404


def test_readings_of_another_bakerys_plan_are_not_taken(client, planned):
    assert client.post(f"/bench/ford/plans/{planned}/readings", json={"readings": [READING]})
    assert client.get(f"/api/v1/plans/{planned}/readings").json() == []


def test_the_plan_in_force_is_shown_not_the_newest(client, planned):
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    newer = client.post("/api/v1/plans", json=wanted).json()["id"]
    assert client.get(DAY).json()["plan_id"] == newer
    assert client.post(f"/api/v1/plans/{planned}/approve").is_success
    held = client.get(DAY).json()
    assert held["plan_id"] == planned
    assert "in force" in held["title"]


def test_the_bakerys_clock_is_told_with_its_changes(day):
    """Vienna keeps summer time in July: two hours before UTC, without a change."""
    assert [minutes for _, minutes in day["offsets"]] == [120]
    assert datetime.fromtimestamp(day["now"] / 1000).year >= 2026  # noqa: DTZ006  a year will do

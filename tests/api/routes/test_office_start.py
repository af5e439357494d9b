"""The empty bakery: one dough is asked for, and becomes the bakery's first day."""

import hashlib
import re
from datetime import UTC, datetime
from html.parser import HTMLParser

import pytest
from fastapi.testclient import TestClient

from api.main import create_app
from api.office.shell import static_bytes
from api.settings import Settings

HTMX_4_0_1 = "a0abb04f2f45a1f89d1d4844023245537e5e6014c87b144553e0607b4cc32130"
FIRST = {
    "formulas[0].name": "White tin",
    "mix_list[0].dough_kg": "40",
    "formulas[0].dough_c": "25",
    "start": "14:00",
    "formulas[0].lines[0].material": "wheat flour",
    "formulas[0].lines[0].percent": "100",
    "formulas[0].lines[1].material": "water",
    "formulas[0].lines[1].percent": "62,5",
    "formulas[0].lines[2].material": "salt",
    "formulas[0].lines[2].percent": "2",
    "formulas[0].lines[3].material": "fresh yeast",
    "formulas[0].lines[3].percent": "2",
    "first_min": "4",
    "second_min": "6",
    "formulas[0].bulk.minutes": "75",
    "bakery.mixers[0].kind": "spiral",
    "bakery.mixers[0].max_dough_kg": "60",
    "conditions.coolest_c": "21",
    "conditions.hottest_c": "24",
    "bakery.water[0].temperature_c": "14",
    "bakery.flour_stores[0].kind": "sack",
    "bakery.ice.kind": "",
    "bakery.name": "Mill Lane",
    "bakery.zone": "Europe/Vienna",
}


class Inputs(HTMLParser):
    """Names of a page's inputs, and what stands beside those that are wrong."""

    def __init__(self, text):
        super().__init__()
        self.names, self.wrong = [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag in {"input", "select", "textarea"} and "name" in given:
            self.names.append(given["name"])
            if "aria-invalid" in given:
                self.wrong.append(given["name"])


@pytest.fixture
def real_client(sqlite_address):
    """A service with the real planner, in July at half past eleven in the morning."""
    made = Settings(database_url=sqlite_address, demo=True, solve_s=0.5, deterministic_s=0.2)
    now = datetime(2026, 7, 15, 9, 30, tzinfo=UTC)
    with TestClient(create_app(made, clock=lambda: now), follow_redirects=False) as opened:
        yield opened


def test_an_empty_house_is_asked_for_one_dough_in_at_most_thirty_entries(client):
    page = client.get("/")
    assert page.status_code == 200
    asked = [name for name in Inputs(page.text).names if "[" in name or name in FIRST]
    assert len(asked) <= 30
    assert set(FIRST) <= set(asked)


def test_the_first_dough_is_planned_and_stays_as_bakery_dough_and_mixer(real_client):
    sent = real_client.post("/first-dough", data=FIRST)
    assert sent.status_code == 303, sent.text
    # 14:00 belongs to the production day of the 16th, which began at noon of the 15th
    assert sent.headers["location"] == "/plan/mill_lane.2026-07-16.1"
    day = real_client.get("/api/v1/bakeries/mill_lane/days/2026-07-16").json()
    assert day["bakery"]["mixers"] == [
        {"kind": "spiral", "max_dough_kg": 60, "name": "spiral mixer"}
    ]
    assert day["formulas"][0]["lines"][1] == {"material": "water", "percent": 62.5}
    assert day["pins"] == [{"mix": "white_tin", "start": "2026-07-15 14:00"}]
    assert "ice" not in day["bakery"]


def test_its_answer_shows_water_and_ripe_time_and_marks_what_is_assumed(real_client):
    place = real_client.post("/first-dough", data=FIRST).headers["location"]
    real_client.app.state.services.jobs.close()  # waits until the plan is made
    page = real_client.get(place).text
    night = real_client.get(f"/api/v1/plans/{place.rpartition('/')[2]}").json()["night"]
    mix = night["mixes"][0]
    assert f"{mix['ticket']['water'][0]['water_kg']:.2f}" in page
    local = datetime.fromisoformat(mix["divide_from_utc"]).hour + 2
    assert f"Ripe {local:02d}:{mix['divide_from_utc'][14:16]}" in page
    names = Inputs(page).names
    assert "bakery.mixers[0].work_kj_per_kg_min.second speed" in names
    assert "conditions.flour_c.sack" in names
    opened = real_client.get(f"{place}/mix/{mix['id']}").text
    heats = re.findall(r'<td class="n">(−?[\d.]+)</td><td class="n">[+−]', opened)
    assert len(heats) > 6
    # the printed heats of a balance add up to nothing
    assert sum(round(float(heat.replace("−", "-")) * 10) for heat in heats) == 0
    replaced = [n for n in names if n.startswith(("bakery.", "formulas[", "conditions."))]
    assert page.count("<em>assumed</em>") == len(replaced)


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({"formulas[0].lines[1].percent": "wet"}, "formulas[0].lines[1].percent"),
        ({"bakery.mixers[0].max_dough_kg": ""}, "bakery.mixers[0].max_dough_kg"),
        ({"mix_list[0].dough_kg": "80"}, "mix_list[0].dough_kg"),
        ({"start": "noon"}, "start"),
        ({"bakery.zone": "Mars/Olympus"}, "bakery.zone"),
        ({"formulas[0].dough_c": "60"}, "formulas[0].dough_c"),
        ({"formulas[0].bulk.minutes": ""}, "formulas[0].bulk.minutes"),
        ({"conditions.coolest_c": "", "conditions.hottest_c": ""}, "conditions.coolest_c"),
    ],
)
def test_a_wrong_entry_is_marked_at_its_cell_and_nothing_is_stored(client, changed, wrong):
    page = client.post("/first-dough", data={**FIRST, **changed})
    assert page.status_code == 422
    assert Inputs(page.text).wrong == [wrong]
    assert client.get("/api/v1/bakeries").json() == []


def test_lines_without_a_percent_stay_on_a_page_that_was_not_taken(client):
    rows = {f"formulas[0].lines[{i}].material": "salt" for i in range(7, 9)}
    page = client.post("/first-dough", data={**FIRST, **rows, "bakery.name": ""})
    left = len(re.findall(r'<option value="salt" selected', page.text))
    assert left == 3


def test_pounds_and_fahrenheit_are_asked_for_and_kept_as_kilos(client):
    client.cookies.set("ovenward_reads", "en.us")
    assert "mix_list[0].dough_lb" in Inputs(client.get("/").text).names
    us = {
        name.replace("_kg", "_lb").removesuffix("_c") + ("_f" if name.endswith("_c") else ""): text
        for name, text in FIRST.items()
    }
    us |= {
        "formulas[0].dough_f": "77", "conditions.coolest_f": "68", "conditions.hottest_f": "77",
        "bakery.water[0].temperature_f": "59", "mix_list[0].dough_lb": "100",
        "bakery.mixers[0].max_dough_lb": "220",
    }  # fmt: skip
    sent = client.post("/first-dough", data=us, follow_redirects=False)
    assert sent.status_code == 303, Inputs(sent.text).wrong
    bakery = client.get("/api/v1/bakeries/mill_lane").json()
    assert bakery["water"][0]["temperature_c"] == pytest.approx(15)
    assert bakery["mixers"][0]["max_dough_kg"] == pytest.approx(99.79, abs=0.01)


def test_a_bakery_of_the_same_name_is_not_written_over(client, planned):
    assert planned
    again = {**FIRST, "bakery.name": "weir", "formulas[0].dough_c": "20"}
    page = client.post("/first-dough", data=again)
    assert page.status_code == 422
    assert Inputs(page.text).wrong == ["bakery.name"]
    assert client.get("/api/v1/bakeries/weir").json()["name"] == "Bakery at the Weir"


def test_with_one_bakery_the_first_page_is_its_day(client, planned):
    assert planned
    page = client.get("/")
    assert page.url.path.startswith("/bakery/weir/")
    assert page.url.path.endswith("/day")
    assert "http" not in page.text.replace("http-equiv", "")


def test_pages_load_the_one_script_that_is_vendored_unchanged_with_its_licence(client):
    assert hashlib.sha256(static_bytes("htmx.min.js")).hexdigest() == HTMX_4_0_1
    assert b"Zero-Clause BSD" in static_bytes("LICENCE-htmx.txt")
    assert client.get("/static/htmx.min.js").status_code == 200
    assert client.get("/static/nothing.js").status_code == 404


def test_no_page_has_a_script_or_style_inside(client, planned):
    for path in ("/first-dough", f"/plan/{planned}", f"/plan/{planned}/mix/white"):
        page = client.get(path)
        assert page.status_code == 200, path
        assert page.text.count("<script") == page.text.count("<script src=")
        assert "<style" not in page.text
        assert " style=" not in page.text.partition("<svg")[0]
        assert " onclick=" not in page.text


def test_a_browser_is_kept_in_the_language_and_units_it_chose(client):
    chosen = {"language": "es", "units": "us", "back": "https://elsewhere.example/"}
    sent = client.post("/reads", data=chosen, follow_redirects=False)
    assert sent.headers["location"] == "/"
    page = client.get("/").text
    assert "Una masa, hoy" in page
    assert "°F" in page

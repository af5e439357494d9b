"""The pages of a plan: read first, numbers, why, fixed by plain controls, versions, approved."""

import re

import pytest

from tests.api.routes.test_office_start import Inputs


@pytest.fixture
def page(client, planned):
    return client.get(f"/plan/{planned}").text


def test_alerts_stand_before_the_numbers(page):
    assert page.index('aria-label="Read first"') < page.index("<h2>Mixes</h2>")


def test_each_mix_has_its_five_numbers_and_the_way_to_its_reasons(client, planned, page):
    night = client.get(f"/api/v1/plans/{planned}").json()["night"]
    for mix in night["mixes"]:
        assert f'href="/plan/{planned}/mix/{mix["id"]}"' in page
        opened = client.get(f"/plan/{planned}/mix/{mix['id']}").text
        assert len(re.findall(r'class="figure"', opened)) == 5


def test_the_day_is_drawn_with_a_title(client, planned, page):
    """Fetched after the page, which does not wait for it."""
    assert f'hx-get="/plan/{planned}/drawing"' in page
    drawn = client.get(f"/plan/{planned}/drawing").text
    drawing = drawn[drawn.index("<svg") : drawn.index("</svg>")]
    assert "<title" in drawing


def test_approving_makes_a_version_count(client, planned, page):
    assert "This version is not in force." in page
    assert 'href="/bench/weir"' not in page
    shown = client.post(f"/plan/{planned}/approve")
    assert "This version is in force." in shown.text
    for address in ("/bench/weir", "/wall/weir", f"/morning/{planned}", "/record/weir"):
        assert f'href="{address}"' in shown.text


def test_what_is_fixed_of_a_mix_is_stored_and_planned(client, planned, core):
    opened = client.get(f"/plan/{planned}/mix/white").text
    seen = re.search(r'name="seen" value="(\w+)"', opened)[1]
    sent = client.post(
        f"/plan/{planned}/mix/white/pin",
        data={"seen": seen, "dough_c": "24,5"},
        follow_redirects=False,
    )
    assert sent.headers["location"] == "/plan/weir.2026-07-16.2"
    stored = client.get("/api/v1/bakeries/weir/pins/2026-07-16").json()["pins"]
    assert {"mix": "white", "dough_c": 24.5} in stored
    assert {"mix": "loaf", "start": "23:30"} in stored
    client.app.state.services.jobs.close()
    assert [pin.dough_c for pin in core.asked[-1][2] if pin.mix_id == "white"] == [24.5]


def test_a_fault_of_a_pin_stands_at_its_input(client, planned):
    opened = client.get(f"/plan/{planned}/mix/white").text
    seen = re.search(r'name="seen" value="(\w+)"', opened)[1]
    data = {"seen": seen, "dough_c": "60", "start": "late"}
    sent = client.post(f"/plan/{planned}/mix/white/pin", data=data)
    assert sent.status_code == 422
    assert "start" in Inputs(sent.text).wrong


def test_two_who_fix_the_same_mix_lose_nothing(client, planned):
    """The second is told what the first stored, beside what the second typed."""
    opened = client.get(f"/plan/{planned}/mix/white").text
    seen = re.search(r'name="seen" value="(\w+)"', opened)[1]
    address = f"/plan/{planned}/mix/white/pin"
    client.post(address, data={"seen": seen, "dough_c": "24"}, follow_redirects=False)
    second = client.post(address, data={"seen": seen, "dough_c": "26"})
    assert second.status_code == 409
    assert "<td>24</td><td>26</td>" in second.text
    assert 'value="26"' in second.text
    stored = client.get("/api/v1/bakeries/weir/pins/2026-07-16").json()["pins"]
    assert {"mix": "white", "dough_c": 24} in stored
    # told, the second can save after all
    newer = re.search(r'name="seen" value="(\w+)"', second.text)[1]
    sent = client.post(address, data={"seen": newer, "dough_c": "26"}, follow_redirects=False)
    assert sent.status_code == 303


def test_versions_are_compared_on_paper(client, planned):
    client.post("/bakery/weir/2026-07-16/plan", follow_redirects=False)
    client.app.state.services.jobs.close()
    listed = client.get("/plan/weir.2026-07-16.2").text
    assert f"/plan/weir.2026-07-16.2/compare?with={planned}" in listed
    compared = client.get(f"/plan/weir.2026-07-16.2/compare?with={planned}").text
    assert "Nothing on paper differs." in compared  # the tests' planner plans everything alike
    assert client.get(f"/plan/{planned}/compare?with=ford.2026-07-16.1").status_code == 404


def test_a_plan_under_way_tells_how_it_goes_and_can_be_stopped(client, planned, core):
    assert planned
    core.go.clear()
    sent = client.post("/bakery/weir/2026-07-16/plan", follow_redirects=False)
    place = sent.headers["location"]
    page = client.get(place).text
    assert f'hx-get="{place}/progress"' in page
    assert client.get(f"{place}/progress").status_code == 200
    stopped = client.post(f"{place}/stop", follow_redirects=False)
    assert stopped.headers["location"] == place
    client.app.state.services.jobs.close()
    done = client.get(f"{place}/progress")
    assert done.headers["hx-redirect"] == place


def test_a_day_that_is_not_there_says_what_is_missing(client, planned):
    assert planned
    page = client.post("/bakery/weir/2026-07-20/plan")
    assert page.status_code == 409
    assert "there is no mix list of 2026-07-20" in page.text


def test_what_is_wrong_is_a_page_too(client):
    page = client.get("/plan/nowhere.2026-07-16.1", headers={"accept": "text/html"})
    assert page.status_code == 404
    assert page.headers["content-type"].startswith("text/html")
    assert "There is no plan" in page.text


def test_an_assumption_is_replaced_where_it_is_shown(client, planned):
    sent = client.post(
        f"/plan/{planned}/assumed",
        data={"bakery.mixers[0].bowl_kg": "38,5", "conditions.flour_c.sacks": "26"},
        follow_redirects=False,
    )
    assert sent.status_code == 303, sent.text
    assert client.get("/api/v1/bakeries/weir").json()["mixers"][0]["bowl_kg"] == 38.5
    night = client.get("/api/v1/bakeries/weir/conditions/2026-07-16").json()
    assert night == {"coolest_c": 21, "hottest_c": 31, "flour_c": {"sacks": 26}}


def test_what_cannot_replace_an_assumption_is_told_and_not_stored(client, planned):
    data = {"bakery.mixers[0].bowl_kg": "heavy", "conditions.flour_c.sacks": "26"}
    sent = client.post(f"/plan/{planned}/assumed", data=data)
    assert sent.status_code == 422
    assert "heavy" not in client.get("/api/v1/bakeries/weir").text
    assert "flour_c" not in client.get("/api/v1/bakeries/weir/conditions/2026-07-16").json()

"""The wall: next things by place, the next mix's numbers, what is late; it changes nothing."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient

from api.main import create_app
from api.settings import Settings

NOW = "/wall/weir/now"


@pytest.fixture
def at(address, core, planned):
    """Opens the service at a moment, on the database of a planned night."""
    assert planned

    def open_at(moment):
        settings = Settings(database_url=address, demo=True, timers=False)
        return TestClient(create_app(settings, core=core, clock=lambda: moment))

    return open_at


@pytest.fixture
def white(client, planned):
    mixes = client.get(f"/api/v1/plans/{planned}").json()["night"]["mixes"]
    return next(mix for mix in mixes if mix["id"] == "white")


def moment(text):
    return datetime.fromisoformat(text).astimezone(UTC)


def words(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def sent(plan, kind, at_utc, **more):
    reading = {"id": kind, "kind": kind, "mix_id": "white", "at_utc": at_utc, **more}
    return f"/api/v1/plans/{plan}/readings", reading


def test_the_next_mix_has_its_five_numbers(at, white):
    with at(moment(white["start_utc"]) - timedelta(minutes=5)) as service:
        page = service.get("/wall/weir")
        part = service.get(NOW).text
    assert page.status_code == 200
    assert re.search(r"<(form|input|button)", page.text) is None
    first = part[part.index('class="next"') : part.index("</section>", part.index("next"))]
    values = re.findall(r'class="value">([^<]+)<', first)
    assert len(values) == 5
    assert float(values[0]) == pytest.approx(white["ticket"]["wanted_c"], abs=0.05)


def test_what_is_over_leaves_the_wall(at, white):
    """Ten minutes after its time: the sample's divide of 'white' is then gone."""
    divide = moment(white["divide_utc"])
    with at(divide + timedelta(minutes=9)) as service:
        assert "divide" in words(service.get(NOW).text)
        before = service.get(NOW).text.count("<li data-until")
        assert "Nothing of this plan is still to come." not in words(service.get(NOW).text)
    with at(divide + timedelta(days=2)) as service:
        assert service.get(NOW).text.count("<li data-until") < before
        assert "Nothing of this plan is still to come." in words(service.get(NOW).text)


def test_a_mix_that_was_not_started_is_late_in_words(at, client, planned, white):
    """Only where the shift writes something down: paper alone makes nobody late."""
    later = moment(white["start_utc"]) + timedelta(minutes=12)
    with at(later) as service:
        assert "not started" not in words(service.get(NOW).text)
    path, reading = sent(planned, "room temperature", white["start_utc"], value_c=22)
    client.post(path, json=reading)
    with at(later) as service:
        assert re.search(r"White tin dough\s?: not started", words(service.get(NOW).text))
    client.post(path, json=sent(planned, "mixer started", white["start_utc"])[1])
    with at(later) as service:
        assert "White tin dough : not started" not in words(service.get(NOW).text)
    with at(moment(white["mix_end_utc"]) + timedelta(minutes=12)) as service:
        assert "still in the mixer" in words(service.get(NOW).text)


def test_a_bakery_without_a_plan_has_a_wall_that_says_so(client):
    bakery = {"id": "ford", "name": "Ford", "zone": "Europe/Vienna"}
    assert "no plan" in client.get("/wall/ford").text
    assert bakery["id"] not in client.get("/wall/ford").text.split("<main")[1]

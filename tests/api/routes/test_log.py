"""The temperature log: every reading by the bakery's clock, what was replaced kept."""

import pytest

LOG = "/api/v1/bakeries/weir/log"
READING = {
    "id": "r1",
    "kind": "dough temperature at the end",
    "mix_id": "white",
    "at_utc": "2026-07-15T21:10:00Z",
    "value_c": 27.5,
}


@pytest.fixture
def logged(client, planned):
    """A probe that shows 0.5 °C too much; its reading is mended by a second one."""
    probe = {"name": "blue", "ice_point_c": 0.5, "checked_on": "2026-07-01"}
    client.put("/api/v1/bakeries/weir/thermometers/blue", json=probe)
    readings = f"/api/v1/plans/{planned}/readings"
    client.post(readings, json=READING | {"thermometer_id": "blue"})
    client.post(readings, json=READING | {"id": "=r2", "value_c": 26, "supersedes": "r1"})
    client.post(readings, json=READING | {"id": "r3", "kind": "mixer started", "value_c": None})
    return planned


def test_readings_stand_by_the_clock_of_the_bakery_and_set_right(client, logged):
    """21:10 UTC is 23:10 in Vienna in summer; 27.5 °C read are 27.0 °C."""
    first, second, third = client.get(LOG).json()
    assert (first["local_date"], first["local_time"]) == ("2026-07-15", "23:10+02:00")
    assert (first["reading"]["value_c"], first["true_c"]) == (27.5, 27.0)
    assert (first["superseded_by"], second["superseded_by"]) == ("=r2", None)
    assert (second["true_c"], third["true_c"]) == (26.0, None)
    assert first["plan_id"] == logged


def test_the_log_is_asked_for_by_day_and_in_pages(client, logged):
    assert logged
    assert client.get(LOG, params={"since": "2026-07-17"}).json() == []
    assert len(client.get(LOG, params={"until": "2026-07-16"}).json()) == 3
    first = client.get(LOG, params={"limit": 2})
    rest = client.get(first.links["next"]["url"])
    assert [one["reading"]["id"] for one in (*first.json(), *rest.json())] == ["r1", "=r2", "r3"]
    assert "next" not in rest.links


def test_another_bakery_has_its_own_log(client, logged):
    assert logged
    assert client.get("/api/v1/bakeries/ford/log").status_code == 404

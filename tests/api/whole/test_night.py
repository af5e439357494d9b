"""A demo day through the service with the real core: stored, planned, read, answered, printed."""

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.files.toml_day import parsed
from api.main import create_app
from api.settings import Settings

pytestmark = pytest.mark.scenario

FOLDER = Path(__file__).parents[3] / "scenarios"
DAY = "/api/v1/bakeries/bakehouse/days"


def plain(data):
    """Return TOML data as JSON has it."""
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items()}
    if isinstance(data, list):
        return [plain(value) for value in data]
    return data.isoformat() if hasattr(data, "isoformat") else data


@pytest.fixture
def client(tmp_path):
    limits = {"deterministic_s": 0.5, "workers": 1, "plan_wait_s": 120}
    settings = Settings(data_dir=tmp_path, demo=True, **limits)
    with TestClient(create_app(settings)) as opened:
        yield opened


@pytest.fixture(params=["winter_rye", "ready_mixes", "small_kitchen", "least_entry"])
def night(request, client):
    """One demo day, put and planned: the plan as it is read."""
    document = plain(parsed((FOLDER / f"{request.param}.toml").read_text(encoding="utf-8")))
    date = document["production_date"]
    assert client.put(f"{DAY}/{date}", json=document).is_success
    made = client.post("/api/v1/plans", json={"bakery_id": "bakehouse", "production_date": date})
    assert made.status_code == 201, made.text
    return made.json()


def test_the_plan_is_read_as_it_was_made(client, night):
    assert night["state"] == "ready"
    again = client.get(f"/api/v1/plans/{night['id']}").json()
    assert again["night"] == night["night"]
    assert night["night"]["mixes"]
    codes = [remark["code"] for remark in night["night"]["remarks"]]
    assert not [code for code in codes if code.startswith("judge")]


def test_the_sheet_has_every_mix(client, night):
    page = client.get(f"/api/v1/plans/{night['id']}/sheet")
    assert page.status_code == 200
    for number in range(1, len(night["night"]["mixes"]) + 1):
        assert f"Mix {number}" in page.text
    assert ">nan" not in page.text.lower()


def test_a_thermometer_is_answered(client, night):
    """The flour is 3 degrees warmer than the first mix's forecast: its water gets colder."""
    mix = night["night"]["mixes"][0]
    flour = next(line for line in mix["scaling"] if "flour" in line["name"])
    reading = {
        "id": "r1",
        "kind": "flour temperature",
        "mix_id": mix["id"],
        "at_utc": mix["start_utc"],
        "value_c": flour["temperature_c"] + 3,
    }
    answered = client.post(f"/api/v1/plans/{night['id']}/readings", json=reading)
    assert answered.is_success, answered.text
    after = answered.json()["mix"]["ticket"]

    def cold(ticket):
        return ticket["water_c"] - 80 * ticket["ice_kg"] / ticket["formula_water_kg"]

    assert cold(after) < cold(mix["ticket"])
    repeated = client.post(f"/api/v1/plans/{night['id']}/readings", json=reading)
    assert repeated.json() == answered.json()


def test_a_night_teaches_the_next_plan(client, night):
    """A mix comes off three degrees warm: planned again, its water is colder from the start."""
    mix = night["night"]["mixes"][0]
    reading = {
        "id": "e1",
        "kind": "dough temperature at the end",
        "mix_id": mix["id"],
        "at_utc": mix["mix_end_utc"],
        "value_c": mix["ticket"]["expected_c"] + 3,
    }
    assert client.post(f"/api/v1/plans/{night['id']}/readings", json=reading).is_success
    (learned,) = client.get("/api/v1/bakeries/bakehouse/corrections").json()
    assert (learned["mixer_id"], learned["readings"]) == (mix["mixer_id"], 1)
    assert any(one["factor"] > 1.0 for one in learned["speeds"])
    wanted = {"bakery_id": "bakehouse", "production_date": night["production_date"]}
    again = client.post("/api/v1/plans", json=wanted).json()["night"]["mixes"]
    same = next(one for one in again if one["id"] == mix["id"])
    degrees = [one["ticket"]["equivalent_c"] for one in (mix, same)]
    assert degrees[1] < degrees[0]


def test_what_is_stored_outlives_the_service(client, night, tmp_path):
    client.__exit__(None, None, None)
    with TestClient(create_app(Settings(data_dir=tmp_path, demo=True))) as opened:
        assert opened.get(f"/api/v1/plans/{night['id']}").json()["night"] == night["night"]


def test_the_stored_day_is_the_day_that_was_put(client, night):
    """What is read back, put again, plans the same mixes."""
    date = night["production_date"]
    document = client.get(f"{DAY}/{date}").json()
    assert client.put(f"{DAY}/{date}", json=document.get("day", document)).is_success
    again = client.post(
        "/api/v1/plans", json={"bakery_id": "bakehouse", "production_date": date}
    ).json()
    assert again["version"] == night["version"] + 1
    mixes = [[m["id"] for m in plan["night"]["mixes"]] for plan in (night, again)]
    assert sorted(mixes[0]) == sorted(mixes[1])

"""A person's name is erased everywhere, and what was read and planned stays."""

import json

import pytest
from sqlalchemy import select

from api.store.transfer import PASSING, tables
from tests.api.fake_core import day_document

WEIR = "/api/v1/bakeries/weir"
FORGET = f"{WEIR}/people/ana/forget"


@pytest.fixture
def with_ana(client):
    """Ana works, has a shift, and a loaf is called as she is; a plan was made and read from."""
    day = day_document(shifts=[{"person": "Ana", "from": "22:00", "to": "06:00"}])
    day["products"].append(day["products"][0] | {"name": "ana"})
    client.put(f"{WEIR}/days/2026-07-16", json=day)
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    plan = client.post("/api/v1/plans", json=wanted).json()["id"]
    reading = {
        "id": "r1",
        "kind": "flour temperature",
        "mix_id": "white",
        "at_utc": "2026-07-15T23:10:00+02:00",
        "value_c": 27.5,
    }
    assert client.post(f"/api/v1/plans/{plan}/readings", json=reading).status_code == 201
    return plan


def stored_text(engine):
    with engine.connect() as connection:
        return json.dumps(
            {
                table.name: [dict(row) for row in connection.execute(select(table)).mappings()]
                for table in tables()
                if table.name not in PASSING
            },
            default=str,
        )


def test_the_name_is_nowhere_any_more_and_readings_stay(client, engine, with_ana):
    client.delete(f"{WEIR}/products/ana")
    assert '"Ana"' in stored_text(engine)
    before = client.get(f"/api/v1/plans/{with_ana}/readings").json()
    told = client.post(FORGET)
    assert told.status_code == 200, told.text
    assert told.json()["instead"] == "person_1"
    assert told.json()["documents"] >= 3
    assert '"Ana"' not in stored_text(engine)
    assert client.get(f"/api/v1/plans/{with_ana}/readings").json() == before


def test_the_day_and_the_plan_still_fit_together(client, with_ana):
    client.post(FORGET)
    (person,) = client.get(WEIR).json()["people"]
    assert (person["id"], person["name"]) == ("person_1", "person_1")
    day = client.get(f"{WEIR}/days/2026-07-16").json()
    assert day["shifts"][0]["person"] == "person_1"
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    assert client.post("/api/v1/plans", json=wanted).status_code == 201
    assert client.get(f"/api/v1/plans/{with_ana}/sheet").status_code == 200


def test_what_is_no_person_keeps_its_name(client, with_ana):
    assert with_ana
    client.post(FORGET)
    assert client.get(f"{WEIR}/products/ana").json()["name"] == "ana"


def test_somebody_unknown_is_not_found_and_nobody_is_erased_twice(client, with_ana):
    assert with_ana
    assert client.post(f"{WEIR}/people/ben/forget").status_code == 404
    client.post(FORGET)
    assert client.post(FORGET).status_code == 404


def test_another_bakery_keeps_its_ana(client, with_ana):
    assert with_ana
    ford = day_document()
    ford["bakery"] |= {"id": "ford"}
    client.put("/api/v1/bakeries/ford/days/2026-07-16", json=ford)
    client.post(FORGET)
    assert client.get("/api/v1/bakeries/ford").json()["people"][0]["name"] == "Ana"

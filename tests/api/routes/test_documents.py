"""Bakeries, formulas, products, mix lists, conditions and pins: every resource the same way."""

import pytest

from tests.api.fake_core import day_document

WEIR = "/api/v1/bakeries/weir"
DATE = "2026-07-16"
DAY = day_document()
RESOURCES = {
    "bakery": (WEIR, DAY["bakery"]),
    "formula": (f"{WEIR}/formulas/white", DAY["formulas"][0]),
    "product": (f"{WEIR}/products/loaf", DAY["products"][0]),
    "mix list": (f"{WEIR}/mix-lists/{DATE}", {"mix_list": DAY["mix_list"]}),
    "conditions": (f"{WEIR}/conditions/{DATE}", DAY["conditions"]),
    "pins": (f"{WEIR}/pins/{DATE}", {"pins": DAY["pins"]}),
}
each = pytest.mark.parametrize("what", RESOURCES)


@pytest.fixture
def stored(client):
    """The service with every resource put once."""
    for address, document in RESOURCES.values():
        assert client.put(address, json=document).status_code == 201
    return client


@each
def test_what_was_put_is_read_as_it_was_entered(stored, what):
    """No default of today is written into it: only the id of its address is added."""
    address, document = RESOURCES[what]
    read = stored.get(address).json()
    has_id = what in {"bakery", "formula", "product"}
    assert read == ({**document, "id": address.rsplit("/", 1)[1]} if has_id else document)


@each
def test_putting_the_same_again_changes_nothing(stored, what):
    address, document = RESOURCES[what]
    collection = address.rsplit("/", 1)[0]
    before = stored.get(collection).json()
    again = stored.put(address, json=document)
    assert (again.status_code, again.headers["Ovenward-Change"]) == (200, "unchanged")
    assert stored.get(collection).json() == before


@each
def test_it_stands_in_its_list(stored, what):
    address, _ = RESOURCES[what]
    collection, key = address.rsplit("/", 1)
    entry = stored.get(collection).json()[0]
    assert entry.get("id", entry.get("production_date")) == key


@each
def test_once_removed_it_is_gone(stored, what):
    address, _ = RESOURCES[what]
    assert stored.delete(address).status_code == 204
    gone = stored.get(address)
    assert gone.status_code == 404
    assert gone.json()["type"] == "/problems/not-found"
    assert stored.delete(address).status_code == 404


@each
def test_an_unknown_field_is_refused_and_nothing_written(client, what):
    for name, (address, document) in RESOURCES.items():
        if name == what:
            break
        client.put(address, json=document)
    address, document = RESOURCES[what]
    refused = client.put(address, json={**document, "colour_of_the_door": "red"})
    assert refused.status_code == 422
    assert "colour_of_the_door" in [fault["field"] for fault in refused.json()["faults"]]
    assert client.get(address).status_code == 404


def test_a_change_is_told_from_a_repetition(stored):
    address, document = RESOURCES["conditions"]
    changed = stored.put(address, json={**document, "hottest_c": 29})
    assert (changed.status_code, changed.headers["Ovenward-Change"]) == (200, "changed")
    assert stored.get(address).json()["hottest_c"] == 29


def test_removing_a_bakery_removes_what_is_its_own(stored):
    stored.delete(WEIR)
    stored.put(WEIR, json=DAY["bakery"])
    assert stored.get(f"{WEIR}/formulas").json() == []


def test_a_bakery_with_plans_stays(client, planned):
    refused = client.delete(WEIR)
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/in-use")
    assert client.get(f"/api/v1/plans/{planned}").status_code == 200


@pytest.mark.parametrize("what", [name for name in RESOURCES if name != "bakery"])
def test_there_is_nothing_of_an_unknown_bakery(client, what):
    address, document = RESOURCES[what]
    assert client.put(address, json=document).status_code == 404
    assert client.get(address.rsplit("/", 1)[0]).status_code == 404


def test_an_id_that_is_not_that_of_the_address_is_refused(client):
    refused = client.put("/api/v1/bakeries/mill", json=DAY["bakery"])
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["field"] == "id"


@pytest.mark.parametrize(
    ("what", "change", "field"),
    [
        ("bakery", {"altitude_m": 9000}, "altitude_m"),
        ("formula", {"dough_c": 80}, "dough_c"),
        ("product", {"bake_min": 0}, "bake_min"),
        (
            "mix list",
            {"mix_list": [{"product": "loaf", "pieces": 0, "leave_by": "6:30"}]},
            "mix_list.loaf.pieces",
        ),
        ("conditions", {"coolest_c": 35}, "rooms.bakehouse.hottest_c"),
        ("pins", {"pins": [{"mix": "loaf", "dough_c": 99}]}, "pins[0].dough_c"),
    ],
)
def test_what_the_core_refuses_is_refused_when_it_is_put(stored, what, change, field):
    address, document = RESOURCES[what]
    refused = stored.put(address, json={**document, **change})
    assert refused.status_code == 422, refused.text
    assert [fault["field"] for fault in refused.json()["faults"]] == [field]
    assert all(fault["remedy"] for fault in refused.json()["faults"])


@pytest.mark.parametrize("id", ["a.b", "a b", "a[1]", "x" * 101])
def test_an_id_that_would_not_do_in_a_path_is_refused(client, id):
    bakery = {key: value for key, value in DAY["bakery"].items() if key != "id"}
    assert client.put(f"/api/v1/bakeries/{id}", json=bakery).status_code == 422
    assert client.get("/api/v1/bakeries").json() == []

"""Whole days in one document."""

import pytest

from tests.api.fake_core import day_document

DAY = "/api/v1/bakeries/weir/days/2026-07-16"


def test_a_whole_day_is_stored_in_its_parts(client):
    assert client.put(DAY, json=day_document()).status_code == 201
    assert client.get("/api/v1/bakeries/weir/formulas/white").status_code == 200
    assert client.get("/api/v1/bakeries/weir/mix-lists/2026-07-16").json()["mix_list"]
    again = client.put(DAY, json=day_document())
    assert (again.status_code, again.headers["Ovenward-Change"]) == (200, "unchanged")


def test_a_whole_day_is_read_as_it_was_entered(client):
    sent = day_document()
    client.put(DAY, json=sent)
    read = client.get(DAY).json()
    for part in ("formulas", "products"):
        assert [one.pop("id") for one in read[part]] == [one["name"] for one in sent[part]]
    assert read == sent


def test_a_part_that_is_missing_is_named_with_its_remedy(client):
    client.put("/api/v1/bakeries/weir", json=day_document()["bakery"])
    missing = client.get(DAY)
    assert (missing.status_code, missing.json()["type"]) == (409, "/problems/day-incomplete")
    assert [fault["field"] for fault in missing.json()["faults"]] == ["mix_list", "conditions"]


def test_a_day_whose_parts_do_not_fit_is_refused_whole(client):
    lines = [{"product": "bun", "pieces": 3, "leave_by": "06:00"}]
    refused = client.put(DAY, json=day_document(mix_list=lines))
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["field"] == "mix_list.bun.product"
    assert client.get("/api/v1/bakeries").json() == []


@pytest.mark.parametrize(
    "wrong", ["/api/v1/bakeries/weir/days/2026-07-17", "/api/v1/bakeries/mill/days/2026-07-16"]
)
def test_a_day_of_another_date_or_bakery_than_its_address_is_refused(client, wrong):
    assert client.put(wrong, json=day_document()).status_code == 422
    assert client.get("/api/v1/bakeries").json() == []


def test_a_formula_that_the_day_does_not_name_cannot_spoil_it(client):
    """A dough left from the winter stands in a cellar that has been given up since."""
    client.put(DAY, json=day_document())
    cellar = {**day_document()["bakery"], "rooms": [{"name": "bakehouse"}, {"name": "cellar"}]}
    cellar["mixers"][0]["room"] = cellar["flour_stores"][0]["place"] = "bakehouse"
    client.put("/api/v1/bakeries/weir", json=cellar)
    winter = day_document()["formulas"][0] | {"bulk": {"minutes": 90, "place": "cellar"}}
    put = client.put("/api/v1/bakeries/weir/formulas/winter", json=winter | {"name": "winter"})
    assert put.status_code == 201
    client.put("/api/v1/bakeries/weir", json=day_document()["bakery"])
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    assert client.post("/api/v1/plans", json=wanted).status_code == 201


def test_a_day_without_pins_is_read_without_pins_and_takes_old_ones_away(client):
    bare = day_document()
    del bare["pins"]
    client.put(DAY, json=bare)
    assert "pins" not in client.get(DAY).json()
    client.put(DAY, json=day_document())
    client.put(DAY, json=bare)
    assert client.get(DAY).json()["pins"] == []


def test_an_id_that_no_address_can_have_is_refused(client):
    formula = day_document()["formulas"][0] | {"id": "white/tin"}
    product = day_document()["products"][0] | {"formula": "white/tin"}
    refused = client.put(DAY, json=day_document(formulas=[formula], products=[product]))
    assert refused.status_code == 422
    assert "'white/tin'" in [fault["value"] for fault in refused.json()["faults"]]

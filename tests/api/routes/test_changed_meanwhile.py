"""Two people edit one document: the second is told, and nothing is lost."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from api.scenario_files import scenario_names, scenario_text
from tests.api.fake_core import day_document
from tests.api.routes.test_documents import DATE, RESOURCES, WEIR

PROBE = {"name": "blue probe", "ice_point_c": 0.4, "checked_on": "2026-07-01"}
ALL = {
    **RESOURCES,
    "thermometer": (f"{WEIR}/thermometers/blue", PROBE),
    "routine": (f"{WEIR}/routine", {"nightly_plan_at": "17:30"}),
    "day": (f"{WEIR}/days/{DATE}", day_document()),
}
CHANGES = {
    "bakery": {"altitude_m": 200},
    "formula": {"dough_c": 26},
    "product": {"bake_min": 40},
    "mix list": {"mix_list": [{"product": "loaf", "pieces": 48, "leave_by": "06:30"}]},
    "conditions": {"hottest_c": 30},
    "pins": {"pins": []},
    "thermometer": {"place": "mixer 1"},
    "routine": {"nightly_plan_at": "18:00"},
    "day": {"conditions": {"coolest_c": 20, "hottest_c": 25}},
}
each = pytest.mark.parametrize("what", ALL)


@pytest.fixture
def stored(client):
    for address, document in ALL.values():
        assert client.put(address, json=document).is_success
    return client


@each
def test_whoever_has_read_the_last_version_may_write(stored, what):
    address, document = ALL[what]
    tag = stored.get(address).headers["ETag"]
    written = stored.put(address, json=document | CHANGES[what], headers={"If-Match": tag})
    assert written.status_code == 200, written.text
    assert written.headers["Ovenward-Change"] == "changed"
    assert written.headers["ETag"] == stored.get(address).headers["ETag"] != tag


@each
def test_whoever_has_read_an_older_version_is_told_and_nothing_is_lost(stored, what):
    address, document = ALL[what]
    old = stored.get(address).headers["ETag"]
    stored.put(address, json=document | CHANGES[what])
    now = stored.get(address)
    refused = stored.put(address, json=document, headers={"If-Match": old})
    assert (refused.status_code, refused.json()["type"]) == (412, "/problems/changed-meanwhile")
    assert refused.headers["ETag"] == now.headers["ETag"]
    assert now.headers["ETag"] in refused.json()["detail"]
    assert stored.get(address).json() == now.json()


@each
def test_a_second_identical_put_keeps_the_tag_and_says_that_it_changed_nothing(stored, what):
    address, document = ALL[what]
    first = stored.get(address).headers["ETag"]
    again = stored.put(address, json=document, headers={"If-Match": first})
    assert (again.headers["Ovenward-Change"], again.headers["ETag"]) == ("unchanged", first)


@each
def test_only_if_there_is_none_yet(client, what):
    for name, (address, document) in ALL.items():
        if name == what:
            break
        client.put(address, json=document)
    address, document = ALL[what]
    was_there = what == "day"  # its parts are
    new = client.put(address, json=document, headers={"If-None-Match": "*"})
    assert new.status_code == (412 if was_there else 201)
    again = client.put(address, json=document, headers={"If-None-Match": "*"})
    assert again.status_code == 412
    assert "there already" in again.json()["detail"]


@each
def test_a_document_that_is_known_is_not_sent_again(stored, what):
    address, document = ALL[what]
    tag = stored.get(address).headers["ETag"]
    known = stored.get(address, headers={"If-None-Match": tag})
    assert (known.status_code, known.content, known.headers["ETag"]) == (304, b"", tag)
    stored.put(address, json=document | CHANGES[what])
    assert stored.get(address, headers={"If-None-Match": tag}).status_code == 200


@pytest.mark.parametrize("what", [name for name in ALL if name not in {"routine", "day"}])
def test_what_was_changed_meanwhile_is_not_removed(stored, what):
    address, document = ALL[what]
    old = stored.get(address).headers["ETag"]
    stored.put(address, json=document | CHANGES[what])
    assert stored.delete(address, headers={"If-Match": old}).status_code == 412
    now = stored.get(address).headers["ETag"]
    assert stored.delete(address, headers={"If-Match": now}).status_code == 204


def test_nothing_is_written_over_what_is_not_there(client):
    address, document = ALL["bakery"]
    refused = client.put(address, json=document, headers={"If-Match": "*"})
    assert refused.status_code == 412
    assert "ETag" not in refused.headers
    assert client.get(address).status_code == 404


@pytest.mark.parametrize("header", ["If-Match", "If-None-Match"])
@pytest.mark.parametrize("sent", ["abc", '"abc', "W/abc", ",", '*, "a"'])
def test_what_is_no_tag_is_named(stored, header, sent):
    address, document = ALL["formula"]
    refused = stored.put(address, json=document, headers={header: sent})
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["field"] == header


def test_a_weak_tag_is_not_enough_to_write(stored):
    address, document = ALL["formula"]
    tag = stored.get(address).headers["ETag"]
    assert stored.put(address, json=document, headers={"If-Match": f"W/{tag}"}).status_code == 412
    both = {"If-Match": f'"older", {tag}'}
    assert stored.put(address, json=document, headers=both).status_code == 200


def test_of_eight_who_have_read_the_same_version_one_writes(stored):
    """A day and one of its formulas are written at once, too: they share the bakery's turn."""
    address, document = ALL["formula"]
    tag = {"If-Match": stored.get(address).headers["ETag"]}

    def write(dough_c):
        return stored.put(address, json=document | {"dough_c": dough_c}, headers=tag).status_code

    with ThreadPoolExecutor(4) as threads:
        codes = sorted(threads.map(write, [20 + n / 2 for n in range(8)]))
    assert codes == [200, *[412] * 7]


def test_a_day_is_not_written_over_a_formula_that_changed(stored):
    address, day = ALL["day"]
    tag = stored.get(address).headers["ETag"]
    formula, document = ALL["formula"]
    stored.put(formula, json=document | CHANGES["formula"])
    refused = stored.put(address, json=day, headers={"If-Match": tag})
    assert refused.status_code == 412
    assert stored.get(formula).json()["dough_c"] == 26


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
@pytest.mark.parametrize("name", scenario_names())
def test_the_tag_of_any_day_holds_after_it_was_stored(client, name):
    """What is stored, read back and stored again is the same document, for every demo day."""
    from api.files.toml_day import read_day  # noqa: PLC0415  the reader of day files
    from api.store.documents import document_of  # noqa: PLC0415

    day = read_day(scenario_text(name))
    document = document_of(day)
    where = f"/api/v1/bakeries/{day.bakery.key}/days/{day.production_date}"
    assert client.put(where, json=document).status_code == 201
    tag = client.get(where).headers["ETag"]
    again = client.put(where, json=client.get(where).json(), headers={"If-Match": tag})
    assert (again.status_code, again.headers["Ovenward-Change"]) == (200, "unchanged")

"""Lists come in pages, and a page leads to the next: each row once, in order."""

from urllib.parse import parse_qs, urlsplit

import pytest

from api.store.paging import cursor_of
from tests.api.fake_core import day_document

WEIR = "/api/v1/bakeries/weir"
PLANS = "/api/v1/plans"


def walked(client, address, limit, **query):
    """All rows by following `Link`, and how many pages there were."""
    rows, pages, answer = [], 0, client.get(address, params={"limit": limit, **query})
    while True:
        assert answer.status_code == 200, answer.text
        rows += answer.json()
        pages += 1
        link = answer.links.get("next")
        if link is None:
            return rows, pages
        assert len(answer.json()) == limit
        answer = client.get(link["url"])


@pytest.fixture
def full(client):
    """Five of everything that is listed."""
    for n in range(5):
        day = f"2026-07-{16 + n}"
        client.put(f"{WEIR}/days/{day}", json=day_document(production_date=day))
        client.put(f"{WEIR}/formulas/dough_{n}", json=day_document()["formulas"][0])
        client.put(f"{WEIR}/thermometers/t{n}", json={"name": f"probe {n}"})
        client.put(
            f"/api/v1/bakeries/mill_{n}", json=day_document()["bakery"] | {"id": f"mill_{n}"}
        )
    for n in range(5):
        product = day_document()["products"][0] | {"formula": "white"}
        client.put(f"{WEIR}/products/p{n}", json=product)
    return client


@pytest.mark.parametrize(
    ("listing", "key"),
    [
        ("/api/v1/bakeries", "id"),
        (f"{WEIR}/formulas", "id"),
        (f"{WEIR}/products", "id"),
        (f"{WEIR}/thermometers", "id"),
        (f"{WEIR}/mix-lists", "production_date"),
        (f"{WEIR}/conditions", "production_date"),
        (f"{WEIR}/pins", "production_date"),
    ],
)
@pytest.mark.parametrize("limit", [1, 2, 100])
def test_documents_by_pages_are_those_of_the_whole_list(full, listing, key, limit):
    whole = full.get(listing).json()
    assert len(whole) >= 5
    rows, pages = walked(full, listing, limit)
    assert rows == whole
    assert [row[key] for row in rows] == sorted(row[key] for row in rows)
    assert pages == -(-len(whole) // limit)


@pytest.mark.parametrize("what", ["mix-lists", "conditions", "pins"])
def test_days_are_asked_for_by_range(full, what):
    rows, _ = walked(full, f"{WEIR}/{what}", 1, since="2026-07-17", until="2026-07-19")
    assert [row["production_date"] for row in rows] == ["2026-07-17", "2026-07-18", "2026-07-19"]


def test_plans_by_pages_of_two_bakeries_and_three_days(full):
    mill = day_document()
    mill["bakery"] |= {"id": "mill"}
    for n in range(2):
        day = f"2026-07-{16 + n}"
        full.put(f"/api/v1/bakeries/mill/days/{day}", json=mill | {"production_date": day})
        for bakery in ("weir", "mill", "weir"):
            wanted = {"bakery_id": bakery, "production_date": day}
            assert full.post(PLANS, json=wanted).status_code == 201
    rows, _ = walked(full, PLANS, 1)
    assert [row["id"] for row in rows] == [
        "mill.2026-07-17.1",
        "weir.2026-07-17.2",
        "weir.2026-07-17.1",
        "mill.2026-07-16.1",
        "weir.2026-07-16.2",
        "weir.2026-07-16.1",
    ]
    of_day, _ = walked(full, PLANS, 1, production_date="2026-07-16", bakery_id="weir")
    assert [row["version"] for row in of_day] == [2, 1]


def test_timers_and_readings_by_pages(client, planned):
    client.post(f"{PLANS}/{planned}/approve")
    timers = f"{WEIR}/timers"
    whole = client.get(timers).json()
    assert len(whole) > 20
    rows, pages = walked(client, timers, 7)
    assert (rows, pages) == (whole, -(-len(whole) // 7))
    readings = f"{PLANS}/{planned}/readings"
    for n in range(5):
        reading = {
            "id": f"r{9 - n}",
            "kind": "flour temperature",
            "mix_id": "white",
            "at_utc": "2026-07-15T21:10:00Z",
            "value_c": 27.5,
        }
        client.post(readings, json=reading)
    rows, pages = walked(client, readings, 2)
    assert ([row["id"] for row in rows], pages) == (["r9", "r8", "r7", "r6", "r5"], 3)


def test_a_page_after_a_row_that_was_removed_goes_on_behind_it(full):
    link = full.get(f"{WEIR}/formulas", params={"limit": 2}).links["next"]["url"]
    assert full.delete(f"{WEIR}/formulas/dough_1").status_code == 204
    assert [row["id"] for row in full.get(link).json()] == ["dough_2", "dough_3"]


def test_what_was_asked_for_stays_in_the_way_to_the_next_page(full):
    query = {"limit": 1, "since": "2026-07-17"}
    link = full.get(f"{WEIR}/mix-lists", params=query).links["next"]["url"]
    kept = parse_qs(urlsplit(link).query)
    assert (kept["since"], kept["limit"]) == (["2026-07-17"], ["1"])


@pytest.mark.parametrize(
    "cursor",
    ["x", "W10", "WzFd", cursor_of([1]), cursor_of(["2026-07-16", "a"]), "☃", "a" * 800, "bnVsbA"],
)
def test_what_is_no_cursor_is_named(full, cursor):
    for address in (f"{WEIR}/mix-lists", PLANS, f"{WEIR}/timers"):
        refused = full.get(address, params={"after": cursor})
        assert refused.status_code == 422, (address, refused.text)
        assert refused.json()["faults"][0]["field"] == "after"


@pytest.mark.parametrize("limit", ["0", "1001", "many", "-1"])
def test_a_page_has_a_size(full, limit):
    refused = full.get(f"{WEIR}/formulas", params={"limit": limit})
    assert refused.json()["faults"][0]["field"] == "limit"

"""Whatever is sent: an answer that says what is wrong with it, never a failure of the service."""

import copy
import json

import pytest

from tests.api.fake_core import day_document

DAY = "/api/v1/bakeries/weir/days/2026-07-16"
ODD = (None, -1, 10**400, 1e308, "", "1,5", [], {}, True, [None], "25:99", "2026-13-45", "☃" * 3000)


def day_with_everything():
    """The day, with an entry of every sort in it."""
    day = day_document(shifts=[{"person": "Ana", "from": "22:00", "to": "06:00"}])
    no_more_flour = [
        {"material": "rye flour", "percent": 0},
        {"material": "water", "percent": 10},
    ]
    day["formulas"][0]["parts"] = [
        {"kind": "scald", "name": "scald", "lines": no_more_flour},
        {
            "kind": "preferment",
            "name": "levain",
            "lines": copy.deepcopy(no_more_flour),
            "ripening": {"minutes": 300},
            "temperature_c": 26,
        },
    ]
    day["bakery"]["ice"] = {"kind": "flake", "bin_kg": 30}
    day["bakery"]["chambers"] = [{"name": "retarder", "kind": "retarder", "racks": 4}]
    day["conditions"]["inherited"] = [
        {
            "product": "loaf",
            "pieces": 3,
            "stage": "proof",
            "place": "bakehouse",
            "since": "20:00",
            "dough_c": 20,
            "leave_by": "05:00",
        }
    ]
    return day


def places_in(document, above=()):
    entries = document.items() if isinstance(document, dict) else enumerate(document)
    for key, below in entries:
        yield (*above, key)
        if isinstance(below, dict | list):
            yield from places_in(below, (*above, key))


def with_odd(document, place, odd):
    changed = copy.deepcopy(document)
    above = changed
    for key in place[:-1]:
        above = above[key]
    above[place[-1]] = odd
    return json.dumps(changed)


def send(client, address, body, method="PUT"):
    json_type = {"content-type": "application/json"}
    return client.request(method, address, content=body, headers=json_type)


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
@pytest.mark.parametrize("part", day_with_everything())
def test_no_odd_value_anywhere_in_a_day_makes_the_service_fail(client, part):
    day = day_with_everything()
    places = [place for place in places_in(day) if place[0] == part]
    for number, place in enumerate(places):
        for odd in ODD[number % 3 :: 3]:
            answer = send(client, DAY, with_odd(day, place, odd))
            assert answer.status_code in {200, 201, 422}, (place, odd, answer.text)
            if answer.status_code == 422:
                assert answer.json()["faults"], (place, odd)


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_no_odd_value_in_a_reading_makes_the_service_fail(client, planned):
    reading = {
        "id": "r",
        "kind": "flour temperature",
        "mix_id": "white",
        "at_utc": "2026-07-15T21:10:00Z",
        "value_c": 27.5,
        "sd_k": 1,
        "part_id": None,
        "supersedes": None,
    }
    too_early, too_late = "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"
    for number, key in enumerate(reading):
        for odd in (*ODD, too_early, too_late):
            body = with_odd(reading | {"id": f"r{number}"}, (key,), odd)
            answer = send(client, f"/api/v1/plans/{planned}/readings", body, "POST")
            assert answer.status_code in {200, 201, 409, 422}, (key, odd, answer.text)


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
@pytest.mark.parametrize(
    ("part", "sent"),
    [
        ("days", day_document()),
        ("mix-lists", {"mix_list": []}),
        ("conditions", {"coolest_c": 20, "hottest_c": 30}),
        ("pins", {"pins": [{"mix": "loaf", "start": "23:00"}]}),
    ],
)
def test_a_day_of_another_age_is_refused(client, day, part, sent):
    client.put(DAY, json=day_document())
    refused = client.put(f"/api/v1/bakeries/weir/{part}/{day}", json=sent)
    assert refused.status_code == 422
    [fault] = refused.json()["faults"]
    assert (fault["field"], fault["remedy"]) == (
        "production_date",
        "enter a year from 2000 to 2199",
    )

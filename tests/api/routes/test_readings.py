"""Readings: stored once, answered at once, never overwritten."""

from concurrent.futures import ThreadPoolExecutor

import pytest

READING = {
    "id": "r1",
    "kind": "flour temperature",
    "mix_id": "white",
    "at_utc": "2026-07-15T23:10:00+02:00",
    "value_c": 27.5,
}


@pytest.fixture
def readings(planned):
    return f"/api/v1/plans/{planned}/readings"


def test_a_reading_is_answered_with_the_new_ticket(client, readings):
    answered = client.post(readings, json=READING)
    assert answered.status_code == 201
    answer = answered.json()
    assert answer["mix"]["id"] == "white"
    assert answer["mix"]["ticket"]["water"]
    assert answer["reading"]["at_utc"] == "2026-07-15T21:10:00Z"


def test_a_reading_sent_twice_is_stored_once_and_answered_the_same(client, readings):
    first, again = (client.post(readings, json=READING) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json()
    assert len(client.get(readings).json()) == 1


def test_the_same_reading_told_with_another_offset_is_the_same_reading(client, readings):
    client.post(readings, json=READING)
    again = client.post(readings, json=READING | {"at_utc": "2026-07-15T21:10:00Z"})
    assert again.status_code == 200


def test_a_reading_is_never_overwritten(client, readings):
    client.post(readings, json=READING)
    refused = client.post(readings, json=READING | {"value_c": 30})
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/reading-clash")
    assert client.get(readings).json()[0]["value_c"] == 27.5


def test_the_answer_knows_the_readings_before_it(client, readings):
    """The fake core puts the number of known readings into the ice."""
    ice = [
        client.post(readings, json=READING | {"id": f"r{i}"}).json()["mix"]["ticket"]["ice_kg"]
        for i in range(3)
    ]
    assert ice == [0, 1, 2]


def test_what_was_superseded_is_kept_but_no_longer_counts(client, readings):
    """Of three readings before the last, one was superseded by the second: two count."""
    client.post(readings, json=READING)
    client.post(readings, json=READING | {"id": "r2", "value_c": 26, "supersedes": "r1"})
    client.post(readings, json=READING | {"id": "r3"})
    last = client.post(readings, json=READING | {"id": "r4"})
    assert last.json()["mix"]["ticket"]["ice_kg"] == 2
    assert [one["id"] for one in client.get(readings).json()] == ["r1", "r2", "r3", "r4"]


def test_fahrenheit_is_read_where_it_is_named(client, readings):
    """81.5 °F is (81.5 − 32) / 1.8 = 27.5 °C."""
    sent = {key: value for key, value in READING.items() if key != "value_c"}
    answered = client.post(readings, json=sent | {"value_f": 81.5})
    assert answered.json()["reading"]["value_c"] == pytest.approx(27.5)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"value_c": 245}, "value_c"),
        ({"value_c": None}, "value_c"),
        ({"at_utc": "2026-07-15T23:10:00"}, "at_utc"),
        ({"kind": "mood"}, "kind"),
        ({"mix_id": "cake"}, "mix_id"),
        ({"part_id": "cream"}, "part_id"),
        ({"supersedes": "r0"}, "supersedes"),
        ({"sd_k": 0}, "sd_k"),
    ],
)
def test_a_reading_that_cannot_be_right_is_refused_and_not_stored(client, readings, change, field):
    refused = client.post(readings, json=READING | change)
    assert (refused.status_code, refused.json()["type"]) == (422, "/problems/invalid-input")
    assert [fault["field"] for fault in refused.json()["faults"]] == [field]
    assert client.get(readings).json() == []


def test_a_number_that_is_none_is_refused_and_not_stored(client, readings):
    body = '{"id": "r1", "kind": "flour temperature", "mix_id": "white", "value_c": NaN}'
    refused = client.post(readings, content=body, headers={"content-type": "application/json"})
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["value"] == "NaN"
    assert client.get(readings).json() == []


def test_a_reading_sent_by_two_hands_at_once_is_stored_once(client, readings):
    with ThreadPoolExecutor(4) as threads:
        answers = list(threads.map(lambda _: client.post(readings, json=READING), range(8)))
    assert sorted(answer.status_code for answer in answers) == [*[200] * 7, 201]
    assert len({answer.text for answer in answers}) == 1

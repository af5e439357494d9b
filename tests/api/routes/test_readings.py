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


def test_a_reading_of_hours_ago_is_taken(client, readings):
    """Taps that waited for the network: what was read at 23:10 may come in the morning."""
    assert client.post(readings, json=READING | {"at_utc": "2026-07-01T05:00:00Z"}).is_success


def test_a_batch_stores_what_can_be_right_and_says_what_became_of_each(client, readings):
    client.post(readings, json=READING)
    batch = [
        READING,
        READING | {"id": "r2"},
        READING | {"id": "r3", "mix_id": "cake"},
        READING | {"id": "r1", "value_c": 30},
        READING | {"id": "r4"},
    ]
    outcomes = client.post(f"{readings}/batch", json={"readings": batch}).json()
    assert [one["outcome"] for one in outcomes] == [
        "known",
        "stored",
        "refused",
        "refused",
        "stored",
    ]
    assert outcomes[2]["problem"]["faults"][0]["field"] == "mix_id"
    assert outcomes[3]["problem"]["type"] == "/problems/reading-clash"
    assert [one["id"] for one in client.get(readings).json()] == ["r1", "r2", "r4"]


def test_readings_of_a_batch_count_one_after_the_other(client, readings):
    """The fake core puts the number of known readings into the ice."""
    batch = {"readings": [READING | {"id": f"r{i}"} for i in range(3)]}
    outcomes = client.post(f"{readings}/batch", json=batch).json()
    assert [one["answer"]["mix"]["ticket"]["ice_kg"] for one in outcomes] == [0, 1, 2]


def test_a_batch_sent_again_is_known(client, readings):
    batch = {"readings": [READING, READING | {"id": "r2"}]}
    first, again = (client.post(f"{readings}/batch", json=batch).json() for _ in range(2))
    assert [one["outcome"] for one in again] == ["known", "known"]
    assert [one["answer"] for one in again] == [one["answer"] for one in first]


def test_a_malformed_reading_is_named_and_nothing_is_stored(client, readings):
    batch = {"readings": [READING, READING | {"id": "r2", "kind": "mood"}]}
    refused = client.post(f"{readings}/batch", json=batch)
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["field"] == "readings.r2.kind"
    assert client.get(readings).json() == []


@pytest.mark.parametrize("broken", ["answer", "learn"])
def test_a_reading_is_kept_when_reckoning_breaks_off(client, readings, core, monkeypatch, broken):
    def break_off(*_):
        raise ZeroDivisionError

    monkeypatch.setattr(core, broken, break_off)
    taken = client.post(readings, json=READING | {"kind": "dough temperature at the end"})
    assert taken.status_code == 201
    assert taken.json()["is_answered"] is (broken == "learn")
    assert len(client.get(readings).json()) == 1


PROBE = {"name": "blue probe", "ice_point_c": 0.5, "checked_on": "2026-07-01"}


def test_a_thermometer_checked_in_ice_sets_its_readings_right(client, readings, core, monkeypatch):
    """It reads 0.5 °C in melting ice, where 0 °C is true: 27.5 °C read are 27.0 °C."""
    client.put("/api/v1/bakeries/weir/thermometers/blue", json=PROBE)
    asked = []
    answer = core.answer
    monkeypatch.setattr(core, "answer", lambda *told: asked.append(told) or answer(*told))
    for i in range(2):
        answered = client.post(readings, json=READING | {"id": f"r{i}", "thermometer_id": "blue"})
        assert answered.json()["reading"]["value_c"] == 27.5
        assert answered.json()["reading"]["offset_k"] == -0.5
    assert [reading.value_c for _, reading in asked] == [27.0, 27.0]
    assert [reading.value_c for reading in asked[1][0].readings] == [27.0]


def test_a_later_check_leaves_earlier_readings_alone(client, readings):
    client.put("/api/v1/bakeries/weir/thermometers/blue", json=PROBE)
    client.post(readings, json=READING | {"thermometer_id": "blue"})
    client.put("/api/v1/bakeries/weir/thermometers/blue", json=PROBE | {"ice_point_c": 1})
    assert client.get(readings).json()[0]["offset_k"] == -0.5
    again = client.post(readings, json=READING | {"thermometer_id": "blue"})
    assert (again.status_code, again.json()["reading"]["offset_k"]) == (200, -0.5)


def test_who_read_it_and_what_was_done_stand_with_a_reading(client, readings):
    note = {"id": "n1", "kind": "note", "by": "AK", "note": "divided 20 min sooner"}
    told = {key: one for key, one in READING.items() if key != "value_c"} | note
    assert client.post(readings, json=told).is_success
    stored = client.get(readings).json()[0]
    assert (stored["by"], stored["note"]) == ("AK", "divided 20 min sooner")
    empty = client.post(readings, json=told | {"id": "n2", "note": " "})
    assert [fault["field"] for fault in empty.json()["faults"]] == ["note"]


def test_a_reading_is_taken_back_and_stays_in_the_log(client, readings):
    client.post(readings, json=READING)
    back = {"id": "r2", "kind": "withdrawn", "mix_id": "white", "at_utc": READING["at_utc"]}
    refused = client.post(readings, json=back)
    assert [fault["field"] for fault in refused.json()["faults"]] == ["supersedes"]
    assert client.post(readings, json=back | {"supersedes": "r1"}).is_success
    assert [one["id"] for one in client.get(readings).json()] == ["r1", "r2"]

"""A POST with an Idempotency-Key is done once, however often a bad network sends it."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from sqlmodel import Session

from api.store import sent_once
from api.store.engine import for_writing
from api.store.tables import SentOnceRow
from tests.api.fake_core import day_document

PLANS = "/api/v1/plans"
WANTED = {"bakery_id": "weir", "production_date": "2026-07-16"}
KEY = {"Idempotency-Key": "tablet-1-0007"}
NOW = datetime(2026, 7, 15, 12, tzinfo=UTC)


@pytest.fixture
def with_day(client):
    client.put("/api/v1/bakeries/weir/days/2026-07-16", json=day_document())
    return client


def test_a_plan_asked_for_twice_under_one_key_is_made_once(with_day):
    first = with_day.post(PLANS, json=WANTED, headers=KEY)
    again = with_day.post(PLANS, json=WANTED, headers=KEY)
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert again.headers["Location"] == first.headers["Location"]
    assert again.headers["Ovenward-Answered-Before"] == "true"
    assert "Ovenward-Answered-Before" not in first.headers
    assert len(with_day.get(PLANS).json()) == 1


def test_without_a_key_it_is_made_twice(with_day):
    for _ in range(2):
        with_day.post(PLANS, json=WANTED)
    assert len(with_day.get(PLANS).json()) == 2


def test_another_key_is_another_request(with_day):
    for n in range(2):
        with_day.post(PLANS, json=WANTED, headers={"Idempotency-Key": f"k{n}"})
    assert len(with_day.get(PLANS).json()) == 2


def test_a_key_that_came_with_another_request_is_refused(with_day):
    with_day.post(PLANS, json=WANTED, headers=KEY)
    other = WANTED | {"production_date": "2026-07-17"}
    refused = with_day.post(PLANS, json=other, headers=KEY)
    assert (refused.status_code, refused.json()["type"]) == (422, "/problems/key-reused")
    (plan,) = with_day.get(PLANS).json()
    elsewhere = with_day.post(f"{PLANS}/{plan['id']}/approve", headers=KEY)
    assert elsewhere.status_code == 422


def test_a_refused_request_may_be_mended_and_sent_again(client):
    assert client.post(PLANS, json=WANTED, headers=KEY).status_code == 404
    assert client.post(PLANS, json={}, headers=KEY).status_code == 422
    client.put("/api/v1/bakeries/weir/days/2026-07-16", json=day_document())
    assert client.post(PLANS, json=WANTED, headers=KEY).status_code == 201


def test_a_request_that_broke_off_may_be_sent_again(with_day, core):
    core.error = ZeroDivisionError()
    assert with_day.post(PLANS, json=WANTED, headers=KEY).status_code == 500
    core.error = None
    assert with_day.post(PLANS, json=WANTED, headers=KEY).status_code == 201


def test_sent_by_four_hands_at_once_it_is_made_once(with_day, core):
    core.go.clear()
    with ThreadPoolExecutor(4) as threads:
        sent = [threads.submit(with_day.post, PLANS, json=WANTED, headers=KEY) for _ in range(4)]
        core.go.set()
        codes = [one.result().status_code for one in sent]
    assert set(codes) <= {201, 409}
    assert 201 in codes
    assert len(with_day.get(PLANS).json()) == 1
    assert with_day.post(PLANS, json=WANTED, headers=KEY).status_code == 201


@pytest.mark.parametrize("key", ["", "x" * 201])
def test_a_key_of_no_use_is_named(with_day, key):
    refused = with_day.post(PLANS, json=WANTED, headers={"Idempotency-Key": key})
    assert refused.status_code == 422
    assert "key" in refused.json()["faults"][0]["field"].lower()


@pytest.mark.parametrize("deed", ["approve", "withdraw", "stop"])
def test_deeds_take_a_key_too(client, planned, deed):
    first, again = (client.post(f"{PLANS}/{planned}/{deed}", headers=KEY) for _ in range(2))
    assert first.content == again.content
    assert again.headers["Ovenward-Answered-Before"] == "true"


def test_readings_take_a_key_too(client, planned):
    reading = {
        "id": "r1",
        "kind": "flour temperature",
        "mix_id": "white",
        "at_utc": "2026-07-15T21:10:00Z",
        "value_c": 27.5,
    }
    first, again = (
        client.post(f"{PLANS}/{planned}/readings", json=reading, headers=KEY) for _ in range(2)
    )
    assert (first.status_code, again.status_code) == (201, 201)


def test_answers_are_kept_for_a_day_and_cut_off_requests_for_ten_minutes(engine):
    def claim(minutes):
        with Session(for_writing(engine)) as session, session.begin():
            row = sent_once.claim(session, "ana", "k", "f", NOW + timedelta(minutes=minutes))
            return None if row is None else row.body

    assert claim(0) is None
    with pytest.raises(sent_once.StillAnsweringError):
        claim(9)
    assert claim(11) is None
    with Session(for_writing(engine)) as session, session.begin():
        sent_once.keep(session, "ana", "k", 201, {}, "done")
    assert claim(24 * 60) == "done"
    assert claim(24 * 60 + 12) is None


def test_two_senders_may_use_the_same_key(engine):
    with Session(for_writing(engine)) as session, session.begin():
        assert sent_once.claim(session, "ana", "k", "f", NOW) is None
        assert sent_once.claim(session, "ben", "k", "g", NOW) is None
        assert session.get(SentOnceRow, ("ben", "k")).fingerprint == "g"

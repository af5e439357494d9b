"""What readings teach: stored with them, listed, and used by the next plan."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from sqlalchemy import text

from planner.corrections import Corrections, WorkEvidence
from planner.mixers import Speed

CORRECTIONS = "/api/v1/bakeries/weir/corrections"
END = {
    "id": "e1",
    "kind": "dough temperature at the end",
    "mix_id": "white",
    "at_utc": "2026-07-15T23:40:00+02:00",
    "value_c": 26.5,
}


@pytest.fixture
def readings(planned):
    return f"/api/v1/plans/{planned}/readings"


@pytest.mark.usefixtures("planned")
def test_before_the_first_reading_nothing_was_learned(client):
    assert client.get(CORRECTIONS).json() == []


def test_an_unknown_bakery_is_not_found(client):
    assert client.get("/api/v1/bakeries/nobody/corrections").status_code == 404


def test_what_a_finished_mix_teaches_is_listed(client, readings):
    """The fake core learns factor 1 ± 0.2 and a class of −0.1 ± 0.3 from the first."""
    assert client.post(readings, json=END).status_code == 201
    (one,) = client.get(CORRECTIONS).json()
    assert one["mixer_id"] == "spiral_1"
    assert one["readings"] == 1
    assert one["speeds"] == [{"speed": "second speed", "factor": 1.0, "factor_sd": 0.2}]
    (by_class,) = one["dough_classes"]
    assert by_class["dough_class"] == "wheat"
    assert by_class["deviation_sd"] == pytest.approx(0.3)
    assert (one["ignored"], one["frozen"]) == (False, False)


def test_the_next_plan_is_made_with_it(client, core, readings):
    client.post(readings, json=END)
    client.post("/api/v1/plans", json={"bakery_id": "weir", "production_date": "2026-07-16"})
    assert [known.mixing_work != () for known in core.known] == [False, True]
    assert core.known[1].mixing_work[0].readings == 1


def test_a_flour_reading_teaches_nothing(client, readings):
    client.post(readings, json=END | {"kind": "flour temperature"})
    assert client.get(CORRECTIONS).json() == []


def test_a_reading_sent_twice_teaches_once(client, readings):
    for _ in range(2):
        client.post(readings, json=END)
    assert client.get(CORRECTIONS).json()[0]["readings"] == 1


def test_a_reading_that_is_refused_teaches_nothing(client, readings):
    assert client.post(readings, json=END | {"supersedes": "e0"}).status_code == 422
    assert client.get(CORRECTIONS).json() == []


def test_a_reading_is_not_stored_without_what_it_teaches(client, core, readings):
    """One transaction: learning breaks off, so the reading may be sent again."""

    def broken(*_):
        raise MemoryError

    learn, core.learn = core.learn, broken
    assert client.post(readings, json=END).status_code == 500
    assert client.get(readings).json() == []
    core.learn = learn
    assert client.post(readings, json=END).status_code == 201
    assert client.get(CORRECTIONS).json()[0]["readings"] == 1


def test_readings_of_two_plans_at_once_are_both_learned_from(client, planned):
    again = client.post(
        "/api/v1/plans", json={"bakery_id": "weir", "production_date": "2026-07-16"}
    ).json()["id"]
    sent = [(plan, END | {"id": f"e{n}"}) for plan in (planned, again) for n in range(4)]
    with ThreadPoolExecutor(4) as threads:
        codes = threads.map(
            lambda one: client.post(f"/api/v1/plans/{one[0]}/readings", json=one[1]).status_code,
            sent,
        )
        assert set(codes) == {201}
    assert client.get(CORRECTIONS).json()[0]["readings"] == 8


def test_what_was_learned_cannot_be_put_or_removed(client, readings):
    client.post(readings, json=END)
    assert client.put(CORRECTIONS, json=[]).status_code == 405
    assert client.delete(CORRECTIONS).status_code == 405


SPIRAL = f"{CORRECTIONS}/spiral_1"


def test_a_correction_tells_the_mixes_it_rests_on(client, core, readings):
    """Evidence by hand: 6 degrees at the first guess, 7.5 read, known to 0.8."""
    evidence = WorkEvidence("wheat", ((Speed.SECOND, 6.0),), 7.5, 0.8, "2026-07-16/white")
    learn = core.learn

    def with_evidence(*told):
        (one,) = learn(*told).mixing_work
        return Corrections((replace(one, evidence=(evidence,)),))

    core.learn = with_evidence
    client.post(readings, json=END)
    (one,) = client.get(SPIRAL).json()["evidence"]
    assert one == {
        "dough_class": "wheat",
        "source": "2026-07-16/white",
        "rise_k": 7.5,
        "sd_k": 0.8,
        "foreseen_k": 6.0,
    }


def test_a_correction_is_frozen_or_ignored_and_the_next_plan_knows(client, core, readings):
    client.post(readings, json=END)
    switched = client.put(SPIRAL, json={"frozen": True, "ignored": True})
    assert (switched.status_code, switched.headers["Ovenward-Change"]) == (200, "changed")
    assert (switched.json()["frozen"], switched.json()["ignored"]) == (True, True)
    again = client.put(SPIRAL, json={"frozen": True, "ignored": True})
    assert again.headers["Ovenward-Change"] == "unchanged"
    client.post("/api/v1/plans", json={"bakery_id": "weir", "production_date": "2026-07-16"})
    (known,) = core.known[-1].mixing_work
    assert (known.frozen, known.ignored) == (True, True)
    back = client.put(SPIRAL, json={})
    assert (back.json()["frozen"], back.json()["ignored"]) == (False, False)


def test_a_correction_that_is_reset_is_learned_anew(client, core, readings):
    for n in range(3):
        client.post(readings, json=END | {"id": f"e{n}"})
    assert client.get(SPIRAL).json()["readings"] == 3
    assert client.delete(SPIRAL).status_code == 204
    assert client.get(SPIRAL).status_code == 404
    assert client.get(CORRECTIONS).json() == []
    client.post("/api/v1/plans", json={"bakery_id": "weir", "production_date": "2026-07-16"})
    assert core.known[-1].mixing_work == ()
    client.post(readings, json=END | {"id": "e9"})
    assert client.get(SPIRAL).json()["readings"] == 1


def test_a_correction_that_was_switched_meanwhile_is_not_switched_unseen(client, readings):
    client.post(readings, json=END)
    old = {"If-Match": client.get(SPIRAL).headers["ETag"]}
    assert client.put(SPIRAL, json={"frozen": True}, headers=old).status_code == 200
    refused = client.put(SPIRAL, json={"ignored": True}, headers=old)
    assert refused.status_code == 412
    assert refused.headers["ETag"] == client.get(SPIRAL).headers["ETag"]
    assert client.delete(SPIRAL, headers=old).status_code == 412


@pytest.mark.usefixtures("planned")
def test_there_is_nothing_to_switch_before_something_was_learned(client):
    for method in ("GET", "PUT", "DELETE"):
        body = {"frozen": True} if method == "PUT" else None
        assert client.request(method, SPIRAL, json=body).status_code == 404


def test_corrections_go_with_their_bakery(client, readings, engine):
    """Only a bakery without plans may go; here its plans are taken away by hand."""
    client.post(readings, json=END)
    with engine.begin() as connection:
        connection.execute(text("DELETE FROM plan"))
    assert client.delete("/api/v1/bakeries/weir").status_code == 204
    with engine.begin() as connection:
        assert connection.execute(text("SELECT count(*) FROM corrections")).scalar_one() == 0

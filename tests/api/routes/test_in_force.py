"""Exactly one plan of a day counts, and its timers can be seen."""

from concurrent.futures import ThreadPoolExecutor

import pytest

WEIR = "/api/v1/bakeries/weir"
WANTED = {"bakery_id": "weir", "production_date": "2026-07-16"}


@pytest.fixture
def second(client, planned):
    assert planned.endswith(".1")
    return client.post("/api/v1/plans", json=WANTED).json()["id"]


def counting(client):
    return [one["id"] for one in client.get("/api/v1/plans").json() if one["in_force"]]


def act(client, plan_id, what):
    return client.post(f"/api/v1/plans/{plan_id}/{what}")


def test_no_plan_counts_until_one_is_approved(client, planned):
    assert counting(client) == []
    assert act(client, planned, "approve").json()["in_force"] is True
    assert counting(client) == [planned]
    assert client.get(f"/api/v1/plans/{planned}").json()["in_force"] is True


def test_another_approved_takes_its_place(client, planned, second):
    for plan_id in (planned, second, planned):
        act(client, plan_id, "approve")
        assert counting(client) == [plan_id]


def test_withdrawn_none_counts(client, planned, second):
    act(client, planned, "approve")
    act(client, second, "withdraw")
    assert counting(client) == [planned]
    assert act(client, planned, "withdraw").json()["in_force"] is False
    assert counting(client) == []


def test_approving_twice_tells_once(client, planned):
    for _ in range(2):
        assert act(client, planned, "approve").status_code == 200
    told = [one["type"] for one in client.get(f"{WEIR}/events").json()]
    assert told.count("ovenward.plan.in_force") == 1


def test_hands_that_approve_at_once_leave_one(client, planned, second):
    with ThreadPoolExecutor(4) as hands:
        answers = list(
            hands.map(lambda i: act(client, (planned, second)[i % 2], "approve"), range(12))
        )
    assert {answer.status_code for answer in answers} == {200}
    assert len(counting(client)) == 1


def test_a_plan_that_is_not_made_cannot_count(client, core, planned):
    core.error = MemoryError()
    client.post("/api/v1/plans", json=WANTED)
    refused = act(client, planned.replace(".1", ".2"), "approve")
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/plan-not-ready")
    assert act(client, "weir.2026-07-16.9", "approve").status_code == 404


def test_timers_are_listed_with_what_became_of_them(client, planned):
    """The sample night was in July 2026, and is over: all its moments have passed."""
    act(client, planned, "approve")
    found = client.get(f"{WEIR}/timers", params={"production_date": "2026-07-16"}).json()
    assert {one["state"] for one in found} == {"passed"}
    assert [one["due_at"] for one in found] == sorted(one["due_at"] for one in found)
    assert client.get(f"{WEIR}/timers", params={"state": "waiting"}).json() == []
    assert client.get("/api/v1/bakeries/nobody/timers").status_code == 404


def test_a_routine_is_read_as_entered(client, planned):
    assert planned
    assert client.get(f"{WEIR}/routine").json() == {}
    routine = {"nightly_plan_at": "17:30", "in_force": "newest"}
    puts = [client.put(f"{WEIR}/routine", json=routine).status_code for _ in range(2)]
    assert puts == [201, 200]
    assert client.get(f"{WEIR}/routine").json() == routine
    assert len(client.get(f"{WEIR}/timers", params={"state": "waiting"}).json()) >= 1


@pytest.mark.parametrize(
    ("change", "field"),
    [({"nightly_plan_at": "25:00"}, "nightly_plan_at"), ({"in_force": "mine"}, "in_force")],
)
def test_a_routine_that_cannot_be_is_refused(client, planned, change, field):
    assert planned
    refused = client.put(f"{WEIR}/routine", json=change)
    assert refused.status_code == 422
    assert [fault["field"] for fault in refused.json()["faults"]] == [field]

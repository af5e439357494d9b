"""Every error leaves as a problem of a stable kind, and tells what to do."""

import pytest
from sqlalchemy import event
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlmodel import Session

from api import errors
from api.errors import KINDS, kind_of, problem_of
from api.schemas.problems import MEDIA_TYPE, Problem
from planner.errors import NotConvergedError, OutOfRangeError, refuse
from tests.api.fake_core import FakeCore, day_document

BAKERY = "/api/v1/bakeries/weir"


@pytest.mark.parametrize(
    ("error", "status", "name"),
    [
        (refuse("a", 1, "is wrong", "mend it"), 422, "invalid-input"),
        (errors.NotSignedInError("x"), 401, "not-signed-in"),
        (errors.WrongSignInError("x"), 401, "wrong-sign-in"),
        (errors.NotAllowedError("x"), 403, "not-allowed"),
        (errors.TooLargeError("x"), 413, "too-large"),
        (errors.StoppingError("x"), 503, "stopping"),
        (errors.TooManyTriesError(60), 429, "too-many-tries"),
        (errors.NotFoundError("plan", "x"), 404, "not-found"),
        (errors.DayIncompleteError("x"), 409, "day-incomplete"),
        (errors.DayClashError("x"), 409, "day-clash"),
        (errors.InUseError("x"), 409, "in-use"),
        (errors.ReadingClashError("x"), 409, "reading-clash"),
        (errors.PlanNotReadyError("x"), 409, "plan-not-ready"),
        (IntegrityError("INSERT", {}, Exception("twice")), 409, "clash"),
        (OperationalError("SELECT", {}, Exception("gone")), 503, "no-database"),
        (errors.PlanningFailedError("x"), 500, "planning-failed"),
        (OutOfRangeError("x"), 500, "internal"),
        (NotConvergedError("x"), 500, "internal"),
        (KeyError("x"), 500, "internal"),
    ],
)
def test_an_error_has_its_status_and_its_stable_name(error, status, name):
    problem = problem_of(error, "/here")
    assert (problem.status, problem.type, problem.instance) == (
        status,
        f"/problems/{name}",
        "/here",
    )


def test_no_two_kinds_share_a_name_unless_they_tell_the_same():
    told = {(kind.name, kind.title, kind.status) for kind in KINDS}
    assert len({name for name, _, _ in told}) == len(told)


def test_an_error_of_its_own_line_is_not_hidden_by_a_line_above():
    assert all(kind_of(kind.error.__new__(kind.error)) is kind for kind in KINDS)


def test_every_error_of_the_service_stands_in_the_tree():
    named = [n for n in vars(errors) if n.endswith("Error") and n != "RequestValidationError"]
    tree = errors.__doc__ or ""
    assert [
        name
        for name in named
        if name not in tree and name not in {"OperationalError", "IntegrityError"}
    ] == []


def test_a_fault_of_ours_does_not_tell_its_inside():
    problem = problem_of(ValueError("password=secret"), "/here")
    assert "secret" not in problem.model_dump_json()


def test_every_fault_of_a_body_is_named_at_once(client):
    bakery = day_document()["bakery"] | {"zone": "Mars/Base", "altitude_m": "high"}
    answer = client.put(BAKERY, json=bakery)
    assert answer.headers["content-type"] == MEDIA_TYPE
    problem = Problem.model_validate(answer.json())
    assert problem.status == answer.status_code == 422
    assert {fault.field for fault in problem.faults} == {"zone", "altitude_m"}
    assert problem.detail == "2 things are wrong with what was sent."


def test_a_body_that_is_no_json_is_told_so(client):
    answer = client.put(BAKERY, content='{"name": ', headers={"content-type": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["problem"].startswith("is not JSON")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_a_number_that_is_none_is_refused_and_nothing_written(client, number):
    body = f'{{"name": "Weir", "zone": "Europe/Vienna", "altitude_m": {number}}}'
    answer = client.put(BAKERY, content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 422
    [fault] = answer.json()["faults"]
    assert (fault["field"], fault["value"]) == ("altitude_m", number)
    assert client.get(BAKERY).status_code == 404


def test_a_path_that_leads_nowhere_is_a_problem_too(client):
    answer = client.get("/api/v1/cakes")
    assert (answer.status_code, answer.headers["content-type"]) == (404, MEDIA_TYPE)
    Problem.model_validate(answer.json())


def test_a_method_that_a_path_has_not_is_a_problem_too(client):
    answer = client.patch(BAKERY, json={})
    assert (answer.status_code, answer.json()["type"]) == (405, "/problems/method-not-allowed")
    assert answer.headers["allow"]


def test_a_date_that_is_none_is_a_fault_of_its_parameter(client):
    answer = client.get(f"{BAKERY}/mix-lists/2026-02-30")
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["field"] == "production_date"


def test_a_failure_inside_is_answered_as_a_problem_and_nothing_is_written(client, core, planned):
    """Whoever is told of a failure can send it again: a reading is stored and answered, or neither.

    What fails in reckoning would fail again, and costs no reading (`routes/test_readings.py`).
    """

    def fail(_plan, _reading):
        raise MemoryError

    core.answer = fail
    readings = f"/api/v1/plans/{planned}/readings"
    sent = {
        "id": "r1",
        "kind": "off the mixer",
        "mix_id": "white",
        "at_utc": "2026-07-15T22:00:00Z",
    }
    answer = client.post(readings, json=sent)
    assert (answer.status_code, answer.json()["type"]) == (500, "/problems/internal")
    assert client.get(readings).json() == []
    core.answer = FakeCore().answer
    assert client.post(readings, json=sent).status_code == 201


def test_what_could_not_be_committed_is_not_answered_as_stored(client):
    """The disk is full at the very end: the answer must wait for the commit."""

    def fail(_session):
        raise OperationalError("COMMIT", {}, Exception("disk full"))

    event.listen(Session, "before_commit", fail)
    try:
        answer = client.put(BAKERY, json=day_document()["bakery"])
    finally:
        event.remove(Session, "before_commit", fail)
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/no-database")
    assert client.get(BAKERY).status_code == 404

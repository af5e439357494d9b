"""The register of thermometers: what is added to their readings, and when each is due."""

from datetime import UTC, datetime

import pytest
from fastapi.testclient import TestClient

from api.main import create_app
from api.settings import Settings
from tests.api.fake_core import day_document

THERMOMETERS = "/api/v1/bakeries/weir/thermometers"
PROBE = {"name": "blue probe", "place": "mixer 1", "ice_point_c": 0.4, "checked_on": "2026-07-01"}


@pytest.fixture
def client(address, core):
    """The service on 29 September 2026."""
    clock = datetime(2026, 9, 29, 4, tzinfo=UTC)
    app = create_app(Settings(database_url=address, demo=True), clock=lambda: clock, core=core)
    with TestClient(app) as opened:
        opened.put("/api/v1/bakeries/weir", json=day_document()["bakery"])
        yield opened


def test_the_offset_is_what_brings_melting_ice_to_zero(client):
    client.put(f"{THERMOMETERS}/blue", json=PROBE)
    (one,) = client.get(THERMOMETERS).json()
    assert (one["id"], one["offset_k"]) == ("blue", -0.4)


@pytest.mark.parametrize(
    ("days", "due_on", "is_due"),
    [(90, "2026-09-29", True), (91, "2026-09-30", False), (30, "2026-07-31", True)],
)
def test_it_is_due_so_many_days_after_its_check(client, days, due_on, is_due):
    """90 days after 1 July 2026 is 29 September: 30 + 31 + 29."""
    client.put(f"{THERMOMETERS}/blue", json=PROBE | {"check_every_days": days})
    (one,) = client.get(THERMOMETERS).json()
    assert (one["due_on"], one["is_due"]) == (due_on, is_due)


def test_one_that_was_never_checked_is_due_and_adds_nothing(client):
    client.put(f"{THERMOMETERS}/new", json={"name": "new"})
    (one,) = client.get(THERMOMETERS).json()
    assert (one["offset_k"], one["due_on"], one["is_due"]) == (0, None, True)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"ice_point_c": 3.2}, "ice_point_c"),
        ({"ice_point_c": None}, "ice_point_c"),
        ({"checked_on": None}, "checked_on"),
        ({"check_every_days": 0}, "check_every_days"),
    ],
)
def test_a_check_that_cannot_be_is_refused(client, change, field):
    refused = client.put(f"{THERMOMETERS}/blue", json=PROBE | change)
    assert refused.status_code == 422
    assert [fault["field"] for fault in refused.json()["faults"]] == [field]


def test_putting_it_again_changes_nothing_and_it_can_be_removed(client):
    address = f"{THERMOMETERS}/blue"
    assert [client.put(address, json=PROBE).status_code for _ in range(2)] == [201, 200]
    assert client.get(address).json() == PROBE | {"id": "blue"}
    assert client.delete(address).status_code == 204
    assert client.get(address).status_code == 404

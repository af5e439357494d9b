"""Whatever a generator makes of the interface's own description: no failure, nothing undescribed.

A few examples of each operation here; `.ci/run` asks for more through OVENWARD_EXAMPLES.
"""

import os

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.main import create_app
from api.settings import Settings
from tests.api.fake_core import FakeCore, day_document

EXAMPLES = int(os.environ.get("OVENWARD_EXAMPLES", "2"))
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
DAY = "/api/v1/bakeries/weir/days/2026-07-16"
WANTED = {"bakery_id": "weir", "production_date": "2026-07-16"}


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """The service with the day stored and planned, so that the examples' ids lead somewhere."""
    folder = tmp_path_factory.mktemp("contract")
    made = Settings(data_dir=folder, demo=True, plan_wait_s=5, timers=False)
    app = create_app(made, core=FakeCore())
    with TestClient(app, raise_server_exceptions=False) as client:
        client.put(DAY, json=day_document())
        client.post("/api/v1/plans", json=WANTED)
        yield schemathesis.openapi.from_asgi("/api/v1/openapi.json", app)


OPERATIONS = [
    (method.upper(), path)
    for path, methods in create_app(Settings()).openapi()["paths"].items()
    for method in methods
    if not path.endswith(("stream", ".pdf"))  # one never ends, the other takes a process each
]


def test_the_walk_finds_the_operations():
    assert len(OPERATIONS) > 80


@pytest.mark.parametrize("mode", list(GenerationMode))
@pytest.mark.parametrize(("method", "path"), OPERATIONS, ids=[f"{m} {p}" for m, p in OPERATIONS])
def test_every_answer_is_one_that_is_described(served, method, path, mode):
    """Generated as described, and with something against it."""

    @given(case=served[path][method].as_strategy(generation_mode=mode))
    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    def holds(case):
        case.call_and_validate(checks=CHECKS)

    try:
        holds()
    except Unsatisfiable:
        pytest.skip("nothing can be sent against its description")

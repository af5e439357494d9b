"""What tests of the service share: a database of their own, on both kinds of database."""

from __future__ import annotations

import os
import shutil
import uuid
from contextlib import ExitStack, contextmanager

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import create_engine, text
from sqlalchemy.engine.url import make_url

from api import logs
from api.main import create_app
from api.settings import Settings
from api.store.engine import open_engine
from api.store.upgrade import upgrade
from tests.api.fake_core import FakeCore, day_document

POSTGRES_URL = "OVENWARD_TEST_POSTGRES_URL"


@pytest.fixture(autouse=True)
def plain_logs():
    logs.configure("error")


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory):
    """A SQLite file with all tables, made once and copied for each test."""
    path = tmp_path_factory.mktemp("template") / "ovenward.sqlite3"
    upgrade(f"sqlite:///{path}")
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    engine.dispose()
    return path


@pytest.fixture
def sqlite_address(sqlite_template, tmp_path):
    path = tmp_path / "ovenward.sqlite3"
    shutil.copy(sqlite_template, path)
    return f"sqlite:///{path}"


@contextmanager
def empty_postgres():
    """An empty PostgreSQL database of its own; without a server skipped, but not in CI."""
    given = os.environ.get(POSTGRES_URL)
    if given == "later":
        pytest.skip("a later step of the build brings a server")
    if not given:
        if os.environ.get("CI") == "true":
            pytest.fail(f"in CI the tests need PostgreSQL: set {POSTGRES_URL}")
        pytest.skip(f"{POSTGRES_URL} is not set")
    url = make_url(given)
    name = f"ovenward_test_{uuid.uuid4().hex}"
    server = create_engine(url.set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield url.set(database=name).render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    server.dispose()


@pytest.fixture
def postgres_address():
    with empty_postgres() as given:
        yield given


@pytest.fixture
def second_postgres_address():
    """Another empty PostgreSQL database beside the first."""
    with empty_postgres() as given:
        yield given


@pytest.fixture(params=["sqlite", "postgres"])
def address(request):
    """A database of either kind with all tables."""
    given: str = request.getfixturevalue(f"{request.param}_address")
    if request.param == "postgres":
        upgrade(given)
    return given


@pytest.fixture
def engine(address):
    opened = open_engine(address)
    yield opened
    opened.dispose()


@pytest.fixture
def core():
    return FakeCore()


@pytest.fixture
def open_client(address, core):
    """Opens the service on the test's database, with settings of its own."""
    with ExitStack() as stack:

        def opened(**settings):
            made = Settings(database_url=address, **{"plan_wait_s": 10, "demo": True, **settings})
            app = create_app(made, core=core)
            return stack.enter_context(TestClient(app, raise_server_exceptions=False))

        yield opened
        core.go.set()


@pytest.fixture
def client(open_client):
    return open_client()


@pytest.fixture
def planned(client):
    """A plan of the day, ready: its id."""
    client.put("/api/v1/bakeries/weir/days/2026-07-16", json=day_document())
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    made = client.post("/api/v1/plans", json=wanted)
    assert made.status_code == 201, made.text
    return made.json()["id"]

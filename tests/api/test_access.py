"""Nobody gets in without a right, no route is without one, and no bakery sees another."""

from datetime import UTC, datetime

import pytest
from fastapi.routing import APIRoute, iter_route_contexts
from sqlmodel import Session

from api.access import NEEDS, SCOPES, Open, Role, Scope
from api.main import create_app
from api.schemas.accounts import KeyCreate
from api.settings import Settings
from api.store import keys
from api.store.engine import for_writing
from tests.api.fake_core import day_document
from tests.api.routes.test_office_start import FIRST

NOW = datetime(2026, 7, 15, 12, tzinfo=UTC)
APP = create_app(Settings())
ROUTES = [
    (method, context.path, context.original_route.path)
    for context in iter_route_contexts(APP.routes)
    if isinstance(context.original_route, APIRoute)
    for method in sorted(context.original_route.methods)
]
GUARDED = [
    (method, path, own)
    for method, path, own in ROUTES
    if not isinstance(NEEDS.get(f"{method} {own}"), Open)
]
each_guarded = pytest.mark.parametrize(
    ("method", "path", "own"), GUARDED, ids=[f"{method} {path}" for method, path, _ in GUARDED]
)


def addressed(path, bakery="weir"):
    """The path with something of a bakery in place of each parameter."""
    named = {
        "bakery_id": bakery,
        "plan_id": f"{bakery}.2026-07-16.1",
        "production_date": "2026-07-16",
        "mix_id": "white",
        "part": "mixers",
    }
    ids = ("formula_id", "product_id", "thermometer_id", "key_id", "login")
    for name in (*ids, "mixer_id", "preparation_id", "name", "place", "person_id"):
        named[name] = "x"
    named["version"] = "1"
    return path.format(**named)


def key(engine, role, bakery_id="weir"):
    with Session(for_writing(engine)) as session, session.begin():
        sent = KeyCreate.model_construct(name=role, role=role, expires_at=None)
        return keys.create(session, bakery_id, sent, "test", NOW).key


def bearer(shown):
    return {"Authorization": f"Bearer {shown}"}


@pytest.fixture
def two(client, planned):
    """Two bakeries with a plan each; made in demo mode."""
    assert planned.startswith("weir.")
    ford = day_document()
    ford["bakery"] |= {"id": "ford", "name": "Ford"}
    client.put("/api/v1/bakeries/ford/days/2026-07-16", json=ford)
    wanted = {"bakery_id": "ford", "production_date": "2026-07-16"}
    assert client.post("/api/v1/plans", json=wanted).status_code == 201
    return client


@pytest.fixture
def closed(open_client, two):
    """The service over the same database, not in demo mode."""
    assert two
    return open_client(demo=False)


def test_the_walk_finds_the_routes():
    assert len(GUARDED) > 50
    assert ("GET", "/api/v1/plans/{plan_id}/sheet") in {(m, p) for m, p, _ in GUARDED}


def test_every_route_needs_a_right_or_says_why_not():
    """Default deny: a route without a line in the table is closed, and this names it."""
    assert [f"{m} {own}" for m, _, own in ROUTES if f"{m} {own}" not in NEEDS] == []


def test_no_right_is_for_a_route_that_is_gone():
    assert set(NEEDS) - {f"{m} {own}" for m, _, own in ROUTES} == set()


@each_guarded
def test_nobody_gets_in_without_a_key(sqlite_closed, method, path, own):  # noqa: ARG001
    refused = sqlite_closed.request(method, addressed(path))
    assert (refused.status_code, refused.json()["type"]) == (401, "/problems/not-signed-in")
    assert refused.headers["WWW-Authenticate"] == "Bearer"


@pytest.fixture(scope="module")
def sqlite_closed(tmp_path_factory):
    from fastapi.testclient import TestClient  # noqa: PLC0415  one client for the whole walk

    from tests.api.fake_core import FakeCore  # noqa: PLC0415

    settings = Settings(data_dir=tmp_path_factory.mktemp("closed"))
    with TestClient(create_app(settings, core=FakeCore())) as opened:
        yield opened


def test_a_route_that_nobody_thought_of_is_closed_also_in_demo_mode(client, monkeypatch):
    monkeypatch.delitem(NEEDS, "GET /bakeries")
    assert client.get("/api/v1/bakeries").status_code == 403


@pytest.mark.parametrize("role", sorted(Role))
def test_a_role_may_what_its_scopes_say_and_nothing_else(closed, engine, role):
    """Over every route: refused with 403 exactly where the scope is missing."""
    shown = bearer(key(engine, role))
    refused = {
        f"{method} {own}"
        for method, path, own in GUARDED
        if not path.endswith(("/stream", ".pdf"))
        and closed.request(method, addressed(path), headers=shown).status_code == 403
    }
    wanted = {
        f"{method} {own}"
        for method, path, own in GUARDED
        if not path.endswith(("/stream", ".pdf")) and NEEDS[f"{method} {own}"] not in SCOPES[role]
    }
    assert refused == wanted


def test_the_roles_stand_in_their_order():
    assert SCOPES[Role.DISPLAY] < SCOPES[Role.BENCH] < SCOPES[Role.SHIFT_LEAD]
    assert SCOPES[Role.SHIFT_LEAD] < SCOPES[Role.HEAD_BAKER] < SCOPES[Role.OPERATOR]
    assert SCOPES[Role.SENSOR] == {Scope.READING}


def test_a_key_of_one_bakery_finds_nothing_of_another(closed, engine):
    """Over every route that names a bakery or a plan: 404, as if it were not there."""
    shown = bearer(key(engine, Role.HEAD_BAKER, "weir"))
    found = {
        f"{method} {own}": closed.request(method, addressed(path, "ford"), headers=shown)
        for method, path, own in GUARDED
        if "{" in path and NEEDS[f"{method} {own}"] in SCOPES[Role.HEAD_BAKER]
    }
    assert len(found) > 40
    assert {name: one.status_code for name, one in found.items() if one.status_code != 404} == {}
    assert "not there" not in str(found)


def test_few_routes_name_no_bakery_and_each_has_its_own_test():
    """The walk above cannot see what these hand out: whoever adds one adds a test below."""
    nameless = {f"{m} {own}" for m, _, own in GUARDED if "{" not in own}
    first = {"GET /first-dough", "POST /first-dough"}
    assert nameless == {"GET /", "GET /bakeries", "GET /plans", "POST /plans", *first}


def test_lists_hold_only_what_is_there_for_a_key(closed, engine):
    shown = bearer(key(engine, Role.HEAD_BAKER, "weir"))
    listed = closed.get("/api/v1/bakeries", headers=shown).json()
    assert [one["id"] for one in listed] == ["weir"]
    for query in ({}, {"bakery_id": "ford"}):
        found = closed.get("/api/v1/plans", headers=shown, params=query).json()
        assert [one["bakery_id"] for one in found] == ([] if query else ["weir"])
    assert "ford" not in closed.get("/", headers=shown).text


def test_a_plan_of_another_bakery_cannot_be_asked_for(closed, engine):
    wanted = {"bakery_id": "ford", "production_date": "2026-07-16"}
    shown = bearer(key(engine, Role.HEAD_BAKER, "weir"))
    assert closed.post("/api/v1/plans", json=wanted, headers=shown).status_code == 404
    assert closed.post("/api/v1/plans", json=wanted).status_code == 401


@pytest.mark.parametrize(
    "path",
    [
        "/api/v1/plans/weir.2026-07-16.1/sheet?paper=slip&compared_with=",
        "/api/v1/plans/weir.2026-07-16.1/changes?compared_with=",
        "/plan/weir.2026-07-16.1/compare?with=",
    ],
)
@pytest.mark.parametrize("role", [Role.DISPLAY, Role.OPERATOR])
def test_no_plan_is_compared_with_one_of_another_bakery(closed, engine, path, role):
    shown = bearer(key(engine, role, "weir" if role is Role.DISPLAY else None))
    answer = closed.get(f"{path}ford.2026-07-16.1", headers=shown)
    assert answer.status_code == 404
    assert closed.get(f"{path}ford.2026-07-16.9", headers=shown).status_code == 404


def test_who_belongs_to_a_bakery_makes_no_other_by_a_first_dough(closed, engine):
    shown = bearer(key(engine, Role.HEAD_BAKER, "weir"))
    assert closed.post("/first-dough", data=FIRST, headers=shown).status_code == 403
    operator = bearer(key(engine, Role.OPERATOR, None))
    assert closed.get("/api/v1/bakeries/mill_lane", headers=operator).status_code == 404
    assert "ford" not in closed.get("/first-dough", headers=shown).text


def test_an_operator_sees_all(closed, engine):
    shown = bearer(key(engine, Role.OPERATOR, None))
    listed = closed.get("/api/v1/bakeries", headers=shown).json()
    assert [one["id"] for one in listed] == ["ford", "weir"]


@pytest.mark.parametrize(
    "shown",
    ["", "Bearer", "Bearer x", "Bearer ow_x_y", "Basic YTpi", "Bearer ow_" + "a" * 9000],
)
def test_what_is_no_key_opens_nothing_also_in_demo_mode(client, shown):
    refused = client.get("/api/v1/bakeries", headers={"Authorization": shown})
    assert refused.status_code == 401

"""People, keys and the trail of changes."""

import re
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import text

from api.main import create_app
from api.settings import Settings
from tests.api.fake_core import day_document

WEIR = "/api/v1/bakeries/weir"
WRONG = "not the password"
ANA = {"name": "Ana", "role": "bench", "password": "four plain words"}


class At:
    """A clock that is set by hand."""

    def __init__(self):
        self.now = datetime(2026, 7, 15, 12, tzinfo=UTC)

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return At()


@pytest.fixture
def opened(address, core, clock, capsys):
    """The service as it first starts, with the code that it prints."""
    app = create_app(Settings(database_url=address), clock=clock, core=core)
    with TestClient(app, follow_redirects=False) as client:
        client.code = re.search(r"/first-run, code (\S+)", capsys.readouterr().err)[1]
        yield client


@pytest.fixture
def operator(opened):
    """Signed in with the first account."""
    form = {"code": opened.code, "login": "Vera", "password": "x" * 8}
    made = opened.post("/first-run", data=form)
    assert made.status_code == 303
    opened.put(WEIR, json=day_document()["bakery"])
    return opened


def signed_in(client, **form):
    client.cookies.clear()
    return client.post("/sign-in", data=form)


def test_the_first_page_leads_to_the_first_account(opened):
    page = opened.get("/", headers={"accept": "text/html"})
    assert page.headers["location"] == "/sign-in"
    assert opened.get("/sign-in").headers["location"] == "/first-run"
    assert "The first account" in opened.get("/first-run").text


def test_the_first_account_may_do_everything_and_is_the_only_first(operator):
    home = operator.get("/", follow_redirects=True)
    assert home.status_code == 200
    assert home.url.path != "/sign-in"
    assert operator.get("/first-run").status_code == 404
    again = {"code": operator.code, "login": "eve", "password": "x" * 8}
    assert operator.post("/first-run", data=again).status_code == 404


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"code": "AAAA-BBBB-CCCC"}, "not the code"),
        ({"password": "short"}, "at least 8"),
        ({"login": "a b"}, "neither blanks"),
    ],
)
def test_a_first_account_that_cannot_be_is_refused(opened, change, told):
    form = {"code": opened.code, "login": "vera", "password": "x" * 8} | change
    refused = opened.post("/first-run", data=form)
    assert refused.status_code == 401
    assert told in refused.text


def test_a_person_signs_in_and_out(operator):
    assert operator.put(f"{WEIR}/accounts/Ana", json=ANA).json()["login"] == "ana"
    assert signed_in(operator, login="ANA", password=ANA["password"]).status_code == 303
    assert operator.get(WEIR).status_code == 200
    assert operator.put(WEIR, json=day_document()["bakery"]).status_code == 403
    operator.post("/sign-out")
    assert operator.get(WEIR).status_code == 401


def test_a_session_that_was_ended_stays_ended(operator):
    """The cookie kept by a thief opens nothing after sign-out."""
    cookie = operator.cookies["ovenward_session"]
    operator.post("/sign-out")
    operator.cookies.set("ovenward_session", cookie)
    assert operator.get(WEIR).status_code == 401


def test_a_new_password_ends_the_sessions_of_the_old(operator):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    vera = dict(operator.cookies)
    signed_in(operator, login="ana", password=ANA["password"])
    ana = dict(operator.cookies)
    operator.cookies.clear()
    operator.cookies.update(vera)
    operator.put(f"{WEIR}/accounts/ana", json=ANA | {"password": "another one"})
    operator.cookies.clear()
    operator.cookies.update(ana)
    assert operator.get(WEIR).status_code == 401


def test_a_session_ends_after_thirty_days(operator, clock):
    clock.now += timedelta(days=29)
    assert operator.get(WEIR).status_code == 200
    clock.now += timedelta(days=2)
    assert operator.get(WEIR).status_code == 401


def test_passwords_and_secrets_are_not_in_the_database(operator, engine):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    key = operator.post(f"{WEIR}/keys", json={"name": "tablet", "role": "bench"}).json()["key"]
    secrets = [ANA["password"], key.rsplit("_", 1)[1], operator.cookies["ovenward_session"]]
    with engine.connect() as connection:
        tables = ("account", "api_key", "session", "change", "event", "first_run")
        rows = [connection.execute(text(f"SELECT * FROM {one}")).all() for one in tables]  # noqa: S608
        stored = str(rows)
    assert "$argon2id$" in stored
    assert [secret for secret in [*secrets, operator.code] if secret in stored] == []


def test_after_five_wrong_passwords_the_right_one_waits_too(operator, clock):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    for _ in range(5):
        assert signed_in(operator, login="ana", password=WRONG).status_code == 401
        clock.now += timedelta(minutes=1)
    refused = signed_in(operator, login="ana", password=ANA["password"])
    assert refused.status_code == 429
    # The first of the five was at 12:00, and counts until 12:15; it is 12:05.
    assert refused.headers["Retry-After"] == "601"
    clock.now += timedelta(seconds=601)
    assert signed_in(operator, login="ana", password=ANA["password"]).status_code == 303


def test_many_tries_at_once_are_no_more_tries(operator):
    """Twelve at the same moment: whichever are let through, at most five are."""
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    form = {"login": "ana", "password": WRONG}
    with ThreadPoolExecutor(12) as threads:
        tries = threads.map(lambda _: operator.post("/sign-in", data=form).status_code, range(12))
        told = Counter(tries)
    assert 1 <= told[401] <= 5
    assert told[429] == 12 - told[401]


def test_one_place_cannot_try_every_login(operator):
    for i in range(20):
        assert signed_in(operator, login=f"nobody{i}", password=WRONG).status_code == 401
    assert signed_in(operator, login="somebody", password=WRONG).status_code == 429


def test_a_wrong_login_and_a_wrong_password_are_told_alike(operator):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    pages = {signed_in(operator, login=who, password=WRONG).text for who in ("ana", "nobody")}
    assert len(pages) == 1


def test_a_key_is_shown_once_and_its_use_is_noted(operator, clock):
    made = operator.post(f"{WEIR}/keys", json={"name": "probe", "role": "bench"}).json()
    (listed,) = operator.get(f"{WEIR}/keys").json()
    assert "key" not in listed
    assert listed["last_used_at"] is None
    clock.now += timedelta(hours=1)
    shown = {"Authorization": f"Bearer {made['key']}"}
    assert operator.get(WEIR, headers=shown).status_code == 200
    assert operator.get(f"{WEIR}/keys").json()[0]["last_used_at"] == "2026-07-15T13:00:00Z"


def test_a_key_ends_at_its_hour(operator, clock):
    sent = {"name": "guest", "role": "display", "expires_at": "2026-07-15T15:00:00+02:00"}
    shown = {"Authorization": "Bearer " + operator.post(f"{WEIR}/keys", json=sent).json()["key"]}
    clock.now = datetime(2026, 7, 15, 12, 59, tzinfo=UTC)
    assert operator.get(WEIR, headers=shown).status_code == 200
    clock.now = datetime(2026, 7, 15, 13, 0, tzinfo=UTC)
    assert operator.get(WEIR, headers=shown).status_code == 401


def test_a_key_of_another_bakery_is_not_there(operator):
    made = operator.post(f"{WEIR}/keys", json={"name": "probe", "role": "bench"}).json()
    operator.put("/api/v1/bakeries/ford", json=day_document()["bakery"] | {"id": "ford"})
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    for one in (f"keys/{made['id']}", "accounts/ana"):
        assert operator.delete(f"/api/v1/bakeries/ford/{one}").status_code == 404
    assert operator.get(f"{WEIR}/keys").json()[0]["revoked_at"] is None


def test_a_short_password_is_told_so(operator):
    refused = operator.put(f"{WEIR}/accounts/ana", json=ANA | {"password": "short"})
    assert refused.json()["faults"][0]["problem"] == "is shorter than 8 letters"


def test_a_password_that_is_refused_is_not_said_again(operator):
    for password in ("short", ["four plain words"], {"a": "four plain words"}):
        refused = operator.put(f"{WEIR}/accounts/ana", json=ANA | {"password": password})
        assert refused.status_code == 422
        (fault,) = [one for one in refused.json()["faults"] if "password" in one["field"]]
        assert fault["value"] == "…"


def test_no_account_or_key_of_a_bakery_is_an_operators(operator):
    for address, sent in ((f"{WEIR}/accounts/ana", ANA), (f"{WEIR}/keys", {"name": "x"})):
        method = "PUT" if "accounts" in address else "POST"
        refused = operator.request(method, address, json=sent | {"role": "operator"})
        assert (refused.status_code, refused.json()["faults"][0]["field"]) == (422, "role")


def test_a_login_of_another_bakery_cannot_be_taken_over(operator):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    operator.put("/api/v1/bakeries/ford", json=day_document()["bakery"] | {"id": "ford"})
    assert operator.put("/api/v1/bakeries/ford/accounts/ana", json=ANA).status_code == 409
    assert operator.put("/api/v1/bakeries/ford/accounts/vera", json=ANA).status_code == 409


def test_who_is_removed_is_forgotten_and_out(operator):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    assert operator.delete(f"{WEIR}/accounts/ana").status_code == 204
    assert operator.get(f"{WEIR}/accounts").json() == []
    assert signed_in(operator, login="ana", password=ANA["password"]).status_code == 401


def test_changes_are_kept_with_who_made_them(operator):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    operator.put(f"{WEIR}/accounts/ana", json=ANA | {"role": "baker"})
    found = operator.get(f"{WEIR}/changes").json()
    assert [(one["name"], one["method"], one["path"]) for one in found] == [
        ("Vera", "PUT", f"{WEIR}/accounts/ana"),
        ("Vera", "PUT", WEIR),
    ]
    assert [one["number"] for one in operator.get(f"{WEIR}/changes?before=2").json()] == [1]

"""Browsers that sign in: devices taken in by a code, cookies, other sites, proxies, paths."""

import re
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from api.main import create_app, server_of
from api.settings import Settings
from api.store.pairings import AT_ONCE_FROM_ONE_PLACE
from tests.api.fake_core import day_document
from tests.api.routes.test_accounts import ANA, WEIR, clock, opened, operator

__all__ = ["clock", "opened", "operator"]  # fixtures
HOME = {"accept": "text/html"}


@pytest.fixture
def another(operator):
    """A second browser at the same service."""
    return TestClient(operator.app, follow_redirects=False)


def code_on(page):
    return re.search(r'class="code">([A-Z0-9-]+)<', page.text)[1]


@pytest.fixture
def paired(operator, another):
    """A wall display that was taken in, and its key."""
    shown = {"code": code_on(another.get("/pair")), "name": "wall", "role": "display"}
    taken = operator.post(f"{WEIR}/devices", json=shown)
    assert taken.status_code == 201, taken.text
    assert another.get("/pair").headers["location"] == "/"
    return another, taken.json()


def test_a_device_shows_one_code_until_it_is_taken_in(another, clock):
    page = another.get("/pair")
    assert code_on(another.get("/pair")) == code_on(page)
    assert another.get(WEIR).status_code == 401
    assert 'http-equiv="refresh"' in page.text
    clock.now += timedelta(minutes=16)
    assert code_on(another.get("/pair")) != code_on(page)


def test_a_device_that_was_taken_in_may_what_its_role_may(paired):
    device, key = paired
    assert (key["name"], key["role"], "key" in key) == ("wall", "display", False)
    assert device.get(WEIR).status_code == 200
    assert device.put(WEIR, json=day_document()["bakery"]).status_code == 403


def test_a_device_stays_signed_in_while_it_is_used(paired, clock):
    """Two years, used every hundred days; not used for 401 days it is out."""
    device, _ = paired
    for _ in range(8):
        clock.now += timedelta(days=100)
        renewed = device.get(WEIR)
        assert renewed.status_code == 200
        assert f"Max-Age={400 * 86400}" in renewed.headers["set-cookie"]
    assert "set-cookie" not in device.get(WEIR).headers
    clock.now += timedelta(days=401)
    assert device.get(WEIR).status_code == 401


def test_a_device_is_turned_out_by_its_key(operator, paired):
    device, key = paired
    operator.delete(f"{WEIR}/keys/{key['id']}")
    assert device.get(WEIR).status_code == 401


def test_a_code_is_read_as_it_is_typed_and_counts_once(operator, another):
    code = code_on(another.get("/pair"))
    sent = {"code": code.lower().replace("-", " "), "name": "x", "role": "bench"}
    assert operator.post(f"{WEIR}/devices", json=sent).status_code == 201
    assert operator.post(f"{WEIR}/devices", json=sent).status_code == 404


def test_a_code_that_is_over_or_none_takes_nothing_in(operator, another, clock):
    code = code_on(another.get("/pair"))
    clock.now += timedelta(minutes=16)
    for one in (code, "AAAA-BBBB"):
        sent = {"code": one, "name": "x", "role": "bench"}
        assert operator.post(f"{WEIR}/devices", json=sent).status_code == 404


def test_nobody_fills_the_house_with_waiting_devices(operator, another):
    for _ in range(AT_ONCE_FROM_ONE_PLACE):
        another.cookies.clear()
        assert another.get("/pair").status_code == 200
    another.cookies.clear()
    assert another.get("/pair").status_code == 429
    assert operator.get(WEIR).status_code == 200


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"Sec-Fetch-Site": "same-origin"}, 200),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Origin": "http://testserver"}, 200),
        ({"Origin": "http://elsewhere.example"}, 403),
        ({"Origin": "null"}, 403),
    ],
)
def test_another_site_cannot_send_in_a_persons_name(operator, headers, status):
    sent = operator.put(WEIR, json=day_document()["bakery"], headers=headers)
    assert sent.status_code == status


def test_another_site_cannot_send_to_the_demo(client):
    bakery = day_document()["bakery"]
    foreign = {"Sec-Fetch-Site": "cross-site"}
    assert client.put(WEIR, json=bakery, headers=foreign).status_code == 403
    renamed = {"Host": "elsewhere.example:8000"}
    assert client.get("/api/v1/bakeries", headers=renamed).status_code == 403
    assert client.put(WEIR, json=bakery).status_code == 201


@pytest.fixture
def with_account(operator):
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    return {"login": "ana", "password": ANA["password"]}


@pytest.fixture
def browser(address, core, clock, with_account):  # noqa: ARG001  the account must be there
    """Opens the service as its server does, behind what the settings say."""

    def opens(base_url="http://kitchen", client=("10.0.0.9", 50000), **settings):
        made = Settings(database_url=address, **settings)
        app = create_app(made, clock=clock, core=core)
        config = server_of(made, app).config
        config.load()
        behind = TestClient(
            config.loaded_app, base_url=base_url, client=client, follow_redirects=False
        )
        return TestClient(app), behind

    return opens


@pytest.mark.parametrize(
    ("base", "is_secure"), [("http://kitchen", False), ("https://bakery.example", True)]
)
def test_a_cookie_is_secure_only_where_the_way_is(browser, with_account, base, is_secure):
    """A kitchen's plain http would never send a secure cookie back; the page says what it is."""
    service, way = browser(base)
    with service:
        cookie = way.post("/sign-in", data=with_account).headers["set-cookie"]
        assert ("Secure" in cookie) is is_secure
        assert "HttpOnly" in cookie
        assert "SameSite=lax" in cookie
        for page in ("/sign-in", "/pair"):
            assert ("not encrypted" in way.get(page).text) is not is_secure


@pytest.mark.parametrize(("trusted", "is_secure"), [("10.0.0.9", True), ("10.0.0.8", False)])
def test_only_a_trusted_proxy_is_believed(browser, with_account, trusted, is_secure):
    """What it says counts for the cookie and for where tries come from; others may say anything."""
    service, way = browser(trusted_proxies=trusted)
    said = {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7"}
    with service:
        made = way.post("/sign-in", data=with_account, headers=said)
        assert ("Secure" in made.headers["set-cookie"]) is is_secure
        for i in range(20):
            elsewhere = said | {"X-Forwarded-For": f"192.0.2.{i}"}
            way.post("/sign-in", data={"login": f"nobody{i}", "password": "x"}, headers=elsewhere)
        last = way.post("/sign-in", data=with_account, headers=said)
        assert last.status_code == (303 if is_secure else 429)


@pytest.mark.parametrize("taken_off", [True, False])
def test_everything_stands_below_the_path_of_a_proxy(browser, with_account, taken_off):
    service, way = browser(base_path="/bread/plans")
    before = "" if taken_off else "/bread/plans"
    with service:
        assert way.get(f"{before}/", headers=HOME).headers["location"] == "/bread/plans/sign-in"
        page = way.get(f"{before}/sign-in").text
        assert set(re.findall(r'(?:href|action)="(/[^"]*)"', page)) == {
            "/bread/plans/sign-in.css",
            "/bread/plans/sign-in",
            "/bread/plans/pair",
        }
        made = way.post(f"{before}/sign-in", data=with_account)
        assert made.headers["location"] == "/bread/plans/"
        assert "Path=/bread/plans;" in made.headers["set-cookie"]


def test_no_address_takes_a_secret(client):
    """Addresses stand in logs and histories: what opens something goes in a body or a header."""
    document = client.get("/api/v1/openapi.json").json()
    asked = {
        parameter["name"]
        for methods in document["paths"].values()
        for operation in methods.values()
        for parameter in operation.get("parameters", [])
        if parameter["in"] in {"query", "path"}
    }
    assert "bakery_id" in asked
    assert not [one for one in asked if re.search("password|secret|token|code|^key$", one)]


def test_no_log_holds_a_secret(operator, another, capsys):
    from api import logs  # noqa: PLC0415  only here is everything logged

    logs.configure("debug")
    capsys.readouterr()
    operator.put(f"{WEIR}/accounts/ana", json=ANA)
    key = operator.post(f"{WEIR}/keys", json={"name": "tablet", "role": "bench"}).json()["key"]
    another.post("/sign-in", data={"login": "ana", "password": ANA["password"]})
    another.get(f"{WEIR}?key={key}", headers={"Authorization": f"Bearer {key}"})
    told = capsys.readouterr()
    assert '"path": "/sign-in"' in told.err
    cookies = [*operator.cookies.values(), *another.cookies.values()]
    assert len(cookies) == 2
    for secret in (ANA["password"], key, key.rsplit("_", 1)[1], *cookies):
        assert secret not in told.err + told.out

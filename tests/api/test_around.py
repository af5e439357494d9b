"""What every answer says, and how long a body may be."""

import pytest

from tests.api.fake_core import day_document

PATHS = ["/", "/sign-in", "/api/v1/bakeries", "/api/v1/health", "/nowhere"]


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_keeps_browsers_careful(client, path):
    headers = client.get(path).headers
    assert "script-src 'self'" in headers["Content-Security-Policy"]
    assert "unsafe-inline" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Cache-Control"] == "no-store"


def test_only_papers_carry_their_style(client, planned):
    """They are saved and printed elsewhere; a page that is not one has neither style nor script."""
    paper = client.get(f"/api/v1/plans/{planned}/sheet")
    policy = paper.headers["Content-Security-Policy"]
    assert "style-src 'unsafe-inline'" in policy
    assert "unsafe-inline" not in policy.split("style-src")[0]
    for path in ("/first-run", "/pair", "/first-dough", f"/plan/{planned}"):
        assert "<style" not in client.get(path).text
        assert 'style="' not in client.get(path).text


def test_no_page_has_a_script_in_it(client, planned):
    """Some load one of ours from its own file."""
    for path in ("/", f"/plan/{planned}", "/first-run", f"/api/v1/plans/{planned}/sheet"):
        page = client.get(path).text
        assert page.count("<script") == page.count('<script src="/static/')


def test_demo_mode_is_loud(capsys, client, open_client):
    assert "anybody" in client.get("/api/v1/health").headers["Ovenward-Demo"]
    assert "nobody signs in" in client.get("/").text
    assert "DEMO" in capsys.readouterr().err
    assert "Ovenward-Demo" not in open_client(demo=False).get("/api/v1/health").headers


def test_a_body_that_is_too_long_is_refused(open_client):
    client = open_client(body_mib=1)
    bakery = day_document()["bakery"] | {"name": "x" * 2**20}
    refused = client.put("/api/v1/bakeries/weir", json=bakery)
    assert (refused.status_code, refused.json()["type"]) == (413, "/problems/too-large")
    assert "1 MiB" in refused.json()["detail"]


def test_a_body_that_does_not_say_how_long_it_is_is_refused_too(open_client):
    client = open_client(body_mib=1)
    refused = client.put("/api/v1/bakeries/weir", content=(b"x" * 2**16 for _ in range(20)))
    assert refused.status_code == 413

"""Every kind of problem has a type of its own, which is told, leads somewhere and stays."""

from pathlib import Path

import pytest

from api.errors import FRAMEWORK_KINDS, KINDS

README = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
NAMES = sorted({kind.name for kind in KINDS} | set(FRAMEWORK_KINDS))


@pytest.mark.parametrize("name", NAMES)
def test_each_kind_stands_in_the_readme(name):
    assert f"`{name}`" in README


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_each_type_leads_to_what_it_is(client):
    listed = client.get("/api/v1/problems").json()
    assert [one["type"] for one in listed] == [f"/problems/{name}" for name in NAMES]
    for one in listed:
        assert client.get(one["type"]).json() == one
    assert client.get("/problems/nothing").json()["type"] == "/problems/not-found"

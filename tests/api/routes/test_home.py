"""A browser that opens the bare address finds the way to the sheets."""

import pytest


def test_an_empty_house_says_what_to_do(client):
    page = client.get("/")
    assert page.status_code == 200
    assert page.headers["content-type"].startswith("text/html")
    assert "There is no plan yet" in page.text


def test_a_plan_is_one_link_away_from_its_sheet(client, planned):
    page = client.get("/").text
    assert f'href="/api/v1/plans/{planned}/sheet"' in page
    assert client.get(f"/api/v1/plans/{planned}/sheet").status_code == 200


@pytest.mark.usefixtures("planned")
def test_the_page_loads_nothing_from_elsewhere(client):
    assert "http" not in client.get("/").text

"""Papers over HTTP: chosen, as PDF, as rows, as a ticket for a dosing controller."""

import csv
import io
import re
from dataclasses import replace

import pytest
from sqlmodel import Session

from api.pages import pdf
from api.pages.pdf import MISSING
from api.store import plans
from api.store.engine import for_writing

PLANS = "/api/v1/plans"


@pytest.fixture
def child_ends_with(tmp_path, monkeypatch):
    """Lets the process that makes PDF end with a code, as if its libraries were not there."""

    def arrange(code):
        script = tmp_path / "python"
        script.write_text(f"#!/bin/sh\ncat > /dev/null\nexit {code}\n", encoding="utf-8")
        script.chmod(0o700)
        monkeypatch.setattr(pdf.sys, "executable", str(script))

    return arrange


def test_the_sheet_is_the_small_pack(client, planned):
    page = client.get(f"{PLANS}/{planned}/sheet").text
    assert 'id="mix-1"' in page
    assert "Divide list" not in page


def test_only_the_papers_asked_for(client, planned):
    page = client.get(f"{PLANS}/{planned}/sheet?paper=divide&paper=bake").text
    assert "Divide list" in page
    assert "Bake list: deck oven" in page
    assert 'id="mix-1"' not in page


def test_a_person_a_place_and_a_span_can_be_chosen(client, planned):
    address = f"{PLANS}/{planned}/rows"
    assert {row["person"] for row in client.get(f"{address}?person=tom").json() if row["hands_on"]}
    at_deck = client.get(f"{address}?place=deck").json()
    assert {row["place_id"] for row in at_deck if row["hands_on"]} == {"deck"}
    late = client.get(f"{address}?from_utc=2026-07-16T02:00:00Z").json()
    assert late
    assert all(row["at_utc"] >= "2026-07-16T02:00:00Z" for row in late)


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("person=nobody", "person"),
        ("place=moon", "place"),
        ("ticket=none", "ticket"),
        ("language=xx", "language"),
        ("from_utc=2026-07-16T02:00:00", "from_utc"),
        ("paper=wall", "paper"),
        ("colour=red", "colour"),
    ],
)
def test_what_is_not_there_is_refused_with_a_remedy(client, planned, query, field):
    answer = client.get(f"{PLANS}/{planned}/sheet?{query}")
    assert answer.status_code == 422
    (fault,) = answer.json()["faults"]
    assert field in fault["field"]
    assert fault["remedy"]


def test_the_day_is_drawn(client, planned):
    answer = client.get(f"{PLANS}/{planned}/day.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert ">bench</text>" in answer.text
    spanish = client.get(f"{PLANS}/{planned}/day.svg?language=es&units=us").text
    assert ">mesa</text>" in spanish
    assert ">°F</text>" in spanish
    assert client.get(f"{PLANS}/nothing/day.svg").status_code == 404
    assert client.get(f"{PLANS}/{planned}/day.svg?person=tom").status_code == 422


def test_rows_and_csv_say_the_same(client, planned):
    rows = client.get(f"{PLANS}/{planned}/rows").json()
    answer = client.get(f"{PLANS}/{planned}/rows.csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    read = list(csv.DictReader(io.StringIO(answer.text)))
    assert [r["what"] for r in read] == [r["what"] for r in rows]
    assert [r["at_utc"] for r in read] == [r["at_utc"] for r in rows]
    divide = next(r for r in rows if r["what"] == "divide")
    assert (divide["local_date"], divide["local_time"], divide["limit"], divide["amount"]) == (
        "2026-07-16",
        "01:15",
        "by 01:35",
        "120 pcs",
    )


def test_the_dosing_ticket_is_flat_and_adds_up(client, planned):
    """The sample's white dough: 4 + 13.22 kg of water, 8.35 of ice, 44.12 of the rest."""
    ticket = client.get(f"{PLANS}/{planned}/mixes/white/dosing").json()
    assert not [key for key, value in ticket.items() if isinstance(value, dict | list)]
    assert (ticket["dough_c"], ticket["water_c"], ticket["ice_kg"]) == (25.0, 7.5, 8.35)
    assert (ticket["water_02_supply_id"], ticket["water_02_kg"]) == ("cold", 13.22)
    assert (ticket["line_04_name"], ticket["line_04_step"]) == ("whole egg", 2)
    parts = [v for k, v in ticket.items() if re.fullmatch(r"(water|line)_\d\d_kg", k)]
    assert sum(parts) + ticket["ice_kg"] == pytest.approx(ticket["total_kg"], abs=1e-9)


def test_a_mix_has_a_page_of_its_own(client, planned):
    page = client.get(f"{PLANS}/{planned}/mixes/country/ticket").text
    assert 'id="mix-2"' in page
    assert 'id="mix-1"' not in page
    assert client.get(f"{PLANS}/{planned}/mixes/none/ticket").status_code == 404


def test_the_code_on_a_ticket_is_drawn_in_the_page(client, planned):
    page = client.get(f"{PLANS}/{planned}/sheet").text
    assert page.count('<div class="code"><svg') == 2
    assert "://" not in page


def test_units_language_and_size_can_be_asked_for(client, planned):
    page = client.get(f"{PLANS}/{planned}/sheet?units=us&size=Letter").text
    assert "@page { size: Letter;" in page
    assert "°F" in page
    assert "°C" not in page


def test_without_what_makes_pdf_the_answer_says_what_to_install(client, planned, child_ends_with):
    child_ends_with(MISSING)
    answer = client.get(f"{PLANS}/{planned}/sheet.pdf")
    assert answer.status_code == 501
    assert "ovenward[pdf]" in answer.json()["detail"]
    assert "libpango" in answer.json()["detail"]


def test_a_crash_in_the_child_is_told_and_the_service_lives(client, planned, child_ends_with):
    child_ends_with(139)
    assert client.get(f"{PLANS}/{planned}/sheet.pdf").status_code == 500
    assert client.get("/api/v1/health").status_code == 200


def test_a_second_version_says_what_changed_since_the_first(client, planned, engine):
    """The same night planned again with a warmer first dough: 25.6 instead of 25.0 °C."""
    with Session(for_writing(engine)) as session, session.begin():
        first = plans.get(session, planned)
        plan = plans.core_plan(first)
        warmer = replace(plan.mixes[0].ticket, wanted_c=25.6)
        mixes = (replace(plan.mixes[0], ticket=warmer), *plan.mixes[1:])
        made_from, moment = first.made_from, first.created_at
        again = plans.add(session, first.bakery_id, first.production_date, made_from, moment)
        second = replace(plan, mixes=mixes, version=again.version)
        plans.finish(session, again.id, second, moment)
        again_id = again.id
    slip = client.get(f"{PLANS}/{again_id}/sheet?paper=slip").text
    assert "<s>25.0</s>" in slip
    assert "25.6" in slip
    assert "Changed since version" in client.get(f"{PLANS}/{again_id}/sheet").text
    same = client.get(f"{PLANS}/{again_id}/sheet?paper=slip&compared_with={again_id}").text
    assert "hang up nothing" in same
    assert "no earlier version" in client.get(f"{PLANS}/{planned}/sheet?paper=slip").text

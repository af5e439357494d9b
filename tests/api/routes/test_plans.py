"""Plans: made in time or later, stopped, refused, printed."""

from datetime import UTC, date, datetime, timedelta
from time import sleep

import pytest
from sqlmodel import Session

from api.store import plans
from api.store.engine import for_writing
from planner.errors import NotConvergedError, refuse
from tests.api.fake_core import day_document

PLANS = "/api/v1/plans"
DAY = "/api/v1/bakeries/weir/days/2026-07-16"
WANTED = {"bakery_id": "weir", "production_date": "2026-07-16"}


@pytest.fixture
def with_day(client):
    client.put(DAY, json=day_document())
    return client


def until_done(client, address):
    """The plan, once it is no longer being made; at most five seconds from now."""
    for _ in range(250):
        read = client.get(address).json()
        if read["state"] != "planning":
            return read
        sleep(0.02)
    raise AssertionError(read)


def test_a_plan_made_in_time_is_the_answer(with_day):
    made = with_day.post(PLANS, json=WANTED)
    assert made.status_code == 201
    assert made.json()["state"] == "ready"
    assert with_day.get(made.headers["Location"]).json() == made.json()


def test_the_five_numbers_and_the_clock_times_are_in_the_plan(client, planned):
    """As in the sample plan: water 7.5 °C, ice 8.3501 kg, 11 minutes, at 23:40 in Vienna."""
    plan = client.get(f"{PLANS}/{planned}").json()
    mix = plan["night"]["mixes"][0]
    assert (plan["zone"], plan["units"], mix["start_utc"]) == (
        "Europe/Vienna",
        "metric",
        "2026-07-15T21:40:00Z",
    )
    ticket = mix["ticket"]
    assert (ticket["wanted_c"], ticket["water_c"], mix["mix_min"]) == (25.0, 7.5, 11.0)
    whole_kg = ticket["water_kg"] + ticket["ice_kg"]
    assert whole_kg == pytest.approx(ticket["formula_water_kg"], abs=1e-3)


def test_sentences_are_written_in_the_bakerys_clock_time(client, planned):
    """The sample's lever is at 18:30 the evening before: 16:30 UTC in summer."""
    remarks = client.get(f"{PLANS}/{planned}").json()["night"]["remarks"]
    assert "Wed 15 Jul 18:30" in next(r["text"] for r in remarks if r["kind"] == "lever")


def test_the_core_gets_the_day_its_pins_and_the_settings(open_client, core):
    client = open_client(solve_s=3, deterministic_s=2, workers=1)
    client.put(DAY, json=day_document())
    client.post(PLANS, json=WANTED)
    [(day, _, pins, limits)] = core.asked
    assert day.production_date == date(2026, 7, 16)
    assert pins[0].start_utc == datetime(2026, 7, 15, 21, 30, tzinfo=UTC)
    assert (limits.solve_s, limits.deterministic_s, limits.workers) == (3, 2, 1)


def test_a_plan_that_takes_long_is_asked_for_again(open_client, core):
    client = open_client(plan_wait_s=0)
    client.put(DAY, json=day_document())
    core.go.clear()
    later = client.post(PLANS, json=WANTED)
    assert (later.status_code, later.json()["state"], later.json()["night"]) == (
        202,
        "planning",
        None,
    )
    address = later.headers["Location"]
    core.go.set()
    assert until_done(client, address)["night"]["mixes"]


def test_progress_is_shown_while_a_plan_is_made(open_client, core):
    client = open_client(plan_wait_s=0.2)
    client.put(DAY, json=day_document())
    core.go.clear()
    address = client.post(PLANS, json=WANTED).headers["Location"]
    progress = client.get(f"{address}/progress").json()
    assert (progress["stage"], progress["best"], progress["bound"], progress["search_s"]) == (
        "searching",
        120.0,
        80.0,
        1.5,
    )


def test_a_search_that_is_stopped_keeps_its_best_plan(open_client, core):
    client = open_client(plan_wait_s=0)
    client.put(DAY, json=day_document())
    core.go.clear()
    address = client.post(PLANS, json=WANTED).headers["Location"]
    stopped = client.post(f"{address}/stop")
    assert (stopped.status_code, stopped.json()["stop_requested"]) == (202, True)
    assert until_done(client, address)["state"] == "ready"


def test_stopping_a_finished_plan_changes_nothing(client, planned):
    before = client.get(f"{PLANS}/{planned}").json()
    assert client.post(f"{PLANS}/{planned}/stop").status_code == 202
    assert client.get(f"{PLANS}/{planned}").json() == before


def test_plans_of_a_day_are_counted(with_day):
    versions = [with_day.post(PLANS, json=WANTED).json()["version"] for _ in range(3)]
    assert versions == [1, 2, 3]
    listed = with_day.get(PLANS, params={"bakery_id": "weir"}).json()
    assert [plan["version"] for plan in listed] == [3, 2, 1]
    assert with_day.get(PLANS, params={"production_date": "2026-07-17"}).json() == []


def test_a_plan_keeps_the_formula_it_was_made_from(client, planned):
    before = client.get(f"{PLANS}/{planned}").json()
    changed = day_document()["formulas"][0] | {"dough_c": 27}
    client.put("/api/v1/bakeries/weir/formulas/white", json=changed)
    client.delete("/api/v1/bakeries/weir/formulas/white")
    assert client.get(f"{PLANS}/{planned}").json() == before


def test_a_day_that_is_not_complete_is_not_planned(client):
    client.put("/api/v1/bakeries/weir", json=day_document()["bakery"])
    refused = client.post(PLANS, json=WANTED)
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/day-incomplete")
    assert client.get(PLANS).json() == []


def test_a_day_whose_parts_do_not_fit_is_a_clash(with_day):
    """The products are gone that the mix list names."""
    with_day.delete("/api/v1/bakeries/weir/products/loaf")
    refused = with_day.post(PLANS, json=WANTED)
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/day-clash")
    assert refused.json()["faults"]
    assert with_day.get(PLANS).json() == []


def test_what_the_core_refuses_is_a_clash_with_its_faults(with_day, core):
    core.error = refuse("pins.loaf", "loaf", "is no mix of this day", "use one of: loaf-1")
    refused = with_day.post(PLANS, json=WANTED)
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/day-clash")
    assert refused.json()["faults"][0]["field"] == "pins.loaf"
    assert refused.json()["instance"] == PLANS


@pytest.mark.parametrize("error", [NotConvergedError("cooling"), ZeroDivisionError()])
def test_a_plan_that_breaks_off_says_so_and_keeps_its_secrets(with_day, core, error):
    core.error = error
    broken = with_day.post(PLANS, json=WANTED)
    assert (broken.status_code, broken.json()["type"]) == (500, "/problems/planning-failed")
    assert "cooling" not in broken.text
    [plan] = with_day.get(PLANS).json()
    assert plan["state"] == "failed"
    read = with_day.get(f"{PLANS}/{plan['id']}").json()
    assert (read["night"], read["problem"]["status"]) == (None, 500)


def test_a_plan_whose_maker_fell_silent_counts_as_interrupted(client, engine):
    """As after a power cut in the middle of planning."""
    client.put(DAY, json=day_document())
    long_ago = datetime.now(UTC) - timedelta(hours=1)
    with Session(for_writing(engine)) as session, session.begin():
        row = plans.add(session, "weir", date(2026, 7, 16), day_document(), long_ago)
        plan_id = row.id
    read = client.get(f"{PLANS}/{plan_id}").json()
    assert read["state"] == read["progress"]["state"] == "failed"
    assert "interrupted" in read["problem"]["detail"]


def test_closing_the_service_keeps_the_best_plan_so_far(open_client, core, engine):
    client = open_client(plan_wait_s=0)
    client.put(DAY, json=day_document())
    core.go.clear()
    plan_id = client.post(PLANS, json=WANTED).json()["id"]
    client.app.state.services.jobs.close()
    with Session(engine) as session:
        assert plans.core_plan(plans.get(session, plan_id)).mixes


def test_the_sheet_of_a_plan_is_a_page_to_print(client, planned):
    sheet = client.get(f"{PLANS}/{planned}/sheet")
    assert sheet.headers["content-type"].startswith("text/html")
    assert "@page" in sheet.text
    assert "White tin dough" in sheet.text or "white" in sheet.text


def test_a_plan_that_is_not_ready_has_no_sheet(open_client, core):
    client = open_client(plan_wait_s=0)
    client.put(DAY, json=day_document())
    core.go.clear()
    address = client.post(PLANS, json=WANTED).headers["Location"]
    refused = client.get(f"{address}/sheet")
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/plan-not-ready")


@pytest.mark.parametrize("part", ["", "/progress", "/sheet", "/readings"])
def test_there_is_nothing_of_an_unknown_plan(client, part):
    assert client.get(f"{PLANS}/none{part}").status_code == 404


def test_a_name_with_odd_letters_has_an_address(client):
    """Its id stands in addresses and headers, which carry ASCII only."""
    day = day_document()
    day["bakery"] = day["bakery"] | {"id": "bäckerei_am_wehr"}
    client.put("/api/v1/bakeries/bäckerei_am_wehr/days/2026-07-16", json=day)
    made = client.post(PLANS, json=WANTED | {"bakery_id": "bäckerei_am_wehr"})
    assert made.status_code == 201, made.text
    assert client.get(made.headers["Location"]).json() == made.json()

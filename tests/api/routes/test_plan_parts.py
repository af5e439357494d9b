"""Parts of a plan by themselves: mixes as they are now, preparations, alerts, changes, formulas."""

from dataclasses import replace

import pytest

from tests.api.fake_core import day_document

PLANS = "/api/v1/plans"
READING = {
    "id": "r1",
    "kind": "flour temperature",
    "mix_id": "white",
    "at_utc": "2026-07-15T21:10:00Z",
    "value_c": 27.5,
}


@pytest.fixture
def plan(planned):
    return f"{PLANS}/{planned}"


def test_a_mix_without_readings_is_as_planned(client, plan):
    now = client.get(f"{plan}/mixes/white").json()
    (planned_mix,) = [
        mix for mix in client.get(plan).json()["night"]["mixes"] if mix["id"] == "white"
    ]
    assert now["mix"] == planned_mix
    assert (now["answered_by"], now["started_at"], now["readings"]) == (None, None, [])


def test_a_mix_has_the_ticket_of_its_last_answer(client, plan):
    """The fake core puts the number of readings before into the ice: two before the third."""
    for n in range(3):
        client.post(f"{plan}/readings", json=READING | {"id": f"r{n}"})
    now = client.get(f"{plan}/mixes/white").json()
    assert now["answered_by"] == "r2"
    assert now["mix"]["ticket"]["ice_kg"] == 2.0
    assert [one["id"] for one in now["readings"]] == ["r0", "r1", "r2"]
    assert client.get(f"{plan}/mixes/rye").json()["answered_by"] is None


def test_start_and_end_as_read_count_and_mended_ones_count_instead(client, plan):
    start = READING | {"kind": "mixer started", "value_c": None}
    client.post(f"{plan}/readings", json=start | {"id": "s1"})
    mended = start | {"id": "s2", "supersedes": "s1", "at_utc": "2026-07-15T21:12:00Z"}
    client.post(f"{plan}/readings", json=mended)
    end = start | {"kind": "off the mixer", "at_utc": "2026-07-15T21:23:00Z"}
    client.post(f"{plan}/readings", json=end | {"id": "e1"})
    now = client.get(f"{plan}/mixes/white").json()
    assert now["started_at"] == "2026-07-15T21:12:00Z"
    assert now["ended_at"] == "2026-07-15T21:23:00Z"


def test_all_mixes_stand_in_the_order_of_the_plan(client, plan):
    listed = client.get(f"{plan}/mixes").json()
    assert [one["mix"]["id"] for one in listed] == [
        mix["id"] for mix in client.get(plan).json()["night"]["mixes"]
    ]


def test_the_five_numbers_in_the_units_asked_for(client, plan):
    """The sample's dough of 25 °C is 77 °F, its water of 7.5 °C is 45.5 °F: printed 45 or 46."""
    metric = client.get(f"{plan}/mixes/white")
    assert (metric.json()["units"], metric.headers["Ovenward-Units"]) == ("metric", "metric")
    us = client.get(f"{plan}/mixes/white", params={"units": "us"})
    assert (us.json()["units"], us.headers["Ovenward-Units"]) == ("us", "us")
    dough, water, mixing, _, ice = us.json()["numbers"]
    assert (float(dough["value"]), dough["unit"]) == (77.0, "°F")
    assert float(water["value"]) == pytest.approx(45.5, abs=0.5)
    assert (mixing["value"], mixing["unit"]) == ("11", "min")
    assert ice["unit"] == "lb"
    assert us.json()["mix"]["ticket"] == metric.json()["mix"]["ticket"]


def test_units_of_the_bakery_are_its_default(client):
    day = day_document()
    day["bakery"] |= {"units": "us"}
    client.put("/api/v1/bakeries/weir/days/2026-07-16", json=day)
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    made = client.post(PLANS, json=wanted).json()
    address = f"{PLANS}/{made['id']}"
    assert made["units"] == client.get(f"{address}/mixes/white").json()["units"] == "us"
    asked = client.get(address, params={"units": "metric"})
    assert (asked.json()["units"], asked.headers["Ovenward-Units"]) == ("metric", "metric")
    texts = " ".join(one["text"] for one in asked.json()["night"]["remarks"])
    assert "°F" not in texts


def test_units_that_are_none_are_named(client, plan):
    refused = client.get(f"{plan}/mixes", params={"units": "furlongs"})
    assert refused.json()["faults"][0]["field"] == "units"


def test_preparations_by_the_time_they_are_begun(client, plan):
    listed = client.get(f"{plan}/preparations").json()
    starts = [one["start_utc"] for one in listed]
    assert len(listed) >= 2
    assert starts == sorted(starts)
    for one in listed:
        assert client.get(f"{plan}/preparations/{one['id']}").json() == one


def test_alerts_begin_with_what_cannot_be_met(client, plan):
    listed = client.get(f"{plan}/alerts").json()
    cautions = [one["is_caution"] for one in listed]
    assert any(cautions)
    assert [one["is_unmet"] for one in listed] == sorted(
        (one["is_unmet"] for one in listed), reverse=True
    )
    assert cautions == sorted(cautions)
    assert all(one["text"] for one in listed)


@pytest.mark.parametrize("part", ["mixes/cake", "preparations/cream"])
def test_what_a_plan_has_not_is_not_found(client, plan, part):
    assert client.get(f"{plan}/{part}").json()["type"] == "/problems/not-found"


@pytest.fixture
def second(client, core, planned):  # noqa: ARG001  the first comes before it
    """A second version of the day, in which the white dough starts ten minutes later."""
    from datetime import timedelta  # noqa: PLC0415

    make = core.make_plan

    def later(*told, **more):
        plan = make(*told, **more)
        moved = replace(plan.mixes[0], start_utc=plan.mixes[0].start_utc + timedelta(minutes=10))
        return replace(plan, mixes=(moved, *plan.mixes[1:]))

    core.make_plan = later
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    return client.post(PLANS, json=wanted).json()["id"]


def test_a_plan_is_compared_with_the_version_before(client, planned, second):
    """The sample's white dough starts at 23:40."""
    changes = client.get(f"{PLANS}/{second}/changes").json()
    assert changes["compared_with"] == planned
    (thing,) = changes["things"]
    (line,) = [one for one in thing["lines"] if one["what"] == "start"]
    assert line["before"].endswith("23:40")
    assert line["now"].endswith("23:50")


def test_two_plans_are_compared_either_way(client, planned, second):
    back = client.get(f"{PLANS}/{planned}/changes", params={"compared_with": second}).json()
    (line,) = [one for one in back["things"][0]["lines"] if one["what"] == "start"]
    assert (line["before"][-5:], line["now"][-5:]) == ("23:50", "23:40")
    same = client.get(f"{PLANS}/{planned}/changes", params={"compared_with": planned}).json()
    assert same["things"] == []


def test_the_first_version_has_nothing_to_be_compared_with(client, plan):
    changes = client.get(f"{plan}/changes").json()
    assert (changes["compared_with"], changes["things"]) == (None, [])


def test_plans_of_two_bakeries_are_not_compared(client, plan):
    ford = day_document()
    ford["bakery"] |= {"id": "ford"}
    client.put("/api/v1/bakeries/ford/days/2026-07-16", json=ford)
    wanted = {"bakery_id": "ford", "production_date": "2026-07-16"}
    other = client.post(PLANS, json=wanted).json()["id"]
    refused = client.get(f"{plan}/changes", params={"compared_with": other})
    assert refused.status_code == 404


FORMULA = "/api/v1/bakeries/weir/formulas/white"


def test_each_change_of_a_formula_is_a_version(client, planned):  # noqa: ARG001
    document = day_document()["formulas"][0]
    client.put(FORMULA, json=document | {"dough_c": 26})
    client.put(FORMULA, json=document | {"dough_c": 26})
    client.put(FORMULA, json=document)
    heads = client.get(f"{FORMULA}/versions").json()
    assert [one["version"] for one in heads] == [3, 2, 1]
    told = [client.get(f"{FORMULA}/versions/{n}").json()["dough_c"] for n in (1, 2, 3)]
    assert told == [25, 26, 25]
    assert client.get(f"{FORMULA}/versions/4").status_code == 404
    assert client.get("/api/v1/bakeries/weir/formulas/rye/versions").status_code == 404


def test_versions_by_pages(client, planned):  # noqa: ARG001
    document = day_document()["formulas"][0]
    for n in range(4):
        client.put(FORMULA, json=document | {"dough_c": 20 + n})
    first = client.get(f"{FORMULA}/versions", params={"limit": 3})
    rest = client.get(first.links["next"]["url"])
    assert [one["version"] for one in (*first.json(), *rest.json())] == [5, 4, 3, 2, 1]


def test_a_plan_names_the_version_it_was_made_from(client, planned):
    changed = day_document()["formulas"][0] | {"dough_c": 27}
    client.put(FORMULA, json=changed)
    wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
    second = client.post(PLANS, json=wanted).json()["id"]
    used = [client.get(f"{PLANS}/{one}/formulas").json() for one in (planned, second)]
    assert [[(f["id"], f["version"]) for f in one] for one in used] == [
        [("white", 1)],
        [("white", 2)],
    ]
    assert used[0][0]["formula"]["dough_c"] == 25
    client.delete(FORMULA)
    assert client.get(f"{PLANS}/{planned}/formulas").json() == used[0]
    assert len(client.get(f"{FORMULA}/versions").json()) == 2
    client.put(FORMULA, json=changed)
    assert len(client.get(f"{FORMULA}/versions").json()) == 2

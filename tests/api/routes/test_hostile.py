"""Hundreds of hostile inputs: each is refused with a clear sentence that names its field.

Every value in every document is replaced in turn by something that cannot be meant: no number,
numbers beyond all measure, another kind of thing, depths, letters that are none, great lengths.
What is odd but could be meant, as a product called ``=1+1``, is taken: CSV that comes
out guards it.
"""

import copy
import json
from urllib.parse import quote

import pytest

from tests.api.fake_core import day_document
from tests.api.routes.test_forecasts import SOURCE, STANDING, hours
from tests.api.routes.test_odd_input import day_with_everything, places_in

WEIR = "/api/v1/bakeries/weir"
DATE = "2026-07-16"
DAY = day_with_everything()
READING = {
    "id": "r",
    "kind": "flour temperature",
    "mix_id": "white",
    "at_utc": "2026-07-15T21:10:00Z",
    "value_c": 27.5,
    "sd_k": 1,
}
TARGETS = {
    "bakery": ("PUT", WEIR, DAY["bakery"]),
    "formula": ("PUT", f"{WEIR}/formulas/white", DAY["formulas"][0]),
    "product": ("PUT", f"{WEIR}/products/loaf", DAY["products"][0]),
    "mix list": ("PUT", f"{WEIR}/mix-lists/{DATE}", {"mix_list": DAY["mix_list"]}),
    "conditions": ("PUT", f"{WEIR}/conditions/{DATE}", DAY["conditions"]),
    "standing": ("PUT", f"{WEIR}/standing/{DATE}", {"standing": [STANDING]}),
    "pins": ("PUT", f"{WEIR}/pins/{DATE}", {"pins": DAY["pins"]}),
    "thermometer": (
        "PUT",
        f"{WEIR}/thermometers/blue",
        {"name": "blue", "ice_point_c": 0.4, "checked_on": "2026-07-01"},
    ),
    "routine": ("PUT", f"{WEIR}/routine", {"nightly_plan_at": "17:30", "in_force": "newest"}),
    "forecast": ("PUT", f"{WEIR}/forecasts/outdoors", hours(20, 21)),
    "source": ("PUT", f"{WEIR}/forecasts/outdoors/source", SOURCE),
    "import": (
        "POST",
        f"{WEIR}/mix-lists/{DATE}/import",
        {"csv": "product;pieces;leave_by", "columns": {"product": "product"}},
    ),
    "plan": ("POST", "/api/v1/plans", {"bakery_id": "weir", "production_date": DATE}),
    "reading": ("POST", "/api/v1/plans/weir.2026-07-16.1/readings", READING),
}
HOSTILE = {
    "NaN": "NaN",
    "infinite": "-1e999",
    "beyond measure": "9" * 400,
    "another kind": '{"a": {"b": [1, null]}}',
    "deep": "[" * 3000 + "]" * 3000,
    "no letter": '"a\\u0000b"',
    "half a letter": '"\\ud800"',
}
MARK = "put it here"


def leaves():
    for what, (_, _, document) in TARGETS.items():
        for place in places_in(document):
            above = document
            for key in place[:-1]:
                above = above[key]
            if not isinstance(above[place[-1]], dict | list):
                yield what, place


CASES = [(what, place, name) for what, place in leaves() for name in HOSTILE]


def body_with(document, place, hostile):
    changed = copy.deepcopy(document)
    above = changed
    for key in place[:-1]:
        above = above[key]
    above[place[-1]] = MARK
    return json.dumps(changed).replace(f'"{MARK}"', hostile)


def test_there_are_at_least_five_hundred():
    assert len(CASES) >= 500


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
@pytest.mark.parametrize("what", TARGETS)
def test_each_is_refused_with_a_sentence_that_names_its_field(client, planned, what):
    assert planned == "weir.2026-07-16.1"
    method, where, document = TARGETS[what]
    before = client.get(f"{WEIR}/days/{DATE}").headers["ETag"]
    sent = 0
    for of, place, name in CASES:
        if of != what:
            continue
        body = body_with(document, place, HOSTILE[name])
        answer = client.request(
            method, where, content=body, headers={"content-type": "application/json"}
        )
        sent += 1
        told = (place, name, answer.text[:300])
        assert answer.status_code == 422, told
        assert answer.json()["type"] == "/problems/invalid-input", told
        fault = answer.json()["faults"][0]
        names = [key for key in place if isinstance(key, str)]
        assert name == "deep" or any(key in fault["field"] for key in names), told
        assert 0 < len(fault["problem"]) < 200, told
        assert 0 < len(fault["remedy"]) < 2000, told
        assert len(fault["value"]) < 500, told
    assert sent
    assert client.get(f"{WEIR}/days/{DATE}").headers["ETag"] == before


PATHS = [
    "../../etc/passwd",
    "..%2f..%2fetc%2fpasswd",
    "a/b",
    "%00",
    "%ff%fe",
    "=1+1",
    "☃" * 200,
]


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_anywhere_else(client, path):
    for collection in ("/api/v1/bakeries", f"{WEIR}/formulas", "/api/v1/plans"):
        answer = client.get(f"{collection}/{path}")
        assert answer.status_code in {404, 422}, (collection, path, answer.text[:200])
        assert "passwd" not in answer.text or "root:" not in answer.text
        answer = client.put(f"{collection}/{path}", json={"name": "x"})
        assert answer.status_code in {404, 405, 422}, (collection, path, answer.text[:200])


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
@pytest.mark.parametrize(
    "body", [b"\xff\xfe", b"{", b"[]", b"null", b'"a"', b"", b"[" * 100_000, b'{"a": 1, "a": 2}']
)
def test_a_body_that_is_no_document_is_refused(client, body):
    for method, where, _ in TARGETS.values():
        answer = client.request(
            method, where, content=body, headers={"content-type": "application/json"}
        )
        assert answer.status_code == 422, (where, answer.text[:200])
        assert answer.json()["faults"][0]["remedy"]


@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_a_name_as_a_formula_of_a_table_program_comes_out_of_csv_harmless(client):
    day = copy.deepcopy(DAY)
    day["products"][0]["name"] = day["mix_list"][0]["product"] = "=cmd|' /C calc'!A0"
    day["products"][0]["id"] = "loaf"
    day["mix_list"][0]["product"] = "loaf"
    day["conditions"]["inherited"][0]["product"] = "loaf"
    assert client.put(f"{WEIR}/days/{DATE}", json=day).is_success
    wanted = {"bakery_id": "weir", "production_date": DATE}
    plan = client.post("/api/v1/plans", json=wanted).json()["id"]
    rows = client.get(f"/api/v1/plans/{plan}/rows.csv").text
    assert not [c for line in rows.splitlines() for c in line.split(",") if c[:1] in "=+@" and c]


ODD_FORMS = {
    "deep": "a." * 3000 + "b=1",
    "a row of thousands of figures": f"lines[{'9' * 5000}].x=1",
    "too many inputs": "&".join(["a=1"] * 20_001),
    "no address": "back=//[",
    "drops no part": "drop=abc",
    "drops a table": "drop.x=1&add.y=2",
    "parts that are none": "parts=abc&add=soaker",
    "a part that is none": "parts[0]=abc&add=soaker",
    "a dough that is none": "formulas[0]=abc&formulas[7].x=1&formulas.x=2",
    "copies no day": "then=copy&copied=abc",
    "lists that are none": "then=read&orders=abc&mixes[0]=1",
    "asks for no number": "warmer=nan&ice=nan",
    "infinitely warm": "warmer=inf",
    "no letters": "name=%ff%fe%00%ed%a0%80",
}
FORMS = (
    "/reads",
    "/first-dough",
    "/bakery/weir/setup/mixers",
    "/bakery/weir/new-dough",
    "/bakery/weir/check-dough",
    "/bakery/weir/import-doughs",
    "/bakery/weir/doughs/white",
    "/bakery/weir/products",
    f"/bakery/weir/{DATE}/mix-list",
    f"/bakery/weir/{DATE}/conditions",
    f"/plan/weir.{DATE}.1/assumed",
    f"/plan/weir.{DATE}.1/what-if",
    f"/plan/weir.{DATE}.1/mix/white/pin",
)


@pytest.mark.usefixtures("planned")
def test_no_form_breaks_a_page(client):
    """Names of inputs are paths, which anybody may write as they like."""
    head = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "text/html"}
    broken = [
        (path, what)
        for path in FORMS
        for what, form in ODD_FORMS.items()
        if client.post(path, content=form, headers=head, follow_redirects=False).status_code >= 500
    ]
    assert broken == []
    what_if = f"/plan/weir.{DATE}.1/what-if"
    for form in ("warmer=nan", "ice=nan", "warmer=inf"):
        assert client.post(what_if, content=form, headers=head).status_code == 422


@pytest.mark.parametrize("bakery_id", ["piekarnia_łódź", "日本", 'q"o'])
def test_a_bakery_may_be_called_by_letters_that_no_header_takes(client, bakery_id):
    day = day_document()
    day["bakery"] |= {"id": bakery_id, "name": bakery_id}
    named = quote(bakery_id, safe="")
    assert client.put(f"/api/v1/bakeries/{named}/days/{DATE}", json=day).status_code == 201
    wanted = {"bakery_id": bakery_id, "production_date": DATE}
    assert client.post("/api/v1/plans", json=wanted).status_code == 201
    log = client.get(f"/record/{named}/log.csv")
    assert log.status_code == 200
    assert f"filename*=UTF-8''temperatures-{named}-" in log.headers["content-disposition"]
    held = client.get(f"/bench/{named}/day?date={DATE}")
    assert held.status_code == 200
    known = {"If-None-Match": held.headers["etag"]}
    assert client.get(f"/bench/{named}/day?date={DATE}", headers=known).status_code == 304

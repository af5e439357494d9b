"""The record: shares and nights, and a log that keeps what was replaced and asks what was done."""

import csv
import io
import re

import pytest

DAYS = "from=2026-07-10&to=2026-07-20"
END = {
    "kind": "dough temperature at the end",
    "mix_id": "white",
    "at_utc": "2026-07-15T21:40:00Z",
    "by": "AK",
}


@pytest.fixture
def white(client, planned):
    mixes = client.get(f"/api/v1/plans/{planned}").json()["night"]["mixes"]
    return next(mix for mix in mixes if mix["id"] == "white")


@pytest.fixture
def send(client, planned):
    def send_reading(id, **told):
        sent = client.post(f"/api/v1/plans/{planned}/readings", json=END | {"id": id} | told)
        assert sent.is_success, sent.text

    return send_reading


def figures(client):
    page = client.get(f"/record/weir?{DAYS}")
    assert page.status_code == 200, page.text
    return re.findall(r"<dd>([^<]+)", page.text), page.text


def log(client):
    told = client.get(f"/record/weir/log.csv?{DAYS}")
    assert told.headers["content-type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(told.text)))


def test_before_anything_is_read_the_record_says_so(client, planned):
    assert planned
    page = client.get(f"/record/weir?{DAYS}").text
    assert "No dough was read" in page
    assert "Nothing was read" in page
    assert log(client) == []


def test_a_dough_near_and_one_far_are_half(client, send, white):
    """One comes off as wanted, one two degrees warmer: 50 % within one, off by 1.0 on average."""
    wanted = white["ticket"]["wanted_c"]
    send("e1", value_c=wanted)
    send("e2", value_c=27.0, mix_id="rye")
    doughs, near, *_ = figures(client)[0]
    assert (doughs.strip(), near.strip()) == ("2", "50 %")


def test_a_dough_is_counted_once_however_often_it_was_read(client, send, white):
    wanted = white["ticket"]["wanted_c"]
    send("e1", value_c=wanted + 5)
    send("e2", value_c=wanted, supersedes="e1")
    doughs, near, *_ = figures(client)[0]
    assert (doughs.strip(), near.strip()) == ("1", "100 %")
    assert [(row["what"], row["replaced_or_taken_back"]) for row in log(client)] == [
        ("dough at end", "yes"),
        ("dough at end", ""),
    ]


def test_the_log_has_what_an_inspector_asks_for(client, send, white):
    send("e1", value_c=white["ticket"]["wanted_c"], thermometer_id="probe-2")
    (row,) = log(client)
    assert row["time_utc"] == "2026-07-15T21:40:00Z"
    assert row["local_time"] == "23:40"
    assert "White tin dough" in row["item"]
    assert (row["within_limit"], row["by"], row["thermometer"]) == ("yes", "AK", "probe-2")
    assert re.fullmatch(r"[\d.]+–[\d.]+ °C", row["limit"])


def test_out_of_its_limit_a_dough_asks_what_was_done(client, planned, send, white):
    send("e1", value_c=white["ticket"]["wanted_c"] + 3)
    page = figures(client)[1]
    assert "1 reading out of its limit has no word" in page
    action = re.search(r'method="post" action="([^"]+)"', page)[1]
    told = {"mix_id": "white", "note": "divided 20 min sooner", "by": "AK"}
    assert client.post(action, data=told, follow_redirects=False).status_code == 303
    page = figures(client)[1]
    assert "divided 20 min sooner" in page
    assert "no word on what was done" not in page
    (row,) = log(client)
    assert (row["within_limit"], row["what_was_done"]) == ("no", "divided 20 min sooner")
    assert planned


def test_a_cell_of_the_log_is_never_a_sum(client, send, white):
    send("e1", value_c=white["ticket"]["wanted_c"] + 3, by="=1+1")
    assert log(client)[0]["by"] == "'=1+1"


def test_other_days_and_other_bakeries_are_left_out(client, send, white):
    send("e1", value_c=white["ticket"]["wanted_c"])
    assert "No dough was read" in client.get("/record/weir?from=2026-06-01&to=2026-06-30").text
    assert client.get("/record/ford").status_code == 404


def test_the_drawing_has_a_table_beside_it_and_no_colour_alone(client, send, white):
    send("e1", value_c=white["ticket"]["wanted_c"] + 1.5)
    page = figures(client)[1]
    assert page.count('class="dot"') == 1
    assert page.count('class="sum"') == 1
    assert "<title" in page[page.index("<svg") :]
    assert "by mixer" in page
    assert "by formula" in page

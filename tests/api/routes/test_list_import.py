"""A mix list as CSV, from whatever program: columns told, lines judged, a dry run first."""

import pytest

from tests.api.fake_core import day_document

DAY = "/api/v1/bakeries/weir/days/2026-07-16"
LIST = "/api/v1/bakeries/weir/mix-lists/2026-07-16"
IMPORT = f"{LIST}/import"


@pytest.fixture
def stored(client):
    shifts = [{"person": "Ana", "from": "22:00", "to": "06:00"}]
    client.put(DAY, json=day_document(shifts=shifts))
    return client


def send(client, csv, columns=None, *, dry_run=False, **headers):
    body = {"csv": csv, "columns": columns or {}, "dry_run": dry_run}
    return client.post(IMPORT, json=body, headers=headers)


MINE = {"product": "Artikel", "pieces": "Menge", "leave_by": "Ab"}


@pytest.mark.parametrize(
    "csv",
    [
        "Artikel;Menge;Ab\nloaf;96;06:30",
        "Artikel,Menge,Ab\r\nloaf,96,06:30\r\n",
        "\ufeffAb\tMenge\tArtikel\n06:30\t96\tLoaf\n\n",
        '"Artikel";"Menge";"Ab";"Bemerkung"\n"loaf";"96";"06:30";"=1+1"',
    ],
)
def test_columns_of_any_name_and_any_separator(stored, csv):
    read = send(stored, csv, MINE)
    assert read.status_code == 200, read.text
    assert (read.json()["stored"], read.json()["faults"]) == (True, [])
    (line,) = stored.get(LIST).json()["mix_list"]
    assert (line["product"].lower(), line["pieces"], line["leave_by"]) == ("loaf", 96, "06:30")


def test_columns_that_are_nothing_here_are_named(stored):
    read = send(stored, "product;pieces;leave_by;Bemerkung\nloaf;96;06:30;=1+1")
    assert read.json()["ignored_columns"] == ["Bemerkung"]
    assert "=1+1" not in stored.get(LIST).text


@pytest.mark.parametrize("weight", ["60,5", "60.5", '"60,5"'])
def test_ready_mixes_with_a_decimal_comma_or_point(stored, weight):
    csv = f"formula;kg;ready_from;ready_by\nwhite;{weight};02:30;03:15"
    assert send(stored, csv, {"dough_kg": "kg"}).status_code == 200
    (line,) = stored.get(LIST).json()["mix_list"]
    assert line == {
        "formula": "white",
        "dough_kg": 60.5,
        "ready_from": "02:30",
        "ready_by": "03:15",
    }


def test_pounds_are_read_where_they_are_named(stored):
    """100 lb are 45.359237 kg, by definition."""
    assert send(stored, "formula;dough_lb\nwhite;100").status_code == 200
    (line,) = stored.get(LIST).json()["mix_list"]
    assert line["dough_kg"] == pytest.approx(45.359237)


BROKEN = """Artikel;Menge;Ab
loaf;96;06:30
loaf;-4;06:30
cake;10;06:30
loaf;10;25:00
loaf;10;06:30;7;8
loaf;ten;06:30
"""


def test_every_line_that_is_wrong_is_named_and_nothing_is_stored(stored):
    before = stored.get(LIST).json()
    refused = send(stored, BROKEN, MINE)
    assert refused.status_code == 422
    fields = [fault["field"] for fault in refused.json()["faults"]]
    assert {field.split(",")[0] for field in fields} == {f"line {n}" for n in range(3, 8)}
    assert "line 3, pieces" in fields
    assert "line 4, product" in fields
    assert stored.get(LIST).json() == before


def test_a_dry_run_tells_good_and_bad_lines_and_stores_nothing(stored):
    before = stored.get(LIST)
    told = send(stored, BROKEN, MINE, dry_run=True)
    assert told.status_code == 200
    assert told.json()["stored"] is False
    assert 2 in [one["line"] for one in told.json()["lines"]]
    assert len(told.json()["faults"]) == 5
    after = stored.get(LIST)
    assert (after.json(), after.headers["ETag"]) == (before.json(), before.headers["ETag"])


def test_shifts_of_the_day_stay(stored):
    send(stored, "product;pieces;leave_by\nloaf;12;07:00")
    read = stored.get(LIST).json()
    assert read["shifts"] == [{"person": "Ana", "from": "22:00", "to": "06:00"}]
    assert read["mix_list"][0]["pieces"] == 12


def test_the_same_list_again_changes_nothing(stored):
    csv = "product;pieces;leave_by\nloaf;12;07:00"
    told = [send(stored, csv).headers["Ovenward-Change"] for _ in range(2)]
    assert told == ["changed", "unchanged"]


def test_a_list_is_not_put_over_one_that_changed_meanwhile(stored):
    tag = stored.get(LIST).headers["ETag"]
    csv = "product;pieces;leave_by\nloaf;12;07:00"
    assert send(stored, csv, **{"If-Match": tag}).status_code == 200
    assert send(stored, csv, **{"If-Match": tag}).status_code == 412


@pytest.mark.parametrize(
    ("csv", "columns", "field"),
    [
        ("", {}, "line 1"),
        ("product;pieces;leave_by\n", {}, "line 2"),
        ("a;b\n1;2", {}, "line 1"),
        ("a;b\n1;2", {"product": "c"}, "columns.product"),
        ("a;b\n1;2", {"colour": "a"}, "columns.colour"),
        ("product;product;pieces;leave_by\nloaf;loaf;1;06:30", {}, "line 1"),
        ('product;pieces;leave_by\nloaf;"' + "9" * 200_000, {}, "line 2"),
        ("product;pieces;leave_by\n" + "loaf;1;06:30\n" * 2001, {}, "line 2002"),
    ],
)
def test_a_list_that_cannot_be_meant_is_told_what_to_do(stored, csv, columns, field):
    refused = send(stored, csv, columns)
    assert refused.status_code == 422, refused.text[:300]
    fault = refused.json()["faults"][0]
    assert fault["field"] == field
    assert fault["remedy"]


def test_what_a_cell_holds_is_never_run_as_a_formula_when_it_comes_out_again():
    """A product named as a formula of a table program stands behind an apostrophe in CSV."""
    from api.pages.rows import _plain  # noqa: PLC0415

    for sign in ("=", "+", "-", "@", "\t", "\r"):
        assert _plain(f"{sign}cmd") == f"'{sign}cmd"
    assert _plain("loaf") == "loaf"

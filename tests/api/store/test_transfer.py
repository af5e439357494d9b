"""Everything as JSON and back: the same rows, on either kind of database."""

import json
from datetime import date

import pytest
from sqlalchemy import select
from sqlmodel import Session

from api.store.engine import open_engine
from api.store.tables import PlannedInputRow
from api.store.transfer import PASSING, PEOPLE, bring_in, export, tables
from api.store.upgrade import upgrade
from planner.errors import InputError
from tests.api.fake_core import day_document

READING = {
    "id": "r1",
    "kind": "dough temperature at the end",
    "mix_id": "white",
    "at_utc": "2026-07-15T23:10:00+02:00",
    "value_c": 27.5,
}


@pytest.fixture
def client(open_client):
    """A service that fires nothing by itself while rows are compared."""
    return open_client(timers=False)


def on_sqlite(test):
    """Run a test once, on SQLite alone: what it asks is the same on both."""
    for name in ("address", "other"):
        test = pytest.mark.parametrize(name, ["sqlite"], indirect=True)(test)
    return test


@pytest.fixture
def full(client, planned, engine):
    """A service with something in every table that an export holds."""
    client.post(f"/api/v1/plans/{planned}/readings", json=READING)
    client.post(f"/api/v1/plans/{planned}/approve")
    weir = "/api/v1/bakeries/weir"
    client.put(f"{weir}/thermometers/blue", json={"name": "blue"})
    client.put(f"{weir}/routine", json={"nightly_plan_at": "17:30"})
    source = {"url": "https://weather.example/x", "times": "t", "temperatures": "c"}
    client.put(f"{weir}/forecasts/outdoors/source", json=source)
    ford = day_document()
    ford["bakery"] |= {"id": "ford"}
    client.put("/api/v1/bakeries/ford/days/2026-07-16", json=ford)
    made = PlannedInputRow(
        bakery_id="weir",
        production_date=date(2026, 7, 16),
        input_hash="0" * 64,
        plan_id=planned,
    )
    with Session(engine) as session, session.begin():
        session.add(made)
    account = {"name": "Ana", "role": "head_baker", "password": "a long enough password"}
    assert client.put(f"{weir}/accounts/ana", json=account).is_success
    assert client.post(f"{weir}/keys", json={"name": "probe", "role": "sensor"}).is_success
    return client


def all_rows(engine):
    with engine.connect() as connection:
        return {
            table.name: [
                {k: v for k, v in row.items() if (table.name, k) != ("change", "id")}
                for row in connection.execute(
                    select(table).order_by(*table.primary_key.columns)
                ).mappings()
            ]
            for table in tables()
            if table.name not in PASSING
        }


@pytest.fixture(params=["sqlite", "postgres"])
def other(request, tmp_path):
    """Another database, empty."""
    if request.param == "postgres":
        given = request.getfixturevalue("second_postgres_address")
    else:
        given = f"sqlite:///{tmp_path / 'other.sqlite3'}"
    upgrade(given)
    opened = open_engine(given)
    yield opened
    opened.dispose()


@pytest.mark.usefixtures("full")
@pytest.mark.parametrize("address", ["sqlite"], indirect=True)
def test_an_export_brought_in_elsewhere_is_the_same(engine, other):
    document = json.loads(json.dumps(export(engine, accounts=True), allow_nan=False))
    rows = bring_in(other, document)
    wanted = all_rows(engine)
    assert {name for name, found in wanted.items() if not found} <= {"planned_input"}
    assert all_rows(other) == wanted
    assert rows == {name: len(found) for name, found in wanted.items()}


@pytest.mark.usefixtures("full")
def test_accounts_and_keys_stay_behind_unless_asked_for(engine):
    kept = export(engine)["tables"]
    assert not (PASSING | PEOPLE) & set(kept)
    assert not [word for word in ("password_hash", "secret_hash") if word in json.dumps(kept)]
    assert set(export(engine, accounts=True)["tables"]) - set(kept) == set(PEOPLE)


@on_sqlite
@pytest.mark.usefixtures("full")
def test_one_bakery_is_exported_without_the_others(engine, other):
    document = export(engine, bakery_id="weir")
    assert "ford" not in json.dumps(document)
    assert [row["id"] for row in document["tables"]["bakery"]] == ["weir"]
    assert len(document["tables"]["reading"]) == 1
    bring_in(other, document)
    bring_in(other, export(engine, bakery_id="ford"))
    assert [row["id"] for row in export(other)["tables"]["bakery"]] == ["ford", "weir"]


@on_sqlite
@pytest.mark.usefixtures("full")
def test_what_is_there_already_is_not_brought_in_and_nothing_else_is(engine, other):
    bring_in(other, export(engine, bakery_id="ford"))
    before = all_rows(other)
    with pytest.raises(InputError) as raised:
        bring_in(other, export(engine))
    assert raised.value.faults[0].field == "tables.bakery"
    assert all_rows(other) == before


@on_sqlite
@pytest.mark.usefixtures("full")
@pytest.mark.parametrize(
    ("spoil", "field"),
    [
        (lambda d: d | {"format": "something"}, "format"),
        (lambda _: [], "format"),
        (lambda d: d | {"revision": "older"}, "revision"),
        (lambda d: d | {"tables": []}, "tables"),
        (lambda d: d | {"tables": {"oven": []}}, "tables.oven"),
        (lambda d: d | {"tables": {"bakery": [{"id": "x"}]}}, "tables.bakery[0]"),
        (
            lambda d: (
                d | {"tables": {"bakery": [d["tables"]["bakery"][0] | {"changed_at": "soon"}]}}
            ),
            "tables.bakery[0].changed_at",
        ),
    ],
)
def test_what_is_no_export_is_named_and_nothing_is_stored(engine, other, spoil, field):
    with pytest.raises(InputError) as raised:
        bring_in(other, spoil(export(engine)))
    assert raised.value.faults[0].field == field
    assert not any(all_rows(other).values())


@on_sqlite
@pytest.mark.usefixtures("full")
def test_an_import_that_breaks_off_leaves_nothing(engine, other):
    document = export(engine)
    document["tables"]["plan"][0]["bakery_id"] = "nobody"
    with pytest.raises(Exception, match=r"(?i)foreign key"):
        bring_in(other, document)
    assert not any(all_rows(other).values())

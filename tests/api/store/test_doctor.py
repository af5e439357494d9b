"""The doctor sees each planted fault, and nothing where there is none."""

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import text
from sqlmodel import Session

from api.schemas.events import EventKind
from api.settings import Settings
from api.store import doctor, events, plans
from api.store.doctor import Finding, examine
from api.store.engine import for_writing
from api.store.tables import BakeryRow, ForecastRow, OccurrenceRow
from tests.api.fake_core import day_document


def now():
    return datetime.now(UTC)


@pytest.fixture
def with_bakery(engine):
    row = BakeryRow(id="weir", document=day_document()["bakery"], changed_at=now())
    with Session(for_writing(engine)) as session, session.begin():
        session.add(row)
    return engine


def found(engine, *, at=None, led=True, settings=None):
    told = examine(engine, settings or Settings(), at or now(), lambda: led)
    worst = {}
    order = list(Finding)
    for one in told:
        before = worst.get(one.what, Finding.OK)
        worst[one.what] = max(before, one.finding, key=order.index)
    return worst


ALL = {"database", "clock", "disk", "zones", "leader", "backlog", "forecasts"}


def test_where_nothing_is_wrong_nothing_is_told(with_bakery, monkeypatch):
    usage = type("Usage", (), {"free": 5_000_000_000})
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: usage)
    assert found(with_bakery) == dict.fromkeys(ALL, Finding.OK)


def test_tables_of_another_version(with_bakery):
    with for_writing(with_bakery).begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'older'"))
    assert found(with_bakery)["database"] is Finding.BROKEN


@pytest.mark.parametrize(
    ("free", "finding"),
    [(100_000_000, Finding.BROKEN), (500_000_000, Finding.LOOK), (2_000_000_000, Finding.OK)],
)
def test_a_disk_that_fills(with_bakery, monkeypatch, free, finding):
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: type("U", (), {"free": free}))
    assert found(with_bakery)["disk"] is finding


def test_a_clock_that_went_back(with_bakery):
    with Session(for_writing(with_bakery)) as session, session.begin():
        later = now() + timedelta(hours=1)
        events.append(session, "weir", EventKind.PLAN_WANTED, "x", {}, later)
    assert found(with_bakery)["clock"] is Finding.BROKEN


@pytest.mark.parametrize("address", ["postgres"], indirect=True)
def test_a_clock_that_differs_from_that_of_the_database(with_bakery):
    assert found(with_bakery, at=now() + timedelta(seconds=30))["clock"] is Finding.LOOK


def test_a_zone_of_which_there_is_no_data(engine):
    document = day_document()["bakery"] | {"zone": "Atlantis/Deep"}
    with Session(for_writing(engine)) as session, session.begin():
        session.add(BakeryRow(id="weir", document=document, changed_at=now()))
    assert found(engine)["zones"] is Finding.BROKEN


def test_nobody_fires_timers(with_bakery):
    assert found(with_bakery, led=False)["leader"] is Finding.LOOK


@pytest.mark.parametrize(("minutes", "finding"), [(4, Finding.OK), (6, Finding.BROKEN)])
def test_timers_that_wait_too_long(with_bakery, minutes, finding):
    row = OccurrenceRow(
        id="x",
        bakery_id="weir",
        plan_id=None,
        production_date=date(2026, 7, 16),
        kind="mix",
        subject="m",
        number=1,
        state="waiting",
        due_at=now() - timedelta(minutes=minutes),
        fired_at=None,
    )
    with Session(for_writing(with_bakery)) as session, session.begin():
        session.add(row)
    assert found(with_bakery)["backlog"] is finding


def test_plans_that_were_interrupted(with_bakery):
    long_ago = now() - timedelta(hours=1)
    with Session(for_writing(with_bakery)) as session, session.begin():
        plans.add(session, "weir", date(2026, 7, 16), day_document(), long_ago)
    assert found(with_bakery)["backlog"] is Finding.LOOK


@pytest.mark.parametrize(
    ("hours", "fault", "finding"),
    [
        (1, None, Finding.OK),
        (13, None, Finding.LOOK),
        (1, "The source answered 503.", Finding.LOOK),
    ],
)
def test_forecasts_that_are_old_or_fail(with_bakery, hours, fault, finding):
    row = ForecastRow(
        bakery_id="weir",
        place="outdoors",
        document={},
        changed_at=now() - timedelta(hours=hours),
        source={"url": "x"},
        tried_at=now(),
        fault=fault,
    )
    with Session(for_writing(with_bakery)) as session, session.begin():
        session.add(row)
    assert found(with_bakery)["forecasts"] is finding


def test_a_database_that_does_not_answer_hides_nothing_else(tmp_path, monkeypatch):
    from api.store.engine import open_engine  # noqa: PLC0415

    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: type("U", (), {"free": 9e9}))
    engine = open_engine(f"sqlite:///{tmp_path / 'no' / 'such.sqlite3'}")
    told = found(engine)
    assert told["database"] is Finding.BROKEN
    assert (told["disk"], told["leader"]) == (Finding.OK, Finding.OK)

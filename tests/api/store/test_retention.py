"""What is older than is to be kept is forgotten, and nothing else."""

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlmodel import Session, select

from api.schemas.events import EventKind
from api.store import events, in_force, plans
from api.store.engine import for_writing
from api.store.retention import Keeping, forget_old
from api.store.tables import EventRow, OccurrenceRow, PlanRow, ReadingRow

KEEPING = Keeping(plans_days=400, events_days=100)
READING = {
    "id": "r1",
    "kind": "flour temperature",
    "mix_id": "white",
    "at_utc": "2026-07-15T23:10:00+02:00",
    "value_c": 27.5,
}


def forget(engine, now):
    with Session(for_writing(engine)) as session, session.begin():
        return forget_old(session, KEEPING, now)


def at(day, hours=12):
    return datetime(2026, 7, 16, tzinfo=UTC) + timedelta(days=day, hours=hours - 24)


@pytest.mark.usefixtures("client")
def test_a_plan_and_its_readings_are_kept_for_their_days_and_no_longer(engine, client, planned):
    client.post(f"/api/v1/plans/{planned}/readings", json=READING)
    client.post(f"/api/v1/plans/{planned}/approve")
    assert forget(engine, at(402))["plans"] == 0, "it was made only now"
    with Session(for_writing(engine)) as session, session.begin():
        session.get_one(PlanRow, planned).created_at = at(0)
    assert forget(engine, at(401))["plans"] == 0
    with Session(engine) as session:
        assert session.get(ReadingRow, (planned, "r1")) is not None
    assert forget(engine, at(402))["plans"] == 1
    with Session(engine) as session:
        assert session.get(PlanRow, planned) is None
        assert session.get(ReadingRow, (planned, "r1")) is None
        assert in_force.of_day(session, "weir", date(2026, 7, 16)) is None
        assert session.exec(select(OccurrenceRow)).all() == []


def test_the_last_event_stays_so_that_numbers_go_on(engine, planned):
    assert planned
    later = datetime.now(UTC) + timedelta(days=500)
    with Session(engine) as session:
        last = events.last(session, "weir")
    assert last >= 2
    assert forget(engine, later)["events"] == last - 1
    with Session(for_writing(engine)) as session, session.begin():
        assert [row.number for row in session.exec(select(EventRow))] == [last]
        row = events.append(session, "weir", EventKind.PLAN_WANTED, "x", {}, later)
        assert row.number == last + 1


def test_what_is_young_is_kept(engine, planned):
    now = datetime(2026, 7, 20, tzinfo=UTC)
    gone = forget(engine, now)
    assert set(gone.values()) == {0}
    with Session(engine) as session:
        assert plans.get(session, planned)

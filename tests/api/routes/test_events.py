"""Events: numbered without a gap, told with what they tell of, followed without a loss."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from functools import partial

import pytest
from sqlmodel import Session

from api.jobs.event_hub import EventHub
from api.main import create_app
from api.routes import events as routes
from api.schemas.accounts import KeyCreate
from api.schemas.events import EventKind
from api.settings import Settings
from api.store import events, keys
from api.store.engine import for_writing
from api.store.tables import BakeryRow
from tests.api.fake_core import day_document
from tests.api.live import events_from, listening

EVENTS = "/api/v1/bakeries/weir/events"
NOW = datetime(2026, 7, 15, 12, tzinfo=UTC)
READING = {
    "id": "r1",
    "kind": "flour temperature",
    "mix_id": "white",
    "at_utc": "2026-07-15T21:10:00Z",
    "value_c": 27.5,
}


def told(client, after=0):
    return client.get(EVENTS, params={"after": after}).json()


def test_what_happens_is_told_in_order_with_the_fields_of_cloudevents(client, planned):
    client.post(f"/api/v1/plans/{planned}/readings", json=READING)
    found = told(client)
    assert [one["id"] for one in found] == ["1", "2", "3"]
    assert [one["type"] for one in found] == [
        "ovenward.plan.wanted",
        "ovenward.plan.ready",
        "ovenward.reading.taken",
    ]
    last = found[-1]
    assert (last["specversion"], last["source"]) == ("1.0", "/api/v1/bakeries/weir")
    assert (last["subject"], last["data"]["reading"]["value_c"]) == (planned, 27.5)


@pytest.mark.usefixtures("planned")
def test_reading_on_gives_what_came_since(client):
    assert [one["id"] for one in told(client, after=1)] == ["2"]
    assert told(client, after=2) == []


def test_a_reading_that_is_refused_tells_nothing(client, planned):
    client.post(f"/api/v1/plans/{planned}/readings", json=READING | {"mix_id": "cake"})
    assert len(told(client)) == 2


def test_a_reading_sent_again_tells_nothing_new(client, planned):
    for _ in range(2):
        client.post(f"/api/v1/plans/{planned}/readings", json=READING)
    assert len(told(client)) == 3


def test_a_plan_that_cannot_be_made_is_told_with_its_problem(client, core):
    client.put("/api/v1/bakeries/weir/days/2026-07-16", json=day_document())
    core.error = MemoryError()
    client.post("/api/v1/plans", json={"bakery_id": "weir", "production_date": "2026-07-16"})
    last = told(client)[-1]
    assert last["type"] == "ovenward.plan.failed"
    assert last["data"]["problem"]["type"] == "/problems/planning-failed"


def test_events_of_an_unknown_bakery_are_not_found(client):
    assert client.get(EVENTS).status_code == 404
    assert client.get(f"{EVENTS}/stream").status_code == 404


def test_numbers_have_no_gap_and_no_double_when_many_write_at_once(engine):
    """8 hands × 10 events = 80, whoever comes first; a transaction that fails takes no number."""
    with Session(for_writing(engine)) as session, session.begin():
        session.add(BakeryRow(id="weir", document={}, changed_at=NOW))

    def break_off():
        with Session(for_writing(engine)) as session, session.begin():
            events.append(session, "weir", EventKind.PLAN_WANTED, "none", {}, NOW)
            raise ZeroDivisionError

    def write(hand):
        for i in range(10):
            with Session(for_writing(engine)) as session, session.begin():
                events.append(session, "weir", EventKind.PLAN_WANTED, f"{hand}.{i}", {}, NOW)
            with pytest.raises(ZeroDivisionError):
                break_off()

    with ThreadPoolExecutor(8) as hands:
        list(hands.map(write, range(8)))
    with Session(engine) as session:
        found = events.after(session, "weir", 0, 1000)
    assert [one.number for one in found] == list(range(1, 81))
    assert len({one.subject for one in found}) == 80


def test_two_bakeries_count_by_themselves(engine):
    with Session(for_writing(engine)) as session, session.begin():
        for id in ("weir", "ford"):
            session.add(BakeryRow(id=id, document={}, changed_at=NOW))
        numbers = [
            events.append(session, id, EventKind.PLAN_WANTED, "x", {}, NOW).number
            for id in ("weir", "weir", "ford")
        ]
    assert numbers == [1, 2, 1]


@pytest.fixture
def live(address, core):
    with listening(create_app(Settings(database_url=address, demo=True), core=core)) as (base, _):
        yield base


@pytest.fixture
def happened(engine):
    """Writes events as another process would: the service is not told."""
    with Session(for_writing(engine)) as session, session.begin():
        session.add(BakeryRow(id="weir", document={}, changed_at=NOW))

    def write(*subjects):
        for subject in subjects:
            with Session(for_writing(engine)) as session, session.begin():
                events.append(session, "weir", EventKind.PLAN_WANTED, subject, {}, NOW)

    return write


def test_a_stream_gives_what_was_missed_and_then_what_comes(live, happened):
    happened("a", "b", "c")
    stream = f"{live}{EVENTS}/stream"
    found = events_from(stream, 4, {"Last-Event-ID": "1"}, lambda: happened("d", "e"))
    assert [one["id"] for one in found] == ["2", "3", "4", "5"]
    assert [one["data"]["subject"] for one in found] == ["b", "c", "d", "e"]
    assert found[0]["event"] == "ovenward.plan.wanted"


def test_without_a_number_a_stream_begins_with_what_is_new(live, happened):
    happened("a")
    (found,) = events_from(f"{live}{EVENTS}/stream", 1, once_open=lambda: happened("b"))
    assert found["data"]["subject"] == "b"


def test_a_stream_from_a_number_that_never_was_says_so(live, happened):
    """As after a database was put back from yesterday's copy."""
    happened("a", "b")
    stream = f"{live}{EVENTS}/stream"
    first, second = events_from(stream, 2, {"Last-Event-ID": "90"}, lambda: happened("c"))
    assert (first["event"], first["data"]) == ("restarted", {"last": 2})
    assert second["id"] == "3"


def test_many_streams_see_the_same(live, happened):
    happened("a")
    with ThreadPoolExecutor(6) as streams:
        following = [
            streams.submit(events_from, f"{live}{EVENTS}/stream", 21, {"Last-Event-ID": "0"})
            for _ in range(6)
        ]
        happened(*(str(i) for i in range(20)))
        numbers = [[one["id"] for one in stream.result()] for stream in following]
    assert numbers == [[str(i) for i in range(1, 22)]] * 6


def test_a_stream_ends_when_the_service_stops(address, core, happened):
    happened("a")
    app = create_app(Settings(database_url=address, demo=True), core=core)
    with ThreadPoolExecutor(1) as stream, listening(app) as (base, server):
        told_to_stop = partial(server.handle_exit, 2, None)
        address = f"{base}{EVENTS}/stream"
        following = stream.submit(events_from, address, 9, {"Last-Event-ID": "0"}, told_to_stop)
        assert [one["id"] for one in following.result(timeout=20)] == ["1"]


def test_a_stream_ends_by_itself_and_is_asked_for_anew(engine, happened):
    """So that a right that was taken away ends; whoever still has it goes on where it was."""
    happened("a", "b")
    hub = EventHub(engine, poll_s=0.02)

    async def followed():
        running = asyncio.create_task(hub.run())
        rounds = [[one.number async for one in hub.follow("weir", n, lasts_s=0.3)] for n in (0, 1)]
        hub.close()
        await running
        return rounds

    assert asyncio.run(followed()) == [[1, 2], [2]]


def test_a_key_that_was_revoked_hears_of_nothing_more(engine, address, monkeypatch):
    monkeypatch.setattr(routes, "ASKED_AGAIN_S", 0.0)
    with Session(for_writing(engine)) as session, session.begin():
        session.add(BakeryRow(id="weir", document=day_document()["bakery"], changed_at=NOW))
        session.flush()
        made = [
            keys.create(session, "weir", KeyCreate(name=name, role="display"), "test", NOW)
            for name in ("wall", "lost")
        ]

    def revoke_and_write():
        with Session(for_writing(engine)) as session, session.begin():
            keys.revoke(session, "weir", made[1].id, NOW)
            events.append(session, "weir", EventKind.TIMER_DUE, "x", {}, NOW)

    app = create_app(Settings(database_url=address, timers=False))
    with listening(app) as (base, _):
        stream = f"{base}{EVENTS}/stream"
        shown = [{"Authorization": f"Bearer {one.key}"} for one in made]
        assert events_from(stream, 1, shown[1], revoke_and_write) == []
        assert len(events_from(f"{stream}?after=0", 1, shown[0])) == 1

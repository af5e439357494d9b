"""Pulling forecasts from any source of hourly values: read by a typed way, kept when it fails."""

import json
from datetime import UTC, datetime, timedelta
from time import sleep

import httpx
import pytest
from sqlmodel import Session

from api.jobs import pulling
from api.jobs.pulling import SourceError, addresses_of, check_outside, pull_due, read_source
from api.schemas.forecast import ForecastSourceInput
from api.store import forecasts
from api.store.engine import for_writing
from api.store.tables import BakeryRow, ForecastRow
from tests.api.fake_core import day_document

NOW = datetime(2026, 7, 15, 12, tzinfo=UTC)
TWO_LISTS = {
    "url": "https://weather.example/hours",
    "times": "hourly.time",
    "temperatures": "hourly.air",
}
ANSWER = {
    "hourly": {
        "time": ["2026-07-15T20:00", "2026-07-15T21:00+00:00", "2026-07-15T22:00Z"],
        "air": [27.5, 26, 25.25],
    }
}


def source(**changes):
    return ForecastSourceInput.model_validate(TWO_LISTS | changes)


def read(answer, **changes):
    found = read_source(source(**changes), json.dumps(answer).encode())
    return [(hour.at_utc.hour, hour.temperature_c) for hour in found.hours]


def test_two_lists_of_equal_length():
    assert read(ANSWER) == [(20, 27.5), (21, 26.0), (22, 25.25)]


def test_one_list_of_entries_in_unix_seconds_and_kelvin():
    """2026-07-15T20:00Z is 1784145600 s after 1970; 300.65 K are 27.5 °C."""
    answer = {
        "list": [{"dt": 1784145600 + 3600 * n, "main": [{"t": 300.65 - n}]} for n in range(3)]
    }
    found = read(
        answer,
        entries="list",
        times="dt",
        temperatures="main.0.t",
        time_form="unix seconds",
        degrees="kelvin",
    )
    assert found == [(20, 27.5), (21, 26.5), (22, 25.5)]


def test_an_answer_that_is_the_list_itself_in_fahrenheit():
    """81.5 °F are 27.5 °C."""
    answer = [{"t": "2026-07-15T20:00Z", "v": 81.5}, {"t": "2026-07-15T21:00Z", "v": 32}]
    assert read(answer, entries="", times="t", temperatures="v", degrees="fahrenheit") == [
        (20, 27.5),
        (21, 0.0),
    ]


def test_quarters_of_hours_are_left_out_and_it_ends_at_a_hole():
    times = ["20:00", "20:15", "21:00", "22:00", "23:30", "23:45"]
    days = [f"2026-07-15T{one}Z" for one in times] + ["2026-07-16T00:00Z"]
    answer = {"hourly": {"time": days, "air": [1, 9, 2, 3, 9, 9, 4]}}
    assert read(answer) == [(20, 1), (21, 2), (22, 3)]


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("", "JSON"),
        ("[" * 100_000, "JSON"),
        ("<html>", "JSON"),
        ("{}", "nothing at"),
        ('{"hourly": {"time": 3, "air": []}}', "no list"),
        ('{"hourly": {"time": ["2026-07-15T20:00Z"], "air": []}}', "1 times and 0"),
        ('{"hourly": {"time": ["soon", "later"], "air": [1, 2]}}', "time that is none"),
        (
            '{"hourly": {"time": ["2026-07-15T20:00Z", "2026-07-15T21:00Z"], "air": ["a", 2]}}',
            "temperature that is none",
        ),
        (
            '{"hourly": {"time": ["2026-07-15T20:00Z", "2026-07-15T21:00Z"], "air": [NaN, 2]}}',
            "not to be believed",
        ),
        (
            '{"hourly": {"time": ["2026-07-15T20:00Z", "2026-07-15T21:00Z"], "air": [99, 2]}}',
            "not to be believed",
        ),
        ('{"hourly": {"time": ["2026-07-15T20:00Z"], "air": [20]}}', "not to be believed"),
    ],
)
def test_an_answer_that_holds_no_forecast_is_told_in_a_sentence(answer, told):
    with pytest.raises(SourceError, match=told) as raised:
        read_source(source(), answer.encode())
    assert str(raised.value).endswith(".")
    assert len(str(raised.value)) < 200


@pytest.mark.parametrize(
    "address", ["127.0.0.1", "10.1.2.3", "192.168.1.7", "169.254.169.254", "::1", "fe80::1%eth0"]
)
def test_a_source_in_the_own_network_is_not_asked(address):
    with pytest.raises(SourceError, match="own network"):
        check_outside("https://weather.example/x", lambda _: ["93.184.216.34", address])


def test_a_source_outside_is_asked():
    check_outside("https://weather.example/x", lambda _: ["93.184.216.34"])


@pytest.fixture
def with_source(engine):
    bakery = BakeryRow(id="weir", document=day_document()["bakery"], changed_at=NOW)
    with Session(for_writing(engine)) as session, session.begin():
        session.add(bakery)
        session.flush()
        forecasts.put_source(session, "weir", "outdoors", source(), NOW)
    return engine


def pull(engine, minutes, answer):
    transport = httpx.MockTransport(answer)
    return pull_due(
        engine,
        NOW + timedelta(minutes=minutes),
        transport=transport,
        resolve=lambda _: ["93.184.216.34"],
    )


def good(_request):
    return httpx.Response(200, json=ANSWER)


def down(request):
    raise httpx.ConnectTimeout("no", request=request)


def seen(engine, minutes):
    with Session(engine) as session:
        return forecasts.get(session, "weir", "outdoors", NOW + timedelta(minutes=minutes))


def test_a_source_is_asked_when_it_is_due_and_its_answer_kept(with_source):
    (first,) = pull(with_source, 0, good)
    assert (first.bakery_id, first.place, first.is_new, first.fault) == (
        "weir",
        "outdoors",
        True,
        None,
    )
    assert pull(with_source, 59, good) == []
    (again,) = pull(with_source, 60, good)
    assert again.is_new is False
    assert seen(with_source, 75).age_min == 15


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        (down, "cannot be reached"),
        (lambda _: httpx.Response(503), "answered 503"),
        (lambda _: httpx.Response(302, headers={"Location": "http://127.0.0.1/"}), "answered 302"),
        (lambda _: httpx.Response(200, content=b"x" * 2_000_001), "more than"),
        (lambda _: httpx.Response(200, text="oops"), "JSON"),
    ],
)
def test_the_last_good_copy_is_kept_and_its_age_and_the_fault_are_told(with_source, answer, told):
    pull(with_source, 0, good)
    (failed,) = pull(with_source, 60, answer)
    assert told in failed.fault
    kept = seen(with_source, 90)
    assert len(kept.forecast.hours) == 3
    assert (kept.age_min, kept.fault) == (90, failed.fault)
    pull(with_source, 120, good)
    assert (seen(with_source, 120).age_min, seen(with_source, 120).fault) == (0, None)


def test_a_source_in_the_house_needs_the_operators_word(with_source):
    told = {"transport": httpx.MockTransport(good), "resolve": lambda _: ["192.168.1.7"]}
    (refused,) = pull_due(with_source, NOW, **told)
    assert "OVENWARD_PULL_INSIDE" in refused.fault
    (taken,) = pull_due(with_source, NOW + timedelta(hours=1), **told, inside=True)
    assert taken.fault is None


def test_one_source_that_fails_does_not_keep_the_others_from_being_asked(with_source):
    with Session(for_writing(with_source)) as session, session.begin():
        other = source(url="https://other.example/x")
        forecasts.put_source(session, "weir", "bakehouse", other, NOW)

    def answer(request):
        is_other = request.headers["host"] == "other.example"
        return httpx.Response(503) if is_other else good(request)

    found = pull(with_source, 0, answer)
    assert sorted((one.place, one.fault is None) for one in found) == [
        ("bakehouse", False),
        ("outdoors", True),
    ]


def test_a_source_that_was_removed_while_it_was_asked_brings_nothing(with_source):
    def answer(request):
        with Session(for_writing(with_source)) as session, session.begin():
            session.delete(session.get(ForecastRow, ("weir", "outdoors")))
        return good(request)

    (gone,) = pull(with_source, 0, answer)
    assert (gone.is_new, gone.fault) == (False, None)


@pytest.mark.parametrize(
    "answer",
    [
        '{"hourly": {"time": [0, 3600], "air": [1%s, 2]}}' % ("0" * 400),
        '{"hourly": {"time": [0, 3600], "air": [NaN, 2]}}',
        '{"hourly": {"time": ["0001-01-01T00:00+14:00"], "air": [1]}}',
        '{"hourly": {"time": [1e300], "air": [1]}}',
    ],
)
@pytest.mark.parametrize("form", ["iso", "unix seconds"])
def test_figures_beyond_all_measure_are_told_in_a_sentence(answer, form):
    for degrees in ("celsius", "kelvin", "fahrenheit"):
        with pytest.raises(SourceError):
            read_source(source(time_form=form, degrees=degrees), answer.encode())


@pytest.mark.parametrize(
    "address",
    ["64:ff9b::7f00:1", "2002:7f00:1::", "::127.0.0.1", "::ffff:127.0.0.1", "fec0::1", "224.0.0.1"],
)
def test_an_address_that_leads_into_the_own_network_is_not_asked(address):
    with pytest.raises(SourceError, match="own network"):
        check_outside("https://weather.example/x", lambda _: [address])


@pytest.mark.parametrize("host", ["a" * 64 + ".example", "a..b", ".example"])
def test_a_host_that_no_network_can_write_has_no_address(host):
    with pytest.raises(SourceError, match="no address"):
        check_outside(f"https://{host}/x", addresses_of)


def test_the_address_that_was_looked_at_is_the_one_that_is_asked(with_source):
    """A name that leads elsewhere a moment later reaches nothing in the house."""
    asked = []

    def answer(request):
        named = request.headers["host"], request.extensions.get("sni_hostname")
        asked.append((request.url.host, *named))
        return good(request)

    assert pull(with_source, 0, answer)[0].fault is None
    assert asked == [("93.184.216.34", "weather.example", "weather.example")]


def test_a_source_that_breaks_the_reading_does_not_keep_the_others_from_being_asked(with_source):
    with Session(for_writing(with_source)) as session, session.begin():
        other = source(url="https://other.example/x")
        forecasts.put_source(session, "weir", "bakehouse", other, NOW)

    def answer(request):
        if request.headers["host"] == "other.example":
            raise RuntimeError("as a fault of ours")
        return good(request)

    found = pull(with_source, 0, answer)
    assert [(one.place, one.fault is None) for one in found] == [
        ("bakehouse", False),
        ("outdoors", True),
    ]
    assert pull(with_source, 1, answer) == []


def test_an_answer_that_trickles_is_not_waited_for_for_good(with_source, monkeypatch):
    monkeypatch.setattr(pulling, "MOST_S", 0.05)

    def trickle():
        while True:
            sleep(0.01)
            yield b" "

    (failed,) = pull(with_source, 0, lambda _: httpx.Response(200, content=trickle()))
    assert "too long" in failed.fault

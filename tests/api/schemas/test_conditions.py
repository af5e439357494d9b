"""The night as entered: two numbers a room, or hour by hour."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from api.schemas.bakery import BakeryInput
from api.schemas.base import Faults
from api.schemas.conditions import ConditionsInput
from api.schemas.mix_list import Span
from planner.bakery import Person
from planner.errors import InputError
from planner.estimate import Origin

SPAN = Span(
    date(2026, 7, 15),
    ZoneInfo("Europe/Vienna"),
    datetime(2026, 7, 14, 10, tzinfo=UTC),
    datetime(2026, 7, 15, 22, tzinfo=UTC),
)
BAKERY = BakeryInput.model_validate(
    {
        "name": "Bakehouse",
        "zone": "Europe/Vienna",
        "mixers": [{"name": "m", "kind": "fork", "max_dough_kg": 60}],
        "water": [{"kind": "tap", "temperature_c": 14}],
        "flour_stores": [{"name": "sacks", "kind": "sack"}],
        "ice": {"kind": "flake", "bin_kg": 30},
        "chambers": [{"name": "Retarder", "kind": "retarder", "racks": 4, "cooling_kw": 1.2}],
    }
).to_core(Faults(), [Person("ana", "Ana")])


def core_of(**entered):
    faults = Faults()
    made = ConditionsInput.model_validate(entered).to_core(faults, BAKERY, SPAN, ["loaf"])
    faults.settle()
    return made


def test_coolest_and_hottest_become_a_curve_over_the_whole_span():
    room = core_of(coolest_c=21, hottest_c=31).rooms["bakehouse"]
    assert room.start_utc == SPAN.start_utc
    assert room.end_utc >= SPAN.end_utc
    assert min(room.temperature_c) == pytest.approx(21, abs=0.5)
    assert max(room.temperature_c) == pytest.approx(31, abs=0.5)


def test_hours_may_be_given_one_by_one_or_in_a_row():
    points = [{"at": f"{h}:00", "temperature_c": t} for h, t in ((23, 24), (22, 25), (0, 23))]
    one_by_one = core_of(rooms={"Bakehouse": {"hourly": points}}).rooms
    in_a_row = core_of(rooms={"bakehouse": {"from": "22:00", "hourly_f": [77, 75.2, 73.4]}}).rooms
    assert one_by_one["bakehouse"].start_utc == datetime(2026, 7, 14, 20, tzinfo=UTC)
    assert one_by_one["bakehouse"].temperature_c == (25, 24, 23)
    assert in_a_row["bakehouse"].temperature_c == pytest.approx((25, 24, 23))


def test_measured_water_and_flour_are_marked_as_measured():
    made = core_of(coolest_c=20, hottest_c=24, water_f={"Tap": 68}, flour_c={"sacks": 25})
    assert made.supplies_c["tap"].value == pytest.approx(20)  # (68 - 32) / 1.8
    assert made.supplies_c["tap"].origin is Origin.MEASURED
    assert made.flour_c["sacks"].value == 25


def test_the_ice_store_is_full_unless_said_otherwise():
    assert core_of(coolest_c=20, hottest_c=24).ice_stored_kg == 30
    assert core_of(coolest_c=20, hottest_c=24, ice_stored_kg=0).ice_stored_kg == 0


def test_what_already_stands_is_carried_over():
    standing = {
        "product": "Loaf",
        "pieces": 20,
        "stage": "Proof",
        "place": "bakehouse",
        "since": "20:00",
        "dough_c": 24,
        "leave_by": "06:00",
    }
    (made,) = core_of(coolest_c=20, hottest_c=24, inherited=[standing]).inherited
    assert (made.product_id, made.place_id) == ("loaf", "bakehouse")
    assert made.since_utc == datetime(2026, 7, 14, 18, tzinfo=UTC)
    assert made.leave_by == datetime(2026, 7, 15, 4, tzinfo=UTC)


@pytest.mark.parametrize(
    ("entered", "field"),
    [
        ({"coolest_c": 21, "hottest_c": 310}, "rooms.bakehouse.hottest_c"),
        (
            {"rooms": {"attic": {"coolest_c": 1, "hottest_c": 2}}, "coolest_c": 1, "hottest_c": 2},
            "rooms.room",
        ),
        ({"rooms": {"bakehouse": {"from": "22:00", "hourly_c": [20]}}}, "rooms.bakehouse.hourly_c"),
        (
            {"rooms": {"bakehouse": {"from": "22:00", "hourly_c": [20, 99]}}},
            "rooms.bakehouse.hourly_c[1]",
        ),
        ({"coolest_c": 1, "hottest_c": 2, "flour_c": {"sacks": 250}}, "flour_c.sacks"),
    ],
)
def test_each_bad_night_names_its_field(entered, field):
    with pytest.raises(InputError) as caught:
        core_of(**entered)
    assert [fault.field for fault in caught.value.faults] == [field]


def test_a_chamber_follows_its_programme():
    made = core_of(
        coolest_c=21,
        hottest_c=31,
        programmes={
            "retarder": [{"at": "22:00", "temperature_c": 4}, {"at": "03:00", "temperature_f": 77}]
        },
    )
    points = made.programmes["retarder"]
    assert [p.from_utc for p in points] == [
        datetime(2026, 7, 14, 20, tzinfo=UTC),
        datetime(2026, 7, 15, 1, tzinfo=UTC),
    ]
    assert [p.temperature_c for p in points] == pytest.approx([4, 25])


@pytest.mark.parametrize(
    ("programmes", "what"),
    [
        ({"freezer": [{"at": "22:00", "temperature_c": 4}]}, "no such chamber"),
        (
            {
                "retarder": [
                    {"at": "03:00", "temperature_c": 4},
                    {"at": "22:00", "temperature_c": 4},
                ]
            },
            "order of time",
        ),
    ],
)
def test_a_programme_that_cannot_be_is_refused(programmes, what):
    with pytest.raises(InputError, match=what):
        core_of(coolest_c=21, hottest_c=31, programmes=programmes)


def test_a_room_follows_the_air_outdoors_and_its_ovens():
    """By hand: outdoors steady 15 °C, 25 °C inside, 10 h: after 10 h 15 + 10/e; ovens add 6 K."""
    cold = {"outdoors": {"hourly_c": [15.0] * 40, "from": "12:00"}}
    slow = {"outdoors": {"now_c": 25, "time_constant_h": 10}}
    room = core_of(rooms={"bakehouse": slow}, **cold).rooms["bakehouse"]
    assert room.start_utc == SPAN.start_utc
    assert room.temperature_c[0] == 25
    assert room.temperature_c[10] == pytest.approx(15 + 10 / 2.71828, abs=0.01)
    ovens = {"from": "22:00", "to": "22:00", "gain_k": 6}
    heated = {"outdoors": {"now_c": 25, "time_constant_h": 10, "ovens": [ovens]}}
    warm = core_of(rooms={"bakehouse": heated}, **cold).rooms["bakehouse"]
    assert warm.temperature_c[10] == pytest.approx(room.temperature_c[10])
    # On from 22:00, ten hours after the start: by hand 6 (1 - exp(-5/10)) five hours later.
    gained = warm.temperature_c[15] - room.temperature_c[15]
    assert gained == pytest.approx(6 * (1 - 2.71828**-0.5), abs=0.02)


def test_a_room_that_follows_unknown_air_is_told_where_to_enter_it():
    with pytest.raises(InputError, match="no forecast of the air outdoors"):
        core_of(rooms={"bakehouse": {"outdoors": {"now_c": 25}}})

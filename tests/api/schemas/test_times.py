"""Local clock times become moments, also on the nights on which the clocks change.

Europe/Vienna: UTC+1 in winter, UTC+2 in summer; in 2026 the clocks skip 02:00 to 03:00 on
29 March and show 02:00 to 03:00 twice on 25 October (EU directive 2000/84/EC: last Sundays,
01:00 UTC).
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from api.schemas.mix_list import MixListInput, ShiftInput
from api.schemas.times import after, at_work, local_time, on_the_date
from planner.errors import InputError

VIENNA = ZoneInfo("Europe/Vienna")
JULY = date(2026, 7, 15)


def utc(day: int, hour: int, minute: int = 0, month: int = 7) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("22:00", utc(14, 20)),
        ("12:00", utc(14, 10)),
        ("11:59", utc(15, 9, 59)),
        ("00:00", utc(14, 22)),
        ("2026-07-15 13:00", utc(15, 11)),
        ("2026-07-14T05:30", utc(14, 3, 30)),
        ("02:30+01:00", utc(15, 1, 30)),
        ("24:00", utc(15, 22)),
    ],
)
def test_work_from_noon_on_belongs_to_the_evening_before(text, moment):
    assert at_work("from", text, JULY, VIENNA) == moment


def test_what_leaves_at_two_in_the_afternoon_leaves_on_the_date():
    assert on_the_date("leave_by", "14:00", JULY, VIENNA) == utc(15, 12)


def test_a_shift_ends_the_next_time_the_clock_shows_its_end():
    assert after("to", "06:00", utc(14, 20), VIENNA) == utc(15, 4)
    assert after("to", "23:30", utc(14, 20), VIENNA) == utc(14, 21, 30)


def test_the_missing_hour_in_spring_is_refused():
    with pytest.raises(InputError, match=r"skip this time in Europe/Vienna.*missing hour"):
        on_the_date("leave_by", "02:30", date(2026, 3, 29), VIENNA)


def test_the_repeated_hour_in_autumn_asks_for_an_offset():
    with pytest.raises(InputError) as caught:
        at_work("start", "02:30", date(2026, 10, 25), VIENNA)
    (fault,) = caught.value.faults
    assert "twice" in fault.problem
    assert fault.remedy == "write 2026-10-25 02:30+02:00 or 2026-10-25 02:30+01:00"


@pytest.mark.parametrize(
    ("text", "hour"), [("02:30+02:00", 0), ("2026-10-25 02:30+01:00", 1), ("02:30Z", 2)]
)
def test_an_offset_says_which_of_the_two(text, hour):
    moment = at_work("start", text, date(2026, 10, 25), VIENNA)
    assert moment == utc(25, hour, 30, month=10)


@pytest.mark.parametrize(
    ("production_date", "hours"),
    [(date(2026, 10, 25), 9), (date(2026, 3, 29), 7), (date(2026, 7, 15), 8)],
)
def test_a_night_shift_lasts_as_long_as_it_does(production_date, hours):
    """22:00 to 06:00 is nine hours when the clocks go back, seven when they go forward."""
    shift = ShiftInput.model_validate({"person": "Ana", "from": "22:00", "to": "06:00"})
    made = shift.to_core(["ana"], production_date, VIENNA)
    assert (made.end_utc - made.start_utc).total_seconds() == hours * 3600
    assert made.person_id == "ana"


def test_the_planned_span_runs_from_noon_before_to_midnight_after():
    span = MixListInput(mix_list=[]).span(JULY, VIENNA)
    assert (span.start_utc, span.end_utc) == (utc(14, 10), utc(15, 22))


@pytest.mark.parametrize("text", ["25:00", "12:60", "24:30", "noon", "7.30", "2026-02-30 05:00"])
def test_what_is_no_time_is_not_read(text):
    with pytest.raises(ValueError, match=r"."):
        local_time(text)

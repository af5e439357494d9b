"""Nights by the clock of the bakery: once on each date, also when the clocks change."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from api.store.occurrences import nights

# Each with the dates in 2026 on which its clocks go forward and back.
ZONES = {
    "Europe/Vienna": ("2026-03-29", "2026-10-25"),
    "America/New_York": ("2026-03-08", "2026-11-01"),
    "Australia/Lord_Howe": ("2026-10-04", "2026-04-05"),
}


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("at", ["01:30", "01:45", "02:00", "02:15", "02:30", "03:00", "21:00"])
@pytest.mark.parametrize("change", [0, 1])
def test_each_date_is_planned_once_and_in_order(zone, at, change):
    """Looked at every half an hour for four days around the change, as a service does."""
    changes_on = datetime.fromisoformat(ZONES[zone][change]).replace(tzinfo=UTC)
    seen = {}
    moment = changes_on - timedelta(days=2)
    while moment < changes_on + timedelta(days=2):
        for production_date, due in nights(ZoneInfo(zone), at, moment):
            seen.setdefault(production_date, set()).add(due)
        moment += timedelta(minutes=30)
    assert all(len(moments) == 1 for moments in seen.values())
    dates = sorted(seen)
    assert dates == [dates[0] + timedelta(days=i) for i in range(len(dates))]
    due = [min(seen[one]) for one in dates]
    hours = {(b - a) / timedelta(hours=1) for a, b in pairwise(due)}
    assert hours <= {23.0, 23.5, 24.0, 24.5, 25.0}


@pytest.mark.parametrize(
    ("zone", "at", "production_date", "due"),
    [
        # 02:30 does not exist on 29 March: half an hour after 02:00, when clocks show 03:30.
        ("Europe/Vienna", "02:30", "2026-03-29", "2026-03-29T01:30:00+00:00"),
        # 02:30 is there twice on 25 October: the first, still in summer time.
        ("Europe/Vienna", "02:30", "2026-10-25", "2026-10-25T00:30:00+00:00"),
        ("Europe/Vienna", "02:30", "2026-10-26", "2026-10-26T01:30:00+00:00"),
        # From 12:00 on it plans the next date: 21:00 on 24 October is summer time.
        ("Europe/Vienna", "21:00", "2026-10-25", "2026-10-24T19:00:00+00:00"),
        ("America/New_York", "01:30", "2026-11-01", "2026-11-01T05:30:00+00:00"),
        # Lord Howe goes back by half an hour, from +11:00 to +10:30 at 02:00.
        ("Australia/Lord_Howe", "01:45", "2026-04-05", "2026-04-04T14:45:00+00:00"),
    ],
)
def test_the_moment_of_a_night_by_hand(zone, at, production_date, due):
    wanted = datetime.fromisoformat(due)
    found = dict(nights(ZoneInfo(zone), at, wanted))
    assert found[date.fromisoformat(production_date)] == wanted


def test_a_night_missed_by_more_than_half_a_day_is_let_go():
    due = datetime(2026, 7, 15, 15, 30, tzinfo=UTC)
    zone = ZoneInfo("Europe/Vienna")
    for hours, kept in ((11, True), (13, False)):
        found = dict(nights(zone, "17:30", due + timedelta(hours=hours)))
        assert (date(2026, 7, 16) in found) is kept

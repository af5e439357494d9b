"""Finished times for other ends: moved by the minutes the ticket tells, never before the mixer."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from planner.end_times import end_times
from planner.water_sources import SupplyKind
from planner.water_ticket import StripCell, WaterLine
from tests.api.pages.sample import white_mix

OFF = datetime(2026, 7, 15, 22, tzinfo=UTC)


def later(minutes):
    return OFF + timedelta(minutes=minutes)


@pytest.fixture
def mix():
    """Off at 22:00, ripe 23:00 to 23:40, divided at 23:20; nine minutes a degree."""
    return replace(
        white_mix(),
        mix_end_utc=OFF,
        divide_from_utc=later(60),
        divide_by_utc=later(100),
        divide_utc=later(80),
        minutes_per_degree=9.0,
    )


def test_a_degree_moves_the_window_by_the_minutes_of_the_ticket(mix):
    """Two degrees warmer: 18 minutes sooner, 22:42 to 23:22, so 23:20 may stay; three: by 23:13."""
    by_offset = {round(one.end_c - mix.ticket.expected_c): one for one in end_times(mix)}
    assert sorted(by_offset) == [-3, -2, -1, 0, 1, 2, 3]
    two, three, cool = by_offset[2], by_offset[3], by_offset[-3]
    assert (two.divide_from_utc, two.divide_by_utc) == (later(42), later(82))
    assert two.divide_utc == later(80)
    assert three.divide_utc == three.divide_by_utc == later(73)
    assert cool.divide_utc == cool.divide_from_utc == later(87)


def test_nothing_is_ripe_before_it_is_off(mix):
    short = replace(mix, divide_from_utc=later(10), divide_by_utc=later(15))
    assert end_times(short)[-1].divide_from_utc == OFF


def test_the_water_of_a_cell_is_that_of_its_supplies_together():
    """10 kg at 20 °C and 30 kg at 4 °C are 40 kg at 8 °C."""
    water = (
        WaterLine("tap", SupplyKind.TAP, 10.0, 20.0),
        WaterLine("chiller", SupplyKind.CHILLER, 30.0, 4.0),
    )
    assert StripCell(water, 0.0, 25.0).water_c == pytest.approx(8.0)
    assert StripCell((), 5.0, 25.0).water_c is None

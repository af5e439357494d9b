"""The grid of last night's papers: their order, and no more typing than they hold."""

from datetime import UTC, datetime

import pytest

from api.pages.bench.morning import grid
from api.pages.bench.shift import Shift
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan
from tests.benchmarks.entries import entries_of, night
from tests.benchmarks.papers import shift_of


@pytest.fixture
def typed():
    plan = sample_plan()
    at = datetime(2026, 7, 16, 8, tzinfo=UTC)
    return grid(Shift("weir", "p", plan, True, reader_for(plan), (), at))


def test_a_row_has_the_boxes_of_its_paper_in_their_order(typed):
    for row in typed.rows:
        kinds = [cell.kind for cell in row.cells if cell is not None]
        assert kinds[0] == "flour temperature"
        assert kinds[-2:] == ["dough temperature at the end", "off the mixer"]
        assert set(kinds[1:-2]) <= {"preferment or scald temperature"}
        assert len(row.cells) == len(typed.columns)


def test_forty_mixes_are_typed_in_eight_minutes_by_the_model():
    """Each mix has flour, at most one part, dough and time: 40 times four cells of five keys at
    most, so 160 times (1.35 s + 5 times 0.28 s) + 40 times 2 s = 520 s with a part in every mix;
    every second mix of this night has none."""
    counted = entries_of(night(shift_of(40)))
    assert counted.papers == 40
    assert counted.cells <= 160
    assert counted.keys == 5 * counted.cells
    assert counted.seconds <= 8 * 60

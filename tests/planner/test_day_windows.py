"""A window on the mix list overrides the formula's for that day."""

from datetime import timedelta

import pytest

from planner import Limits, make_plan, verify
from planner.day import BulkWindow, MixRequest
from tests.planner.builders import day, night_of

LIMITS = Limits(list_only=True)


def planned(window: BulkWindow | None):
    request = MixRequest("m", "white", 30.0, window=window)
    return make_plan(day(lines=(request,)), night_of(24.0), limits=LIMITS)


@pytest.mark.parametrize("window", [BulkWindow(20, 40), BulkWindow(150, 170)])
def test_the_divide_lies_in_the_days_window_however_ripe_that_is(window):
    """The formula says about ninety minutes; today it shall be much less, or much more."""
    plan = planned(window)
    mix = plan.mixes[0]
    bulk_min = (mix.divide_utc - mix.mix_end_utc) / timedelta(minutes=1)
    assert window.from_min <= bulk_min <= window.by_min
    assert mix.divide_from_utc == mix.mix_end_utc + timedelta(minutes=window.from_min)
    assert mix.divide_by_utc == mix.mix_end_utc + timedelta(minutes=window.by_min)
    assert verify(plan) == ()


def test_without_one_the_formulas_own_window_holds():
    mix = planned(None).mixes[0]
    assert 0.88 <= mix.ripeness <= 1.17


def test_its_ripeness_then_is_told_as_it_is():
    assert planned(BulkWindow(20, 40)).mixes[0].ripeness < 0.6
    assert planned(BulkWindow(150, 170)).mixes[0].ripeness > 1.3

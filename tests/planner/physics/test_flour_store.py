"""Flour lags behind its room: daily swing passed, by kind of store."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.bakery import FlourStoreKind
from planner.errors import OutOfRangeError
from planner.physics.flour_store import TIME_CONSTANT_H, stored_flour_c

HOURS = np.arange(24 * 120)
DAY = 20 + 5 * np.sin(2 * np.pi * HOURS / 24)

# A first-order lag passes 1/sqrt(1 + (w tau)^2) of a daily swing: 0.25 for 15 h, 0.12 for 33 h,
# 0.13 for 29 h, 0.04 for 96 h, and next to nothing for a silo. Hourly steps agree within 0.01.
PASSED = [
    (FlourStoreKind.SACK, 0.25),
    (FlourStoreKind.STACK, 0.12),
    (FlourStoreKind.TUB, 0.13),
    (FlourStoreKind.PALLET, 0.04),
    (FlourStoreKind.SILO, 0.005),
]


@pytest.mark.parametrize(("kind", "passed"), PASSED)
def test_the_daily_swing_that_reaches_the_flour(kind, passed):
    last_day = stored_flour_c(kind, DAY)[-24:]
    assert np.ptp(last_day) / np.ptp(DAY) == pytest.approx(passed, abs=0.01)


def test_a_sack_lags_by_five_hours():
    last_day = stored_flour_c(FlourStoreKind.SACK, DAY)[-24:]
    lag_h = (int(last_day.argmax()) - int(DAY[-24:].argmax())) % 24
    assert lag_h == pytest.approx(5, abs=1)


def test_it_starts_at_the_mean_of_the_hours():
    assert stored_flour_c(FlourStoreKind.TUB, [10.0, 20.0, 30.0])[0] == pytest.approx(20.0)


@given(
    kind=st.sampled_from(list(FlourStoreKind)),
    room=st.lists(st.floats(-10, 45), min_size=1, max_size=60),
)
def test_flour_stays_within_its_room(kind, room):
    flour = stored_flour_c(kind, room)
    assert len(flour) == len(room)
    assert min(room) - 1e-9 <= flour.min()
    assert flour.max() <= max(room) + 1e-9


def test_every_kind_of_store_has_its_time_constant():
    assert set(TIME_CONSTANT_H) == set(FlourStoreKind)


def test_no_hours_are_refused():
    with pytest.raises(OutOfRangeError, match="stored_flour_c"):
        stored_flour_c(FlourStoreKind.SACK, [])

"""The record: shares and nights counted by hand."""

from dataclasses import replace
from datetime import date

import pytest

from planner.record import MixRecord, Nights, Tally, mix_record, nights, tally
from tests.api.pages.sample import white_mix

FIRST, SECOND, THIRD = (date(2026, 7, day) for day in (14, 15, 16))


def record(day, off_k, sum_off_k):
    sum_c = None if sum_off_k is None else 25.0 + sum_off_k
    return MixRecord(day, "m", "spiral", "white", 25.0, 25.0, 25.0 + off_k, sum_c)


def test_shares_and_means():
    """Off by +0.5, -1.0, +2.0 and -0.5: three of four near; mean +0.25, without sign 1.0.
    The sum stands beside three: 1.5, 0.5, 4.0, so one near, mean 2.0."""
    found = [
        record(FIRST, 0.5, 1.5),
        record(FIRST, -1.0, -0.5),
        record(FIRST, 2.0, 4.0),
        record(FIRST, -0.5, None),
    ]
    assert tally(found) == Tally(4, 0.75, 0.25, 1.0, pytest.approx(1 / 3), pytest.approx(2.0))


def test_nothing_read_is_no_tally():
    assert tally([]) is None


def test_nights_are_won_on_average_and_only_where_both_stand():
    """14th: 1.0 against 2.0, ours. 15th: 1.5 against 0.5, the sum's. 16th: 1.0 against 1.0."""
    found = [
        record(FIRST, 0.5, 3.0),
        record(FIRST, 1.5, -1.0),
        record(FIRST, 9.0, None),
        record(SECOND, -1.5, 0.5),
        record(THIRD, -1.0, 1.0),
    ]
    assert nights(found) == Nights(1, 1, 1)


def test_the_sum_has_the_error_that_the_balance_had():
    """Foreseen 25.0 and read 25.8: what the sum gives by the balance, 27.0, is taken as 27.8."""
    mix = white_mix()
    beside = replace(mix.ticket.hand_sum, dough_c=27.0)
    ticket = replace(mix.ticket, expected_c=25.0, hand_sum=beside)
    made = mix_record(FIRST, replace(mix, ticket=ticket), 25.8)
    assert made.sum_c == pytest.approx(27.8)
    assert made.off_k == pytest.approx(25.8 - mix.steered.dough_c)
    assert made.is_own_sum

"""What may be taken without robbing another mix, against a level drawn by hand."""

from hypothesis import given
from hypothesis import strategies as st

from planner.stores import Stock, Use, spare_kg


def test_nothing_is_spare_when_a_later_mix_takes_all():
    """10 kg, no more made: 4 now and 6 later leave nothing for either."""
    uses = [Use("now", 0.0, 4.0), Use("later", 60.0, 6.0)]
    assert spare_kg(Stock(10.0, 0.0, 20.0), uses) == {"now": 0.0, "later": 0.0}


def test_what_is_made_in_between_counts_for_the_later_one_only():
    """5 kg and 0.1 kg a minute: 5 − 4 = 1 after the first; 1 + 6 − 3 = 4 after the second."""
    uses = [Use("now", 0.0, 4.0), Use("later", 60.0, 3.0)]
    assert spare_kg(Stock(5.0, 0.1, 20.0), uses) == {"now": 1.0, "later": 4.0}


def test_a_full_bin_makes_no_more():
    """2 kg bin, full: an hour at 1 kg/min still leaves 2, so 1 is spare after taking 1."""
    assert spare_kg(Stock(2.0, 1.0, 2.0), [Use("one", 60.0, 1.0)]) == {"one": 1.0}


def test_a_tank_in_a_rush():
    """420 kg tank, 180 kg an hour, 200 kg at 0 and at 20 min: 420 − 400 + 120 = 140 left at 40."""
    uses = [Use("first", 0.0, 200.0), Use("second", 20.0, 200.0), Use("third", 40.0, 0.0)]
    assert spare_kg(Stock(420.0, 3.0, 420.0), uses)["third"] == 140.0


uses_of_a_night = st.lists(
    st.tuples(st.floats(0, 600), st.floats(0, 5)), min_size=1, max_size=8
).map(lambda rows: [Use(f"u{n}", minute, kg) for n, (minute, kg) in enumerate(rows)])


@given(uses_of_a_night, st.floats(0, 30), st.floats(0, 0.1))
def test_taking_what_is_spare_never_makes_another_short(uses, start_kg, rate):
    stock = Stock(start_kg, rate, 40.0)
    for chosen, more in spare_kg(stock, uses).items():
        level, clock, lowest, taken = stock.start_kg, 0.0, float("inf"), False
        for use in sorted(uses, key=lambda u: (u.minute, u.subject)):
            level = min(stock.room_kg, level + rate * (use.minute - clock))
            level -= use.kg + (more if use.subject == chosen else 0.0)
            clock, taken = use.minute, taken or use.subject == chosen
            lowest = min(lowest, level) if taken else lowest
        if more > 0:
            assert lowest >= -1e-6

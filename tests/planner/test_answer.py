"""A thermometer is answered: new water before the mix, new times after it."""

from datetime import timedelta

import pytest

from planner import Reading, ReadingKind, answer, verify, with_reading


def first(plan):
    return plan.mix("white")


def reading(plan, kind, value_c=None, **changes) -> Reading:
    mix = first(plan)
    values = {
        "id": f"{kind}-{value_c}",
        "kind": kind,
        "mix_id": mix.id,
        "at_utc": mix.start_utc - timedelta(minutes=5),
        "value_c": value_c,
    }
    return Reading(**(values | changes))


def flour_forecast_c(plan) -> float:
    return next(line.temperature_c for line in first(plan).scaling if "flour" in line.name)


def test_the_small_night_is_judged_sound(plan):
    assert verify(plan) == ()
    assert plan.unplaced == ()


def test_warmer_flour_asks_for_colder_water_and_keeps_the_dough(plan):
    got = answer(plan, reading(plan, ReadingKind.FLOUR_C, flour_forecast_c(plan) + 3))
    before, after = first(plan).ticket, got.mix.ticket
    cold_before = (before.water_c or 0) - 80 * before.ice_kg / before.formula_water_kg
    cold_after = (after.water_c or 0) - 80 * after.ice_kg / after.formula_water_kg
    assert cold_after < cold_before - 1
    assert after.expected_c == pytest.approx(before.expected_c, abs=0.1)
    assert got.changed


def test_the_forecast_read_back_changes_nothing(plan):
    got = answer(plan, reading(plan, ReadingKind.FLOUR_C, flour_forecast_c(plan)))
    assert not got.changed
    assert got.mix.ticket.water_kg == pytest.approx(first(plan).ticket.water_kg, abs=0.05)


def test_water_and_ice_still_add_up(plan):
    for value_c in (15.0, 25.0, 33.0):
        ticket = answer(plan, reading(plan, ReadingKind.FLOUR_C, value_c)).mix.ticket
        assert ticket.water_kg + ticket.ice_kg == pytest.approx(ticket.formula_water_kg)


def test_a_cooler_tap_needs_less_ice(plan):
    warm = answer(plan, reading(plan, ReadingKind.WATER_C, 20.0)).mix.ticket
    cool = answer(plan, reading(plan, ReadingKind.WATER_C, 10.0)).mix.ticket
    assert cool.ice_kg < warm.ice_kg


def test_a_warmer_levain_asks_for_colder_water(plan):
    mix = plan.mix("country")
    read = Reading("p", ReadingKind.PART_C, mix.id, mix.start_utc, 35.0, part_id="levain")
    ticket = answer(plan, read).mix.ticket
    before = mix.ticket
    cold = [(t.water_c or 0) - 80 * t.ice_kg / t.formula_water_kg for t in (before, ticket)]
    assert cold[1] < cold[0]


def test_a_warm_dough_is_ripe_sooner(plan):
    mix = first(plan)
    warm = reading(plan, ReadingKind.DOUGH_END_C, mix.ticket.expected_c + 2, at_utc=mix.mix_end_utc)
    got = answer(plan, warm)
    assert got.mix.divide_from_utc < mix.divide_from_utc
    assert got.mix.divide_by_utc < mix.divide_by_utc
    inside = got.mix.divide_from_utc <= got.mix.divide_utc <= got.mix.divide_by_utc
    assert inside
    assert [r.code for r in got.remarks] == ["new_times"]


def test_two_hours_off_by_two_degrees_is_ten_to_twenty_minutes(plan):
    """Trade: 2 to 3 °F on two hours is 10 to 15 min; here 1.4 °C on ninety minutes: 5 to 13."""
    mix = first(plan)
    warm = reading(
        plan, ReadingKind.DOUGH_END_C, mix.ticket.expected_c + 1.4, at_utc=mix.mix_end_utc
    )
    sooner = mix.divide_by_utc - answer(plan, warm).mix.divide_by_utc
    assert 5 <= sooner / timedelta(minutes=1) <= 15


def test_a_dough_as_expected_keeps_its_times(plan):
    mix = first(plan)
    same = reading(plan, ReadingKind.DOUGH_END_C, mix.ticket.expected_c, at_utc=mix.mix_end_utc)
    got = answer(plan, same)
    assert [r.code for r in got.remarks] == ["as_expected"]
    assert abs(got.mix.divide_from_utc - mix.divide_from_utc) <= timedelta(minutes=1)


def test_a_mix_that_comes_off_late_is_divided_later(plan):
    mix = first(plan)
    late = reading(plan, ReadingKind.MIX_END, None, at_utc=mix.mix_end_utc + timedelta(minutes=20))
    got = answer(plan, late)
    assert got.mix.mix_end_utc == mix.mix_end_utc + timedelta(minutes=20)
    assert got.mix.divide_from_utc > mix.divide_from_utc


def test_readings_add_up_and_the_last_of_a_kind_counts(plan):
    room = reading(plan, ReadingKind.ROOM_C, 33.0)
    both = answer(with_reading(plan, room), reading(plan, ReadingKind.FLOUR_C, 31.0))
    only = answer(plan, reading(plan, ReadingKind.FLOUR_C, 31.0))
    assert both.mix.ticket != only.mix.ticket


def test_the_same_reading_twice_is_one_reading(plan):
    one = reading(plan, ReadingKind.ROOM_C, 30.0)
    assert len(with_reading(with_reading(plan, one), one).readings) == 1


def test_a_superseded_reading_no_longer_counts(plan):
    wrong = reading(plan, ReadingKind.FLOUR_C, 35.0, id="wrong")
    right = reading(plan, ReadingKind.FLOUR_C, 27.0, id="right", supersedes="wrong")
    assert [r.id for r in with_reading(with_reading(plan, wrong), right).readings] == ["right"]


def test_an_unknown_mix_is_refused(plan):
    with pytest.raises(KeyError):
        answer(plan, reading(plan, ReadingKind.FLOUR_C, 25.0, mix_id="nobody"))

"""What a finished mix teaches, through the plan, its answers and its readings."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner import Corrections, Limits, Reading, ReadingKind, make_plan, with_reading
from planner.day import RememberedMix
from planner.errors import InputError
from planner.learning.readings import learn
from planner.mixers import Speed
from planner.outcomes import outcome_of, recalled
from tests.planner.builders import night_of
from tests.planner.conftest import small_day


def read(plan, mix, kind, value_c=None, **changes):
    values = {
        "id": f"{kind}-{value_c}",
        "kind": kind,
        "mix_id": mix.id,
        "at_utc": mix.start_utc - timedelta(minutes=5),
        "value_c": value_c,
    }
    return with_reading(plan, Reading(**(values | changes)))


def finished(plan, off_k: float):
    """The first mix came off so far from what its ticket said."""
    mix = plan.mixes[0]
    end_c = mix.ticket.expected_c + off_k
    return read(plan, mix, ReadingKind.DOUGH_END_C, end_c, at_utc=mix.mix_end_utc), mix


def test_before_its_end_is_read_a_mix_teaches_nothing(plan):
    assert outcome_of(plan, plan.mixes[0].id) is None


def test_a_dough_as_foreseen_teaches_that_the_work_was_right(plan):
    done, mix = finished(plan, 0.0)
    outcome = outcome_of(done, mix.id)
    assert outcome.predicted_c == pytest.approx(outcome.measured_c, abs=1e-6)
    factors = learn([outcome], Corrections()).work_factors(plan.day.bakery.mixers[0], "wheat")
    assert factors[Speed.SECOND][0] == pytest.approx(1.0, abs=1e-6)


def test_following_the_answer_is_not_punished(plan):
    """Flour four degrees warm, water as answered, dough on its wish: the mixer is as it was."""
    mix = plan.mixes[0]
    flour_c = next(line.temperature_c for line in mix.scaling if "flour" in line.name)
    warm = read(plan, mix, ReadingKind.FLOUR_C, flour_c + 4)
    done = read(warm, mix, ReadingKind.DOUGH_END_C, mix.steered.dough_c, at_utc=mix.mix_end_utc)
    outcome = outcome_of(done, mix.id)
    assert abs(outcome.measured_c - outcome.predicted_c) < 0.1


def test_a_warmer_tap_that_was_read_is_not_the_mixers_fault(plan):
    mix = plan.mixes[0]
    tap = read(plan, mix, ReadingKind.WATER_C, 17.0)
    done = read(tap, mix, ReadingKind.DOUGH_END_C, mix.steered.dough_c, at_utc=mix.mix_end_utc)
    outcome = outcome_of(done, mix.id)
    assert abs(outcome.measured_c - outcome.predicted_c) < 0.1


def test_flour_read_after_the_mixer_started_changes_no_forecast(plan):
    mix = plan.mixes[0]
    started = read(plan, mix, ReadingKind.MIX_START, at_utc=mix.start_utc)
    late = read(
        started, mix, ReadingKind.FLOUR_C, 40.0, at_utc=mix.start_utc + timedelta(minutes=4)
    )
    done = read(late, mix, ReadingKind.DOUGH_END_C, 25.0, at_utc=mix.mix_end_utc)
    assert outcome_of(done, mix.id).predicted_c == pytest.approx(mix.ticket.expected_c, abs=0.05)


def test_a_meter_tells_the_work(plan):
    """Twice the energy that the work needs, with what motor and gears keep: a share of two."""
    done, mix = finished(plan, 0.0)
    work_kj = sum(t.heat_kj for t in mix.ticket.terms if t.name.startswith("working"))
    metered = read(
        done, mix, ReadingKind.METERED_KWH, energy_kwh=2 * work_kj / 3600 / 0.85,
        at_utc=mix.mix_end_utc,
    )  # fmt: skip
    assert outcome_of(metered, mix.id).metered_work_share == pytest.approx(2.0, rel=1e-6)


# ---- remembered mixes --------------------------------------------------------------------------


def memory(**changes) -> RememberedMix:
    values = {
        "mixer_id": "spiral", "formula_id": "white", "water_c": 14.0, "dough_end_c": 28.0,
        "flour_c": 24.0, "room_c": 24.0, "dough_kg": 40.0,
    }  # fmt: skip
    return RememberedMix(**(values | changes))


def test_a_remembered_warm_mix_asks_for_colder_water_on_the_first_night():
    day, conditions, limits = small_day(), night_of(24.0), Limits(list_only=True)
    plain = make_plan(day, conditions, limits=limits)
    told = make_plan(
        replace(day, remembered=(memory(dough_end_c=29.0),)), conditions, limits=limits
    )
    assert told.corrections.mixing_work[0].readings == 1
    assert told.mix("white").ticket.equivalent_c < plain.mix("white").ticket.equivalent_c - 0.5


def test_a_remembered_mix_narrows_the_band():
    day, conditions, limits = small_day(), night_of(24.0), Limits(list_only=True)
    plain = make_plan(day, conditions, limits=limits).mix("white").ticket.expected_sd_k
    told = make_plan(replace(day, remembered=(memory(),)), conditions, limits=limits)
    assert told.mix("white").ticket.expected_sd_k < plain


def test_once_a_mixer_is_read_its_memories_are_history(plan):
    done, mix = finished(plan, 1.0)
    known = learn([outcome_of(done, mix.id)], Corrections())
    day = replace(small_day(), remembered=(memory(),))
    assert recalled(day, night_of(24.0), known) == known


def test_a_memory_of_nothing_known_is_refused():
    with pytest.raises(InputError, match=r"remembered\[0\].mixer"):
        replace(small_day(), remembered=(memory(mixer_id="nobody"),))

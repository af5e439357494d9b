"""What a finished mix teaches, through the plan, its answers and its readings."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner import Corrections, Limits, Reading, ReadingKind, answer, make_plan, with_reading
from planner.answer import follow
from planner.batches import batches_of
from planner.errors import InputError
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.learning.readings import learn
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.night import Night
from planner.outcomes import learned_from, outcome_of, outcome_of_ticket, recalled
from planner.physics.heat_balance import Ingredient
from planner.physics.mix_course import course
from planner.remembered import RememberedMix
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import bakery, day, lean_dough, night_of
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


# ---- what was really put in --------------------------------------------------------------------


def with_late_water():
    """A spiral with plenty of chilled water; 25 of 65 parts of water at second speed."""
    chiller = WaterSupply(
        "ch", "chiller", SupplyKind.CHILLER, Estimate(3.0), tank_kg=200.0, recovery_kg_per_h=50.0
    )
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(18.0))
    formula = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, 40),
            Line(Material.WATER, 25, step=1),
            Line(Material.SALT, 2),
        ),
        steps=(MixStep(Speed.FIRST, 8), MixStep(Speed.SECOND, 6)),
    )
    return day(bakery=bakery(supplies=(tap, chiller)), formulas=(formula,))


def test_a_dough_steered_during_its_mix_is_judged_by_the_water_that_went_in():
    """The work is 1.6 times the guess; read, answered with colder water, and read at the end."""
    plan = make_plan(with_late_water(), night_of(24.0), limits=Limits(list_only=True))
    mix, ticket = plan.mixes[0], plan.mixes[0].ticket
    balance = follow(plan, mix.id).mixed.balance
    harder = replace(
        balance, steps=tuple(replace(s, work_kj=1.6 * s.work_kj) for s in balance.steps)
    )
    middle_c = float(course(harder, ticket.water_c).after_c[0])
    told = Reading(
        "m", ReadingKind.DOUGH_MID_C, mix.id, mix.start_utc + timedelta(minutes=8), middle_c,
        after_step=0,
    )  # fmt: skip
    lines = answer(plan, told).mid_mix.water
    second_c = sum(w.water_kg * w.temperature_c for w in lines) / sum(w.water_kg for w in lines)
    assert second_c < ticket.water_c - 2
    end_c = float(course(harder, ticket.water_c, later_water_c=second_c).dough_c)
    done = read(
        with_reading(plan, told), mix, ReadingKind.DOUGH_END_C, end_c, at_utc=mix.mix_end_utc
    )
    outcome = outcome_of(done, mix.id)
    foreseen_c = float(course(balance, ticket.water_c, later_water_c=second_c).dough_c)
    assert outcome.predicted_c == pytest.approx(foreseen_c, abs=1e-6)
    known = learn([replace(outcome, source="")] * 12, Corrections())
    factors = known.work_factors(plan.day.bakery.mixers[0], "wheat")
    rise_k = sum(factors[s][0] * k for s, k in outcome.degrees_by_speed)
    true_k = 1.6 * sum(k for _, k in outcome.degrees_by_speed)
    assert rise_k == pytest.approx(true_k, rel=0.06)  # what the prior still holds back


def test_a_dough_on_its_way_keeps_the_second_water_it_was_planned_with():
    plan = make_plan(with_late_water(), night_of(24.0), limits=Limits(list_only=True))
    mix, run = plan.mixes[0], follow(plan, plan.mixes[0].id).mixed.run
    told = read(
        plan, mix, ReadingKind.DOUGH_MID_C, float(run.after_c[0]), after_step=0,
        at_utc=mix.start_utc + timedelta(minutes=8),
    )  # fmt: skip
    done = read(told, mix, ReadingKind.DOUGH_END_C, 26.0, at_utc=mix.mix_end_utc)
    assert outcome_of(done, mix.id).predicted_c == pytest.approx(mix.ticket.expected_c, abs=1e-6)


# ---- readings that cannot be -------------------------------------------------------------------


@pytest.mark.parametrize("end_c", [-25.0, 61.0, 100.0])
def test_an_end_that_no_dough_can_have_teaches_nothing(plan, end_c):
    mix = plan.mixes[0]
    done = read(plan, mix, ReadingKind.DOUGH_END_C, end_c, at_utc=mix.mix_end_utc)
    assert outcome_of(done, mix.id) is None
    assert learned_from(done, [mix.id], Corrections()) == Corrections()


@pytest.mark.parametrize("kwh", [0.0, 900.0])
def test_energy_that_no_mix_takes_leaves_the_thermometer_to_tell(plan, kwh):
    done, mix = finished(plan, 1.0)
    metered = read(done, mix, ReadingKind.METERED_KWH, energy_kwh=kwh, at_utc=mix.mix_end_utc)
    assert outcome_of(metered, mix.id) == outcome_of(done, mix.id)


def test_a_mix_told_twice_is_one_mix_and_its_correction_counts(plan):
    done, mix = finished(plan, 5.0)
    known = learned_from(done, [mix.id], Corrections())
    assert learned_from(done, [mix.id], known) == known
    mended = read(
        done, mix, ReadingKind.DOUGH_END_C, mix.ticket.expected_c + 1.0, id="mended",
        at_utc=mix.mix_end_utc, supersedes=done.readings[0].id,
    )  # fmt: skip
    assert learned_from(mended, [mix.id], known) == learned_from(mended, [mix.id], Corrections())


def test_an_end_that_was_taken_back_teaches_nothing_any_more(plan):
    """The second mix stays learned; without it nothing would be left."""
    second = plan.mixes[1]
    end_c = second.ticket.expected_c + 2
    kept = read(plan, second, ReadingKind.DOUGH_END_C, end_c, at_utc=second.mix_end_utc)
    only_second = learned_from(kept, [second.id], Corrections())
    done, mix = finished(kept, 5.0)
    known = learned_from(done, [second.id, mix.id], Corrections())
    end = next(r for r in done.readings if r.mix_id == mix.id)
    taken = Reading("back", ReadingKind.WITHDRAWN, mix.id, mix.mix_end_utc, supersedes=end.id)
    told = replace(done, readings=(*done.readings, taken))
    assert known != only_second
    assert learned_from(told, [mix.id], known) == only_second
    assert learned_from(told, [second.id, mix.id], Corrections()) == only_second


def test_the_same_mix_of_another_day_is_another(plan):
    done, mix = finished(plan, 1.0)
    known = learned_from(done, [mix.id], Corrections())
    tomorrow = replace(done, day=replace(done.day, production_date=date(2026, 7, 15)))
    assert learned_from(tomorrow, [mix.id], known).mixing_work[0].readings == 2


def test_a_load_above_the_rated_one_is_told_as_such(plan):
    done, mix = finished(plan, 1.0)
    assert not outcome_of(done, mix.id).overloaded
    small = replace(done.day.bakery.mixers[0], max_dough_kg=mix.dough_kg * 0.9)
    house = replace(done.day.bakery, mixers=(small,))
    crowded = replace(done, day=replace(done.day, bakery=house))
    night = Night(crowded.day, crowded.conditions, crowded.corrections)
    batch = next(b for b in batches_of(done.day) if b.id == mix.id)
    mixed = follow(done, mix.id).mixed
    outcome = outcome_of_ticket(night, batch, small, mixed, 26.0, 0.5)
    assert outcome.overloaded
    assert learn([outcome], Corrections()) == Corrections()


def steered_twice():
    """Water in three portions, hot water too, and flake ice that melts in the rest of the mix."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.05), 5.0, 100.0)
    formula = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, 35),
            Line(Material.WATER, 15, step=1),
            Line(Material.WATER, 15, step=2),
            Line(Material.SALT, 2),
        ),
        steps=(MixStep(Speed.FIRST, 6), MixStep(Speed.FIRST, 6), MixStep(Speed.SECOND, 9)),
    )
    hot = WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(60.0))
    the_day = day(bakery=bakery(ice=ice, supplies=(*bakery().supplies, hot)), formulas=(formula,))
    conditions = replace(night_of(24.0), ice_stored_kg=80.0)
    return make_plan(the_day, conditions, limits=Limits(list_only=True))


def mid(plan, mix, after_step, value_c):
    at = mix.start_utc + timedelta(minutes=6 * (after_step + 1))
    return read(plan, mix, ReadingKind.DOUGH_MID_C, value_c, after_step=after_step, at_utc=at)


def blend_c(middle):
    """The second water of an answer as one temperature; ice of −2 °C, nine tenths of it ice."""
    liquid_kj = sum(4.186 * line.water_kg * line.temperature_c for line in middle.water)
    kilos = sum(line.water_kg for line in middle.water) + middle.ice_kg
    return (liquid_kj - middle.ice_kg * 0.9 * (334 + 2.1 * 2.0)) / (4.186 * kilos)


def test_each_answer_during_a_mix_counts_for_the_water_that_came_after_it():
    """Too warm after the first step, too cool after the second: each portion as it was answered.

    The truth is followed step by step from the start with both waters, as ingredients of their own.
    """
    plan = steered_twice()
    mix, mixed = plan.mixes[0], follow(plan, plan.mixes[0].id).mixed
    once = mid(plan, mix, 0, float(mixed.run.after_c[0]) + 4)
    twice = mid(once, mix, 1, float(mixed.run.after_c[1]) - 4)
    first, second = (
        answer(before, known.readings[-1]).mid_mix
        for before, known in ((plan, once), (once, twice))
    )
    assert first.ice_kg > 0.1
    assert blend_c(first) < mix.ticket.water_c - 5
    assert blend_c(second) > mix.ticket.water_c + 5
    per_portion_kg = mixed.balance.portions[1].water_kg
    # The ice of the first answer went in with the portion that came next.
    iced_kj = (
        first.ice_kg * 0.9 * (334 + 2.1 * 2.0) + first.ice_kg * 4.186 * first.water[0].temperature_c
    )
    waters = [
        (1, first.water[0].temperature_c - iced_kj / (4.186 * per_portion_kg)),
        (2, blend_c(second)),
    ]
    added = [Ingredient("water", per_portion_kg, 4.186, c, step=step) for step, c in waters]
    put_in = replace(
        mixed.balance,
        ingredients=(*mixed.balance.ingredients, *added),
        portions=mixed.balance.portions[:1],
    )
    ice = mixed.ways.ice if mix.ticket.ice_kg else None
    by_hand_c = float(course(put_in, mix.ticket.water_c, mix.ticket.ice_kg, ice).dough_c)
    done = read(twice, mix, ReadingKind.DOUGH_END_C, 26.0, at_utc=mix.mix_end_utc)
    assert outcome_of(done, mix.id).predicted_c == pytest.approx(by_hand_c, abs=0.05)


def test_a_reading_after_the_last_water_does_not_undo_the_answer_before_it():
    plan = steered_twice()
    mix, run = plan.mixes[0], follow(plan, plan.mixes[0].id).mixed.run
    once = mid(plan, mix, 1, float(run.after_c[1]) + 3)
    late = mid(once, mix, 2, 27.0)
    ends = [
        outcome_of(read(one, mix, ReadingKind.DOUGH_END_C, 26.0, at_utc=mix.mix_end_utc), mix.id)
        for one in (plan, once, late)
    ]
    assert ends[1].predicted_c < ends[0].predicted_c - 0.3
    assert ends[2].predicted_c == pytest.approx(ends[1].predicted_c, abs=1e-9)


def test_what_was_read_before_the_mix_makes_its_end_tell_more_of_the_mixer(plan):
    """Flour known to half a degree instead of one and a half: less of it is not the work."""
    done, mix = finished(plan, 1.0)
    flour_c = next(line.temperature_c for line in mix.scaling if "flour" in line.name)
    read_too = read(done, mix, ReadingKind.FLOUR_C, flour_c)
    spreads = [outcome_of(one, mix.id).other_sd_k for one in (done, read_too)]
    assert spreads == pytest.approx([follow(p, mix.id).mixed.effects.without_work_k
                                     for p in (done, read_too)])  # fmt: skip
    assert spreads[1] < spreads[0] - 0.05


def test_a_rough_thermometer_teaches_less(plan):
    done, mix = finished(plan, 2.0)
    rough = replace(done, readings=(replace(done.readings[0], sd_k=2.0),))
    assert outcome_of(rough, mix.id).measured_sd_k == 2.0
    machine = plan.day.bakery.mixers[0]
    surprise = [
        learned_from(one, [mix.id], Corrections()).work_factors(machine, "wheat")[Speed.SECOND][0]
        for one in (done, rough)
    ]
    assert surprise[0] > surprise[1] > 1.0


def test_mixes_are_learned_in_the_order_in_which_they_came_off(plan):
    """The later counts more, in whatever order they are asked for."""
    early, late = sorted(plan.mixes, key=lambda m: m.mix_end_utc)[:2]
    done = read(
        plan, late, ReadingKind.DOUGH_END_C, late.ticket.expected_c - 1, at_utc=late.mix_end_utc
    )
    done = read(
        done, early, ReadingKind.DOUGH_END_C, early.ticket.expected_c + 1, at_utc=early.mix_end_utc
    )
    known = [
        learned_from(done, order, Corrections())
        for order in ((early.id, late.id), (late.id, early.id))
    ]
    assert known[0] == known[1]
    sources = [e.source.split()[-1] for e in known[0].mixing_work[0].evidence]
    assert sources == [early.id, late.id]

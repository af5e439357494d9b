"""Remembered mixes: what cannot be is refused with its field, what is a slip stops no night."""

from dataclasses import replace

import pytest

from planner import Limits, make_plan
from planner.corrections import Corrections
from planner.errors import InputError
from planner.outcomes import doubted, noted, recalled, remembered_outcome
from planner.physics.ice import equivalent_temperature_c
from planner.remembered import RememberedMix
from tests.planner.builders import day, night_of
from tests.planner.conftest import small_day

QUICK = Limits(list_only=True)


def memory(**changes) -> RememberedMix:
    values = {"mixer_id": "spiral", "formula_id": "white", "water_c": 14.0, "dough_end_c": 27.0}
    return RememberedMix(**(values | changes))


def faults_of(*remembered: RememberedMix) -> dict[str, str]:
    """Fields and remedies that a day with these memories is refused with."""
    with pytest.raises(InputError) as refused:
        replace(small_day(), remembered=remembered)
    return {fault.field: fault.remedy for fault in refused.value.faults}


def test_more_ice_than_water_is_refused_with_its_field():
    """Four fifths of 60 kg of a dough of 168.5 parts, 65 of them water: 18.5 kg of water."""
    assert list(faults_of(memory(), memory(ice_kg=18.6))) == ["remembered[1].ice_kg"]
    assert replace(small_day(), remembered=(memory(ice_kg=18.4),)).remembered[0].ice_kg == 18.4


def test_ice_in_a_larger_batch_may_be_more():
    assert replace(small_day(), remembered=(memory(ice_kg=18.6, dough_kg=58.0),)).remembered


def test_a_part_that_the_dough_has_not_is_refused_and_its_own_are_named():
    (fault,) = faults_of(memory(formula_id="country", part_c=(("poolish", 24.0),))).items()
    assert fault == ("remembered[0].part_c.poolish", "use one of: levain")
    assert faults_of(memory(part_c=(("levain", 24.0),))) == {
        "remembered[0].part_c.levain": "use one of: none"
    }


def test_a_part_hotter_than_boiling_is_refused():
    with pytest.raises(InputError, match=r"part_c\.levain"):
        memory(part_c=(("levain", 240.0),))


SLIPS = [
    memory(water_c=90.0, dough_end_c=26.0, flour_c=40.0),
    memory(water_c=0.0, dough_end_c=45.0, flour_c=2.0),
    memory(water_c=100.0, dough_end_c=45.0, flour_c=60.0, room_c=60.0, dough_kg=0.1),
]


@pytest.mark.parametrize("slip", SLIPS)
def test_a_memory_that_no_balance_comes_near_is_left_out_and_named(slip):
    plain = make_plan(day(), night_of(24.0), limits=QUICK)
    told = make_plan(day(remembered=(slip,)), night_of(24.0), limits=QUICK)
    assert told.corrections == Corrections()
    assert [m.ticket for m in told.mixes] == [m.ticket for m in plain.mixes]
    (note,) = (r for r in told.remarks if r.code == "memory_doubted")
    assert {f.name: f.value for f in note.figures} == {
        "formula": "white dough", "mixer": "spiral", "end": slip.dough_end_c
    }  # fmt: skip


def test_a_memory_that_can_be_counts_beside_a_slip():
    both = day(remembered=(SLIPS[0], memory(dough_end_c=28.0)))
    known = recalled(both, night_of(24.0), Corrections())
    assert known.mixing_work[0].readings == 1
    assert len(doubted(both, night_of(24.0), Corrections())) == 1


def test_a_memory_of_a_mixer_that_was_read_is_neither_used_nor_doubted():
    known = recalled(day(remembered=(memory(),)), night_of(24.0), Corrections())
    assert doubted(day(remembered=(SLIPS[0],)), night_of(24.0), known) == ()


# ---- what a memory is compared with ------------------------------------------------------------


def foreseen_c(**changes):
    """What the balance gives a remembered mix."""
    return remembered_outcome(
        small_day(), night_of(24.0), Corrections(), memory(**changes)
    ).predicted_c


def test_a_remembered_levain_counts_at_its_own_temperature():
    """40 of 172 parts of levain: 30 K of it are 6 to 8 K of dough; left out, the dough's number."""
    cold, usual, warm = (
        foreseen_c(formula_id="country", part_c=parts)
        for parts in ((("levain", 5.0),), (), (("levain", 35.0),))
    )
    assert 5.0 <= warm - cold <= 8.0
    at_its_number = foreseen_c(formula_id="country", part_c=(("levain", 25.0),))
    assert usual == pytest.approx(at_its_number, abs=1e-9)


def test_remembered_ice_counts_as_colder_water():
    """Two kilos of ice in 18.5 of water are the same as all of it at its energy's temperature."""
    water_kg = 48.0 * 65 / 168.5
    as_water_c = equivalent_temperature_c(water_kg, 14.0, 2.0, -2.0, 0.9)
    assert foreseen_c(ice_kg=2.0, dough_kg=48.0) == pytest.approx(
        foreseen_c(water_c=0.0, dough_kg=48.0)
        + as_water_c
        * (foreseen_c(water_c=10.0, dough_kg=48.0) - foreseen_c(water_c=0.0, dough_kg=48.0))
        / 10,
        abs=0.1,
    )


@pytest.mark.parametrize(
    "read",
    [{"flour_c": 24.0}, {"formula_id": "country", "part_c": (("levain", 25.0),)}],
)
def test_what_was_written_down_is_surer_than_what_was_left_out(read):
    """The same figures as those that stand in when nothing is said: only the spread differs."""
    named = {"formula_id": read.get("formula_id", "white")}
    told, left_out = (
        noted(small_day(), night_of(24.0), [memory(**more)], Corrections())
        .mixing_work[0]
        .evidence[0]
        for more in (read, named)
    )
    assert told.rise_k == pytest.approx(left_out.rise_k, abs=1e-6)
    assert told.sd_k < left_out.sd_k - 0.02

"""Quenching a scald with water held back: worked tables, there and back, refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import OutOfRangeError
from planner.physics.quench import quench_ice_kg, quench_water_kg, quenched_c

C = 3.42  # kJ/kgK of one part flour and two of water


# 1:2 scald from 75 to 30 °C, per kg: 3.42*45 = 154 kJ; water of 4 °C 154/(4.186*26) = 1.41, of
# 20 °C 154/41.86 = 3.68 kg; ice of -5 °C 154/(334 + 125.6 + 10.3) = 0.33 kg.
@pytest.mark.parametrize(("cold_c", "water_kg"), [(4, 1.41), (20, 3.68)])
def test_water_to_quench_a_kilo(cold_c, water_kg):
    asked = quench_water_kg(1.0, 75, 30, cold_c, scald_kj_per_kg_k=C)
    assert asked == pytest.approx(water_kg, abs=0.006)


def test_ice_alone_to_quench_a_kilo():
    end = quenched_c(1.0, 75, water_kg=0.0, water_c=4, ice_kg=0.3275, scald_kj_per_kg_k=C)
    assert end == pytest.approx(30.0, abs=0.05)


# Of 2 kg scald at 75 % hydration, all held-back water used, tap 15, 20, 26 °C: kilos of ice by
# m = (Q - M e_c)/(e_i - e_c) with Q 307.8, e_c 4.186(30 - tap), e_i 469.9. First row, tap 15:
# (307.8 - 3.667*62.79)/(469.9 - 62.79) = 0.19.
@pytest.mark.parametrize(
    ("held_back_kg", "ice_kg"),
    [(3.667, (0.19, 0.36, 0.54)), (2.0, (0.45, 0.52, 0.61)), (1.167, (0.58, 0.61, 0.64))],
)
def test_ice_in_the_water_held_back(held_back_kg, ice_kg):
    for tap_c, expected in zip((15, 20, 26), ice_kg, strict=True):
        ours = quench_ice_kg(
            2.0, 75, 30, held_back_kg=held_back_kg, cold_c=tap_c, scald_kj_per_kg_k=C
        )
        assert ours == pytest.approx(expected, abs=0.0051)


@given(
    scald_c=st.floats(45, 90),
    target_c=st.floats(20, 40),
    held_back_kg=st.floats(0.3, 4),
    cold_c=st.floats(1, 18),
    ice_c=st.floats(-20, 0),
)
def test_ice_there_and_back(scald_c, target_c, held_back_kg, cold_c, ice_c):
    """The ice asked for lands on the target; refused only if all ice stays too warm."""
    try:
        ice_kg = quench_ice_kg(
            1.0, scald_c, target_c, held_back_kg=held_back_kg, cold_c=cold_c, ice_c=ice_c,
            scald_kj_per_kg_k=C,
        )  # fmt: skip
    except OutOfRangeError:
        ice_kg, wanted = held_back_kg, "too warm"
    else:
        wanted = "cold enough" if ice_kg == 0 else "on target"
    end = quenched_c(
        1.0, scald_c, water_kg=held_back_kg - ice_kg, water_c=cold_c, ice_kg=ice_kg, ice_c=ice_c,
        scald_kj_per_kg_k=C,
    )  # fmt: skip
    if wanted == "on target":
        assert end == pytest.approx(target_c, abs=1e-6)
    else:
        assert (end > target_c - 1e-6) == (wanted == "too warm")


def test_too_little_water_held_back_is_refused():
    with pytest.raises(OutOfRangeError, match="too little"):
        quench_ice_kg(1.0, 75, 30, held_back_kg=0.2, cold_c=15, scald_kj_per_kg_k=C)


def test_water_warmer_than_wanted_is_refused():
    with pytest.raises(OutOfRangeError, match="colder than wanted"):
        quench_water_kg(1.0, 75, 30, 31, scald_kj_per_kg_k=C)


def test_ice_above_freezing_is_refused():
    with pytest.raises(OutOfRangeError, match="does not exist"):
        quenched_c(1, 75, water_kg=1, water_c=4, ice_kg=0.1, ice_c=2, scald_kj_per_kg_k=C)


def test_more_ice_than_melts_is_refused():
    with pytest.raises(OutOfRangeError, match="can melt"):
        quenched_c(1, 30, water_kg=0, water_c=4, ice_kg=2, scald_kj_per_kg_k=C)


def test_a_scald_colder_than_wanted_is_refused():
    with pytest.raises(OutOfRangeError, match="warmer than"):
        quench_water_kg(1.0, 25, 30, 4, scald_kj_per_kg_k=C)

"""Geometry of vessels and their closed-form time constants."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.bakery import Cover, VesselShape
from planner.errors import OutOfRangeError
from planner.physics.vessels import (
    CoolingBody,
    CoolingPlace,
    quick_time_constant_min,
    usual_vessel,
)


def paste(mass_kg, length_m, width_m=None, **more):
    shape = VesselShape.ROUND if width_m is None else VesselShape.BOX
    given_ = {"cover": Cover.FILM, "place": CoolingPlace.BENCH, "specific_heat_kj_per_kg_k": 3.42}
    return CoolingBody(
        mass_kg=mass_kg, shape=shape, length_m=length_m, width_m=width_m or length_m,
        **(given_ | more),
    )  # fmt: skip


# Depth from mass and density: 2 kg in a bowl of 22 cm 5 cm, 20 kg in a tub of 53 x 38 cm 9.2 cm,
# 6.7 kg on a tray of 60 x 40 cm 2.6 cm, 80 kg in a bowl of 70 cm 19 cm, 98 kg across 50 cm 46 cm.
@pytest.mark.parametrize(
    ("body", "depth_cm"),
    [
        (paste(2, 0.22), 5),
        (paste(20, 0.53, 0.38), 9.2),
        (paste(20 / 3, 0.60, 0.40), 2.6),
        (paste(80, 0.70), 19),
        (paste(98, 0.50), 46),
    ],
)
def test_depth_follows_from_the_mass(body, depth_cm):
    assert body.depth_m * 100 == pytest.approx(depth_cm, abs=0.5 if depth_cm >= 5 else 0.05)


def test_a_round_vessel_has_its_diameter_in_both():
    body = paste(2, 0.22)
    assert body.area_m2 == pytest.approx(pi * 0.11**2)
    assert body.perimeter_m == pytest.approx(pi * 0.22)


def test_the_side_of_a_still_paste_resists_by_its_radius():
    # 1/(1/9 + R/4k): R 11 cm, k 0.5 -> 1/(0.1111 + 0.055) = 6.02. Box: 1/(1/9 + a/3k), a 19 cm:
    # 1/(0.1111 + 0.1267) = 4.21.
    assert paste(2, 0.22).side_w_per_m2_k == pytest.approx(6.02, abs=0.005)
    assert paste(20, 0.53, 0.38).side_w_per_m2_k == pytest.approx(4.21, abs=0.005)
    assert paste(2, 0.22, stirred=True).side_w_per_m2_k == pytest.approx(9.0)


def test_the_closed_form_by_hand():
    # Depth 4.87 cm, L 2.44 cm, rho c 3.694e6: slab 3.694e6*0.02436*(1/7.5 + 0.405*0.02436/0.5)
    # = 13 774 s; side 3.694e6*0.055/6.02 = 33 749 s; together 9 782 s = 163 min.
    assert quick_time_constant_min(paste(2, 0.22)) == pytest.approx(163, abs=1)


@given(factor=st.floats(0.5, 2.0), mass_kg=st.floats(1, 100))
def test_better_surfaces_cool_faster_but_never_in_proportion(factor, mass_kg):
    plain = quick_time_constant_min(paste(mass_kg, 0.5))
    better = quick_time_constant_min(paste(mass_kg, 0.5, surface_factor=factor))
    assert min(1, factor) * 0.999 <= plain / better <= max(1, factor) * 1.001


def test_usual_vessels_grow_with_the_mass():
    assert [usual_vessel(kg)[1] for kg in (0.5, 3.0, 3.1, 30.0, 80.0)] == [
        0.22, 0.22, 0.53, 0.53, 0.70,
    ]  # fmt: skip


@pytest.mark.parametrize(
    "wrong", ["mass_kg", "length_m", "width_m", "conductivity_w_per_m_k", "surface_factor"]
)
def test_impossible_vessels_are_refused(wrong):
    numbers = {"mass_kg": 2.0, "length_m": 0.3, "width_m": 0.3, "specific_heat_kj_per_kg_k": 3.4}
    with pytest.raises(OutOfRangeError, match=wrong):
        CoolingBody(
            shape=VesselShape.BOX,
            cover=Cover.FILM,
            place=CoolingPlace.BENCH,
            **(numbers | {wrong: 0.0}),
        )


def test_a_usual_vessel_for_nothing_is_refused():
    with pytest.raises(OutOfRangeError, match="usual_vessel"):
        usual_vessel(0.0)

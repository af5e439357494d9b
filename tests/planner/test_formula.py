import pytest

from planner.errors import InputError
from planner.formula import MixStep, Preferment, Scald, Soaker
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.ripening import (
    ByTheClock,
    Curve,
    HoursAt,
    Ripening,
)
from tests.planner.builders import lean_dough

LEVAIN = Preferment(
    "levain",
    "levain",
    (Line(Material.WHEAT_FLOUR, 20), Line(Material.WATER, 20)),
    Ripening(HoursAt(6, 26), Curve.LEVAIN, "room"),
    26.0,
)


def with_parts(*parts, flour=80.0, water=45.0):
    return lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, flour),
            Line(Material.WATER, water),
            Line(Material.SALT, 2),
        ),
        parts=parts,
    )


def test_water_of_a_preferment_counts_in_the_hydration():
    assert with_parts(LEVAIN).hydration == pytest.approx(0.65)


def test_hydration_is_shown_with_and_without_soaker_water():
    """500 flour + 350 water + a soaker of 100 grain and 100 water: 90 % and 70 %."""
    soaker = Soaker(
        "soaker", "soaker", (Line(Material.SEEDS, 20), Line(Material.WATER, 20)), "room"
    )
    formula = with_parts(soaker, flour=100.0, water=70.0)
    assert formula.hydration_without_scald == pytest.approx(0.70)
    assert formula.hydration == pytest.approx(0.90, abs=0.013)  # grain brings 1.2 of its own


def test_scald_water_is_set_aside_too():
    scald = Scald(
        "scald", "scald", (Line(Material.RYE_FLOUR, 20), Line(Material.WATER, 40)), "room"
    )
    formula = with_parts(scald)
    assert formula.hydration - formula.hydration_without_scald == pytest.approx(0.40)


def test_flour_that_does_not_add_up_is_refused_with_its_sum():
    with pytest.raises(InputError, match=r"does not add up to 100 % \(got 95 %\)"):
        with_parts(LEVAIN, flour=75.0)


def test_malt_may_be_counted_as_flour_or_on_top():
    for flour in (99.0, 100.0):
        lean_dough(
            lines=(
                Line(Material.WHEAT_FLOUR, flour),
                Line(Material.MALT, 1),
                Line(Material.WATER, 65),
            )
        )


def test_a_dough_without_flour_is_refused():
    with pytest.raises(InputError, match="there is no flour"):
        lean_dough(lines=(Line(Material.WATER, 65),))


def test_a_late_line_needs_a_step_that_exists():
    with pytest.raises(InputError, match=r"lines\[2\].step"):
        lean_dough(
            lines=(
                Line(Material.WHEAT_FLOUR, 100),
                Line(Material.WATER, 65),
                Line(Material.BUTTER, 10, step=5),
            )
        )


def test_a_dough_that_is_only_rested_is_refused():
    with pytest.raises(InputError, match="no mixing step"):
        lean_dough(steps=(MixStep(Speed.REST, 20),))


def test_two_parts_of_one_id_are_refused():
    with pytest.raises(InputError, match="id of two parts"):
        with_parts(LEVAIN, LEVAIN, flour=60.0)


def test_a_window_that_ends_before_it_starts_is_refused():
    with pytest.raises(InputError, match="the window ends before it starts"):
        Ripening(ByTheClock(60, 24), Curve.YEAST, "room", from_progress=1.1, by_progress=0.9)


@pytest.mark.parametrize("dough_c", [5.0, 17.0, 22.0, 31.0, 33.0])
def test_targets_far_from_ordinary_bread_are_accepted(dough_c):
    """Cookies near 7 °C, laminated base dough near 17, coarse rye 31."""
    assert lean_dough(dough_c=dough_c).dough_c == dough_c


def test_allergens_come_from_the_lines():
    butter = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.EGG, 50),
            Line(Material.BUTTER, 40),
        )
    )
    assert butter.allergens == {"gluten", "egg", "milk"}

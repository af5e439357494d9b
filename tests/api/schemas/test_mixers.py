"""Mixers as they are entered: what they take of stiff, strong and cold doughs, and cleaning."""

from __future__ import annotations

import pytest

from api.schemas.base import Faults
from api.schemas.equipment import MixerInput
from api.schemas.formula import FormulaInput
from api.schemas.house import House
from planner.errors import InputError
from planner.mixers import ColourClean, Speed, SpeedLimit

HOUSE = House(rooms=("bakehouse",), chambers=(), ovens=("deck",), usual_c={"bakehouse": 24.0})
LEAST = {"name": "Mixer", "kind": "spiral", "max_dough_kg": 40}


def core_of(**more):
    return MixerInput.model_validate({**LEAST, **more}).to_core(HOUSE)


def test_what_is_left_out_is_assumed_and_takes_the_full_weight_of_usual_doughs():
    made = core_of()
    assert made.rated_hydration.is_assumed
    assert made.cold_less.is_assumed
    assert made.most_dough_kg(0.60, cold=True, strong=True) == 40
    assert made.speed_limits == ()


def test_a_planetary_mixer_is_assumed_to_take_less_and_is_marked_so():
    made = core_of(kind="planetary")
    assert made.most_dough_kg(0.60, cold=True) == pytest.approx(36)
    assert made.cold_less.is_assumed
    assert all(limit.assumed for limit in made.speed_limits)


def test_percents_become_shares():
    made = core_of(
        rated_hydration_percent="55,0", cold_less_percent=10, strong_less_percent=5,
        cold_water_f=68, cold_flour_c=10,
    )  # fmt: skip
    assert (made.rated_hydration.value, made.cold_less.value) == (0.55, 0.10)
    assert made.strong_less.value == pytest.approx(0.05)
    assert made.cold_water_c == pytest.approx(20.0)
    assert not made.rated_hydration.is_assumed
    # 33 % of water: 33/55 of 40 kg, less 15 % when it is cold and strong.
    assert made.most_dough_kg(0.33, cold=True, strong=True) == pytest.approx(40 * 0.6 * 0.85)


def test_limits_and_cleaning_are_entered():
    made = core_of(
        speed_limits=[{"speed": "second speed", "below_hydration_percent": 50}],
        colour_cleans=[{"before": "dark", "after": "light", "minutes": 15}],
    )
    assert made.speed_limits == (SpeedLimit(Speed.SECOND, 0.5, 0.0),)
    assert made.colour_cleans == (ColourClean("dark", "light", 15),)


@pytest.mark.parametrize(
    ("entered", "field"),
    [
        ({"rated_hydration_percent": 400}, "rated_hydration"),
        ({"cold_less_percent": 80}, "cold_less"),
        (
            {"colour_cleans": [{"before": "a", "after": "b", "minutes": 999}]},
            r"colour_cleans\[0\].minutes",
        ),
    ],
)
def test_impossible_limits_are_refused(entered, field):
    with pytest.raises(InputError, match=field):
        core_of(**entered)


def test_an_allergen_may_be_named_on_a_line():
    entered = {
        "name": "rich", "dough_c": 25, "bulk": {"minutes": 60, "room_c": 24},
        "steps": [{"speed": "first speed", "minutes": 5}], "strong_flour": True,
        "lines": [
            {"material": "wheat flour", "percent": 100},
            {"material": "water", "percent": 60},
            {"material": "other", "percent": 10, "name": "spread", "allergens": ["Nuts", "soya"]},
        ],
    }  # fmt: skip
    faults = Faults()
    made = FormulaInput.model_validate(entered).to_core(faults, HOUSE)
    faults.settle()
    assert made.allergens == {"gluten", "nuts", "soya"}
    assert made.strong_flour

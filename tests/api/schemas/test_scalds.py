"""A scald, its vessels and the kettle as they are entered."""

from pathlib import Path

import pytest

from api.files.toml_day import load
from planner.bakery import FoodLines
from planner.errors import InputError
from planner.formula import HoldPlace

TEXT = (Path(__file__).parents[3] / "scenarios" / "hot_rye.toml").read_text(encoding="utf-8")
SCALD = 'vessel = "scald tub"'


def scald_of(text):
    day, _, _ = load(text)
    return next(p for p in day.formulas[0].parts if p.name == "rye scald")


def test_kettle_and_country_reach_the_core():
    day, _, _ = load(TEXT)
    assert (day.bakery.kettle.kg_per_h, day.bakery.kettle.holds_kg) == (30, 40)
    assert day.bakery.food_lines is FoodLines.GERMANY


def test_what_a_vessel_loses_is_assumed_until_it_is_entered():
    day, _, _ = load(TEXT)
    assert day.bakery.vessel("scald_tub").pour_loss.is_assumed
    entered = TEXT.replace('name = "scald tub",', 'name = "scald tub", pour_loss = 0.08,')
    told, _, _ = load(entered)
    assert told.bakery.vessel("scald_tub").pour_loss.value == 0.08
    assert not told.bakery.vessel("scald_tub").pour_loss.is_assumed


def test_a_window_to_stand_in_is_read():
    held = 'hold_from_c = 62\n  hold_to_c = 65\n  hold_min = 120\n  hold_place = "insulated"'
    part = scald_of(TEXT.replace(SCALD, f"{SCALD}\n  {held}"))
    assert (part.hold_from_c, part.hold_to_c, part.hold_min) == (62, 65, 120)
    assert part.hold_place is HoldPlace.INSULATED


def test_other_ways_can_be_ruled_out():
    assert scald_of(TEXT).other_ways
    assert not scald_of(TEXT.replace(SCALD, f"{SCALD}\n  other_ways = false")).other_ways


@pytest.mark.parametrize(
    ("held", "field"),
    [("hold_from_c = 62", "hold_to_c"), ("hold_from_c = 66\n  hold_to_c = 62", "hold_to_c")],
)
def test_half_a_window_or_one_upside_down_is_refused(held, field):
    with pytest.raises(InputError, match=field):
        load(TEXT.replace(SCALD, f"{SCALD}\n  {held}"))

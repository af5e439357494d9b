"""A levain or a sponge on a night that hurries or slows it: each lever, pulled, has it ripe."""

from dataclasses import replace

import pytest

from planner import Limits, make_plan
from planner.bakery import Chamber, ChamberKind
from planner.builds import build_rise, build_water, made_min
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.formula import Preferment
from planner.lines import Line
from planner.materials import Material
from planner.night import Night
from planner.rescue import night_note, rescues
from planner.ripening import Curve, HoursAt, Ripening
from tests.planner.builders import bakery, day, lean_dough, night_of

MASS_KG = 10.0


def levain(**changes) -> Preferment:
    """Ripe after fourteen hours at 21 °C, as a working bakery keeps it."""
    values = {
        "id": "levain", "name": "levain",
        "lines": (Line(Material.WHEAT_FLOUR, 20), Line(Material.WATER, 20)),
        "ripening": Ripening(HoursAt(14, 21), Curve.LEVAIN, "room"),
        "temperature_c": 21.0, "seed_percent": 12.0,
    }  # fmt: skip
    return Preferment(**(values | changes))


def a_night(room_c: float, **house) -> Night:
    return Night(day(bakery=bakery(**house)), night_of(room_c), Corrections())


def ripe_h(night: Night, part: Preferment, start_min: float = 60.0) -> tuple[float, float, float]:
    """Hours from the start of its work to ripe-from, ripe and ripe-by."""
    rise = build_rise(night, part, MASS_KG)
    start_c = float(build_water(night, part, MASS_KG, start_min, None).expected_c)
    path = rise.path(start_min + made_min(part), start_c)
    return tuple((float(m) + made_min(part)) / 60 for m in rise.window(path))


def told(night, part, start_min, use_min):
    remarks = rescues(night, part, MASS_KG, start_min, use_min)
    return {r.code: {f.name: f.value for f in r.figures} for r in remarks}


def test_a_build_for_a_cool_night_is_ripe_far_sooner_on_a_warm_one():
    """12 to 16 h at 21 °C; forecast 25 °C: ripe at 7 to 10 h, and at the latest at 9 to 13.5 h."""
    early, _, late = ripe_h(a_night(25.0), levain(temperature_c=25.0))
    assert 7 <= early <= 10
    assert 9 <= late <= 13.5


def test_a_sponge_specified_for_68_fahrenheit_at_80():
    """Ten hours at 68 °F; at 80 °F ripe in 3.5 to 7.5 h."""
    sponge = levain(
        ripening=Ripening(HoursAt(10, 20), Curve.YEAST, "room"),
        temperature_c=26.7,
        seed_percent=0.0,
    )
    assert 3.5 <= ripe_h(a_night(26.7), sponge)[1] <= 7.5


def test_what_is_ripe_in_time_needs_no_rescue():
    night, part = a_night(21.0), levain()
    assert rescues(night, part, MASS_KG, 60.0, 60.0 + 60 * ripe_h(night, part)[1]) == ()


WARM = 26.0


def two_hours_too_late(night, part) -> float:
    """Minutes from the start to a use at which the build has been over-ripe for two hours."""
    return 60 * ripe_h(night, part)[2] + 120


def test_less_seed_as_told_has_it_ripe():
    night, part = a_night(WARM), levain(temperature_c=25.0)
    wait = two_hours_too_late(night, part)
    seed = told(night, part, 60.0, 60.0 + wait)["other_seed"]
    assert seed["seed"] < seed["now"]
    # Time goes with the seed to the power −0.45.
    hours = 14 * (seed["seed"] / seed["now"]) ** -0.45
    slower = replace(part, ripening=replace(part.ripening, reference=HoursAt(hours, 21)))
    assert 60 * ripe_h(night, slower)[1] == pytest.approx(wait, abs=15)


def test_a_later_start_as_told_has_it_ripe():
    night, part = a_night(WARM), levain(temperature_c=25.0)
    wait = two_hours_too_late(night, part)
    start = told(night, part, 60.0, 60.0 + wait)["other_start"]["start"]
    start_min = night.day.minute(start)
    assert start_min > 60
    ripe = start_min + 60 * ripe_h(night, part, start_min)[1]
    assert ripe == pytest.approx(60 + wait, abs=15)


def test_colder_water_as_told_has_it_ripe():
    """On a night a little too warm; from a chiller of 3 °C."""
    night = a_night(23.0)
    part = levain(temperature_c=25.0)
    ripe = 60 * ripe_h(night, part)[2]
    got = told(night, part, 60.0, 60.0 + ripe + 40)
    if "other_build_temperature" in got:
        start_c = got["other_build_temperature"]["start"]
        assert start_c < 25.0
        cooler = replace(part, temperature_c=start_c)
        assert 60 * ripe_h(night, cooler)[1] == pytest.approx(ripe + 40, abs=25)
    assert {"other_seed", "other_start"} <= set(got)


def test_a_cool_chamber_whose_window_holds_the_use_is_named():
    cellar = Chamber("cellar", "cellar", ChamberKind.COOLER, Estimate(20.0), 2)
    night = a_night(27.0, chambers=(cellar,))
    part = levain(temperature_c=24.0)
    there = replace(part, ripening=replace(part.ripening, place_id="cellar"))
    use = 60.0 + 60 * ripe_h(night, there)[1]
    assert told(night, part, 60.0, use)["other_place"] == {"place": "cellar"}


def test_a_cold_night_asks_for_more_seed_or_an_earlier_start():
    night, part = a_night(17.0), levain(temperature_c=20.0)
    use = 600.0 + 60 * ripe_h(night, part, 600.0)[0] - 120
    got = told(night, part, 600.0, use)
    assert got["other_seed"]["seed"] > 12.0
    assert night.day.minute(got["other_start"]["start"]) < 600.0


def test_seed_beyond_a_factor_of_three_is_not_told():
    got = told(a_night(32.0), levain(temperature_c=30.0), 60.0, 60.0 + 20 * 60)
    assert "other_seed" not in got


def test_a_usual_night_is_not_worth_a_word():
    night, part = a_night(21.0), levain()
    assert night_note(night, part, MASS_KG, 60.0, 900.0) == ()


def test_a_plan_for_a_warm_night_says_it_the_day_before():
    formula = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 80), Line(Material.WATER, 45), Line(Material.SALT, 2)),
        parts=(levain(temperature_c=26.0),),
    )
    plan = make_plan(day(formulas=(formula,)), night_of(28.0), limits=Limits(list_only=True))
    (build,) = plan.preparations
    assert "preferment_night" in [r.code for r in build.remarks]

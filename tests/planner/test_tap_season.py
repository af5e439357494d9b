"""The tap through the year: a season stands in for a thermometer until somebody reads it."""

import math
from dataclasses import replace
from datetime import date

import pytest

from planner import Limits, make_plan
from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.errors import InputError
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.mixers import Speed
from planner.night import Night
from planner.options import Choice
from planner.tickets import MixTemperatures, make_ticket
from planner.water_sources import (
    IceKind,
    IceSupply,
    Season,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import bakery, day, lean_dough, night_of, steady_room

QUICK = Limits(list_only=True)
FREE = Choice(25.0, use_chilled=True)


def flake():
    return IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.05), 10.0, 400.0)


def seasonal(**changes):
    year = Season(**({"coldest_c": 7.0, "warmest_c": 17.0} | changes))
    return WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(12.0), season=year)


@pytest.mark.parametrize(
    ("on", "tap_c"),
    [
        (date(2026, 8, 15), 17.0),
        (date(2026, 2, 14), 7.0),
        (date(2026, 5, 18), 12.0),
        (date(2026, 7, 1), 17 - 10 * (1 - math.cos(2 * math.pi * 46.8 / 365.25)) / 2),
    ],
)
def test_a_tap_meets_its_extremes_in_the_middle_of_their_months(on, tap_c):
    """Tap 7 °C in winter, 17 in summer; the first of July by hand, 46.8 days before the peak."""
    assert seasonal().usual_c(on).value == pytest.approx(tap_c, abs=0.05)
    south = seasonal(warmest_month=2).usual_c(on).value
    assert south == pytest.approx(24.0 - tap_c, abs=0.2)


def test_winter_and_summer_ask_for_other_water_of_the_same_formula():
    """Winter flour 9, room 16 °C: above 25 °C; summer flour and room 25 °C: below the tap."""
    gentle = (MixStep(Speed.FIRST, 8),)  # a couple of degrees from the mixer
    dough = lean_dough(dough_c=22.0, steps=gentle)
    water_c = {}
    for on, air_c, flour_c in ((date(2026, 2, 14), 16.0, 9.0), (date(2026, 8, 15), 25.0, 25.0)):
        hot = WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(60.0))
        house = bakery(supplies=(seasonal(), hot), ice=flake())
        weather = Conditions(
            {"room": steady_room(air_c)},
            flour_c={"sacks": Estimate(flour_c)},
            ice_stored_kg=300.0,
        )
        night = Night(
            day(bakery=house, formulas=(dough,), production_date=on), weather, Corrections()
        )
        one = make_ticket(
            night,
            batches_of(night.day)[0],
            house.mixers[0],
            300.0,
            replace(FREE, dough_c=22.0),
            {},
            measured=MixTemperatures(),
        ).ticket
        assert one.expected_c == pytest.approx(22.0, abs=0.05)
        water_c[on.month] = one.equivalent_c
    assert water_c[2] > 25.0
    assert water_c[8] < 17.0


def test_a_measured_tap_counts_before_its_season_and_an_unread_one_is_named():
    house = bakery(supplies=(seasonal(warmest_c=27.0),))
    told = {"supplies_c": {"tap": Estimate(24.0, 0.3)}}
    for known, named in ((night_of(22.0), True), (replace(night_of(22.0), **told), False)):
        plan = make_plan(day(bakery=house), known, limits=QUICK)
        assert any(a.name == "temperature of the tap" for a in plan.assumptions) is named
        assert plan.mixes[0].ticket.water[0].temperature_c == pytest.approx(
            24.0 if not named else house.supplies[0].usual_c(date(2026, 7, 14)).value
        )


def test_only_a_tap_has_a_season():
    with pytest.raises(InputError, match="season"):
        WaterSupply("hot", "hot", SupplyKind.HOT, Estimate(60.0), season=Season(7, 17))
    with pytest.raises(InputError, match="warmest_c"):
        Season(17, 7)

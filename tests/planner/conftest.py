"""One small night, planned once per run."""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import settings

from planner import Limits, make_plan
from planner.day import Order
from planner.estimate import Estimate
from planner.formula import MixStep, Preferment
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.planned import Plan
from planner.ripening import (
    ByTheClock,
    Curve,
    HoursAt,
    Ripening,
)
from planner.water_sources import IceKind, IceSupply
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of

LIMITS = Limits(solve_s=30.0, deterministic_s=2.0, workers=1)

# How long an example takes says more about the machine than about the code.
settings.register_profile("steady", deadline=None)
settings.load_profile("steady")


def levain_dough():
    """A fifth of the flour in a levain, two and a half hours of bulk."""
    levain = Preferment(
        "levain",
        "levain",
        (Line(Material.WHEAT_FLOUR, 20), Line(Material.WATER, 20)),
        Ripening(HoursAt(5, 26), Curve.LEVAIN, "room", by_progress=1.3),
        26.0,
        seed_percent=20,
    )
    return lean_dough(
        id="country",
        name="country dough",
        lines=(
            Line(Material.WHEAT_FLOUR, 80),
            Line(Material.WATER, 50),
            Line(Material.SALT, 2),
        ),
        parts=(levain,),
        steps=(MixStep(Speed.FIRST, 5), MixStep(Speed.SECOND, 4)),
        bulk=Ripening(ByTheClock(150, 24.0), Curve.LEVAIN, "room"),
    )


def small_day():
    """Two white doughs and a levain dough, warm room, a little ice."""
    ice = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 2.0, 20.0)
    return day(
        bakery=bakery(ice=ice),
        formulas=(lean_dough(), levain_dough()),
        products=(loaf(), loaf(id="round", name="round loaf", formula_id="country")),
        lines=(
            Order("white", "loaf", 40, at(13)),
            Order("more", "loaf", 40, at(14)),
            Order("country", "round", 30, at(14.5)),
        ),
    )


@cache
def planned() -> Plan:
    """Plan the small night in a room of 29 °C."""
    conditions = replace(night_of(29.0), ice_stored_kg=10.0)
    return make_plan(small_day(), conditions, limits=LIMITS)


@pytest.fixture
def plan() -> Plan:
    return planned()

"""Chambers: their load, their power, their programme of the night."""

from dataclasses import replace

import numpy as np
import pytest

from planner.bakery import Chamber, ChamberKind
from planner.chambers import chamber_load_kg, most_w_per_kg
from planner.conditions import Inherited, SetPoint, Standing
from planner.corrections import Corrections
from planner.errors import InputError
from planner.estimate import Estimate
from planner.formula import Preferment
from planner.lines import Line
from planner.materials import Material
from planner.night import Night
from planner.ripening import ByTheClock, Curve, HoursAt, Move, Ripening
from planner.rises import piece_rise
from tests.planner.builders import START, at, bakery, day, lean_dough, loaf, night_of

RETARD = Ripening(HoursAt(2.5, 25), Curve.YEAST, "room", moves=(Move(60, "cold"),))


def house(kind=ChamberKind.RETARDER, kw=1.0, temperature_c=4.0):
    power = None if kw is None else Estimate(kw)
    return bakery(chambers=(Chamber("cold", "cold", kind, Estimate(temperature_c), 20, power),))


def a_night(conditions=None, *, chamber=None, **changes):
    """Forty loaves of 0.8 kg, an hour in the room, then in the retarder."""
    values = {"bakery": chamber or house(), "products": (loaf(routes=(RETARD,)),)} | changes
    return Night(day(**values), conditions or night_of(24.0), Corrections())


def test_the_load_is_all_that_the_day_may_send_there():
    """By hand: 40 loaves of 0.8 kg are 32 kg; ten that stand there already are 8 more."""
    assert chamber_load_kg(a_night(), "cold") == pytest.approx(32.0)
    standing = Inherited("old", "loaf", 10, Standing.PROOF, "cold", at(0), 12.0, at(8))
    more = a_night(replace(night_of(24.0), inherited=(standing,)))
    assert chamber_load_kg(more, "cold") == pytest.approx(40.0)


def test_only_the_part_that_stands_there_counts():
    """20 % of the flour, and as much water, as sponge in the cold: 40 of 168.5 parts of dough."""
    sponge = Preferment(
        "sponge",
        "sponge",
        (Line(Material.WHEAT_FLOUR, 20), Line(Material.WATER, 20)),
        Ripening(HoursAt(10, 20), Curve.YEAST, "cold"),
        20.0,
    )
    dough = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 80),
            Line(Material.WATER, 45),
            Line(Material.SALT, 2),
            Line(Material.FRESH_YEAST, 1.5),
        ),
        parts=(sponge,),
    )
    night = a_night(formulas=(dough,), products=(loaf(),))
    assert chamber_load_kg(night, "cold") == pytest.approx(32.0 * 40 / 168.5)


def test_power_is_shared_by_dough_and_steel():
    """1 kW over 32 kg with 0.35 kg of steel each: 31.25 W/kg · 2.8 / (2.8 + 0.175) = 29.4."""
    assert most_w_per_kg(a_night(), "cold") == pytest.approx(29.41, abs=0.01)
    fridge = a_night(chamber=house(ChamberKind.FRIDGE, 0.1))
    assert most_w_per_kg(fridge, "cold") == pytest.approx(100 / 32)


@pytest.mark.parametrize("chamber", [house(kw=None), house(ChamberKind.PROOFER)])
def test_what_is_not_known_or_not_cooled_limits_nothing(chamber):
    assert most_w_per_kg(a_night(chamber=chamber), "cold") is None
    assert most_w_per_kg(a_night(), "room") is None


def ripe_min(night):
    rise = piece_rise(night, night.day.products[0], 0, 25.0)
    return float(rise.window(rise.path(300.0, 25.0))[1])


def test_a_short_cooler_has_its_loaves_ripe_sooner():
    """Loaves on the shelves of a kitchen fridge go on fermenting for hours."""
    strong, weak = (a_night(chamber=house(kw=kw)) for kw in (None, 0.05))
    rises = [piece_rise(n, n.day.products[0], 0, 25.0) for n in (strong, weak)]
    cooled = [r.path(300.0, 25.0, span_min=400.0).temperature_c[-1] for r in rises]
    assert cooled[1] > cooled[0] + 4
    assert ripe_min(weak) < ripe_min(strong)


def test_air_follows_the_programme_of_the_night():
    """4 °C until 03:00, then 26 °C at 15 K an hour: by hand 11.5 °C after half an hour."""
    points = (SetPoint(at(11), 26.0), SetPoint(at(16), 4.0))
    night = a_night(replace(night_of(24.0), programmes={"cold": points}))
    air = night.air_c("cold")(np.array([0.0, 660.0, 690.0, 660 + 88.0, 900.0, 960.0, 1100.0]))
    assert air == pytest.approx([4, 4, 11.5, 26, 26, 26, 4])


def test_a_change_that_comes_before_the_last_has_settled_starts_from_there():
    points = (SetPoint(at(10), 24.0), SetPoint(at(11), 4.0))
    night = a_night(replace(night_of(24.0), programmes={"cold": points}))
    assert night.air_c("cold")(np.array([660.0, 720.0])) == pytest.approx([19, 4])


def test_a_programme_names_a_chamber_there_is_and_is_in_order():
    with pytest.raises(InputError, match=r"programmes\.freezer"):
        a_night(replace(night_of(24.0), programmes={"freezer": (SetPoint(START, 4.0),)}))
    with pytest.raises(InputError, match="order of time"):
        replace(night_of(24.0), programmes={"cold": (SetPoint(at(5), 4.0), SetPoint(START, 4.0))})


def test_a_retarder_that_warms_before_dawn_has_its_loaves_ripe_then():
    """Retarded at 4 °C, warmed from 03:00 on: ripe hours before those that stay cold."""
    cold = Ripening(ByTheClock(90, 25.0), Curve.YEAST, "cold")
    stays = a_night(products=(loaf(routes=(cold,)),))
    warmed = Night(
        stays.day,
        replace(night_of(24.0), programmes={"cold": (SetPoint(at(11), 26.0),)}),
        Corrections(),
    )
    assert ripe_min(warmed) < ripe_min(stays) - 120

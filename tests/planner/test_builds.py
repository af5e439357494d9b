"""Builds: fed in steps, each a small mix of its own; two days ahead; one for several doughs."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner import Limits, make_plan
from planner.builds import build_offsets_min, courses, seed_kg, single_builds
from planner.corrections import Corrections
from planner.day import Order, Shift
from planner.errors import InputError
from planner.formula import EarlierBuild, Preferment
from planner.lines import Line
from planner.materials import Material
from planner.night import Night
from planner.physics.ripening_path import temperature_after
from planner.ripening import Curve, HoursAt, Ripening
from planner.verify import verify
from tests.planner.builders import START, at, bakery, day, lean_dough, loaf, night_of

RYE, WATER = Material.RYE_FLOUR, Material.WATER


def sour(**changes) -> Preferment:
    """A rye sour in two builds: a basic sour overnight, then three hours of full sour.

    Of 30 % of the dough's flour a third goes into the first build, at 60 % water; all in all as
    much water as flour.
    """
    first = EarlierBuild(
        (Line(RYE, 10), Line(WATER, 6)),
        Ripening(HoursAt(12, 25), Curve.ACID, "room"),
        25.0,
        stands_min=720,
    )
    values = {
        "id": "sour",
        "name": "rye sour",
        "lines": (Line(RYE, 30), Line(WATER, 30)),
        "ripening": Ripening(HoursAt(3.5, 29), Curve.ACID, "room", by_progress=1.3),
        "temperature_c": 29.0,
        "seed_percent": 10.0,
        "before": (first,),
    }
    return Preferment(**(values | changes))


def rye_dough(part=None, **changes):
    values = {
        "lines": (Line(RYE, 70), Line(WATER, 45), Line(Material.SALT, 2)),
        "parts": (part or sour(),),
        "bulk": Ripening(HoursAt(1.0, 28), Curve.ACID, "room"),
        "dough_c": 27.0,
        "band_k": 3.0,
    }
    return lean_dough(**(values | changes))


def a_night(room_c=25.0, **changes) -> Night:
    values = {"formulas": (rye_dough(),), "end_utc": at(40)} | changes
    return Night(day(**values), night_of(room_c), Corrections())


def planned(part=None, *, room_c=25.0, leave_h=30.0, **changes):
    values = {
        "formulas": (rye_dough(part),),
        "products": (loaf(),),
        "lines": (Order("o1", "loaf", 30, at(leave_h)),),
        "shifts": (Shift("ada", START, at(leave_h + 2)),),
        "end_utc": at(leave_h + 4),
    } | changes
    return make_plan(day(**values), night_of(room_c), limits=Limits(list_only=True))


# ---- what goes in ------------------------------------------------------------------------------


def test_the_last_build_takes_what_is_left():
    first, last = single_builds(sour())
    assert [(line.material, line.percent) for line in first.lines] == [(RYE, 10), (WATER, 6)]
    assert [(line.material, line.percent) for line in last.lines] == [(RYE, 20), (WATER, 24)]
    assert (first.seed_percent, last.seed_percent) == (10.0, 0.0)
    assert build_offsets_min(sour()) == (0.0, 720.0)


def test_the_seed_goes_by_the_flour_of_the_first_build():
    """12 kg of sour of 60 parts: 20 kg of dough flour, 2 kg in the first build, seed 0.2 kg."""
    assert seed_kg(sour(), 12.0) == pytest.approx(0.2)


def test_what_goes_in_adds_up_to_what_is_used_and_kept():
    chain = courses(a_night(), sour(), 12.0, 60.0)
    assert chain[0].fed_kg == pytest.approx(0.2)
    assert chain[0].fresh_kg == pytest.approx(20 * 0.16)
    assert chain[1].fed_kg == pytest.approx(chain[0].fresh_kg + chain[0].fed_kg)
    assert chain[1].fresh_kg + chain[1].fed_kg == pytest.approx(12.0 + 0.2)


def test_an_earlier_build_cannot_take_more_than_there_is():
    greedy = replace(sour().before[0], lines=(Line(RYE, 40), Line(WATER, 6)))
    with pytest.raises(InputError, match="take more than the preferment has"):
        sour(before=(greedy,))


# ---- heat --------------------------------------------------------------------------------------


def test_a_build_is_set_at_its_own_temperature_from_the_one_before_it():
    """The full sour of 29 °C is steered by its water; the basic sour goes in as it is then."""
    night = a_night(22.0, bakery=bakery())
    chain = courses(night, sour(temperature_c=26.0), 12.0, 60.0)
    fed_c = float(temperature_after(chain[0].path, chain[0].waits_min))
    assert fed_c == pytest.approx(22.5, abs=1.0)  # a small tub follows its room
    # By hand, alike specific heats apart: the balance must lie between its parts and its water.
    water_c = float(chain[1].drawn.liquid_c)
    assert min(water_c, fed_c, 22.0) <= float(chain[1].start_c) <= max(water_c, fed_c, 27.0)


def test_a_warm_build_makes_the_next_one_warmer():
    """All else equal, a degree of what it is fed from moves the new build by its share."""
    starts = []
    for room_c in (15.0, 30.0):
        night = a_night(room_c)
        chain = courses(night, sour(temperature_c=35.0), 12.0, 60.0)
        starts.append(float(chain[1].start_c))
    assert starts[1] > starts[0] + 5


def test_many_starts_are_the_single_ones():
    night = a_night()
    together = courses(night, sour(), 12.0, np.array([0.0, 90.0, 400.0]))
    for n, start in enumerate((0.0, 90.0, 400.0)):
        alone = courses(night, sour(), 12.0, start)
        assert float(together[-1].start_c[n]) == pytest.approx(float(alone[-1].start_c))
        assert float(together[0].ripeness[n]) == pytest.approx(float(alone[0].ripeness))


# ---- in a plan ---------------------------------------------------------------------------------


def test_a_sour_in_two_builds_is_ripe_at_the_mix():
    plan = planned()
    assert verify(plan) == ()
    mix, sours = plan.mixes[0], plan.preparations[0]
    first, last = sours.builds
    assert sours.start_utc == first.start_utc
    assert last.start_utc - first.start_utc == timedelta(hours=12)
    assert last.ripe_from_utc <= mix.start_utc <= last.ripe_by_utc
    assert first.ripeness == pytest.approx(1.0, abs=0.15)
    weighed = sum(line.mass_kg for b in sours.builds for line in b.scaling)
    watered = sum(line.water_kg for b in sours.builds for line in b.water)
    assert weighed + watered == pytest.approx(sours.made_kg)


def test_a_build_that_is_over_ripe_when_it_is_fed_is_named():
    """Twelve hours at 25 °C are eight at 30: on a hot night the basic sour is over before noon."""
    plan = planned(room_c=31.0)
    named = [r for r in plan.preparations[0].remarks if r.code == "build_not_ripe"]
    assert {f.value for r in named for f in r.figures if f.name == "state"} == {"over-ripe"}
    usual = planned().preparations[0].remarks
    assert not [r for r in usual if r.code == "build_not_ripe"]


def test_builds_are_set_two_days_ahead_in_the_plan_of_the_day_that_uses_them():
    """A sour of 30 h before the last build of 4 h: set on the day before yesterday."""
    slow = EarlierBuild(
        (Line(RYE, 10), Line(WATER, 6)),
        Ripening(HoursAt(30, 20), Curve.ACID, "room"),
        20.0,
        stands_min=1800,
    )
    plan = planned(sour(before=(slow,)), room_c=20.0, leave_h=46.0)
    assert verify(plan) == ()
    ahead = plan.mixes[0].start_utc - plan.preparations[0].start_utc
    assert timedelta(hours=32) < ahead < timedelta(hours=48)


def test_one_sour_feeds_two_doughs_and_its_seed_is_kept():
    """Two orders of the same dough: what is made is what both take, and the seed for the next."""
    lines = (Order("o1", "loaf", 30, at(29)), Order("o2", "loaf", 20, at(31)))
    plan = planned(lines=lines)
    assert verify(plan) == ()
    used = sum(
        line.mass_kg for mix in plan.mixes for line in mix.scaling if line.name == "rye sour"
    )
    made = sum(p.made_kg - p.kept_back_kg for p in plan.preparations)
    assert made == pytest.approx(used)
    assert all(
        p.kept_back_kg == pytest.approx(p.seed_kg) and p.seed_kg > 0 for p in plan.preparations
    )

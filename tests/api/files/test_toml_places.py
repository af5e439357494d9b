"""A day file with bench, tubs, skills, breaks and a fired oven: read, planned and stored whole."""

from __future__ import annotations

import pytest

from api.files.toml_day import load
from api.store.codec import plan_from_document, plan_to_document
from planner import Limits, make_plan
from planner.conditions import Fire
from planner.crew import BreakRule, Skill
from planner.errors import InputError

DAY = """
production_date = 2026-05-12
mix_list = [
  { product = "flat bread", pieces = 40, leave_by = "06:30" },
  { product = "loaf", pieces = 20, leave_by = "08:30" },
]
shifts = [
  { person = "Mira", from = "22:00", to = "07:00" },
  { person = "Oskar", from = "22:00", to = "07:00" },
]

[conditions]
coolest_c = 20
hottest_c = 24
fires = { "stone oven" = { at = "02:00", temperature_f = 572 } }

[bakery]
name = "Bakehouse"
zone = "Europe/Vienna"
rooms = [{ name = "bakehouse", racks = 6 }]
mixers = [{ name = "spiral", kind = "spiral", max_dough_kg = 60, min_dough_kg = 3 }]
water = [{ kind = "tap", temperature_c = 14 }]
flour_stores = [{ name = "sacks", kind = "sack" }]
ovens = [
  { name = "stone oven", places = 2, falls_k_per_h = 20, recovery_min_per_kg = 0.5 },
]
chambers = [{ name = "retarder", kind = "retarder", racks = 8, most_lb = 440.9245 }]
tubs = [{ name = "dough tub", holds_kg = "12,5", count = 4 }]
bench_places = 1
breaks = [{ over_min = 360, break_min = 30 }]
people = [
  { name = "Mira" },
  { name = "Oskar", skills = ["divide", "load", "move"] },
]

[[formulas]]
name = "wheat"
dough_c = 25
bulk = { minutes = 75 }
steps = [{ speed = "first speed", minutes = 4 }]
lines = [
  { material = "wheat flour", percent = 100 },
  { material = "water", percent = 62 },
  { material = "salt", percent = 2 },
  { material = "fresh yeast", percent = 1.5 },
]

[[products]]
name = "flat bread"
piece_kg = 0.4
shape_people = 2
proof = { minutes = 40 }
bake_min = 12
bake_c = 280
pieces_per_place = 20

[[products]]
name = "loaf"
piece_kg = 0.8
proof = { minutes = 55 }
bake_min = 40
bake_c = 235
bake_band_k = 10
pieces_per_place = 20
"""


def test_a_day_file_carries_places_people_and_heat():
    day, conditions, _ = load(DAY)
    bakery = day.bakery
    assert (bakery.bench_places, bakery.rooms[0].racks) == (1, 6)
    assert (bakery.tubs[0].holds_kg, bakery.tubs[0].count) == (12.5, 4)
    assert bakery.chamber("retarder").most_kg == pytest.approx(200, abs=1e-3)
    assert bakery.breaks == (BreakRule(360, 30),)
    assert bakery.people[1].skills == (Skill.DIVIDE, Skill.LOAD, Skill.MOVE)
    (fire,) = conditions.fires.values()
    # 02:00 in Vienna in May is midnight UTC; 572 °F are 300 °C.
    assert (fire.at_utc.hour, fire.temperature_c) == (0, pytest.approx(300))
    assert isinstance(fire, Fire)
    assert [p.bake_c for p in day.products] == [280, 235]


def test_such_a_night_is_planned_and_stored_whole():
    day, conditions, pins = load(DAY)
    plan = make_plan(day, conditions, pins=pins, limits=Limits(list_only=True))
    assert not plan.unplaced
    assert not [r for r in plan.remarks if r.code.startswith("judge_")]
    assert {t.person_id for t in plan.tasks if t.kind == "break"} == {"mira", "oskar"}
    assert {t.person_id for t in plan.tasks if t.kind == "scale"} == {"mira"}
    assert all(mix.tubs for mix in plan.mixes)
    loads = sorted((ld for m in plan.mixes for ld in m.loads), key=lambda ld: ld.load_utc)
    assert [load.product_id for load in loads] == ["flat_bread", "loaf"]
    assert plan_from_document(plan_to_document(plan)) == plan


def test_a_fire_of_an_oven_that_keeps_its_heat_is_told():
    kept = DAY.replace("falls_k_per_h = 20, ", "")
    with pytest.raises(InputError, match=r"conditions\.fires"):
        load(kept)


def test_an_oven_that_cools_without_a_fire_is_told_at_the_night():
    unlit = "\n".join(line for line in DAY.splitlines() if not line.startswith("fires"))
    day, conditions, _ = load(unlit)
    with pytest.raises(InputError, match=r"conditions\.fires\.stone_oven"):
        make_plan(day, conditions)

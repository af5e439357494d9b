"""Ways to bring a scald down and levers: what is reachable, when, with how much of the water."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.bakery import Cover
from planner.balances import part_specific_heat
from planner.estimate import Estimate
from planner.formula import HoldPlace
from planner.lines import Line, water_percent
from planner.materials import Material
from planner.physics.quench import quenched_c
from planner.scald_follow import follow_ways
from planner.scald_levers import lever_remarks, scald_levers
from planner.scald_ways import Kept, is_tray, scald_ways, spare_water_kg
from planner.scalds import scald_pour
from planner.water_sources import IceKind, IceSupply
from tests.planner.physics.scald_bodies import body, hours_to
from tests.planner.scald_days import (
    FLAKES,
    TAP,
    TRAYS,
    TUB,
    WALK_IN,
    rye_dough,
    rye_house,
    rye_night,
    scald,
)

POURED = np.array([0.0])
FULL = {"chambers": (WALK_IN,), "ice": FLAKES}


def ready_h(night, part, mass_kg, target_c, wanted):
    """Hours of the ways whose words hold some words."""
    ways = scald_ways(night, part, mass_kg, target_c)
    return {
        one.way.words: float(one.ready_min(target_c, POURED)[0]) / 60
        for one in follow_ways(night, part, mass_kg, ways, POURED)
        if all(word in one.way.words for word in wanted)
    }


def test_the_first_way_is_the_bakers_own():
    night, _ = rye_night(house=rye_house(**FULL), ice_kg=50)
    ways = scald_ways(night, scald(), 80.0, 35.0)
    assert ways[0].is_own
    assert ways[0].words == "as you do it"
    assert len({w.words for w in ways}) == len(ways)


def test_a_baker_who_wants_no_other_way_gets_none():
    part = scald(other_ways=False)
    night, _ = rye_night(part, house=rye_house(**FULL), ice_kg=50)
    assert len(scald_ways(night, part, 80.0, 35.0)) == 1
    assert len(scald_ways(night, part, 80.0, 35.0, every=True)) > 10


def test_only_what_the_house_has_is_offered():
    night, _ = rye_night(house=rye_house(vessels=(TUB,)))
    words = " ".join(w.words for w in scald_ways(night, scald(), 80.0, 35.0))
    assert "tray" not in words
    assert "walk-in" not in words
    assert "ice kept" not in words


def test_a_tray_is_shallow_when_full():
    assert is_tray(TRAYS)
    assert not is_tray(TUB)


# 80 kg in a tub: by the column of the physics tests, open and on trays of 10 kg, room 24 °C.
def test_ways_are_the_cool_downs_they_say():
    night, _ = rye_night()
    part = scald()
    start_c = scald_pour(night, part, 80.0).start_c
    own = ready_h(night, part, 80.0, 40.0, ["as you do it"])
    tub = body(80, 0.55, specific_heat_kj_per_kg_k=part_specific_heat(part))
    expected = hours_to(tub, start_c, 24, 40)
    if np.isfinite(own["as you do it"]):
        assert own["as you do it"] == pytest.approx(expected, rel=0.02)
    trays = ready_h(night, part, 80.0, 40.0, ["tray"])["on 8 × tray, uncovered"]
    tray = body(10, 0.6, 0.4, Cover.OPEN, specific_heat_kj_per_kg_k=part_specific_heat(part))
    assert trays == pytest.approx(0.25 + hours_to(tray, start_c - 1, 24, 40), rel=0.05)


# 30 °C night, 80 kg, wanted at 35 °C: in the tub never within 16 h however it is covered; on trays,
# or with cold water kept back and trays, it is.
def test_a_hot_night_is_not_waited_out():
    night, _ = rye_night(room_c=30.0)
    hours = ready_h(night, scald(), 80.0, 35.0, [])
    assert hours["as you do it"] == np.inf
    assert hours["uncovered"] == np.inf
    assert hours["cold water kept back"] > 12
    assert hours["on 8 × tray, uncovered"] < 4
    assert (
        hours["on 8 × tray, uncovered, cold water kept back"]
        < 0.8 * hours["on 8 × tray, uncovered"]
    )


def test_nothing_is_waited_for_within_three_degrees_of_the_air():
    night, _ = rye_night(room_c=30.0, house=rye_house(**FULL), ice_kg=50)
    hours = ready_h(night, scald(), 80.0, 32.0, [])
    assert hours["on 8 × tray, uncovered"] == np.inf
    assert hours["on 8 × tray, uncovered, in the walk-in"] < 3
    assert hours["ice kept back"] < 0.6, "ice goes below the air at once"


@given(
    mass_kg=st.floats(5, 100),
    target_c=st.floats(22, 45),
    water=st.floats(14, 36),
    room_c=st.floats(14, 32),
)
@settings(max_examples=30, deadline=None)
def test_poured_and_kept_back_are_the_scalds_own_water(mass_kg, target_c, water, room_c):
    """Nothing is added to the formula, all that is poured gelatinises, ice is water kept back."""
    part = scald(lines=(Line(Material.RYE_FLOUR, 12), Line(Material.WATER, water)))
    night, _ = rye_night(part, room_c, house=rye_house(**FULL), ice_kg=50)
    own_kg = mass_kg * water / (12 + water)
    for way in scald_ways(night, part, mass_kg, target_c):
        total = way.pour.hot_kg + way.pour.cold_kg + way.cold_kg + way.ice_kg
        assert total == pytest.approx(own_kg)
        assert min(way.cold_kg, way.ice_kg) >= 0
        if way.kept is not Kept.NONE:
            assert way.pour.hot_kg >= 1.3 * way.pour.dry_kg - 1e-6
            assert way.pour.start_c >= 68


def test_a_scald_of_equal_parts_has_no_water_to_spare():
    part = scald(lines=(Line(Material.RYE_FLOUR, 12), Line(Material.WATER, 12)))
    assert spare_water_kg(part, 20.0) == 0
    night, _ = rye_night(part, house=rye_house(**FULL), ice_kg=50)
    assert all(w.held_back_kg == 0 for w in scald_ways(night, part, 20.0, 30.0))


def test_ice_lands_a_little_below_its_target():
    """By hand: the paste that is left, its ice and its cold water, mixed without loss."""
    night, _ = rye_night(room_c=24.0, house=rye_house(ice=FLAKES), ice_kg=50)
    part, target_c = scald(), 34.0
    way = next(w for w in scald_ways(night, part, 80.0, target_c) if w.words == "ice kept back")
    one = follow_ways(night, part, 80.0, [way], POURED)[0]
    at = int(np.searchsorted(one.path.minutes, way.add_min))
    before = float(one.path.mean_c[at, 0])
    heat = (part_specific_heat(part) * 80 - 4.186 * way.held_back_kg) / (80 - way.held_back_kg)
    mixed = quenched_c(
        80 - way.held_back_kg, before, water_kg=way.held_back_kg - 0.9 * way.ice_kg,
        water_c=15 * way.cold_kg / (way.held_back_kg - 0.9 * way.ice_kg),
        ice_kg=0.9 * way.ice_kg, scald_kj_per_kg_k=heat,
    )  # fmt: skip
    assert mixed == pytest.approx(target_c - 1, abs=0.4)
    assert float(one.path.mean_at(way.add_min + 5)[0]) == pytest.approx(mixed, abs=0.4)


# Hold hot for the enzymes, then quench: malt scald at 62 to 65 °C for two hours, then as cold as
# the dough takes it.
@pytest.mark.parametrize("place", [HoldPlace.INSULATED, HoldPlace.HEATED])
def test_a_malt_scald_is_held_and_then_quenched(place):
    part = scald(hold_min=120, hold_from_c=60.0, hold_to_c=65.0, hold_place=place)
    night, _ = rye_night(part, house=rye_house(ice=FLAKES), ice_kg=50)
    way = next(w for w in scald_ways(night, part, 80.0, 32.0) if w.words == "ice kept back")
    assert way.pour.start_c == pytest.approx(65.0, abs=0.1), "cold water first, so it lands inside"
    assert way.pour.cold_kg > 0
    one = follow_ways(night, part, 80.0, [way], POURED)[0]
    assert float(one.warm_min[0]) == pytest.approx(120, abs=1)
    assert 120 <= float(one.ready_min(32.0, POURED)[0]) < 140


def test_a_small_scald_does_not_stay_in_its_window_by_itself():
    part = scald(hold_min=120, hold_from_c=60.0, hold_to_c=65.0, vessel_id=None)
    night, _ = rye_night(part)
    own = follow_ways(night, part, 1.0, scald_ways(night, part, 1.0, 32.0), POURED)[0]
    assert float(own.warm_min[0]) < 40


def test_altitude_makes_the_pour_cooler():
    """At 1524 m water boils at 95 °C: 3 to 4.5 K less in the paste."""
    low, high = (
        scald_pour(rye_night(house=rye_house(altitude_m=m))[0], scald(), 80.0).start_c
        for m in (0.0, 1524.0)
    )
    assert 3.0 <= low - high <= 4.5


def test_a_vessels_own_loss_counts():
    learned = replace(TUB, pour_loss=Estimate(0.05), cooling_factor=Estimate(1.5))
    usual, own = rye_night()[0], rye_night(house=rye_house(vessels=(learned, TRAYS)))[0]
    assert scald_pour(own, scald(), 80.0).start_c > scald_pour(usual, scald(), 80.0).start_c + 4
    slow, quick = (
        ready_h(n, scald(), 20.0, 45.0, ["as you do it"])["as you do it"] for n in (usual, own)
    )
    assert quick < slow


# The big rye: rest of 2.5 h, then 35 °C; 22 °C, about 98 kg in one tub 50 cm across. What is left:
# ice of its own water at once, trays in the walk-in, and each says what it takes.
def test_levers_of_the_big_scald():
    house = rye_house(**FULL)
    part = scald(lines=(Line(Material.RYE_FLOUR, 30.5), Line(Material.WATER, 65)))
    rest = (Line(Material.RYE_FLOUR, 69.5), Line(Material.WATER, 10), Line(Material.SALT, 2))
    night, users = rye_night(part, 22.0, house=house, ice_kg=60, dough=rye_dough(part, lines=rest))
    levers = scald_levers(night, part, users, 98.0, pour_min=0.0, target_c=35.0)
    by_words = {lever.words: lever for lever in levers}
    assert by_words["as you do it"].ready_min == np.inf
    soon = [lever for lever in levers if lever.ready_min <= 150]
    assert {"ice kept back"} <= {lever.words for lever in soon}
    trays = next(v for k, v in by_words.items() if k.endswith("in the walk-in") and "tray" in k)
    assert trays.ready_min <= 150
    assert trays.labour_min >= trays.vessels >= 10
    assert trays.racks >= 2
    assert trays.heat_kj == pytest.approx(98 * part_specific_heat(part) * (76 - 35), rel=0.1)


def test_a_lever_tells_its_share_of_the_formulas_water():
    night, users = rye_night(room_c=30.0, house=rye_house(**FULL), ice_kg=60)
    part = users[0].formula.parts[0]
    water_kg = users[0].kg(water_percent(users[0].formula.all_lines))
    for lever in scald_levers(night, part, users, 60.0, pour_min=0.0, target_c=32.0):
        taken = lever.own_water_kg + lever.dough_water_kg
        assert lever.ice_kg <= taken + 1e-9 or lever.code == "mixer_ice"
        assert lever.water_share == pytest.approx(taken / water_kg)
        assert taken <= water_kg


# Water of the dough stirred in: m = Q / (4.186 (T - T_cold)), from 75 °C or so to 35 with 15 °C.
def test_cold_water_of_the_dough_quenches_a_small_scald():
    night, users = rye_night(room_c=24.0)
    part = users[0].formula.parts[0]
    lever = next(
        v for v in scald_levers(night, part, users, 60.0, pour_min=0.0, target_c=38.0)
        if v.code == "dough_water"
    )  # fmt: skip
    assert lever.ice_kg == 0
    start_c = scald_pour(night, part, 60.0).start_c
    needed = 60 * part_specific_heat(part) * (start_c - 38) / (4.186 * (38 - 15))
    assert lever.dough_water_kg == pytest.approx(needed, rel=0.05)
    assert lever.ready_min == 15


def test_ice_in_the_mixer_lets_a_scald_be_warmer():
    night, users = rye_night(room_c=27.0, house=rye_house(ice=FLAKES), ice_kg=80)
    part = users[0].formula.parts[0]
    levers = scald_levers(night, part, users, 60.0, pour_min=0.0)
    mixer_ice = [v for v in levers if v.code == "mixer_ice"]
    assert mixer_ice
    own = next(v for v in levers if v.words == "as you do it")
    assert mixer_ice[0].ready_min <= own.ready_min
    assert mixer_ice[0].ice_kg > 0


def test_soonest_levers_come_first():
    night, users = rye_night(room_c=30.0, house=rye_house(**FULL), ice_kg=60)
    levers = scald_levers(
        night, users[0].formula.parts[0], users, 60.0, pour_min=0.0, target_c=35.0
    )
    ready = [lever.ready_min for lever in levers]
    assert ready == sorted(ready)


def test_ice_that_is_half_water_is_weighed_as_such():
    wet = IceSupply(IceKind.FLAKE, Estimate(0.0), Estimate(0.6), 10, 100)
    kg = []
    for ice in (FLAKES, wet):
        night, _ = rye_night(house=rye_house(ice=ice), ice_kg=50)
        kg.append(
            next(
                w.ice_kg
                for w in scald_ways(night, scald(), 40.0, 38.0)
                if w.words == "ice kept back"
            )
        )
    assert kg[1] > 1.3 * kg[0]


def test_tap_and_walk_in_are_where_cold_water_comes_from():
    night, _ = rye_night(house=rye_house(supplies=(TAP,)))
    assert all(w.cold_c == 15 for w in scald_ways(night, scald(), 40.0, 38.0))


def test_a_house_without_anything_is_told_what_would_help():
    """A tub and a tap, 30 °C: no ice, no trays, no cooler; 80 kg never come down to 33.5 °C."""
    part = scald(
        use_at_most_c=Estimate(33.5), lines=(Line(Material.RYE_FLOUR, 12), Line(Material.WATER, 15))
    )
    rest = (Line(Material.RYE_FLOUR, 88), Line(Material.WATER, 10), Line(Material.SALT, 2))
    night, users = rye_night(
        part, 30.0, house=rye_house(vessels=(TUB,)), dough=rye_dough(part, lines=rest)
    )
    said = lever_remarks(night, part, users, 80.0, pour_min=0.0, within_min=300.0)
    assert [r.code for r in said] in (["scald_lever_none"], ["scald_lever_earlier"])


# About 98 kg, 2.5 h left until the sour goes in at 35 °C, 22 °C, tub of 55 cm: ice of its own or
# the dough's water, trays in the cooler, or the rye later.
def test_what_is_offered_when_two_and_a_half_hours_are_left():
    part = scald(
        lines=(Line(Material.RYE_FLOUR, 30.5), Line(Material.WATER, 65)), keep_at_most_h=40
    )
    rest = (Line(Material.RYE_FLOUR, 69.5), Line(Material.WATER, 10), Line(Material.SALT, 2))
    dough = rye_dough(part, lines=rest)
    night, users = rye_night(part, 22.0, house=rye_house(**FULL), ice_kg=60, dough=dough)
    said = lever_remarks(night, part, users, 98.0, pour_min=0.0, within_min=150.0)
    words = " ".join(str(f.value) for r in said for f in r.figures)
    assert "ice" in words
    assert "tray" in words or "walk-in" in words
    assert all(f.value <= 150 for r in said for f in r.figures if f.name == "ready")


def test_moving_the_dough_is_offered_with_its_minutes():
    """6 kg in the tub are cool by themselves some hours on: so much later than in 45 min."""
    night, users = rye_night(room_c=16.0)
    part = users[0].formula.parts[0]
    own = next(
        v for v in scald_levers(night, part, users, 6.0, pour_min=0.0) if v.words == "as you do it"
    )
    said = lever_remarks(night, part, users, 6.0, pour_min=0.0, within_min=45.0)
    later = next(r for r in said if r.code in ("scald_lever_later", "scald_lever_earlier"))
    figures = {f.name: f.value for f in later.figures}
    assert 45 < own.ready_min < np.inf
    assert figures.get("later", own.ready_min - 45) == pytest.approx(own.ready_min - 45)

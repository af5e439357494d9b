"""The least of a bakery is enough, and what was not entered is marked as assumed."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from api.schemas.bakery import BakeryInput
from api.schemas.base import Faults
from planner.bakery import Care, Person
from planner.errors import InputError
from planner.mixers import MixerKind, Speed
from planner.water_sources import IceKind, SupplyKind

LEAST = {
    "name": "Bakehouse",
    "zone": "Europe/Vienna",
    "mixers": [{"name": "Spiral", "kind": "spiral", "max_dough_kg": 60}],
    "water": [{"kind": "tap", "temperature_c": 14}],
    "flour_stores": [{"name": "sacks", "kind": "sack"}],
}
MIRA = Person("mira", "Mira")


def core_of(**more):
    faults = Faults()
    bakery = BakeryInput.model_validate({**LEAST, **more}).to_core(faults, [MIRA])
    faults.settle()
    return bakery


def test_the_least_bakery_stands_in_one_room_with_one_oven():
    bakery = core_of()
    assert [room.id for room in bakery.rooms] == ["bakehouse"]
    assert [(oven.id, oven.places) for oven in bakery.ovens] == [("oven", 1)]
    assert bakery.mixers[0].room_id == bakery.flour_stores[0].place_id == "bakehouse"
    assert bakery.people == (MIRA,)


def test_what_was_not_entered_is_marked_and_says_where_it_comes_from():
    bakery = core_of(ice={"kind": "flake", "bin_kg": 20})
    assumed = [
        bakery.cold_store_c,
        bakery.mixers[0].bowl_kg,
        bakery.mixers[0].min_dough_kg,
        bakery.mixers[0].work_kj_per_kg_min[Speed.SECOND],
        bakery.flour_stores[0].moisture_fraction,
        bakery.ice.temperature_c,
        bakery.ice.true_ice_fraction,
    ]
    assert all(one.is_assumed and one.sd > 0 and one.basis for one in assumed)


def test_what_was_entered_is_not_marked():
    bakery = core_of(
        cold_store_c=5,
        mixers=[{**LEAST["mixers"][0], "bowl_kg": 40, "work_kj_per_kg_min": {"First speed": 0.9}}],
    )
    assert bakery.cold_store_c.value == 5
    assert not bakery.cold_store_c.is_assumed
    assert bakery.mixers[0].bowl_kg.value == 40
    assert bakery.mixers[0].work_kj_per_kg_min[Speed.FIRST].value == 0.9
    assert bakery.mixers[0].work_kj_per_kg_min[Speed.SECOND].is_assumed


def test_a_full_bakery_is_carried_over_field_by_field():
    bakery = core_of(
        rooms=[{"name": "bakehouse"}, {"name": "flour loft"}],
        mixers=[{"name": "m", "kind": "Twin-arm", "max_dough_kg": 50, "room": "Bakehouse"}],
        chambers=[{"name": "cold", "kind": "retarder", "racks": 6}],
        flour_stores=[{"name": "silo", "kind": "silo", "place": "Flour loft"}],
        water=[
            {"kind": "tap", "temperature_f": 50},
            {"kind": "chiller", "temperature_c": 3, "tank_kg": 100, "recovery_lb_per_h": 100},
        ],
        ice={"kind": "cube", "bin_kg": 5, "temperature_c": -15},
        vessels=[{"name": "bowl", "shape": "round", "length_m": 0.4, "capacity_kg": 9}],
    )
    assert bakery.mixers[0].kind is MixerKind.TWIN_ARM
    assert bakery.flour_stores[0].place_id == "flour_loft"
    assert bakery.supply(SupplyKind.TAP).temperature_c.value == pytest.approx(10)  # (50-32)/1.8
    assert bakery.supply(SupplyKind.CHILLER).recovery_kg_per_h == pytest.approx(45.359, abs=1e-3)
    assert bakery.ice.kind is IceKind.CUBE
    assert bakery.chamber("cold").temperature_c.is_assumed
    assert bakery.vessel("bowl").width_m == 0.4


def test_every_fault_of_a_bakery_is_told():
    mixers = [{"name": "m", "kind": "fork", "max_dough_kg": 0}, *LEAST["mixers"], *LEAST["mixers"]]
    with pytest.raises(InputError) as caught:
        core_of(mixers=mixers, altitude_m=9000, ice={"kind": "cube", "bin_kg": -1})
    assert [fault.field for fault in caught.value.faults] == [
        "mixers[2].id",
        "mixers.m.max_dough_kg",
        "ice.bin_kg",
        "altitude_m",
    ]


def test_with_two_rooms_a_mixer_must_say_where_it_stands():
    with pytest.raises(InputError) as caught:
        core_of(rooms=[{"name": "front"}, {"name": "back"}])
    assert [fault.field for fault in caught.value.faults] == [
        "mixers.spiral.room",
        "flour_stores.sacks.place",
    ]


def test_a_chiller_needs_its_tank():
    with pytest.raises(InputError, match=r"water\.chiller\.tank_kg"):
        core_of(water=[{"kind": "chiller", "temperature_c": 3}])


def test_a_tap_may_be_entered_by_its_year():
    year = {"kind": "tap", "coldest_c": 7, "warmest_f": 64.4, "warmest_month": 2}
    tap = core_of(water=[year]).supply(SupplyKind.TAP)
    assert (tap.season.coldest_c, tap.season.warmest_month) == (7, 2)
    assert tap.season.warmest_c == pytest.approx(18)
    assert tap.temperature_c.value == pytest.approx(12.5)


@pytest.mark.parametrize(
    ("entry", "key"),
    [
        ({"kind": "tap"}, "temperature_c"),
        ({"kind": "tap", "coldest_c": 7}, "warmest_c"),
        ({"kind": "tap", "temperature_c": 12, "warmest_c": 17}, "coldest_c"),
    ],
)
def test_a_tap_without_its_temperature_is_told_what_to_enter(entry, key):
    with pytest.raises(ValidationError) as told:
        core_of(water=[entry])
    assert told.value.errors()[0]["ctx"]["key"] == key


def test_what_a_house_cares_for_is_entered_in_plain_words():
    assert core_of().cares_for is Care.IN_THE_USUAL_ORDER
    assert core_of(cares_for="Fresh bread").cares_for is Care.FRESH_BREAD
    with pytest.raises(ValidationError, match="fresh bread"):
        core_of(cares_for="profit")


def test_the_cut_off_for_orders_is_entered_in_hours():
    assert core_of().order_cut_off_h is None
    assert core_of(order_cut_off_h=24).order_cut_off_h == 24.0


def test_a_cut_off_of_weeks_is_refused():
    with pytest.raises(InputError, match="order_cut_off_h"):
        core_of(order_cut_off_h=500)

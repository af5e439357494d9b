"""Bench, tubs, racks, weight, skills, breaks and the heat of ovens, as they are entered."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from api.schemas.bakery import BakeryInput
from api.schemas.base import Faults
from api.schemas.equipment import OvenInput, RoomInput, TubInput
from planner.bakery import OvenKind, Tub
from planner.crew import BreakRule, Skill
from planner.errors import InputError

LEAST = {
    "name": "Mill Lane",
    "zone": "Europe/Berlin",
    "mixers": [{"name": "spiral", "kind": "spiral", "max_dough_kg": 60}],
    "water": [{"kind": "tap", "temperature_c": 15}],
    "flour_stores": [{"name": "sacks", "kind": "sack"}],
    "people": [{"name": "Ada"}],
}


def core_of(**changes: object):
    faults = Faults()
    bakery = BakeryInput.model_validate(LEAST | changes).to_core(faults)
    faults.settle()
    return bakery


def test_nothing_is_limited_that_was_not_entered():
    bakery = core_of()
    assert (bakery.bench_places, bakery.tubs, bakery.breaks) == (None, (), ())
    assert (bakery.rooms[0].racks, bakery.people[0].skills) == (None, ())
    oven = bakery.ovens[0]
    assert (oven.heats_k_per_min, oven.cools_k_per_min, oven.falls_k_per_h) == (None, None, None)
    assert oven.recovery_min_per_kg == 0


def test_places_and_people_are_carried_over():
    bakery = core_of(
        rooms=[{"name": "bakehouse", "racks": 9}],
        chambers=[{"name": "cold", "kind": "retarder", "racks": 6, "most_kg": "400"}],
        tubs=[{"name": "Large tub", "holds_kg": 40, "count": 6}],
        bench_places=2,
        breaks=[{"over_min": 360, "break_min": 20}],
        people=[{"name": "Ada", "skills": ["Scale", "pour", "scale"]}],
    )
    assert bakery.rooms[0].racks == 9
    assert bakery.chamber("cold").most_kg == 400
    assert bakery.tubs == (Tub("large_tub", "Large tub", 40, 6),)
    assert bakery.breaks == (BreakRule(360, 20),)
    assert bakery.people[0].skills == (Skill.SCALE, Skill.POUR)
    assert bakery.bench_places == 2


def test_the_heat_of_an_oven_is_carried_over():
    oven = OvenInput(
        name="deck", heats_k_per_min=4, cools_k_per_min=0.8, recovery_min_per_kg=0.2
    ).to_core()
    assert (oven.heats_k_per_min, oven.cools_k_per_min, oven.recovery_min_per_kg) == (4, 0.8, 0.2)
    belt = OvenInput(name="belt", kind="Conveyor", gap_min=8).to_core()
    assert (belt.kind, belt.gap_min) == (OvenKind.CONVEYOR, 8)
    assert OvenInput(name="stone", falls_k_per_h=18).to_core().falls_k_per_h == 18


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        ({"bench_places": 0}, "bench_places"),
        ({"tubs": [{"name": "t", "holds_kg": 0, "count": 1}]}, "tubs.t.holds_kg"),
        ({"tubs": [{"name": "t", "holds_kg": 9, "count": 0}]}, "tubs.t.count"),
        ({"rooms": [{"name": "r", "racks": 0}]}, "rooms.r.racks"),
        (
            {"chambers": [{"name": "c", "kind": "cooler", "racks": 1, "most_kg": -1}]},
            "chambers.c.most_kg",
        ),
        ({"breaks": [{"over_min": 10, "break_min": 5}]}, "breaks[0].over_min"),
        ({"ovens": [{"name": "o", "heats_k_per_min": 3}]}, "ovens.o.cools_k_per_min"),
        ({"ovens": [{"name": "o", "falls_k_per_h": 0}]}, "ovens.o.falls_k_per_h"),
    ],
)
def test_what_cannot_be_is_told_with_its_field(entry, field):
    with pytest.raises(InputError) as caught:
        core_of(**entry)
    assert [fault.field for fault in caught.value.faults] == [field]


def test_a_skill_that_is_none_is_told_with_those_there_are():
    with pytest.raises(ValidationError, match="divide"):
        core_of(people=[{"name": "Ada", "skills": ["juggle"]}])


@pytest.mark.parametrize("schema", [TubInput, RoomInput, OvenInput])
def test_every_field_is_described_with_an_example(schema):
    for name, field in schema.model_fields.items():
        assert field.description, name
        assert field.examples, name

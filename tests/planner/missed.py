"""Mixes that may miss their band, and what they are told; for the tests of levers."""

from dataclasses import replace

from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.levers import missed_remarks
from planner.night import Night
from planner.options import Allowance, Choice
from planner.tickets import MixTemperatures, make_ticket
from planner.water_sources import SupplyKind, WaterSupply
from tests.planner.builders import bakery, day, lean_dough, steady_room

FREE = Choice(25.0, use_chilled=False)
COLD_WATER = WaterSupply(
    "cold", "chiller", SupplyKind.CHILLER, Estimate(4.0), tank_kg=14.0, recovery_kg_per_h=0.1
)
HOUSE_WATER = (WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(20.0)), COLD_WATER)
CHILLED = Choice(25.0, use_chilled=True)
AT_THE_EDGE = Choice(26.0, use_chilled=True)


def a_night(room_c=32.0, *, house=None, formula=None) -> Night:
    formula = formula or lean_dough()
    house = house or bakery()
    return Night(
        day(bakery=house, formulas=(formula,)),
        Conditions(rooms={"room": steady_room(room_c)}, ice_stored_kg=50.0),
        Corrections(),
    )


def mixed(
    night: Night,
    *,
    machine=None,
    part_c=None,
    measured=None,
    allowed=None,
    formula=None,
    choice=None,
    bowl_c=None,
    share=1.0,
    start_min=300.0,
):
    batch = batches_of(night.day)[0]
    batch = replace(batch, dough_kg=share * batch.dough_kg, flour_kg=share * batch.flour_kg)
    if formula is not None:
        batch = replace(batch, formula=formula)
    machine = machine or night.day.bakery.mixers[0]
    choice = choice or Choice(batch.formula.dough_c, use_chilled=False)
    return make_ticket(
        night,
        batch,
        machine,
        start_min,
        choice,
        part_c or {},
        measured=measured or MixTemperatures(),
        allowed=allowed or Allowance(),
        bowl_c=bowl_c,
    )


def told(night: Night, **changes):
    """Remarks of a mix by code, with their figures by name."""
    remarks = missed_remarks(mixed(night, **changes))
    return [(r.code, {f.name: f.value for f in r.figures}) for r in remarks]


def figures(remarks, code: str, **where):
    return next(f for c, f in remarks if c == code and all(f.get(k) == v for k, v in where.items()))

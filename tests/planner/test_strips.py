"""The correction strip: finished figures, the ticket's own in the middle, never past a cap."""

from dataclasses import replace
from itertools import pairwise

import pytest

from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.night import Night
from planner.options import Allowance, Choice
from planner.strips import COLUMN_OFFSETS_K, FLOUR_OFFSETS_K
from planner.tickets import MixTemperatures, make_ticket
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import bakery, day, lean_dough, steady_room
from tests.planner.conftest import levain_dough

ICE = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 5.0, 50.0)
CHILLER = WaterSupply(
    "cold", "chiller", SupplyKind.CHILLER, Estimate(4.0), tank_kg=60.0, recovery_kg_per_h=5.0
)
MIDDLE_ROW, MIDDLE_COLUMN = FLOUR_OFFSETS_K.index(0.0), COLUMN_OFFSETS_K.index(0.0)


def ticket(formula=None, *, room_c=28.0, measured=None, part_c=None, allowed=None):
    formula = formula or lean_dough()
    house = bakery(ice=ICE, supplies=(*bakery().supplies, CHILLER))
    night = Night(
        day(bakery=house, formulas=(replace(formula, id="white"),)),
        Conditions(rooms={"room": steady_room(room_c)}, ice_stored_kg=50.0),
        Corrections(),
    )
    return make_ticket(
        night,
        batches_of(night.day)[0],
        house.mixers[0],
        300.0,
        Choice(24.0, use_chilled=True),
        part_c or {},
        measured=measured or MixTemperatures(),
        allowed=allowed or Allowance(),
    ).ticket


def test_the_middle_cell_is_the_ticket():
    one = ticket()
    middle = one.strip.cells[MIDDLE_ROW][MIDDLE_COLUMN]
    assert middle.ice_kg == one.ice_kg
    assert middle.water == one.water
    assert middle.expected_c == pytest.approx(one.expected_c, abs=1e-6)


@pytest.mark.parametrize("row", range(len(FLOUR_OFFSETS_K)))
def test_a_flour_reading_gives_the_ticket_its_row_promised(row):
    strip = ticket().strip
    read = ticket(measured=MixTemperatures(flour_c=strip.flour_c[row]))
    promised = strip.cells[row][MIDDLE_COLUMN]
    assert [line.water_kg for line in promised.water] == pytest.approx(
        [line.water_kg for line in read.water], abs=1e-6
    )
    assert promised.ice_kg == pytest.approx(read.ice_kg, abs=1e-6)


@pytest.mark.parametrize("column", range(len(COLUMN_OFFSETS_K)))
def test_a_levain_reading_gives_the_ticket_its_column_promised(column):
    strip = ticket(levain_dough(), part_c={"levain": 27.0}).strip
    assert strip.column == "levain"
    read = ticket(levain_dough(), part_c={"levain": strip.column_c[column]})
    promised = strip.cells[MIDDLE_ROW][column]
    assert promised.ice_kg == pytest.approx(read.ice_kg, abs=1e-6)
    assert promised.expected_c == pytest.approx(read.expected_c, abs=1e-6)


def test_every_cell_holds_the_formulas_water():
    one = ticket()
    for row in one.strip.cells:
        for cell in row:
            kilos = sum(line.water_kg for line in cell.water) + cell.ice_kg
            assert kilos == pytest.approx(one.formula_water_kg)


def test_warmer_flour_never_asks_for_warmer_water():
    """Down a column ice and chilled water only grow."""
    strip = ticket(room_c=34.0).strip
    for column in range(len(COLUMN_OFFSETS_K)):
        cold_kg = [
            row[column].ice_kg * 80
            + sum(w.water_kg * (15 - w.temperature_c) for w in row[column].water)
            for row in strip.cells
        ]
        assert cold_kg == sorted(cold_kg)


def test_no_cell_hands_out_more_than_there_is():
    strip = ticket(room_c=36.0, allowed=Allowance(ice_kg=0.7, chilled_kg=5.0)).strip
    for row in strip.cells:
        for cell in row:
            assert cell.ice_kg <= 0.7 + 1e-9
            chilled = [w.water_kg for w in cell.water if w.kind is SupplyKind.CHILLER]
            assert sum(chilled) <= 5.0 + 1e-6
    assert strip.cells[-1][MIDDLE_COLUMN].expected_c > 24.5  # and it says what that gives


@pytest.mark.parametrize("column", range(len(COLUMN_OFFSETS_K)))
def test_a_room_reading_gives_the_ticket_its_column_promised(column):
    """A dough without parts: its columns are readings of the room."""
    strip = ticket().strip
    read = ticket(measured=MixTemperatures(room_c=strip.column_c[column]))
    promised = strip.cells[MIDDLE_ROW][column]
    assert strip.column == "room"
    assert promised.ice_kg == pytest.approx(read.ice_kg, abs=1e-6)
    assert [line.water_kg for line in promised.water] == pytest.approx(
        [line.water_kg for line in read.water], abs=1e-6
    )
    # A warmer room asks for more of the chilled water, by more than a scale shows.
    chilled_kg = [cell.water[-1].water_kg for cell in strip.cells[MIDDLE_ROW]]
    assert [line.kind for line in promised.water] == [SupplyKind.TAP, SupplyKind.CHILLER]
    assert all(warmer > cooler + 0.01 for cooler, warmer in pairwise(chilled_kg))

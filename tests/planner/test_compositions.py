"""An ingredient that is not in the list, by what it is made of."""

from dataclasses import replace

import pytest

from planner.balances import line_specific_heat
from planner.errors import InputError
from planner.lines import Composition, Line
from planner.materials import Material
from tests.planner.builders import lean_dough

# Published specific heats above freezing (ASHRAE Handbook, Refrigeration, thermal properties of
# foods), with the compositions of the same table; the composition method is within 6 % of them.
POTATO = Composition(water=0.7896, protein=0.0207, fat=0.0010, fibre=0.0160, ash=0.0089)
APPLE = Composition(water=0.8393, protein=0.0019, fat=0.0036, fibre=0.0270, ash=0.0026)
CHEESE = Composition(water=0.3675, protein=0.2490, fat=0.3314, ash=0.0393)


@pytest.mark.parametrize(
    ("composition", "kj_per_kg_k"), [(POTATO, 3.67), (APPLE, 3.81), (CHEESE, 2.77)]
)
def test_specific_heats_of_foods_within_six_percent(composition, kj_per_kg_k):
    line = Line(Material.OTHER, 10, composition=composition)
    assert line_specific_heat(line) == pytest.approx(kj_per_kg_k, rel=0.06)


def test_its_water_counts_in_the_hydration():
    """65 of water and 20 of boiled potato at 79 %: 80.8 on 100 of flour."""
    plain = lean_dough()
    rich = replace(
        plain, lines=(*plain.lines, Line(Material.OTHER, 20, "potato", composition=POTATO))
    )
    assert rich.hydration - plain.hydration == pytest.approx(0.2 * 0.7896)


def test_shares_of_more_than_all_are_refused():
    with pytest.raises(InputError, match="add up to more than one"):
        Composition(water=0.8, fat=0.3)

"""The table of DEVELOPERS.md: our water, the sums of the trade, and the dough each would give.

The rows are those of an independently worked table (`tests/reference/hand_sum_errors.csv`); the
figures are computed here and compared with the text.
"""

import re
from pathlib import Path

import pytest

from planner.physics.hand_sums import water_two_terms_c
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import equivalent_water_c
from tests.planner.physics.test_hand_sum_errors import WANTED_C, balance_of, rows

TEXT = (Path(__file__).resolve().parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")
TWO_TERM_FRICTION_K = 2 * WANTED_C - 22 - 13.9
"""Tuned on the same dough and day as the three-term sum: flour and water of 22 and 13.9 °C."""


def computed() -> list[tuple[str, ...]]:
    """The table's rows as text."""
    table = []
    for row in rows():
        if row["case"].startswith("two terms"):
            continue
        mix, flour_c = balance_of(row), float(row["flour_c"])
        sum_c = float(row["hand_water_c"])
        two_c = water_two_terms_c(WANTED_C, flour_c, TWO_TERM_FRICTION_K)
        figures = [
            float(equivalent_water_c(mix, WANTED_C)),
            sum_c,
            float(dough_temperature_c(mix, sum_c)),
            two_c,
            float(dough_temperature_c(mix, two_c)),
        ]
        table.append((row["case"], *(f"{figure + 0.0:.1f}" for figure in figures)))
    return table


def printed() -> list[tuple[str, ...]]:
    """The rows of the table in the guide."""
    section = TEXT.split("## The trade's sums beside the balance")[1].split("\n## ")[0]
    found = [
        tuple(cell.strip().replace("−", "-") for cell in line.strip("|").split("|"))
        for line in section.splitlines()
        if re.match(r"\| [a-z]", line)
    ]
    return [row for row in found if row[0] != "dough"]


@pytest.mark.parametrize("n", range(len(computed())))
def test_each_row_of_the_guide_is_what_the_code_gives(n):
    assert printed()[n] == computed()[n]


def test_the_guide_has_every_case():
    assert len(printed()) == len(computed())

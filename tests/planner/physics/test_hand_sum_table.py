"""The table of DEVELOPERS.md: our water, the sums of the trade, and the dough each would give.

The rows are those of an independently worked table (`tests/reference/hand_sum_errors.csv`). Every
figure is computed here, the sums' water too, and compared with the text and with that table.
"""

import re
from functools import cache
from pathlib import Path

import pytest

from planner.hand_sum import HandSum, SumKind, water_by_sum_c
from planner.physics.hand_sums import friction_from_mix_k
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import equivalent_water_c
from tests.planner.physics.test_hand_sum_errors import WANTED_C, balance_of, rows

TEXT = (Path(__file__).resolve().parents[3] / "DEVELOPERS.md").read_text(encoding="utf-8")
MILD_C = 22.0
PLAIN = {"kind": "plain", "hydration": "0.65", "flour_c": "22", "room_c": "22"}
"""The dough and the day on which the sums are tuned; each keeps its number from then on."""


@cache
def frictions_k(work_per_kg: float) -> tuple[float, float]:
    """Friction of three and of two terms that are right on the mild day, printed to a tenth."""
    water_c = round(float(equivalent_water_c(balance_of(PLAIN, work_per_kg), WANTED_C)), 1)
    return (
        friction_from_mix_k(WANTED_C, [water_c, MILD_C, MILD_C]),
        friction_from_mix_k(WANTED_C, [water_c, MILD_C]),
    )


def sums_water_c(row) -> tuple[float, float]:
    """Water of the sum with all its terms, and of the two-term rule."""
    three_k, two_k = frictions_k(12.0 if row["kind"] == "scald" else 16.0)
    has_part = row["kind"] != "plain" and "left out" not in row["case"]
    friction_k = three_k * 4 / 3 if "four thirds" in row["case"] else three_k
    flour_c = float(row["flour_c"])
    others_c = [float(row["room_c"]), *([float(row["part_c"])] if has_part else [])]
    own = HandSum(SumKind.FRICTION, friction_k, "part" if has_part else "")
    two = HandSum(SumKind.TWO_TERMS, two_k)
    return (
        water_by_sum_c(own, WANTED_C, flour_c, others_c),
        water_by_sum_c(two, WANTED_C, flour_c, others_c),
    )


def computed() -> list[tuple[str, ...]]:
    """The table's rows as text."""
    table = []
    for row in rows():
        if row["case"].startswith("two terms"):
            continue
        mix, (sum_c, two_c) = balance_of(row), sums_water_c(row)
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


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["case"])
def test_the_sums_ask_for_the_water_of_the_published_table(row):
    """To 0.15: the friction is read off our balance, which agrees with the table's as closely."""
    sum_c, two_c = sums_water_c(row)
    by_sum_c = two_c if row["case"].startswith("two terms") else sum_c
    assert by_sum_c == pytest.approx(float(row["hand_water_c"]), abs=0.15)


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["case"])
def test_the_guide_agrees_with_the_published_table(row):
    """Tenths on both sides; beyond 5 °C, 2.5 % for how work falls with the dough's own mean."""
    two_terms = {
        "two terms in winter": "cold flour",
        "two terms on a hot night": "silo on a hot night",
        "two terms with all hot": "all hot",
    }
    told = next(r for r in printed() if r[0] == two_terms.get(row["case"], row["case"]))
    dough_c = float(told[5] if row["case"] in two_terms else told[3])
    off_k = abs(float(row["hand_dough_c"]) - WANTED_C)
    assert float(told[1]) == pytest.approx(float(row["balance_water_c"]), abs=0.2)
    within_k = 0.2 + 0.025 * max(0.0, off_k - 5)
    assert dough_c == pytest.approx(float(row["hand_dough_c"]), abs=within_k)

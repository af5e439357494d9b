"""Formulas: percents, parts, and what ripens the dough when nobody says so."""

from __future__ import annotations

import pytest

from api.schemas.bakery import House
from api.schemas.base import Faults
from api.schemas.formula import FormulaInput
from planner.formula import (
    Preferment,
    Scald,
    Soaker,
)
from planner.ripening import (
    ByTheClock,
    Curve,
    HoursAt,
)

HOUSE = House(
    rooms=("bakehouse",), chambers=("retarder",), usual_c={"bakehouse": 23.0, "retarder": 4.0}
)


def line(material: str, percent: float) -> dict[str, object]:
    return {"material": material, "percent": percent}


def levain(flour: str, percent: float, **more) -> dict[str, object]:
    return {
        "kind": "preferment",
        "name": "levain",
        "seed_percent": 20,
        "ripening": {"hours": 8, "dough_c": 26},
        "lines": [line(flour, percent), line("water", percent)],
        **more,
    }


def entered(lines, parts=(), **more) -> FormulaInput:
    return FormulaInput.model_validate(
        {
            "name": "Dough",
            "dough_c": 25,
            "bulk": {"minutes": 60},
            "steps": [{"speed": "First speed", "minutes": 5}],
            "lines": [*lines, line("water", 50)],
            "parts": list(parts),
            **more,
        }
    )


def core_of(formula: FormulaInput):
    faults = Faults()
    made = formula.to_core(faults, HOUSE)
    faults.settle()
    return made


@pytest.mark.parametrize(
    ("lines", "parts", "curve"),
    [
        ([line("wheat flour", 100)], [], Curve.YEAST),
        ([line("wheat flour", 80)], [levain("wheat flour", 20)], Curve.LEVAIN),
        ([line("rye flour", 80)], [levain("rye flour", 20)], Curve.ACID),
        ([line("wheat flour", 80)], [levain("rye flour", 20)], Curve.LEVAIN),
        ([line("wheat flour", 80)], [levain("wheat flour", 20, seed_percent=0)], Curve.YEAST),
        ([line("rye flour", 100)], [], Curve.YEAST),
    ],
    ids=["straight", "levain", "rye sour", "wheat with rye sour", "poolish", "rye with yeast"],
)
def test_the_curve_follows_from_the_formula(lines, parts, curve):
    assert core_of(entered(lines, parts)).bulk.curve is curve


def test_a_curve_that_is_entered_is_obeyed():
    formula = entered([line("wheat flour", 100)], bulk={"minutes": 60, "curve": "levain"})
    assert core_of(formula).bulk.curve is Curve.LEVAIN


def test_minutes_by_the_clock_take_the_usual_air_of_their_place():
    here = core_of(entered([line("wheat flour", 100)]))
    cold = core_of(entered([line("wheat flour", 100)], bulk={"minutes": 600, "place": "Retarder"}))
    assert here.bulk.reference == ByTheClock(60, 23.0)
    assert (cold.bulk.reference, cold.bulk.place_id) == (ByTheClock(600, 4.0), "retarder")


def test_hours_at_a_dough_temperature_are_kept_as_they_are():
    formula = entered([line("wheat flour", 100)], bulk={"hours": 2, "dough_f": 77})
    assert core_of(formula).bulk.reference == HoursAt(2, 25)


def test_parts_of_every_kind_are_carried_over():
    scald = {"kind": "scald", "name": "scald", "lines": [line("rye flour", 10), line("water", 20)]}
    soaker = {"kind": "soaker", "name": "seeds", "lines": [line("seeds", 8), line("water", 8)]}
    made = core_of(entered([line("wheat flour", 70)], [levain("wheat flour", 20), scald, soaker]))
    assert [type(part) for part in made.parts] == [Preferment, Scald, Soaker]
    assert made.hydration == pytest.approx(0.5 + 0.2 + 0.2 + 0.08 + 0.06 * 0.08)  # seeds hold 6 %
    assert made.parts[1].use_at_most_c.is_assumed
    assert made.parts[0].temperature_c == 26


def test_rye_doughs_learn_apart_from_wheat_doughs():
    assert core_of(entered([line("wheat flour", 100)])).dough_class == "wheat"
    assert core_of(entered([line("rye flour", 60), line("wheat flour", 40)])).dough_class == "rye"


def test_faults_of_parts_and_lines_are_told_together():
    faults = Faults()
    parts = [levain("wheat flour", -20, ripening={"hours": 0, "dough_c": 26})]
    assert entered([line("wheat flour", 2000)], parts).to_core(faults.at("f"), HOUSE) is None
    assert [fault.field for fault in faults.found] == [
        "f.lines[0].percent",
        "f.parts.levain.lines[0].percent",
        "f.parts.levain.lines[1].percent",
        "f.parts.levain.ripening.hours",
    ]

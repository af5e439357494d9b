"""Formulas: percents, parts, and what ripens the dough when nobody says so."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from api.schemas.bakery import House
from api.schemas.base import Faults
from api.schemas.formula import FormulaInput
from planner.errors import InputError
from planner.formula import (
    Preferment,
    Scald,
    Soaker,
)
from planner.hand_sum import SumKind
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


def with_sum(**own) -> FormulaInput:
    return entered([line("wheat flour", 80)], [levain("wheat flour", 20)], hand_sum=own)


@pytest.mark.parametrize(
    ("own", "kind", "value"),
    [
        ({"kind": "Friction in the sum", "value_k": 17}, SumKind.FRICTION, 17.0),
        ({"kind": "rise of the dough", "value_k": "5,5"}, SumKind.RISE, 5.5),
        ({"kind": "friction of two terms", "value_k": 14}, SumKind.TWO_TERMS, 14.0),
        ({"kind": "base temperature", "value_c": 58}, SumKind.BASE, 58.0),
        # 27 °F of friction are 15 K, a difference.
        ({"kind": "friction in the sum", "value_f_difference": 27}, SumKind.FRICTION, 15.0),
        # 70 + 70 + 61 °F: 21.1 + 21.1 + 16.1 °C, 32 taken off three times.
        ({"kind": "base temperature", "value_f": 201}, SumKind.BASE, 58.333),
        # A levain of 79 °F more: 32 taken off four times.
        ({"kind": "base temperature", "value_f": 280, "part": "levain"}, SumKind.BASE, 84.444),
    ],
)
def test_a_bakers_own_sum_is_read_in_its_convention(own, kind, value):
    made = core_of(with_sum(**own)).hand_sum
    assert (made.kind, made.part_id) == (kind, own.get("part", ""))
    assert made.value == pytest.approx(value, abs=1e-3)


@pytest.mark.parametrize(
    ("own", "key", "words"),
    [
        ({"value_k": 17}, "kind", "is missing"),
        ({"kind": "friction", "value_k": 17}, "kind", "friction in the sum"),
        ({"kind": "friction in the sum"}, "value_k", "value_k or value_f_difference"),
        ({"kind": "friction in the sum", "value": 17}, "value", "value_k or value_f_difference"),
        ({"kind": "rise of the dough", "value_c": 6}, "value_c", "is no unit of a rise"),
        ({"kind": "base temperature", "value_k": 58}, "value_k", "value_c or value_f"),
        ({"kind": "base temperature", "value_c": 58, "value_f": 200}, "value_f", "same as value_c"),
    ],
)
def test_a_sum_without_its_convention_or_unit_is_asked_back(own, key, words):
    with pytest.raises(ValidationError) as caught:
        with_sum(**own)
    told = [
        (str(error["loc"][-1]), error["ctx"]) for error in caught.value.errors(include_url=False)
    ]
    assert (key, True) in [
        (context["key"] or at, words in f"{context['problem']}; {context['remedy']}")
        for at, context in told
    ]


@pytest.mark.parametrize(
    ("own", "field", "remedy"),
    [
        # 80 °F taken for degrees Celsius, and a friction written as a base temperature.
        ({"kind": "friction in the sum", "value_k": 80}, "hand_sum.value_k", "divided by 1.8"),
        ({"kind": "base temperature", "value_c": 12}, "hand_sum.value_c", "is a friction"),
        ({"kind": "base temperature", "value_f": 40}, "hand_sum.value_f", "is a friction"),
        (
            {"kind": "friction in the sum", "value_k": 17, "part": "poolish"},
            "hand_sum.part",
            "use one of: levain",
        ),
    ],
)
def test_a_number_of_no_usual_sum_is_asked_back(own, field, remedy):
    with pytest.raises(InputError) as caught:
        core_of(with_sum(**own))
    assert [(f.field, remedy in f.remedy) for f in caught.value.faults] == [(field, True)]


def test_a_sour_fed_in_steps_is_entered_with_its_earlier_builds():
    first = {
        "lines": [line("rye flour", 10), line("water", 6)],
        "ripening": {"hours": 12, "dough_c": 25},
        "stands_min": 720,
    }
    formula = entered(
        [line("rye flour", 70)], parts=[levain("rye flour", 30, name="sour", before=[first])]
    )
    sour = core_of(formula).parts[0]
    assert len(sour.before) == 1
    assert sour.before[0].stands_min == 720
    assert sour.before[0].temperature_c == 25
    assert sour.before[0].ripening.curve is Curve.ACID
    assert sour.last_percents["rye flour"] == 20


def test_earlier_builds_that_take_too_much_are_told():
    greedy = {
        "lines": [line("rye flour", 40)],
        "ripening": {"hours": 12, "dough_c": 25},
        "stands_min": 720,
    }
    formula = entered([line("rye flour", 70)], parts=[levain("rye flour", 30, before=[greedy])])
    with pytest.raises(InputError, match="take more than the preferment has"):
        core_of(formula)

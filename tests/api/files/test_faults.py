"""Paths are written in the words of the file, with names where entries have them."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from api.files.faults import faults_of, faults_of_validation, path
from api.schemas.mix_list import ShiftInput


@pytest.mark.parametrize(
    ("location", "data", "text"),
    [
        (
            ["formulas", 0, "dough_c"],
            {"formulas": [{"name": "Dark Rye"}]},
            "formulas.dark_rye.dough_c",
        ),
        (
            ["formulas", 0, "dough_c"],
            {"formulas": [{"id": "R1", "name": "x"}]},
            "formulas.R1.dough_c",
        ),
        (["formulas", 0, "dough_c"], None, "formulas[0].dough_c"),
        (["body", "mix_list", 1, "order", "pieces"], None, "mix_list[1].pieces"),
        (
            ["lines", 1, "percent"],
            {"lines": [{}, {"material": "salt", "name": "sea"}]},
            "lines[1].percent",
        ),
        (["proof", 0, "minutes"], {"proof": {"minutes": 3}}, "proof.minutes"),
        ([], None, "the whole entry"),
    ],
)
def test_path(location, data, text):
    assert path(location, data) == text


def test_errors_as_the_web_framework_lists_them_become_faults():
    with pytest.raises(ValidationError) as caught:
        ShiftInput.model_validate({"person": "Ana", "from": "late"})
    errors = [{**one, "loc": ("body", *one["loc"])} for one in caught.value.errors()]
    from_framework = faults_of(errors)
    assert [fault.field for fault in from_framework] == ["from", "to"]
    assert from_framework == faults_of_validation(caught.value)


def test_an_error_that_no_schema_worded_still_gives_a_sentence():
    errors = [{"type": "json_invalid", "loc": ("body", 3), "msg": "JSON decode error", "input": {}}]
    (fault,) = faults_of(errors)
    assert fault.problem == "is not written as JSON"
    assert "bracket or comma" in fault.remedy

"""Other units become SI once, at the edge, by the exact factors of NIST SP 811 (2008)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from api.files.faults import faults_of_validation
from api.schemas.base import Entry, Number
from api.schemas.units import in_si, number_from, whole_number_from

FIELDS = ["dough_c", "rise_k", "piece_kg", "make_kg_per_h", "loss_w_per_k", "bake_min"]


class Sample(Entry):
    dough_c: Number
    rise_k: Number = 0.0
    water_c: dict[str, Number] = {}  # noqa: RUF012  pydantic copies it


@pytest.mark.parametrize(
    ("key", "value", "si_key", "si_value"),
    [
        ("dough_f", 78, "dough_c", 25.5556),  # (78 - 32) / 1.8
        ("rise_f_difference", 9, "rise_k", 5.0),  # a difference: no 32
        ("piece_lb", 2, "piece_kg", 0.90718474),
        ("piece_oz", 16, "piece_kg", 0.45359237),
        ("piece_g", "850,5", "piece_kg", 0.8505),
        ("make_lb_per_h", 100, "make_kg_per_h", 45.359237),
        ("dough_c", 25, "dough_c", 25),
    ],
)
def test_conversion(key, value, si_key, si_value):
    rewritten = in_si(FIELDS, {key: value})
    assert rewritten.wrongs == []
    assert rewritten.data == {si_key: pytest.approx(si_value, abs=1e-4)}


def test_lists_and_tables_are_converted_value_by_value():
    assert Sample.model_validate({"dough_f": 77, "water_f": {"tap": 50}}).water_c == {"tap": 10}


@given(st.floats(-40, 200))
def test_celsius_survives_the_way_through_fahrenheit(celsius):
    there = Sample.model_validate({"dough_f": celsius * 1.8 + 32})
    assert there.dough_c == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize("key", ["bake_hours", "piece_stone", "dough"])
def test_a_unit_that_is_not_known_is_refused_and_not_guessed(key):
    ((wrong_key, _, error),) = in_si(FIELDS, {key: 1}).wrongs
    assert wrong_key == key
    assert "unit" in error.context["problem"]
    assert error.context["remedy"].startswith("write ")


def test_a_bad_value_is_told_at_the_key_that_was_written():
    with pytest.raises(ValidationError) as caught:
        Sample.model_validate({"dough_f": "hot"})
    (fault,) = faults_of_validation(caught.value)
    assert (fault.field, fault.value) == ("dough_f", "'hot'")


@pytest.mark.parametrize(
    ("text", "number"),
    [("24,5", 24.5), ("24.5", 24.5), (" -3 ", -3.0), ("0,125", 0.125), ("1234,5", 1234.5)],
)
def test_comma_and_point_are_read(text, number):
    assert number_from(text) == number


@pytest.mark.parametrize("text", ["1.234,5", "1,234.5", "1,234", "12,345", "ten", "", "1 2", True])
def test_what_can_be_read_in_two_ways_or_none_is_asked_back(text):
    with pytest.raises(PydanticCustomError):
        number_from(text)


def test_a_whole_number_may_be_written_with_a_comma_and_zero():
    assert whole_number_from("48,0") == 48

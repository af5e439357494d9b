"""Whatever stands in a day file, the answer is a day or sentences, never a crash."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.files.csv_orders import read_orders
from api.files.toml_day import loaded, parsed
from planner.errors import InputError

FOLDER = Path(__file__).parents[3] / "scenarios"
DAYS = [parsed(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))]
WORDS = ["", "x", "24,5", "99:99", "2026-03-29 02:30", "2026-10-25 02:30", "٣"]
NUMBERS = [True, -1, 0, 1e9, 10**30, float("nan"), float("inf")]
JUNK = st.sampled_from([None, *WORDS, *NUMBERS, [], {}, [1], [[]], [{}], {"a": 1}])


def places(data, at=()):
    """Return the path of everything that stands in plain data."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in pairs:
        yield (*at, key)
        if isinstance(value, dict | list):
            yield from places(value, (*at, key))


@st.composite
def spoiled_days(draw):
    """Return a demo day in which one or two things are replaced by junk or left out."""
    day = copy.deepcopy(draw(st.sampled_from(DAYS)))
    for _ in range(draw(st.integers(1, 2))):
        *above, last = draw(st.sampled_from(list(places(day))))
        entry = day
        for step in above:
            entry = entry[step]
        if draw(st.booleans()):
            entry[last] = copy.deepcopy(draw(JUNK))
        else:
            del entry[last]
    return day


def faults_of(read):
    """Return the faults that are told, or None when it could be read."""
    try:
        read()
    except InputError as error:
        return error.faults
    return None


@settings(max_examples=150, deadline=None)
@given(spoiled_days())
def test_a_spoiled_day_is_read_or_explained(day):
    faults = faults_of(lambda: loaded(day))
    assert faults is None or faults
    assert all(fault.field and fault.problem and fault.remedy for fault in faults or ())


@settings(max_examples=150)
@given(st.text(alphabet='product,;pieceslav_by0123456789:"\n\t .-', max_size=80))
def test_a_spoiled_list_is_read_or_explained(text):
    faults = faults_of(lambda: read_orders(f"product,pieces,leave_by\n{text}"))
    assert faults is None or faults


@pytest.mark.parametrize("text", ["", "\x00", "= 3", "a = 1\na = 2", "[[a]\n", "x = 2026-13-45"])
def test_what_is_no_day_file_is_explained(text):
    with pytest.raises(InputError):
        loaded(parsed(text))

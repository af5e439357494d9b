"""The drawing of the day: places, widths, windows, and what screen readers get."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from api.pages.day_blocks import Block, BlockForm, columns_of, packed
from api.pages.day_drawing import COLUMN_GAP, FIRST_COLUMN_X, WIDTH, day_drawing, frame_of
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import at

SVG = "{http://www.w3.org/2000/svg}"


def block(start: str, end: str, kg: float) -> Block:
    return Block("room", BlockForm.WAIT, at(start), at(end), kg, "1", "rye")


@pytest.fixture(scope="module")
def drawing() -> ET.Element:
    text = day_drawing(sample_plan(), reader_for(sample_plan()))
    return ET.fromstring(text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))  # noqa: S314  (our own text)


def test_title_and_description_come_first_and_are_named(drawing):
    assert [child.tag for child in drawing][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert drawing.get("aria-labelledby") == "day-title day-desc"
    assert "White tin dough, from 23:40" in (drawing.find(f"{SVG}desc").text or "")


def test_places_stand_in_the_order_of_the_flow():
    names = [column.name for column in columns_of(sample_plan())]
    assert names == ["spiral 120", "twin arm 60", "bakehouse", "bench", "deck oven", "rack oven"]


def test_what_stands_together_stands_side_by_side():
    """10 kg and 20 kg overlap from 1:00; the third finds the first one's place free."""
    placed = packed(
        "r",
        "r",
        [block("0:00", "2:00", 10), block("1:00", "4:00", 20), block("2:00", "3:00", 8)],
        0.0,
    )
    assert [left for _, left in placed.blocks] == [0, 10, 0]
    assert placed.width_kg == 30


def test_a_block_is_as_wide_as_its_kilograms(drawing):
    """Mix 1 has 69.6888 kg and mix 2 has 55 kg in the mixers' columns."""
    hints = {
        rect.find(f"{SVG}title").text: float(rect.get("width"))
        for rect in drawing.iter(f"{SVG}rect")
        if rect.find(f"{SVG}title") is not None
    }
    first = next(width for hint, width in hints.items() if hint.endswith("23:40–23:51"))
    second = next(width for hint, width in hints.items() if hint.endswith("00:10–00:25"))
    assert first / second == pytest.approx(69.6888 / 55.0, rel=0.01)


def test_later_is_further_down_and_columns_fit():
    plan = sample_plan()
    columns = columns_of(plan)
    frame = frame_of(columns, plan)
    assert frame.y(at("23:00")) < frame.y(at("0:30")) < frame.y(at("5:00"))
    used = sum(frame.column_width(column) + COLUMN_GAP for column in columns)
    assert FIRST_COLUMN_X + used <= WIDTH + 0.1


def test_names_are_escaped():
    plan = sample_plan()
    formulas = tuple(replace(f, name="<b>&rye") for f in plan.day.formulas)
    text = day_drawing(replace(plan, day=replace(plan.day, formulas=formulas)), reader_for(plan))
    assert "<b>" not in text
    assert "&lt;b&gt;&amp;rye" in text


def test_an_empty_plan_draws_an_empty_day():
    plan = replace(sample_plan(), mixes=(), preparations=(), tasks=())
    assert day_drawing(plan, reader_for(plan)).endswith("</svg>")

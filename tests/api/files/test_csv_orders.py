"""Order lists are read as bakers' programs write them, and each fault names its line."""

from __future__ import annotations

import pytest

from api.files.csv_orders import read_orders, with_orders
from api.files.toml_day import read_day
from planner.errors import Fault, InputError

GOOD = "product,pieces,leave_by\nloaf,48,06:30\nrye,20,07:00\n"


def fault_of(text: str, products: list[str] | None = None) -> Fault:
    with pytest.raises(InputError) as caught:
        read_orders(text, products)
    (fault,) = caught.value.faults
    return fault


def test_a_plain_list_is_read_in_order():
    first, second = read_orders(GOOD)
    assert (first.product, first.pieces, first.leave_by, first.priority) == ("loaf", 48, "06:30", 1)
    assert second.product == "rye"


@pytest.mark.parametrize(
    "text",
    [
        "Leave by;Pieces;Product\n06:30;48;loaf\n",
        "pieces\tproduct\tleave_by\n48\tloaf\t06:30\n",
        '\ufeffproduct, pieces, leave_by, priority\n"loaf", "48,0", 06:30,\n\n',
        "product;pieces;leave_by;priority\nloaf;48,0;06:30;1\n",
    ],
    ids=["semicolons", "tabs", "byte-order mark and quoted comma", "decimal comma"],
)
def test_other_ways_of_writing_the_same_order(text):
    (order,) = read_orders(text)
    assert (order.product, order.pieces, order.leave_by, order.priority) == ("loaf", 48, "06:30", 1)


@pytest.mark.parametrize(
    ("text", "field", "problem"),
    [
        ("", "line 1", "empty"),
        ("product,pieces,leave_by\n", "line 2", "no order stands here"),
        ("product,pieces\nloaf,4\n", "line 1", "column is missing"),
        ("product,pieces,leave_by,colour\nloaf,4,06:00,red\n", "line 1", "not a column here"),
        ("product,pieces,leave_by,pieces\nloaf,4,06:00,5\n", "line 1", "stands twice"),
        ("product,pieces,leave_by\nloaf,many,06:00\n", "line 2, pieces", "not a number"),
        ("product,pieces,leave_by\n\nloaf,4.5,06:00\n", "line 3, pieces", "not a whole number"),
        ("product,pieces,leave_by\nloaf,4,6 am\n", "line 2, leave_by", "not a time"),
        ("product,pieces,leave_by\nloaf,,06:00\n", "line 2, pieces", "is missing"),
        ("product,pieces,leave_by\nloaf,4,5,06:00\n", "line 2", "more cells than the 3 columns"),
        ("product;pieces;leave_by\nloaf;1.234,5;06:00\n", "line 2, pieces", "two different"),
    ],
)
def test_each_bad_line_gives_one_sentence(text, field, problem):
    fault = fault_of(text)
    assert fault.field == field
    assert problem in fault.problem
    assert fault.remedy


def test_a_product_that_is_not_sold_names_its_line_and_what_is():
    fault = fault_of(GOOD, ["loaf"])
    assert (fault.field, fault.value) == ("line 3, product", "'rye'")
    assert fault.remedy == "use one of: loaf"


def test_all_bad_lines_are_told_at_once():
    with pytest.raises(InputError) as caught:
        read_orders("product,pieces,leave_by\nloaf,x,06:00\nloaf,3,late\n")
    fields = [fault.field for fault in caught.value.faults]
    assert fields == ["line 2, pieces", "line 3, leave_by"]


def test_orders_replace_the_mix_list_of_a_day(scenario):
    day = with_orders(
        read_day(scenario("least_entry")),
        read_orders("product;pieces;leave_by\nWhite tin;24;07:00\nWhite tin;12;08:00\n"),
    )
    lines = day.to_core().day.lines
    assert [(line.id, line.product_id, line.pieces) for line in lines] == [
        ("white_tin", "white_tin", 24),
        ("white_tin_2", "white_tin", 12),
    ]

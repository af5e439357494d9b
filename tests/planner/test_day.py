from datetime import datetime, timedelta, timezone

import pytest

from planner.day import BulkWindow, MixRequest, Order, ReadyWindow, Shift
from planner.errors import InputError
from tests.planner.builders import START, at, bakery, day, lean_dough, loaf


def faults_of(**changes) -> list[str]:
    with pytest.raises(InputError) as caught:
        day(**changes)
    return [fault.field for fault in caught.value.faults]


def test_minutes_are_elapsed_time():
    one = day()
    assert one.minute(at(1.5)) == 90
    assert one.moment(90) == at(1.5)


def test_an_order_for_an_unknown_product():
    assert faults_of(lines=(Order("o1", "bun", 40, at(14)),)) == ["mix_list.o1.product"]


def test_a_mix_of_an_unknown_formula():
    assert faults_of(lines=(MixRequest("m1", "rye", 30.0),)) == ["mix_list.m1.formula"]


def test_a_mix_whose_product_is_made_from_another_dough():
    formulas = (lean_dough(), lean_dough(id="rye", name="rye"))
    assert faults_of(
        formulas=formulas, lines=(MixRequest("m1", "rye", 30.0, product_id="loaf"),)
    ) == ["mix_list.m1.product"]


def test_leave_by_in_the_past():
    assert faults_of(lines=(Order("o1", "loaf", 40, START - timedelta(hours=1)),)) == [
        "mix_list.o1.leave_by"
    ]


def test_an_unknown_place_names_the_known_ones():
    product = loaf(
        routes=(
            lean_dough().bulk.__class__(
                lean_dough().bulk.reference, lean_dough().bulk.curve, "cellar"
            ),
        )
    )
    with pytest.raises(InputError, match="use one of: room"):
        day(products=(product,))


def test_an_unknown_oven():
    assert faults_of(products=(loaf(oven_ids=("rack",)),)) == ["products.loaf.ovens"]


def test_an_unknown_person_and_nobody():
    assert faults_of(shifts=(Shift("bob", at(1), at(2)),)) == ["shifts[0].person"]
    assert faults_of(shifts=()) == ["shifts"]


def test_two_lines_of_one_id():
    with pytest.raises(InputError, match="is the id of two entries"):
        day(lines=(Order("o1", "loaf", 4, at(9)), Order("o1", "loaf", 4, at(9))))


def test_all_faults_are_told_at_once():
    fields = faults_of(
        lines=(Order("o1", "bun", 4, at(9)), MixRequest("m1", "rye", 3.0)),
        products=(loaf(oven_ids=("rack",)),),
    )
    assert set(fields) == {"mix_list.o1.product", "mix_list.m1.formula", "products.loaf.ovens"}


@pytest.mark.parametrize("window", [lambda: BulkWindow(100, 90), lambda: ReadyWindow(at(3), at(2))])
def test_a_window_that_ends_before_it_starts(window):
    with pytest.raises(InputError, match="the window ends before it starts"):
        window()


def test_a_time_that_is_not_in_utc_is_refused():
    local = datetime(2026, 7, 14, 6, 0, tzinfo=timezone(timedelta(hours=2)))
    with pytest.raises(InputError, match="is not in UTC"):
        Order("o1", "loaf", 4, local)
    with pytest.raises(InputError, match="is not in UTC"):
        Order("o1", "loaf", 4, local.replace(tzinfo=None))


def test_no_pieces_and_negative_mass():
    with pytest.raises(InputError, match="pieces"):
        Order("o1", "loaf", 0, at(3))
    with pytest.raises(InputError, match="dough_kg"):
        MixRequest("m1", "white", -3.0)


def test_a_span_of_a_hundred_hours_is_refused():
    with pytest.raises(InputError, match="1 to 96 hours"):
        day(end_utc=at(100))


def test_two_rooms_of_one_id():
    with pytest.raises(InputError, match="id of two entries"):
        bakery(rooms=(bakery().rooms[0], bakery().rooms[0]))

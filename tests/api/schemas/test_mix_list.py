"""The mix list: orders, ready mixes with their windows, and who works."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from pydantic import ValidationError

from api.files.faults import faults_of_validation
from api.schemas.bakery import PersonInput
from api.schemas.base import Faults
from api.schemas.mix_list import MixInput, MixListInput, OrderInput
from planner.day import BulkWindow, MixRequest, Order, ReadyWindow

VIENNA = ZoneInfo("Europe/Vienna")
DATE = date(2026, 7, 15)
ORDER = {"product": "Country loaf", "pieces": 40, "leave_by": "06:30"}


def lines_of(*lines):
    mix_list = MixListInput.model_validate({"mix_list": list(lines)})
    faults = Faults()
    made = mix_list.lines_to_core(faults, mix_list.span(DATE, VIENNA), ["rye"], ["country_loaf"])
    faults.settle()
    return made


def test_an_order_takes_its_id_from_its_product():
    first, second = lines_of(ORDER, {**ORDER, "leave_by": "08:00", "priority": "2"})
    assert first == Order(
        "country_loaf", "country_loaf", 40, datetime(2026, 7, 15, 4, 30, tzinfo=UTC)
    )
    assert (second.id, second.priority) == ("country_loaf_2", 2)


def test_a_number_of_mixes_may_be_asked_for_and_an_overload_signed():
    order, mix = lines_of(
        {**ORDER, "mixes": 2}, {"dough_kg": 40, "mixes": "1", "overload_signed_by": " Ana "}
    )
    assert (order.mixes, order.overload_signed_by) == (2, "")
    assert (mix.mixes, mix.overload_signed_by) == (1, "Ana")


def test_a_mix_may_leave_out_the_only_formula():
    (mix,) = lines_of({"dough_lb": 100})
    assert isinstance(mix, MixRequest)
    assert (mix.formula_id, mix.window) == ("rye", None)
    assert mix.dough_kg == pytest.approx(45.359, abs=1e-3)


@pytest.mark.parametrize(
    ("window", "core"),
    [
        ({"bulk_from_min": 60, "bulk_by_min": 90}, BulkWindow(60, 90)),
        (
            {"ready_from": "23:30", "ready_by": "00:15"},
            ReadyWindow(
                datetime(2026, 7, 14, 21, 30, tzinfo=UTC), datetime(2026, 7, 14, 22, 15, tzinfo=UTC)
            ),
        ),
    ],
    ids=["minutes", "clock times across midnight"],
)
def test_both_kinds_of_window(window, core):
    assert lines_of({"formula": "Rye", "dough_kg": 40, **window})[0].window == core


def test_two_windows_for_one_mix_are_refused():
    both = {"bulk_from_min": 1, "bulk_by_min": 2, "ready_from": "01:00", "ready_by": "02:00"}
    with pytest.raises(ValidationError) as caught:
        MixInput.model_validate({"dough_kg": 3, **both})
    (fault,) = faults_of_validation(caught.value)
    assert fault.field == "ready_from"
    assert fault.remedy == "write only one of the two"


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (ORDER, OrderInput),
        ({"formula": "rye", "dough_kg": 4}, MixInput),
        ({"dough_lb": 4, "product": "x"}, MixInput),
    ],
)
def test_orders_and_mixes_are_told_apart(line, kind):
    assert isinstance(MixListInput.model_validate({"mix_list": [line]}).mix_list[0], kind)


def test_the_usual_hours_of_people_stand_in_for_shifts():
    ana = PersonInput.model_validate({"name": "Ana", "from": "21:00", "to": "05:00"})
    idle = PersonInput.model_validate({"name": "Bo"})
    faults = Faults()
    (shift,) = MixListInput(mix_list=[]).shifts_to_core(faults, [ana, idle], DATE, VIENNA)
    assert (shift.person_id, shift.start_utc.hour, shift.end_utc.hour) == ("ana", 19, 3)


def test_people_are_those_of_the_shifts_when_the_bakery_names_none():
    hours = [{"person": p, "from": "22:00", "to": "02:00"} for p in ("Ana", "Bo", "Ana")]
    mix_list = MixListInput.model_validate({"mix_list": [], "shifts": hours})
    assert [(p.id, p.name) for p in mix_list.people_of_shifts()] == [("ana", "Ana"), ("bo", "Bo")]


def test_the_span_may_be_narrowed():
    mix_list = MixListInput(mix_list=[], span_from="14:00", span_to="13:00")
    span = mix_list.span(DATE, VIENNA)
    assert span.start_utc == datetime(2026, 7, 14, 12, tzinfo=UTC)
    assert span.end_utc == datetime(2026, 7, 15, 11, tzinfo=UTC)

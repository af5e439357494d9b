"""A whole day: pins, references between its parts, and no fault told twice."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from api.files.toml_day import parsed
from api.schemas.day import DayInput
from planner.errors import InputError
from planner.pins import Pin
from tests.api.fake_core import day_document

LEAST = Path(__file__).parents[3] / "scenarios" / "least_entry.toml"


def entered(**more):
    return DayInput.model_validate({**parsed(LEAST.read_text(encoding="utf-8")), **more})


def test_pins_are_carried_over():
    pin = {"mix": "white_tin", "start": "23:30", "mixer": "Spiral mixer", "dough_f": 77}
    assert entered(pins=[pin]).to_core().pins == (
        Pin(
            "white_tin",
            start_utc=datetime(2026, 5, 11, 21, 30, tzinfo=UTC),
            mixer_id="spiral_mixer",
            dough_c=25.0,
        ),
    )


def test_an_order_and_an_oven_can_be_fixed():
    pins = entered(pins=[{"mix": "white_tin", "before": ["rye"], "oven": "Oven"}]).to_core().pins
    assert (pins[0].before_ids, pins[0].oven_id) == (("rye",), "oven")


def test_a_pin_outside_all_reason_names_its_field():
    with pytest.raises(InputError) as caught:
        entered(pins=[{"mix": "white_tin", "dough_c": 60}]).to_core()
    assert [fault.field for fault in caught.value.faults] == ["pins[0].dough_c"]


def test_a_bulk_by_the_clock_takes_the_mean_of_the_night():
    """Coolest 20, hottest 24: the bakehouse as done these days is at 22 °C."""
    assert entered().to_core().day.formulas[0].bulk.reference.room_c == 22.0


def test_a_faulty_dough_does_not_make_its_product_faulty_too():
    day = entered().model_dump(mode="json")
    day["formulas"][0]["lines"][0]["percent"] = 90
    with pytest.raises(InputError) as caught:
        DayInput.model_validate(day).to_core()
    assert [fault.field for fault in caught.value.faults] == ["formulas.white_tin_dough.lines"]


def test_an_unknown_person_is_told_only_when_people_are_named():
    assert entered().to_core().day.bakery.people[0].name == "Mira"
    day = entered().model_dump(mode="json")
    day["bakery"]["people"] = [{"name": "Ana"}]
    with pytest.raises(InputError) as caught:
        DayInput.model_validate(day).to_core()
    (fault,) = caught.value.faults
    assert (fault.field, fault.value) == ("shifts[0].person", "'Mira'")
    assert fault.remedy == "use one of: ana"


def test_a_night_with_the_change_of_clocks_is_an_hour_longer():
    """Noon to midnight the day after next: 36 h, and one more when the clocks go back."""
    day = entered(production_date="2026-10-25").to_core().day
    assert day.span_min == 37 * 60


def test_a_start_that_counts_as_early_is_a_clock_time_of_the_house():
    """00:30 in Vienna in July is 22:30 UTC the day before; 22:00 is the evening before."""
    house = day_document()["bakery"]
    after_midnight = day_document(bakery=house | {"early_before": "00:30"})
    day, _, _ = DayInput.model_validate(after_midnight).to_core()
    assert day.early_before_utc == datetime(2026, 7, 15, 22, 30, tzinfo=UTC)
    evening = day_document(bakery=house | {"early_before": "22:00"})
    day, _, _ = DayInput.model_validate(evening).to_core()
    assert day.early_before_utc == datetime(2026, 7, 15, 20, 0, tzinfo=UTC)
    day, _, _ = DayInput.model_validate(day_document()).to_core()
    assert day.early_before_utc is None
